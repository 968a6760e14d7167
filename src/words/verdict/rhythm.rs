//! Rhythm in words: what was played and what was asked, by note values and by beats.

use super::places::{NAMED, together};
use crate::pattern::ExpectedNote;
use crate::units::{Beats, median};
use crate::verdict::{Expectation, NoteInTime, RhythmNote};
use crate::words::numbers::{list, ordinal};

/// Two places, or two distances, that differ by no more than this are the same, in beats.
const SAME: f64 = 0.01;
/// Largest number of distances in a figure that comes back over and over.
const LONGEST_FIGURE: usize = 3;

/// The rhythm that was played instead of the one asked: "another rhythm, a dotted eighth and a sixteenth over and over instead of even
/// eighths". `held` gives for how many beats a note of the line sounded.
pub(super) fn other_rhythm(
    played: &[RhythmNote],
    asked: &Expectation,
    held: &dyn Fn(usize) -> Option<Beats>,
) -> String {
    let (came, wanted) = places(played, asked);
    let (asked_apart, apart) = (distances(&wanted), distances(&came));
    let changed: Vec<usize> = (0..apart.len()).filter(|n| differ(apart[*n], asked_apart[*n])).collect();
    let moved: Vec<usize> = (0..came.len()).filter(|n| differ(came[*n], wanted[*n])).collect();
    let off_beat = |at: f64| (at - at.round()).abs() > 0.4;
    match (&changed[..], &moved[..]) {
        ([], _) => "the line was begun on the beat, and it begins off the beat".to_owned(),
        ([0], [0]) if off_beat(wanted[0]) && !off_beat(came[0]) => {
            "the first note came on the beat, and it stands off the beat".to_owned()
        }
        ([n], _) if rest_after(played[*n].note, asked).is_some_and(|rest| apart[*n] < asked_apart[*n] && rest) => {
            format!("the rest after the {} note was left out", ordinal(played[*n].note))
        }
        ([n], _) => {
            let (note, came, wanted) = (ordinal(played[*n].note), one(apart[*n]), one(asked_apart[*n]));
            // Of a swing nothing is known beside another rhythm.
            let others = if asked.line.late_off_beats().is_some() { "" } else { ", all else as asked" };
            let (by, longer) = (apart[*n] - asked_apart[*n], apart[*n] > asked_apart[*n]);
            let held: Vec<Option<Beats>> = played.iter().map(|it| held(it.note)).collect();
            match rested(*n, &held, &apart, asked_apart[*n]) {
                // Behind the last note nothing tells whether the line went on later: that note alone is late.
                Some(_)
                    if n + 1 == apart.len()
                        && let Some(by) = late(by) =>
                {
                    format!("the {} note came {by} late", ordinal(played[n + 1].note))
                }
                Some(rest) => format!("you rested for {rest} after the {note} note{others}"),
                // Swung eighths have no note values of their own, and not every length has a name.
                None if let Some(by) = late(by.abs()).filter(|_| others.is_empty() || value(apart[*n]).is_none()) => {
                    format!("the {note} note was {by} too {}{others}", if longer { "long" } else { "short" })
                }
                None => format!("the {note} note took {came} instead of {wanted}{others}"),
            }
        }
        _ => match (figure(&apart), figure(&asked_apart)) {
            (Some(came), wanted) => {
                let wanted = wanted.unwrap_or_else(|| some(&asked_apart));
                format!("another rhythm, {came} instead of {wanted}")
            }
            (None, wanted) => differing(played, &apart, &asked_apart, &changed, wanted),
        },
    }
}

/// The note value for which the player rested after the `n`th note, where the time to the next note grew from `asked` beats and the note
/// did not sound longer for it, as this player holds the others; `None` where it did, or where too few others tell.
fn rested(n: usize, held: &[Option<Beats>], apart: &[f64], asked: f64) -> Option<String> {
    let share = |m: usize| Some(held.get(m).copied()??.0 / apart[m]);
    let others: Vec<f64> = (0..apart.len()).filter(|m| *m != n).filter_map(share).collect();
    let usual = median(&others).filter(|_| others.len() >= NAMED)?;
    let rest = apart[n] - asked;
    (value(rest).is_some() && share(n)? * apart[n] < 0.5 * usual * (apart[n] + asked)).then(|| one(rest))
}

/// So many beats in words, where they are halves or thirds of a beat: "half a beat", "a third of a beat".
fn late(beats: f64) -> Option<&'static str> {
    const BY: [(f64, &str); 6] = [
        (0.25, "a quarter of a beat"),
        (1.0 / 3.0, "a third of a beat"),
        (0.5, "half a beat"),
        (2.0 / 3.0, "two thirds of a beat"),
        (1.0, "a beat"),
        (1.5, "a beat and a half"),
    ];
    BY.iter().find(|row| !differ(row.0, beats)).map(|row| row.1)
}

/// The note that alone took longer or less long than asked, and whether it took longer; `None` where more differs.
pub(super) fn one_note(played: &[RhythmNote], asked: &Expectation) -> Option<(usize, bool)> {
    let (apart, asked_apart) = both(played, asked);
    let mut changed = (0..apart.len()).filter(|n| differ(apart[*n], asked_apart[*n]));
    let (one, None) = (changed.next()?, changed.next()) else { return None };
    Some((played[one].note, apart[one] > asked_apart[one]))
}

/// The rhythm that was played where it repeats no figure: which notes took other values than asked. `wanted` names the asked figure, where
/// there is one.
fn differing(played: &[RhythmNote], apart: &[f64], asked: &[f64], changed: &[usize], wanted: Option<String>) -> String {
    let notes: Vec<usize> = changed.iter().map(|n| played[*n].note).collect();
    let same = |of: &[f64]| changed.windows(2).all(|pair| !differ(of[pair[0]], of[pair[1]]));
    let values = |of: &[f64]| list(&changed.iter().map(|n| one(of[*n])).collect::<Vec<_>>());
    let to_the_end =
        changed.windows(2).all(|pair| pair[1] == pair[0] + 1) && changed.last() == Some(&(apart.len() - 1));
    let first = changed[0];
    let what = match (same(apart), same(asked)) {
        _ if triplet(apart, asked, changed) => {
            let three = [first, first + 1, first + 2].map(|n| played[n].note);
            format!("{} came as a triplet instead of {}", together(&three), many(asked[first]))
        }
        (true, true) if to_the_end => {
            format!("from the {} note on {} instead of {}", ordinal(notes[0]), many(apart[first]), many(asked[first]))
        }
        (true, true) => format!("{} took {} instead of {}", together(&notes), one(apart[first]), one(asked[first])),
        _ if changed.len() == apart.len() => {
            format!("{} instead of {}", some(apart), wanted.unwrap_or_else(|| "the one asked".to_owned()))
        }
        _ if changed.len() > NAMED => format!(
            "{} took other values than asked, the first of them {} instead of {}",
            together(&notes),
            one(apart[first]),
            one(asked[first])
        ),
        (_, true) => format!("{} took {} instead of {} each", together(&notes), values(apart), one(asked[first])),
        (true, _) => format!("{} took {} each instead of {}", together(&notes), one(apart[first]), values(asked)),
        _ => format!("{} took {} instead of {}", together(&notes), values(apart), values(asked)),
    };
    format!("another rhythm, {what}")
}

/// Whether all that differs is that three equal notes came as a triplet, after which the line went on at once or where it was asked.
fn triplet(apart: &[f64], asked: &[f64], changed: &[usize]) -> bool {
    let [one, two, three] = changed else { return false };
    let thirds = |n: &usize| !differ(apart[*n], 1.0 / 3.0);
    let sum = |of: &[f64]| of[*one..=*three].iter().sum::<f64>();
    let goes_on = thirds(three) || !differ(sum(apart), sum(asked));
    let equal = !differ(asked[*one], asked[*two]) && !differ(asked[*one], asked[*three]);
    one + 2 == *three && equal && thirds(one) && thirds(two) && goes_on
}

/// The distances between the notes, in beats, as they were played and as they were asked, swung off-beats put back to the half beat.
fn both(played: &[RhythmNote], asked: &Expectation) -> (Vec<f64>, Vec<f64>) {
    let places = places(played, asked);
    (distances(&places.0), distances(&places.1))
}

/// Where the notes were played and where they were asked, in beats, swung off-beats put back to the half beat.
fn places(played: &[RhythmNote], asked: &Expectation) -> (Vec<f64>, Vec<f64>) {
    let late = asked.line.late_off_beats();
    let straight = |at: f64| late.map_or(at, |late| late.straight(at));
    let note = |it: &RhythmNote| asked.line.notes.get(it.note);
    let wanted = played.iter().filter_map(note).map(|expected| straight(expected.at.0)).collect();
    (played.iter().map(|it| it.at.0).collect(), wanted)
}

fn distances(places: &[f64]) -> Vec<f64> {
    places.windows(2).map(|pair| pair[1] - pair[0]).collect()
}

fn differ(one: f64, other: f64) -> bool {
    (one - other).abs() > SAME
}

/// Whether silence was asked after a note; `None` after the last.
fn rest_after(note: usize, asked: &Expectation) -> Option<bool> {
    let (here, next): (&ExpectedNote, &ExpectedNote) = (asked.line.notes.get(note)?, asked.line.notes.get(note + 1)?);
    Some((next.at - here.at).0 > here.length.0 + SAME)
}

/// Names distances that are all equal or repeat a figure over and over, twice at least; `None` for others.
fn figure(apart: &[f64]) -> Option<String> {
    let back = |period: usize| {
        apart.len() >= 2 * period && (period..apart.len()).all(|n| !differ(apart[n], apart[n - period]))
    };
    match (1..=LONGEST_FIGURE).find(|period| back(*period))? {
        1 => Some(format!("even {}", many(apart[0]))),
        period => {
            Some(format!("{} over and over", list(&apart[..period].iter().map(|it| one(*it)).collect::<Vec<_>>())))
        }
    }
}

/// The first few distances, by name.
fn some(apart: &[f64]) -> String {
    let names: Vec<String> = apart.iter().take(NAMED).map(|it| one(*it)).collect();
    if apart.len() > NAMED { format!("{} and so on", names.join(", ")) } else { list(&names) }
}

/// A distance as the note value that fills it, with its article.
fn one(beats: f64) -> String {
    let Some(name) = value(beats) else { return format!("{beats:.1} beats") };
    let article = if name.starts_with('e') { "an" } else { "a" };
    format!("{article} {name}")
}

fn many(beats: f64) -> String {
    match value(beats) {
        Some("half") => "half notes".to_owned(),
        Some(name) => format!("{name}s"),
        None => format!("notes of {beats:.1} beats"),
    }
}

/// Note values by their length in quarters (common practice).
fn value(beats: f64) -> Option<&'static str> {
    const VALUES: [(f64, &str); 14] = [
        (1.0 / 6.0, "sixteenth triplet"),
        (0.25, "sixteenth"),
        (1.0 / 3.0, "triplet"),
        (0.5, "eighth"),
        (2.0 / 3.0, "triplet quarter"),
        (0.75, "dotted eighth"),
        (1.0, "quarter"),
        (1.25, "quarter and a sixteenth"),
        (4.0 / 3.0, "triplet half"),
        (1.5, "dotted quarter"),
        (2.0, "half"),
        (2.5, "half and an eighth"),
        (3.0, "dotted half"),
        (4.0, "whole note"),
    ];
    VALUES.iter().find(|row| !differ(row.0, beats)).map(|row| row.1)
}

/// The beats on which notes were asked and played: "beats asked 1 1.5 2 2.5; played 1 1.7 2 2.8". The first beat is 1; `None` where no
/// note is given.
#[must_use]
pub fn in_time(notes: &[NoteInTime]) -> Option<String> {
    let place = |at: Beats| {
        let shown = format!("{:.1}", at.0 + 1.0);
        shown.strip_suffix(".0").map_or(shown.clone(), str::to_owned)
    };
    let asked: Vec<String> = notes.iter().map(|note| place(note.asked)).collect();
    let played: Vec<String> = notes.iter().map(|note| note.played.map_or("-".to_owned(), place)).collect();
    (!notes.is_empty()).then(|| format!("beats asked {}; played {}", asked.join(" "), played.join(" ")))
}
