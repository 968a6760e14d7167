//! The clauses about notes out of tune and about the tuning as a whole.

use super::places;
use crate::music::{HalfSteps, Intonation};
use crate::units::{Cents, median};
use crate::verdict::{self, Expectation, Finding, Verdict, findings};
use crate::words::numbers::count;
use crate::words::reader::Reader;
use crate::words::tuned::advice;

/// Notes are called equally flat or sharp where they lie within this of each other.
const ALIKE: f64 = 8.0;
/// A line that stands this far from its key, cents, may be one that was meant in the key a half step beside it.
const BETWEEN: f64 = 25.0;

/// Says of an answer that is out of tune as a whole but for one note that this note was the one in tune; `None` for any other.
pub(super) fn one_in_tune(
    notes: &[(usize, Cents)],
    whole: Cents,
    asked: &Expectation,
    reader: &Reader,
) -> Option<String> {
    let (Intonation::Scored { acceptable, .. }, [(note, by)]) = (asked.intonation, notes) else { return None };
    let in_tune = (*by + whole).abs() <= acceptable;
    in_tune.then(|| format!("as a whole {}, but {} was in tune", sharp(whole), places::named(*note, asked, reader)))
}

/// Notes out of tune, the furthest first: two are named; more that lie alike are told together, and of others the furthest is named.
pub(super) fn out_of_tune(notes: &[(usize, Cents)], asked: &Expectation, reader: &Reader) -> Option<String> {
    let (note, cents) = notes.first()?;
    let first = format!("{} was {}", places::named(*note, asked, reader), sharp(*cents));
    let one_side = notes.iter().all(|(_, it)| (it.0 < 0.0) == (cents.0 < 0.0));
    Some(match &notes[1..] {
        [] => format!("{first} against the rest"),
        [(note, cents)] => {
            format!("{first}, and {} {} against the rest", places::named(*note, asked, reader), sharp(*cents))
        }
        _ if are_alike(notes) => alike(notes, asked)?,
        others => {
            let side = match (one_side, cents.0 < 0.0) {
                (true, true) => "flat by less",
                (true, false) => "sharp by less",
                (false, _) => "out of tune",
            };
            format!("{first} against the rest, and {} more were {side}", count(others.len()))
        }
    })
}

/// Whether the sentence about an answer names every note of it that is out of tune.
#[must_use]
pub fn names_out_of_tune(verdict: &Verdict, asked: &Expectation) -> bool {
    let all = |it: &&Finding| match it {
        Finding::OutOfTune(notes) => notes.len() < places::NAMED || are_alike(notes),
        _ => false,
    };
    verdict.in_key() && verdict::gravest_faults(&findings(verdict, asked)).iter().any(all)
}

/// Whether notes lie alike, and to one side; the furthest stands first.
fn are_alike(notes: &[(usize, Cents)]) -> bool {
    let (Some((_, first)), Some((_, last))) = (notes.first(), notes.last()) else { return false };
    notes.iter().all(|(_, it)| (it.0 < 0.0) == (first.0 < 0.0)) && (*first - *last).abs().0 <= ALIKE
}

/// Notes that lie alike: "the first four notes were 38 cents flat against the rest".
fn alike(notes: &[(usize, Cents)], asked: &Expectation) -> Option<String> {
    let middle = median(&notes.iter().map(|(_, cents)| cents.0).collect::<Vec<_>>()).map(Cents)?;
    let mut alike: Vec<usize> = notes.iter().map(|(place, _)| *place).collect();
    alike.sort_unstable();
    Some(match places::to_the_end(&alike, asked) {
        Some(from) => format!("from the {from} note on you were {} against the rest", sharp(middle)),
        None => format!("{} were {} against the rest", places::together(&alike), sharp(middle)),
    })
}

/// Says that the whole line stood off its pitch, and what players of such an instrument do about it.
pub(super) fn as_a_whole(cents: Cents, reader: &Reader) -> String {
    with_advice(format!("as a whole {}", sharp(cents)), cents, reader)
}

/// Says of a line that stood between the key that was asked and the one a half step beside it that both readings are true: which way the
/// slide should go is not known. `None` where one key is clearly the nearer one, or lies elsewhere.
pub(super) fn between_keys(shift: HalfSteps, cents: Cents, asked_in: &str) -> Option<String> {
    let beside = match shift.0.rem_euclid(12) {
        1 => 100.0,
        11 => -100.0,
        _ => return None,
    };
    let from_asked = Cents(cents.0 + beside);
    let between = from_asked.0.abs() <= 100.0 - BETWEEN;
    between.then(|| format!("as a whole {}, or {} in {asked_in}: tune first", sharp(cents), sharp(from_asked)))
}

/// Says that the whole line was further off than was usual today, and what players of such an instrument do about it.
pub(super) fn beyond_usual(cents: Cents, reader: &Reader) -> String {
    with_advice(format!("as a whole {} of what was usual today", sharp(cents)), cents, reader)
}

fn with_advice(said: String, cents: Cents, reader: &Reader) -> String {
    advice(reader.instrument(), cents).map_or(said.clone(), |advice| format!("{said}: {advice}"))
}

fn sharp(cents: Cents) -> String {
    format!("{:.0} cents {}", cents.abs().0, if cents.0 < 0.0 { "flat" } else { "sharp" })
}
