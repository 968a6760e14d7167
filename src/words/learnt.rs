//! A learnt line in words: what was heard, as notes, degrees, half steps and chord tones, with the reasons.

use crate::learn::{self, LearnedPattern, LineOrnament, LineOrnamentKind, RootReason};
use crate::music::{ConcertKey, Mode, NamedBy};
use crate::pattern::{ExpectedNote, Family, Reads, print_notes};
use crate::words::Page;
use crate::words::numbers::numbered;
use crate::words::patterns::{level_name, level_words};

/// Largest number of notes side by side on one row.
const ACROSS: usize = 13;

/// So many quick notes to and fro are a trill.
const STROKES: usize = 5;

/// Everything that was decided about a learnt line: rhythm, root, family and level with their reasons, then its notes.
#[must_use]
pub fn lines(learnt: &LearnedPattern, page: &Page) -> Vec<String> {
    let mut lines =
        vec![heard(learnt), rhythm(learnt), root(learnt, page), family(learnt), level(learnt), String::new()];
    if learnt.rhythm.guessed {
        lines.insert(2, "tempo     taken from the notes alone, as nobody told it; --tempo settles it".to_owned());
    }
    lines.splice(2..2, ornaments(&learnt.ornaments).or_else(|| trill(&learnt.rhythm.line.notes)));
    lines.splice(1..1, learn::begins_anew(&learnt.kept).map(|at| anew(at + 1)));
    let rows = rows(learnt, page);
    let count = learnt.rhythm.line.notes.len();
    for from in (0..count).step_by(ACROSS) {
        for (label, cells) in &rows {
            let cells: String =
                cells[from..count.min(from + ACROSS)].iter().map(|cell| format!(" {cell:>4}")).collect();
            lines.push(format!("  {label:10}{cells}"));
        }
        lines.push(String::new());
    }
    let half_steps = learnt.pattern.notation.reads == Reads::HalfSteps;
    let reads = if half_steps { "  (half steps)" } else { "" };
    lines.push(format!("  notes = {}{reads}", print_notes(&learnt.pattern.notation.tokens)));
    lines
}

fn heard(learnt: &LearnedPattern) -> String {
    let rhythm = &learnt.rhythm;
    let unit = match rhythm.share {
        1 => "quarters",
        2 if rhythm.swing => "swung eighths",
        2 => "eighths",
        3 => "triplets",
        4 => "sixteenths",
        6 => "sixteenth triplets",
        8 => "thirty-seconds",
        5 | 10 => "groups of five",
        7 | 14 => "groups of seven",
        9 | 18 => "groups of nine",
        _ => "groups of several sizes",
    };
    let notes = numbered(rhythm.line.notes.len(), "note");
    format!("heard     {notes}, in {unit} at quarter = {:.0}", rhythm.tempo.0)
}

fn rhythm(learnt: &LearnedPattern) -> String {
    let rhythm = &learnt.rhythm;
    // Both numbers are rounded so that they never contradict the sentence.
    let (moved, allowed) = (rhythm.moved.ms().ceil(), rhythm.allowed.ms());
    if rhythm.exact {
        "rhythm    as the file has it".to_owned()
    } else if rhythm.even() {
        format!(
            "rhythm    no note more than {moved:.0} ms from its place (up to {:.0} is taken as meant)",
            allowed.ceil()
        )
    } else {
        format!(
            "rhythm    uneven: note {} is {moved:.0} ms from its place, and only {:.0} are taken as meant",
            rhythm.furthest,
            allowed.floor()
        )
    }
}

/// What is said of a line that begins anew with a note.
fn anew(note: usize) -> String {
    format!("tries     after a silence note {note} begins it anew: of two tries, learn one alone")
}

/// What is said of ornaments that were left out.
fn ornaments(found: &[LineOrnament]) -> Option<String> {
    let one = |ornament: &LineOrnament| {
        let note = ornament.note + 1;
        match ornament.kind {
            LineOrnamentKind::Grace => format!("a grace note before note {note}"),
            LineOrnamentKind::Twice => format!("a first stroke of note {note}"),
            LineOrnamentKind::Turn => format!("a mordent or turn on note {note}"),
            LineOrnamentKind::Trill => format!("a trill on note {note}"),
        }
    };
    let (last, others) = found.split_last()?;
    let others: Vec<String> = others.iter().map(one).collect();
    let both = if others.is_empty() { String::new() } else { format!("{} and ", others.join(", ")) };
    Some(format!("ornament  {both}{} left out", one(last)))
}

/// What is said of a trill: quick notes to and fro between two neighbours, beside longer notes.
fn trill(notes: &[ExpectedNote]) -> Option<String> {
    let apart = |n: usize| notes[n + 1].at.0 - notes[n].at.0;
    let quick = (0..notes.len().saturating_sub(1)).map(apart).fold(f64::INFINITY, f64::min);
    let beside = |n: usize| (1..=2).contains(&(notes[n + 1].pitch.0 - notes[n].pitch.0).abs());
    let goes_on = |n: usize| notes[n].pitch == notes[n - 2].pitch && beside(n - 1) && apart(n - 1) < 1.01 * quick;
    let starts = (0..notes.len().saturating_sub(STROKES - 1)).filter(|n| beside(*n) && apart(*n) < 1.01 * quick);
    let runs = starts.map(|from| (from, (from + 2..notes.len()).take_while(|n| goes_on(*n)).count() + 2));
    let (from, count) = runs.max_by_key(|(from, count)| (*count, usize::MAX - from)).filter(|run| run.1 >= STROKES)?;
    (count < notes.len() && (0..notes.len() - 1).any(|n| apart(n) > 1.01 * quick)).then(|| {
        format!("trill     notes {} to {} go to and fro, and are kept stroke by stroke", from + 1, from + count)
    })
}

fn root(learnt: &LearnedPattern, page: &Page) -> String {
    let key = ConcertKey(learnt.root.tonic.class());
    let why = match &learnt.root.why {
        RootReason::Given => "as told".to_owned(),
        RootReason::Known(name) => format!("as in \"{name}\" of the library"),
        RootReason::Signature => "by the file's key signature".to_owned(),
        RootReason::Chord(quality) => {
            format!("its notes are those of {}{}", page.key(key, Mode::Major), quality_name(*quality))
        }
        RootReason::Ends => "it begins and ends there".to_owned(),
        RootReason::Scale(scale) => format!("it begins there and stays in {} {scale}", page.key(key, Mode::Major)),
    };
    format!("root      {}: {why}", page.key(key, Mode::Major))
}

/// The name of a chord quality as it stands after a root; the plain major triad is written out as " major".
fn quality_name(quality: crate::pattern::Quality) -> &'static str {
    if quality == crate::pattern::Quality::MAJOR { " major" } else { quality.name() }
}

fn family(learnt: &LearnedPattern) -> String {
    let motion = learnt.motion;
    let family = learnt.pattern.family;
    let moves = motion.moves();
    let why = if family != motion.family() {
        "as told".to_owned()
    } else {
        match family {
            Family::Skips => format!("{} of its {moves} moves are skips", motion.skips),
            Family::HalfSteps => format!("{} of its {moves} moves are half steps", motion.half_steps),
            _ if moves == 0 => "it stays on one note".to_owned(),
            _ => format!("{} of its {moves} moves are steps", motion.half_steps + motion.whole_steps),
        }
    };
    format!("family    {}: {why}", family.name())
}

fn level(learnt: &LearnedPattern) -> String {
    let level = learnt.pattern.level;
    format!("level     {level}, {}: {}", level_name(level), level_words(&learnt.pattern))
}

fn rows(learnt: &LearnedPattern, page: &Page) -> Vec<(String, Vec<String>)> {
    let (notes, tonic) = (&learnt.rhythm.line.notes, learnt.root.tonic);
    let (key, spelling) = (ConcertKey(tonic.class()), learnt.pattern.spelling());
    let written = notes.iter().zip(learnt.pattern.notes()).map(|(note, step)| {
        let note = ExpectedNote { named: Some(NamedBy { letters: step.degree.letters, over: 0 }), ..*note };
        page.with_octave(page.expected(&note, key, spelling))
    });
    let mut rows = vec![
        ("note".to_owned(), (1..=notes.len()).map(|n| n.to_string()).collect()),
        ("on my page".to_owned(), written.collect()),
        ("degree".to_owned(), learnt.pattern.notes().iter().map(|step| step.degree.to_string()).collect()),
        ("half steps".to_owned(), notes.iter().map(|note| (note.pitch.0 - tonic.0).to_string()).collect()),
    ];
    if let Some(quality) = learnt.chord {
        let tone = |note: &crate::pattern::ExpectedNote| {
            learn::tone(quality, tonic, note.pitch).map_or_else(|| "-".to_owned(), |tone| tone.to_string())
        };
        rows.push((format!("of {}", quality.name()), notes.iter().map(tone).collect()));
    }
    rows
}
