use std::collections::BTreeMap;

use crate::music::{ConcertKey, HalfSteps, Intonation};
use crate::units::Cents;
use crate::verdict::{NoteLabel, NoteVerdict, Verdict};

/// A fault that the same note can have again and again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RecurringFault {
    /// Wrong by this many half steps.
    Wrong(i32),
    /// The right note in another octave, off by this many half steps.
    Octave(i32),
    /// The note was left out.
    Missed,
    /// The note was too low, beyond the acceptable band of the instrument.
    Flat,
    /// The note was too high, beyond the acceptable band of the instrument.
    Sharp,
    /// The whole answer was off by this many half steps, octaves left out: a fault of no single note.
    Moved(i32),
}

impl RecurringFault {
    /// The fault of a note that is so many cents off: flat below 0, else sharp.
    #[must_use]
    pub fn side(cents: Cents) -> Self {
        if cents.0 < 0.0 { Self::Flat } else { Self::Sharp }
    }

    fn of(note: &NoteVerdict, intonation: Intonation) -> Option<Self> {
        match note.label {
            NoteLabel::Wrong(by) => Some(Self::Wrong(by.0)),
            NoteLabel::Octave(by) => Some(Self::Octave(by.0)),
            NoteLabel::Missed => Some(Self::Missed),
            NoteLabel::Merged => None,
            NoteLabel::Right => {
                let Intonation::Scored { acceptable, .. } = intonation else { return None };
                let cents = note.cents.filter(|cents| cents.abs() > acceptable)?;
                Some(Self::side(cents))
            }
        }
    }
}

/// How often each fault came in each key, over all answers to one pattern. Its size grows with the number of keys, not of answers.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FaultTally {
    first: Option<ConcertKey>,
    /// Number of answers that were first attempts in the asked key, for each key.
    asked: BTreeMap<ConcertKey, usize>,
    seen: BTreeMap<(usize, RecurringFault), BTreeMap<ConcertKey, usize>>,
    /// Number of related answers for each distance from the asked key, -5 to 6 half steps, octaves left out; for each key.
    moved: BTreeMap<ConcertKey, BTreeMap<i32, usize>>,
}

impl FaultTally {
    /// The tally of answers, each with its sounding key.
    #[must_use]
    pub fn of(answers: &[(ConcertKey, &Verdict)], intonation: Intonation) -> Self {
        let mut tally = Self::default();
        answers.iter().for_each(|(key, verdict)| tally.enter(*key, verdict, intonation));
        tally
    }

    /// Enters an answer. An answer that was something else says nothing; for single notes only first attempts in the asked key
    /// count.
    pub fn enter(&mut self, key: ConcertKey, verdict: &Verdict, intonation: Intonation) {
        self.first.get_or_insert(key);
        if !verdict.related {
            return;
        }
        let HalfSteps(shift) = verdict.shift;
        *self.moved.entry(key).or_default().entry((shift + 5).rem_euclid(12) - 5).or_default() += 1;
        if !verdict.in_key() || verdict.attempts != 1 {
            return;
        }
        *self.asked.entry(key).or_default() += 1;
        for (place, note) in verdict.expected.iter().enumerate() {
            if let Some(fault) = RecurringFault::of(note, intonation) {
                *self.seen.entry((place, fault)).or_default().entry(key).or_default() += 1;
            }
        }
    }

    /// The key of the first answer.
    #[must_use]
    pub const fn first_key(&self) -> Option<ConcertKey> {
        self.first
    }

    /// The keys in which an answer was a first attempt in the key asked.
    #[must_use]
    pub fn asked(&self) -> Vec<ConcertKey> {
        self.asked.keys().copied().collect()
    }

    /// Every fault of a note (counted from 0), with the keys in which at least half of the first attempts in the asked key have it; perhaps
    /// none.
    pub fn faults(&self) -> impl Iterator<Item = (usize, RecurringFault, Vec<ConcertKey>)> {
        self.seen.iter().map(|((note, fault), keys)| {
            let has = keys.iter().filter(|(key, times)| 2 * **times >= self.asked[key]);
            (*note, *fault, has.map(|(key, _)| *key).collect())
        })
    }

    /// The shift from the asked key that the most keys show in at least half of their answers; then the number of keys that show
    /// it, and the number of all keys with a related answer. `None` where no key shows one.
    #[must_use]
    pub fn moved(&self) -> Option<(HalfSteps, usize, usize)> {
        let with = |by: i32| {
            let has = |shifts: &&BTreeMap<i32, usize>| {
                2 * shifts.get(&by).copied().unwrap_or(0) >= shifts.values().sum::<usize>()
            };
            self.moved.values().filter(has).count()
        };
        let by = (-5..=6).filter(|by| *by != 0).max_by_key(|by| with(*by))?;
        Some((HalfSteps(by), with(by), self.moved.len())).filter(|(_, with, _)| *with > 0)
    }
}
