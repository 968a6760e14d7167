use std::collections::BTreeMap;

use crate::music::{Concert, Instrument, Intonation, Tendency, tendency};
use crate::pattern::Line;
use crate::units::Cents;
use crate::verdict::Verdict;

/// A note that was explained may be explained again once it was in tune in so many answers.
const IN_TUNE: u32 = 3;

/// A note out of tune that the instrument itself pulls to the same side.
#[derive(Debug, Clone, PartialEq)]
pub struct Explained {
    /// The pitch of the note asked, moved into the key in which the answer was played.
    pub pitch: Concert,
    /// How far the note was off, without the general offset; above 0 is sharp.
    pub off: Cents,
    /// What is known of the note on this instrument.
    pub tendency: Tendency,
}

/// Which notes were explained in this sitting, so that no player reads the same explanation twice, unless the note was in tune in
/// three answers since. A pure function of the verdicts that were entered, in order: a record gives the same hints again.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Hints {
    /// Notes that were explained, and how often each was in tune since.
    explained: BTreeMap<Concert, u32>,
}

impl Hints {
    /// Among the notes that are off by more than is acceptable, that were not explained already and that the instrument pulls to the same
    /// side, the one furthest off; `None` where there is none.
    #[must_use]
    pub fn of(&self, verdict: &Verdict, line: &Line, instrument: &Instrument) -> Option<Explained> {
        let Intonation::Scored { acceptable, .. } = instrument.intonation else { return None };
        let off =
            right(verdict, line).filter(|(pitch, off)| off.abs() > acceptable && !self.explained.contains_key(pitch));
        let explained = off.filter_map(|(pitch, off)| {
            let tendency = tendency(instrument, pitch).filter(|tendency| tendency.bears_on(off))?;
            Some(Explained { pitch, off, tendency })
        });
        explained.max_by(|a, b| a.off.abs().0.total_cmp(&b.off.abs().0))
    }

    /// Enters an answer whose verdict stands, with what was said about it.
    pub fn enter(&mut self, verdict: &Verdict, line: &Line, instrument: &Instrument, explained: Option<&Explained>) {
        let Intonation::Scored { acceptable, .. } = instrument.intonation else { return };
        // A pitch that comes twice in a line is one answer, and in tune where it was so each time.
        let mut in_tune = BTreeMap::new();
        for (pitch, off) in right(verdict, line) {
            *in_tune.entry(pitch).or_insert(true) &= off.abs() <= acceptable;
        }
        for (pitch, times) in &mut self.explained {
            *times += u32::from(in_tune.get(pitch) == Some(&true));
        }
        self.explained.retain(|_, times| *times < IN_TUNE);
        self.explained.extend(explained.map(|explained| (explained.pitch, 0)));
    }
}

/// The right notes that were long enough to measure their tuning: the pitch in the key that was played, and how far it was off.
fn right(verdict: &Verdict, line: &Line) -> impl Iterator<Item = (Concert, Cents)> {
    let shift = verdict.shift;
    let notes = line.notes.iter().zip(&verdict.expected);
    notes.filter_map(move |(note, judged)| Some((note.pitch + shift, judged.cents?)))
}
