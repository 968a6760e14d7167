use crate::music::{ConcertKey, HalfSteps};
use crate::units::{Cents, rank};
use crate::verdict::{FaultTally, RecurringFault};
use crate::words::numbers::{capital, count, direction, distance, ordinal};
use crate::words::reader::Reader;

/// Smallest number of keys in which a fault must have come back to be named.
const KEYS: usize = 3;
/// Smallest share of the keys that were answered in which a fault must have come back to be named.
const PART: f64 = 0.6;

/// A group of keys in which a fault comes back; flat or sharp keys are named only where the fault is scarce in the other keys.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Group {
    All,
    Flat,
    Sharp,
}

/// A fault that came back often enough to be named.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recurring {
    /// The note of the line, counted from 0; 0 also where whole answers were played in another key.
    note: usize,
    fault: RecurringFault,
    /// What the fault is, and in how many keys.
    pub sentence: String,
}

impl Recurring {
    /// The note of the line, counted from 0, and what was wrong with it.
    #[must_use]
    pub const fn fault(&self) -> (usize, RecurringFault) {
        (self.note, self.fault)
    }
    /// Whether both are the same fault of the same note, in however many keys.
    pub(super) fn is(&self, other: &Self) -> bool {
        (self.note, self.fault) == (other.note, other.fault)
    }
    /// Whether the fault is this note out of tune to this side.
    pub(super) fn out_of_tune(&self, note: usize, cents: Cents) -> bool {
        (self.note, self.fault) == (note, RecurringFault::side(cents))
    }
}

/// Names the faults that came back: the same note of one pattern, wrong in the same way in at least three keys and in at least
/// three fifths of those asked: "The seventh note was flat in four of five flat keys." Those in the most keys first.
///
/// First of all stands a distance by which whole answers were played in another key, in as many keys: then the page or the instrument is
/// not the one that is set.
#[must_use]
pub fn recurring(tally: &FaultTally, reader: &Reader) -> Vec<Recurring> {
    let asked = tally.asked();
    let mut found: Vec<(usize, f64, Recurring)> = Vec::new();
    for (note, fault, keys) in tally.faults() {
        let Some((with, of, group)) = common(&asked, |key| keys.contains(key), reader) else { continue };
        let fault = Recurring { note, fault, sentence: worded(note, fault, with, of, group) };
        found.push((with, with as f64 / of as f64, fault));
    }
    found.sort_by_cached_key(|(count, worst, ..)| (-(*count as i64), rank(-worst)));
    moved(tally, reader).into_iter().chain(found.into_iter().map(|(_, _, fault)| fault)).collect()
}

/// Names the distance from the asked key that at least half of a key's answers show, in as many keys as any fault needs.
fn moved(tally: &FaultTally, reader: &Reader) -> Option<Recurring> {
    let (by, with, of) = tally.moved()?;
    let often = with >= KEYS && with as f64 >= PART * of as f64;
    often.then(|| Recurring {
        note: 0,
        fault: RecurringFault::Moved(by.0),
        sentence: format!(
            "You played {} {} in {}. Is the instrument set right? It is set to {}.",
            distance(by),
            direction(by),
            part_of(with, of, "keys"),
            reader.instrument().name
        ),
    })
}

/// How many keys of how many: "all five keys", "three of four keys".
fn part_of(with: usize, of: usize, kind: &str) -> String {
    if with == of { format!("all {} {kind}", count(of)) } else { format!("{} of {} {kind}", count(with), count(of)) }
}

/// The group of keys to which a fault belongs, after the number of keys that have it and the number of keys that were asked.
fn common(asked: &[ConcertKey], has: impl Fn(&ConcertKey) -> bool, reader: &Reader) -> Option<(usize, usize, Group)> {
    let tally = |group: Group| {
        let members: Vec<&ConcertKey> = asked.iter().filter(|key| belongs(**key, group, reader)).collect();
        (members.iter().filter(|key| has(key)).count(), members.len())
    };
    let (all_with, all_of) = tally(Group::All);
    for group in [Group::Flat, Group::Sharp] {
        let (with, of) = tally(group);
        let (out_with, out_of) = (all_with - with, all_of - of);
        let scarce_outside = out_of > 0 && 3 * out_with < out_of;
        if with >= KEYS && with as f64 >= PART * of as f64 && scarce_outside {
            return Some((with, of, group));
        }
    }
    (all_with >= KEYS && all_with as f64 >= PART * all_of as f64).then_some((all_with, all_of, Group::All))
}

/// Flat keys have flats in their signature and sharp keys sharps, as the player reads them; C major is neither.
fn belongs(key: ConcertKey, group: Group, reader: &Reader) -> bool {
    let sharps = reader.page.tonality(key, reader.spelling.mode).signature().sharps();
    match group {
        Group::All => true,
        Group::Flat => sharps < 0,
        Group::Sharp => sharps > 0,
    }
}

fn worded(place: usize, fault: RecurringFault, with: usize, of: usize, group: Group) -> String {
    let what = match fault {
        RecurringFault::Wrong(by) => format!("was {} {}", distance(HalfSteps(by)), direction(HalfSteps(by))),
        RecurringFault::Octave(by) => format!("came {} {}", distance(HalfSteps(by)), direction(HalfSteps(by))),
        RecurringFault::Missed => "was left out".to_owned(),
        RecurringFault::Flat => "was flat".to_owned(),
        RecurringFault::Sharp => "was sharp".to_owned(),
        // `moved` words this fault.
        RecurringFault::Moved(_) => return String::new(),
    };
    let kind = match group {
        Group::All => "keys",
        Group::Flat => "flat keys",
        Group::Sharp => "sharp keys",
    };
    capital(&format!("the {} note {what} in {}.", ordinal(place), part_of(with, of, kind)))
}
