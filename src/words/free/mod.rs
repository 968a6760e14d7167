//! Free playing taken apart, in words: never a grade.

mod chorus;
mod found;
mod over;
mod picture;

pub use chorus::chorus;
pub use found::{pattern_at, vocabulary};
pub use over::{FormKey, over_form};
pub use picture::{PictureCell, picture};

use crate::free::{FreeLine, FreePart, FreeParts, NoLine, PlacedForm};
use crate::music::{Concert, ConcertKey, Mode, Spelling};
use crate::pattern::Family;
use crate::units::Seconds;
use crate::words::Page;
use crate::words::numbers::numbered;
use crate::words::wrap::{columns, wrapped};

/// Largest number of columns of a printed line.
pub(super) const COLUMNS: usize = 78;
/// Columns that the notes of a part may take; more notes go on below.
const NOTES: usize = 38;

/// What the player can do where no line was found in the sound.
#[must_use]
pub fn mend(why: &NoLine) -> &'static str {
    match why {
        NoLine::Silent => "earfirst hear --file FILE says what is wrong with the sound.",
        NoLine::Few(_) => "Play a phrase of four notes or more; earfirst notes FILE shows what is heard.",
        NoLine::Unsteady => {
            "Record one instrument or voice that plays or sings notes; earfirst notes FILE shows what is heard."
        }
        NoLine::Doubtful(..) => {
            "Record one line of one instrument, without a band; earfirst notes FILE shows what is heard."
        }
    }
}

/// The first lines: how many notes, length, tempo and scale; how many sounds are doubtful; how the line moves.
#[must_use]
pub fn head(line: &FreeLine, parts: &FreeParts, page: &Page) -> Vec<String> {
    let key = page.key(ConcertKey(line.scale()), Mode::Major);
    let begins = if line.tempo_changes { " at first" } else { "" };
    let tempo = line.tempo.map_or_else(String::new, |tempo| format!(" · {}{begins}", page.tempo(tempo)));
    let (notes, length) = (numbered(line.notes.len(), "note"), line.length().0);
    let mut lines = vec![format!("{notes} in {length:.0} s{tempo} · most of them in the scale of {key} major")];
    if page.transposition().0 % 12 != 0 {
        let said =
            format!("notes and keys as they are written for the {}; --concert: as they sound", page.instrument.name);
        lines.extend(wrapped(&said, COLUMNS, "", "  "));
    }
    lines.push(match line.doubtful {
        0 => "every one surely heard".to_owned(),
        n => format!("{n} of {} sounds are doubtful: what stands on them may be otherwise", line.heard),
    });
    let moves = line.notes.len().saturating_sub(1);
    let of = |family: Family, how: &str| format!("{} {how}", parts.moves(family));
    let all = [of(Family::Stepwise, "stepwise"), of(Family::HalfSteps, "by half steps"), of(Family::Skips, "by skips")];
    let inside: usize = [Family::Stepwise, Family::HalfSteps, Family::Skips].map(|one| parts.moves(one)).iter().sum();
    lines.push(format!("of {moves} moves {}, {} between parts", all.join(", "), moves - inside.min(moves)));
    lines
}

/// The notes of a stretch, by their names on the page.
#[must_use]
pub fn names(line: &FreeLine, notes: &std::ops::Range<usize>, page: &Page) -> String {
    let key = ConcertKey(line.scale());
    let name = |pitch: Concert| page.note(pitch, key, Spelling::default());
    let all = line.notes.get(notes.clone()).unwrap_or_default();
    all.iter().map(|note| name(note.pitch)).collect::<Vec<_>>().join(" ")
}

/// A note with its octave, spelled in the scale of the line.
pub(super) fn with_octave(line: &FreeLine, pitch: Concert, page: &Page) -> String {
    page.with_octave(page.spelled(pitch, ConcertKey(line.scale()), Spelling::default()))
}

/// What a part is, in a few words: "skips: D maj7, up".
#[must_use]
pub fn what(line: &FreeLine, part: &FreePart, page: &Page) -> String {
    let notes = line.notes.get(part.notes.clone()).unwrap_or_default();
    let moves: Vec<i32> = notes.windows(2).map(|pair| (pair[1].pitch - pair[0].pitch).0).collect();
    let way = match (moves.iter().all(|by| *by >= 0), moves.iter().all(|by| *by <= 0)) {
        (true, false) => ", up",
        (false, true) => ", down",
        _ => "",
    };
    let chord = part.chord.map_or_else(String::new, |(root, quality)| {
        let root = page.note(Concert(60 + root.get()), ConcertKey(line.scale()), Spelling::default());
        let name = quality.name();
        format!(
            ": {root} {}",
            if name == "maj" {
                "major"
            } else if name == "m" {
                "minor"
            } else {
                name
            }
        )
    });
    format!("{}{chord}{way}", part.family.name())
}

/// One row for each part, in order; a reading of the same notes that is nearly as good stands below its part, after "or".
#[must_use]
pub fn rows(line: &FreeLine, parts: &FreeParts, form: Option<&PlacedForm>, page: &Page) -> Vec<String> {
    let place = |part: &FreePart| {
        let at = line.notes.get(part.notes.start).map_or(Seconds(0.0), |note| note.onset);
        form.map_or_else(|| format!("{:7.1} s", at.0), |form| format!("{:>9}", format!("bar {}", form.bar(at) + 1)))
    };
    let mut lines = Vec::new();
    let mut others = parts.others.iter().peekable();
    for part in &parts.parts {
        lines.extend(row(line, part, page, &place(part), ""));
        while let Some(other) = others.next_if(|other| other.notes.start < part.notes.end) {
            lines.extend(row(line, other, page, "", "or "));
        }
    }
    lines.extend(others.flat_map(|other| row(line, other, page, "", "or ")));
    lines
}

fn row(line: &FreeLine, part: &FreePart, page: &Page, place: &str, or: &str) -> Vec<String> {
    let mut lines = Vec::new();
    for (n, text) in wrapped(&names(line, &part.notes, page), NOTES, "", "").into_iter().enumerate() {
        if n > 0 {
            lines.push(format!("{:11}{text}", ""));
            continue;
        }
        let room = " ".repeat(NOTES.saturating_sub(columns(&text)) + 2);
        let whole = format!("{place:9}  {text}{room}{or}{}", what(line, part, page));
        lines.push(crate::words::wrap::cut(&whole, COLUMNS).trim_end().to_owned());
    }
    lines
}
