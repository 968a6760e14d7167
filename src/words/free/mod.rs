//! Free playing taken apart, in words: never a grade.

mod chorus;
mod found;
mod over;
mod picture;
mod place;

pub use chorus::chorus;
pub use found::{pattern_at, vocabulary};
pub use over::{chord, over_form};
pub use picture::{PictureCell, picture};
pub use place::{FormKey, FreeLayout, PlacesBy};

use place::readable;

use crate::free::{FreeLine, FreePart, FreeParts, NoLine, TempoFrom};
use crate::music::{Concert, Mode};
use crate::pattern::Family;
use crate::units::{Seconds, Tempo};
use crate::words::Page;
use crate::words::numbers::{list, numbered};
use crate::words::wrap::{columns, wrapped};

/// Largest number of columns of a printed line.
pub const COLUMNS: usize = 78;
/// Columns that the notes of a part may take; more notes go on below.
const NOTES: usize = 38;

/// What the player can do where no line was found in the sound.
#[must_use]
pub fn mend(why: &NoLine) -> &'static str {
    match why {
        NoLine::Silent => "earfirst hear --file FILE says what is wrong with the sound.",
        NoLine::Few(_) => "A line has four notes or more; earfirst notes FILE lists those that are in it.",
        NoLine::Unsteady => {
            "Record one instrument or voice that plays or sings notes; earfirst notes FILE shows what is heard."
        }
        NoLine::Unpitched(_) => {
            "Record one line of one instrument, without a band; earfirst hear --file FILE tells more of the sound."
        }
        NoLine::Doubtful(..) => {
            "Record one line of one instrument, without a band; earfirst notes FILE shows what is heard."
        }
    }
}

/// The first lines: how many notes, length, tempo and key; how many sounds are doubtful; how the line moves.
///
/// Over a form its key is told. The scale that holds most notes may be that of its fourth or fifth, and would read as another key.
#[must_use]
pub fn head(line: &FreeLine, parts: &FreeParts, form: Option<FormKey>, page: &Page, columns: usize) -> Vec<String> {
    let key = match form {
        Some(FormKey { key, mode: Mode::Major }) => format!("over a form in {}", page.key(key, Mode::Major)),
        Some(FormKey { key, mode }) => format!("over a form in {} {}", page.key(key, mode), mode.name()),
        None => {
            let (key, mode) = line.home();
            format!("most of them in the scale of {} {}", page.key(key, mode), mode.name())
        }
    };
    let begins = if line.tempo_changes { " at first" } else { "" };
    let by_file = match line.tempo_from {
        TempoFrom::File => ", as the file says",
        TempoFrom::Assumed => ", since the file says none",
        TempoFrom::Told | TempoFrom::Notes(_) => "",
    };
    let tempo = line.tempo.map_or_else(String::new, |tempo| format!(" · {}{begins}{by_file}", page.tempo(tempo)));
    let (notes, length) = (numbered(line.notes.len(), "note"), line.length().0);
    let decimals = usize::from(length < 10.0);
    let first = format!("{notes} in {length:.decimals$} s{tempo} · {key}");
    let mut lines = wrapped(&first, columns, "", "  ");
    if page.transposition().0 % 12 != 0 {
        let said = format!("notes and keys as they are written for the {}", page.instrument.name);
        lines.extend(wrapped(&said, columns, "", "  "));
    }
    if let TempoFrom::Notes(file) = line.tempo_from {
        lines.extend(wrapped(&tempo_found(line, file, page), columns, "", "  "));
    }
    lines.extend(line.swing().map(|ratio| format!("eighths are long and short, about {ratio:.1} to 1")));
    lines.extend(match line.doubtful {
        0 => line.by_ear.then(|| "every note was heard clearly".to_owned()),
        1 => Some(format!("one of {} sounds was not heard clearly: there it may be otherwise", line.heard)),
        n => Some(format!("{n} of {} sounds were not heard clearly: there it may be otherwise", line.heard)),
    });
    lines.extend(wrapped(&moved(line, parts), columns, "", "  "));
    lines
}

/// That the tempo is found from the notes, why that of the file is not taken, and how else the notes may be counted.
fn tempo_found(line: &FreeLine, file: Option<Tempo>, page: &Page) -> String {
    let why = file.map_or_else(String::new, |file| {
        let usual = if (file.0 - 120.0).abs() < 0.5 { ", as many keyboards do whatever is played" } else { "" };
        format!(": the file says {}{usual}, and they do not fit it", page.tempo(file))
    });
    let other = match line.tempo_or {
        Some(other) => format!("{} fits nearly as well (--tempo {:.0})", page.tempo(other), other.0),
        None => "--tempo says otherwise".to_owned(),
    };
    format!("the tempo is found from the notes{why}; {other}")
}

/// How the line moves: "of 11 moves: 7 stepwise and 3 by skips; 1 from part to part".
fn moved(line: &FreeLine, parts: &FreeParts) -> String {
    let moves = line.notes.len().saturating_sub(1);
    let ways = [(Family::Stepwise, "stepwise"), (Family::HalfSteps, "by half steps"), (Family::Skips, "by skips")];
    let counts = ways.map(|(family, how)| (parts.moves(family), how));
    let again: usize = parts.parts.iter().map(|part| part.again).sum();
    let inside = again + counts.iter().map(|(count, _)| count).sum::<usize>();
    let joins = match moves.saturating_sub(inside) {
        0 => String::new(),
        joins => format!("; {joins} from part to part"),
    };
    let some: Vec<(usize, &str)> = counts.into_iter().filter(|(count, _)| *count > 0).collect();
    let mut numbers: Vec<String> = some.iter().map(|(count, how)| format!("{count} {how}")).collect();
    numbers.extend((again > 0).then(|| format!("{again} to the same note")));
    match &some[..] {
        [] => format!("{} from note to note", numbered(moves, "move")),
        [(all, how)] if *all == moves => format!("all of its {} {how}", numbered(moves, "move")),
        _ => format!("of {}: {}{joins}", numbered(moves, "move"), list(&numbers)),
    }
}

/// The notes of a stretch, by their names on the page.
#[must_use]
pub fn names(line: &FreeLine, notes: &std::ops::Range<usize>, by: PlacesBy<'_>, page: &Page) -> String {
    let name = |note| Some(page.name(by.spelled(line, note, page)?.name()));
    notes.clone().filter_map(name).collect::<Vec<_>>().join(" ")
}

/// A note with its octave, by its name on the page.
#[must_use]
pub fn with_octave(line: &FreeLine, note: usize, by: PlacesBy<'_>, page: &Page) -> String {
    by.spelled(line, note, page).map_or_else(String::new, |name| page.with_octave(name))
}

/// What a part is, in a few words: "skips: D maj7, up".
#[must_use]
pub fn what(line: &FreeLine, part: &FreePart, by: PlacesBy<'_>, page: &Page) -> String {
    let notes = line.notes.get(part.notes.clone()).unwrap_or_default();
    let moves: Vec<i32> = notes.windows(2).map(|pair| (pair[1].pitch - pair[0].pitch).0).collect();
    let way = match (moves.iter().all(|by| *by >= 0), moves.iter().all(|by| *by <= 0)) {
        (true, false) => ", up",
        (false, true) => ", down",
        _ => "",
    };
    let chord = part.chord.map_or_else(String::new, |(root, quality)| {
        // The root is spelled as it stands among the notes of the part.
        let is_root = |note: &usize| line.notes.get(*note).is_some_and(|it| it.pitch.class() == root);
        let there = part.notes.clone().find(is_root).and_then(|note| by.spelled(line, note, page));
        let (key, mode) = line.home();
        let root = there.unwrap_or_else(|| readable(page, Concert(60 + root.get()), key, mode));
        let root = page.name(root.name());
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
    format!("{}{chord}{}{way}", part.family.name(), round(line, part, &moves, by, page))
}

/// In a part by half steps, the notes that the line goes round from both sides: ": round Db".
fn round(line: &FreeLine, part: &FreePart, moves: &[i32], by: PlacesBy<'_>, page: &Page) -> String {
    let turned = |pair: &[i32]| pair[0].abs() > 1 && pair[0].signum() == -pair[1].signum();
    let targets = moves.windows(2).enumerate().filter(|(_, pair)| part.family == Family::HalfSteps && turned(pair));
    let name = |note: usize| names(line, &(note..note + 1), by, page);
    let mut targets: Vec<String> = targets.map(|(n, _)| name(part.notes.start + n + 2)).collect();
    targets.dedup();
    if targets.is_empty() { String::new() } else { format!(": round {}", list(&targets)) }
}

/// One row for each part, in order; a reading of the same notes that is nearly as good stands below its part, after "or".
#[must_use]
pub fn rows(line: &FreeLine, parts: &FreeParts, by: PlacesBy<'_>, page: &Page) -> Vec<String> {
    let place = |part: &FreePart| {
        let at = line.notes.get(part.notes.start).map_or(Seconds(0.0), |note| note.onset);
        match by {
            PlacesBy::Bars(form, _) => format!("{:>9}", format!("bar {}", form.bar(at) + 1)),
            _ => format!("{:7.1} s", at.0),
        }
    };
    let mut lines = Vec::new();
    let mut others = parts.others.iter().peekable();
    for part in &parts.parts {
        lines.extend(row(line, part, (by, page), &place(part), ""));
        while let Some(other) = others.next_if(|other| other.notes.start < part.notes.end) {
            lines.extend(row(line, other, (by, page), "", "or "));
        }
    }
    lines.extend(others.flat_map(|other| row(line, other, (by, page), "", "or ")));
    lines
}

fn row(line: &FreeLine, part: &FreePart, (by, page): (PlacesBy<'_>, &Page), place: &str, or: &str) -> Vec<String> {
    let mut lines = Vec::new();
    for (n, text) in wrapped(&names(line, &part.notes, by, page), NOTES, "", "").into_iter().enumerate() {
        if n > 0 {
            lines.push(format!("{:11}{text}", ""));
            continue;
        }
        let room = " ".repeat(NOTES.saturating_sub(columns(&text)) + 2);
        let whole = format!("{place:9}  {text}{room}{or}{}", what(line, part, by, page));
        lines.push(crate::words::wrap::cut(&whole, COLUMNS).trim_end().to_owned());
    }
    lines
}
