use crate::chart::Change;
use crate::free::{Approach, FreeLine, FreePhrase, OverForm, PlacedForm, ToneOver};
use crate::words::Page;
use crate::words::free::{FormKey, PlacesBy, names, with_octave};
use crate::words::numbers::{count, list, numbered};
use crate::words::traded;
use crate::words::wrap::{self, wrapped};

/// Largest number of phrases that are listed.
const MOST: usize = 16;
/// Names of notes that are no tone of the chord, by their half steps above its root.
const OVER: [&str; 12] = ["1", "b9", "9", "b3", "3", "11", "#11", "5", "b13", "13", "b7", "7"];

/// A chord of the form, as it stands on the page.
#[must_use]
pub fn chord(change: &Change, home: FormKey, page: &Page) -> String {
    change.place.as_ref().map_or_else(String::new, |place| traded::chord(place, home.key, home.mode, page))
}

fn degree(over: &ToneOver) -> String {
    let plain = || OVER.get(over.above as usize).map_or("", |name| name).to_owned();
    over.tone.map_or_else(plain, |tone| tone.to_string())
}

const fn by(approach: Approach) -> &'static str {
    match approach {
        Approach::HalfStep => ", by a half step",
        Approach::Step => ", by a step",
        Approach::Enclosure => ", gone round from both sides",
        Approach::Skip => ", by a skip",
        Approach::Repeated => ", on the same note",
        Approach::Alone => "",
    }
}

/// The line over the chords of a form: places and counts, never a grade.
#[must_use]
pub fn over_form(
    line: &FreeLine,
    (form, over): (&PlacedForm, &OverForm),
    home: FormKey,
    page: &Page,
    columns: usize,
) -> Vec<String> {
    let first = line.notes.first().map_or(0.0, |note| form.beats(note.onset));
    let why = match form.sure {
        true => "known, or as its chords say",
        false if first.abs() < 0.3 => "taken from the first note; --begins says otherwise",
        false => "as its chords say, though another place fits nearly as well; --begins says otherwise",
    };
    // Adding 0.0 turns -0.0 into 0.0, so that "-0.00" is never printed.
    let begins = (form.begins.0 * 100.0).round() / 100.0 + 0.0;
    let head = format!("Over the form, bar 1 at {begins:.2} s ({why}):");
    let mut lines = wrapped(&head, columns, "", "  ");
    let (tones, strong) = over.strong;
    lines.push(format!("  on {tones} of {} a tone of the chord sounds", numbered(strong, "strong beat")));
    if over.guided.1 > 0 {
        let text = format!(
            "over {} of {} of chord a step or half step leads into the third or seventh of the new one",
            over.guided.0,
            numbered(over.guided.1, "change")
        );
        lines.extend(wrapped(&text, columns, "  ", "    "));
    }
    let off = over.phrases.iter().filter(|phrase| phrase.off_beat).count();
    lines.push(format!("  {}, {} between two beats", numbered(over.phrases.len(), "phrase"), begun(off)));
    lines.extend(over.phrases.iter().take(MOST).map(|one| phrase(line, form, one, home, page)));
    let left = over.phrases.len().saturating_sub(MOST);
    lines.extend((left > 0).then(|| format!("    and {left} more; --json tells all")));
    let places: Vec<String> = over.against.iter().map(|note| rub(line, form, *note, home, page)).collect();
    if !places.is_empty() {
        let text = format!("held a half step over a tone of the chord: {}", places.join("; "));
        lines.extend(wrapped(&text, columns, "  ", "    "));
    }
    if !over.left_out.is_empty() {
        let chords: Vec<String> = over.left_out.iter().map(|change| chord(change, home, page)).collect();
        lines.extend(wrapped(&format!("hardly played over: {}", list(&chords)), columns, "  ", "    "));
    }
    let [low, high] = [over.range.0, over.range.1].map(|pitch| {
        let note = line.notes.iter().position(|note| note.pitch == pitch).unwrap_or(0);
        with_octave(line, note, PlacesBy::Bars(form, home), page)
    });
    lines.push(format!("  the lowest note is {low}, the highest {high}"));
    lines
}

fn begun(off: usize) -> String {
    format!("{} {}", count(off), if off < 2 { "begins" } else { "begin" })
}

/// A tone over its chord, with the note's place in the line: "3 of F7"; `None` where there is no chord.
fn tone_of(
    tone: Option<&ToneOver>,
    place: usize,
    line: &FreeLine,
    form: &PlacedForm,
    home: FormKey,
    page: &Page,
) -> Option<String> {
    let change = line.notes.get(place).and_then(|note| form.of_note(note))?;
    Some(format!("{} of {}", degree(tone?), chord(change, home, page)))
}

/// Where a phrase went and how: "3 of F7, by a step"; `None` where there is no chord.
pub(super) fn came_to(
    line: &FreeLine,
    form: &PlacedForm,
    phrase: &FreePhrase,
    home: FormKey,
    page: &Page,
) -> Option<String> {
    let ends = tone_of(phrase.last.as_ref(), phrase.notes.end.saturating_sub(1), line, form, home, page)?;
    Some(format!("{ends}{}", by(phrase.approach)))
}

fn phrase(line: &FreeLine, form: &PlacedForm, phrase: &FreePhrase, home: FormKey, page: &Page) -> String {
    let none = || "no chord".to_owned();
    let begins = tone_of(phrase.first.as_ref(), phrase.notes.start, line, form, home, page).unwrap_or_else(none);
    let ends = came_to(line, form, phrase, home, page).unwrap_or_else(|| none() + by(phrase.approach));
    let bar = line.notes.get(phrase.notes.start).map_or(0, |note| form.bar(note.onset)) + 1;
    let head = format!("    bar {bar:<4} from {begins}");
    let room = " ".repeat(32usize.saturating_sub(wrap::columns(&head)).max(1));
    format!("{head}{room} to {ends}")
}

/// Where a note is held against a tone of the chord: "bar 3, F over Cmaj7".
fn rub(line: &FreeLine, form: &PlacedForm, note: usize, home: FormKey, page: &Page) -> String {
    let name = names(line, &(note..note + 1), PlacesBy::Bars(form, home), page);
    let place = line.notes.get(note);
    let bar = place.map_or(0, |note| form.bar(note.onset)) + 1;
    let over = place.and_then(|note| form.of_note(note)).map_or_else(String::new, |change| chord(change, home, page));
    format!("bar {bar}, {name} over {over}")
}
