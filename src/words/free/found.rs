use crate::free::{FEW, FoundPattern, FoundPlace, FreeLine, FreeVocabulary, Habit};
use crate::music::{ConcertKey, HalfSteps, Mode};
use crate::pattern::{Family, Library};
use crate::words::Page;
use crate::words::free::{FreeLayout, names, with_octave};
use crate::words::numbers::{count, distance, listed, ordinal};
use crate::words::wrap::wrapped;

/// Largest number of patterns, and of habits, that are listed.
const MOST: usize = 12;
/// Largest number of places that are listed of one pattern or habit.
const PLACES: usize = 8;

/// The patterns that came out, and the player's own habits, each beside what chance gives.
#[must_use]
pub fn vocabulary(line: &FreeLine, found: &FreeVocabulary, by: FreeLayout<'_>, page: &Page) -> Vec<String> {
    let looked = match found.looked_for {
        1 => "one pattern".to_owned(),
        more => format!("{more} patterns"),
    };
    let mut lines = Vec::new();
    if let Some(all) = &found.only {
        lines.extend(wrapped(&only(line, all, by, page), by.columns, "", ""));
    }
    if found.patterns.is_empty() && found.only.is_some() {
        // That none stood out would be read as if none were known.
    } else if !found.by_chance.is_empty() && found.looked_for <= FEW {
        // Each of these is told below.
    } else if found.patterns.is_empty() {
        // Among many, chance gives some more often than it gives each.
        let none =
            format!("Of {looked} looked for none came out so often that chance would not give it to one of so many");
        // Whoever named the patterns knows how.
        let all = found.looked_for >= Library::builtin().patterns().len();
        let none = none + if all { "; --patterns NAME looks for one alone." } else { "." };
        lines.extend(wrapped(&none, by.columns, "", ""));
    } else {
        let some = format!("Of {looked} looked for these came out more often than chance gives:");
        lines.extend(wrapped(&some, by.columns, "", ""));
    }
    let chance_gives = found.by_chance.iter().map(|one| by_chance(line, one, by, page));
    lines.extend(chance_gives.flat_map(|said| wrapped(&said, by.columns, "", "  ")));
    lines.extend(
        found.patterns.iter().take(listed(found.patterns.len(), MOST)).flat_map(|one| pattern(line, one, by, page)),
    );
    lines.extend(more(found.patterns.len(), "pattern"));
    if !found.habits.is_empty() {
        lines.push("Yours, and in no library:".to_owned());
    }
    let numbered = found.habits.iter().take(listed(found.habits.len(), MOST)).enumerate();
    lines.extend(numbered.flat_map(|(n, one)| habit(line, n, one, by, page)));
    lines.extend(more(found.habits.len(), "line"));
    lines
}

fn more(all: usize, thing: &str) -> Option<String> {
    let left = all.saturating_sub(listed(all, MOST));
    (left > 0).then(|| format!("  and {left} more {thing}{}; --json tells all", if left == 1 { "" } else { "s" }))
}

fn times(number: usize) -> String {
    match number {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        more => format!("{} times", count(more)),
    }
}

fn chance(expected: f64) -> String {
    if expected < 0.005 { "chance: under 0.01".to_owned() } else { format!("chance: {expected:.2}") }
}

/// A line that is one pattern: "Your line is 1 2 3 5, in C at 1.0 s, from C4 to G4."
fn only(line: &FreeLine, found: &FoundPattern, by: FreeLayout<'_>, page: &Page) -> String {
    let one = |there: &FoundPlace| {
        let [first, last] = [there.notes.start, there.notes.end.saturating_sub(1)];
        let [from, to] = [first, last].map(|note| with_octave(line, note, by.places, page));
        let ends = if from == to { format!("beginning and ending on {to}") } else { format!("from {from} to {to}") };
        format!("{}, {ends}", place(line, found, there, by, page))
    };
    let mut places: Vec<String> = found.places.iter().take(PLACES).map(one).collect();
    let left = found.places.len() - places.len();
    places.extend((left > 0).then(|| format!("and {} more", count(left))));
    let again = if found.places.len() > 1 { format!(", {}", times(found.places.len())) } else { String::new() };
    let notes: usize = found.places.iter().map(|place| place.notes.len()).sum();
    let all = if notes < line.notes.len() { "nearly all" } else { "all" };
    let (name, places) = (&found.pattern.name, places.join("; "));
    format!(
        "Your line is {name}{again}: {places}. It is {all} that was played, so only a longer line can tell whether it is a habit."
    )
}

/// A pattern that came no more often than chance gives: "1 2 3 5 came once, in C in bar 1. So often chance
/// gives it in such a line (chance: 0.40)."
fn by_chance(line: &FreeLine, found: &FoundPattern, by: FreeLayout<'_>, page: &Page) -> String {
    let name = &found.pattern.name;
    if found.places.is_empty() {
        return format!("{name} did not come in this line.");
    }
    let mut places: Vec<String> =
        found.places.iter().take(PLACES).map(|one| place(line, found, one, by, page)).collect();
    let left = found.places.len() - places.len();
    places.extend((left > 0).then(|| format!("and {} more", count(left))));
    let (came, places, chance) = (times(found.places.len()), places.join("; "), chance(found.expected));
    format!("{name} came {came}: {places}. So often it may come by chance in such a line ({chance}).")
}

fn pattern(line: &FreeLine, found: &FoundPattern, by: FreeLayout<'_>, page: &Page) -> Vec<String> {
    let came = found.places.iter().filter(|place| !place.broken).count();
    let came = if came == 0 { "begun".to_owned() } else { times(came) };
    let head = format!("{}, {came} ({})", found.pattern.name, chance(found.expected));
    let mut lines = wrapped(&head, by.columns, "  ", "    ");
    let told = found.places.iter().take(PLACES);
    let mut places: Vec<String> = told.map(|one| place(line, found, one, by, page)).collect();
    let left = found.places.len() - places.len();
    places.extend((left > 0).then(|| format!("and {} more", count(left))));
    lines.extend(wrapped(&places.join("; "), by.columns, "    ", "    "));
    lines
}

/// A pattern where it came, in a few words for a page: "five-note row up in Eb, broken off".
#[must_use]
pub fn pattern_at(found: &FoundPattern, place: &FoundPlace, page: &Page) -> String {
    let key = page.key(place.key, found.pattern.mode());
    let how = match (place.broken, place.changed) {
        (true, _) => ", broken off",
        (false, Some(_)) => ", one note changed",
        (false, None) => "",
    };
    format!("{} in {key}{how}", found.pattern.name)
}

/// Where and how a pattern came: "in Eb at 3.2 s begun on 3, the fourth note a half step down".
fn place(line: &FreeLine, found: &FoundPattern, there: &FoundPlace, by: FreeLayout<'_>, page: &Page) -> String {
    let key = page.key(there.key, found.pattern.mode());
    let mut said = format!("in {key} {}", by.places.note(line, there.notes.start));
    if let Some(degree) = there.from {
        said += &format!(" begun on {degree}");
        said += &minor(line, found, there, page).map_or_else(String::new, |key| format!(", as in {key} minor"));
    }
    if let Some((note, by)) = there.changed {
        let way = if by > 0 { "up" } else { "down" };
        said += &format!(", the {} note {} {way}", ordinal(note), distance(HalfSteps(by.abs())));
    }
    if there.broken {
        let (notes, of) = (there.notes.len(), found.pattern.notes().len());
        said += &format!(", broken off after {} of {} notes", count(notes), count(of));
    }
    said
}

/// The minor key in which a stepwise pattern in major sounds where it is begun on another degree: 1 2 3 4 5 begun on 2 is 1 2 b3 4 5.
fn minor(line: &FreeLine, found: &FoundPattern, there: &FoundPlace, page: &Page) -> Option<String> {
    let notes = line.notes.get(there.notes.clone())?;
    let first = notes.first()?.pitch;
    let ups: Vec<i32> = notes.iter().map(|note| (note.pitch - first).0.rem_euclid(12)).collect();
    let natural = ups.iter().all(|up| [0, 2, 3, 5, 7, 8, 10].contains(up)) && ups.contains(&3) && ups.contains(&7);
    let major = found.pattern.family == Family::Stepwise && found.pattern.mode() == Mode::Major;
    let key = page.key(ConcertKey(first.class()), Mode::Minor);
    (natural && major && there.changed.is_none()).then_some(key)
}

fn habit(line: &FreeLine, n: usize, habit: &Habit, by: FreeLayout<'_>, page: &Page) -> Vec<String> {
    let notes = habit.places.first().map_or_else(String::new, |first| names(line, first, by.places, page));
    let mut places: Vec<String> = habit.places.iter().take(PLACES).map(|one| by.places.note(line, one.start)).collect();
    if habit.places.len() > PLACES {
        places.push("...".to_owned());
    }
    let (came, places) = (times(habit.places.len()), places.join(", "));
    let class = |notes: &std::ops::Range<usize>| line.notes.get(notes.start).map(|note| note.pitch.class());
    let moved = habit.places.iter().any(|one| class(one) != habit.places.first().and_then(class));
    let moved = if moved { ", or the same from another note" } else { "" };
    let said = format!("{notes}{moved}, {came}, {places} ({})", chance(habit.expected));
    wrapped(&said, by.columns, &format!("{:3}  ", n + 1), "     ")
}
