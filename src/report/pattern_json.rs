//! A pattern as JSON, and what is wrong with a file of patterns. Units stand in the names. Numbers of pitches (`midi`) are as they sound;
//! names of keys and notes are as the player's page has them.

use serde_json::{Value, json};

use crate::music::{ConcertKey, Spelling};
use crate::pattern::{self, ExpectedNote, InRegisters, Library, Pattern, PatternTrouble};
use crate::words::Page;
use crate::words::pattern_rows::over_chords;

/// One pattern as JSON. `begun` are the same pattern begun on its other notes. `lines` are a key and the pattern's lines in that key;
/// without a key, `page` and `lines` of the JSON are `null`. `own` is the player's page, which names key and notes.
#[must_use]
pub fn pattern_json(
    pattern: &Pattern,
    begun: &[Pattern],
    lines: Option<(ConcertKey, Vec<InRegisters>)>,
    own: &Page,
) -> Value {
    let degrees = |pattern: &Pattern| pattern.notes().iter().map(|step| step.degree.to_string()).collect::<Vec<_>>();
    let first = |pattern: &Pattern| degrees(pattern).into_iter().next();
    let chords = over_chords(pattern);
    let page = lines.as_ref().map(|(key, _)| own.tonality(*key, pattern.mode()));
    json!({
        "id": pattern.id.0, "name": pattern.name, "family": pattern.family.name(), "level": pattern.level,
        "trains": pattern.trains, "source": pattern.source, "swing": pattern.swing, "keys": pattern.cycle.name(),
        "from_quarter_per_minute": pattern.tempo.low.0, "to_quarter_per_minute": pattern.tempo.high.0,
        "written": pattern::print_notes(&pattern.notation.tokens), "repeats": pattern.notation.repeats,
        "degrees": degrees(pattern), "length_quarters": pattern.length().0, "pickup_quarters": pattern.pickup().0,
        "fits": pattern.over.iter().map(|quality| quality.name()).collect::<Vec<_>>(),
        "over": chords.iter().map(|(chord, tones)| json!({ "chord": chord, "tones": tones })).collect::<Vec<_>>(),
        "begun": begun.iter().map(|other| json!({ "id": other.id.0, "on": first(other) })).collect::<Vec<_>>(),
        "page": page.map(|page| json!({ "key": pattern.heading(page), "sharps": page.signature().sharps() })),
        "lines": lines.map(|(key, lines)| lines.iter().map(|line| in_registers(line, key, pattern.spelling(), own)).collect::<Vec<_>>()),
    })
}

fn in_registers((registers, line): &InRegisters, key: ConcertKey, spelling: Spelling, own: &Page) -> Value {
    let note = |note: &ExpectedNote| {
        let name = own.expected(note, key, spelling).to_string();
        json!({
            "midi": note.pitch.0, "name": name, "at_quarters": note.at.0,
            "length_quarters": note.length.0,
        })
    };
    json!({ "registers": registers.iter().map(|register| register.name()).collect::<Vec<_>>(), "notes": line.notes.iter().map(note).collect::<Vec<_>>() })
}

/// What the check of a file of patterns found, as JSON: the number of patterns in it, its troubles, and in `hides` the shipped patterns
/// that the file's patterns stand in the place of.
#[must_use]
pub fn checked_json(file: &str, patterns: usize, troubles: &[PatternTrouble], hides: &[&Pattern]) -> Value {
    let trouble = |trouble: &PatternTrouble| {
        json!({
            "line": trouble.line, "column": trouble.column, "found": trouble.found, "expected": trouble.expected,
            "nearest": trouble.nearest,
        })
    };
    let hides: Vec<&str> = hides.iter().map(|shipped| shipped.id.0.as_str()).collect();
    let troubles: Vec<Value> = troubles.iter().map(trouble).collect();
    json!({ "file": file, "patterns": patterns, "troubles": troubles, "hides": hides })
}

/// A pattern of a list, and in words the key of it that was away the longest and for how long; `None` in a list that does not ask what
/// comes back today.
pub type ListedPattern<'p> = (&'p Pattern, Option<String>);

/// A list of patterns as JSON. Its `typed` is what a player types for a pattern; its `back` is `null` in a list that does not ask what
/// comes back today.
#[must_use]
pub fn patterns_json(library: &Library, listed: &[ListedPattern<'_>]) -> Value {
    let row = |(pattern, back): &ListedPattern<'_>| {
        json!({
            "id": pattern.id.0, "name": pattern.name, "typed": library.typed(pattern),
            "family": pattern.family.name(), "level": pattern.level, "notes": pattern.notes().len(),
            "trains": pattern.trains, "rhythm": pattern.rhythm().iter().map(|own| own.name()).collect::<Vec<_>>(),
            "back": back,
        })
    };
    listed.iter().map(row).collect()
}
