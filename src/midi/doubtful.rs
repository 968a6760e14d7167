use crate::midi::hiding::{Strike, over};
use crate::midi::keyed_line::BRUSHED;
use crate::midi::{KeySlip, KeyedLine, WhichOfChord};
use crate::notes::NoteEvent;
use crate::units::Seconds;

/// A finger that slips strikes a key at most so many half steps from the one that was meant (common practice).
const NEIGHBOUR: u8 = 2;
/// A key that goes down with a neighbour and this many times softer was brushed beside it, however long it stays down: a finger that plays a
/// melody note strikes it (common practice).
const SOFTER: u16 = 3;

/// A key that went down over a neighbour which is held, so that it may have been brushed only.
#[derive(Debug, Clone, Copy)]
pub(super) struct Doubtful {
    /// The key.
    pub strike: Strike,
    /// The neighbour.
    pub under: u8,
    /// What is the next note where the key was brushed: the neighbour that went down with it. `None` where the neighbour is the note that
    /// sounds.
    pub instead: Option<Strike>,
}

impl Doubtful {
    /// When the next note begins at the earliest, whichever of the two it is.
    pub fn begins(&self) -> Seconds {
        self.instead.map_or(self.strike.at, |instead| instead.at.min(self.strike.at))
    }
}

/// Whether a key is a neighbour of another one and counts less.
pub(super) fn is_under(of_chord: WhichOfChord, one: &Strike, other: &Strike) -> bool {
    over(of_chord, other.key, one.key) && one.key.abs_diff(other.key) <= NEIGHBOUR
}

/// The keys of those that went down together that were struck much softer than a neighbour: they were brushed beside it.
pub(super) fn softly_beside(struck: &[Strike]) -> Vec<u8> {
    let soft = |one: &&Strike| {
        let beside = |other: &&Strike| (1..=NEIGHBOUR).contains(&other.key.abs_diff(one.key));
        let harder = |other: &Strike| u16::from(other.velocity) >= SOFTER * u16::from(one.velocity);
        struck.iter().filter(beside).any(harder)
    };
    struck.iter().filter(soft).map(|one| one.key).collect()
}

impl KeyedLine {
    /// Before a key comes up: where it is the one that may have been brushed it was, and where it is the neighbour of that one the other
    /// is a note.
    pub(super) fn doubt_ends(&mut self, key: u8, at: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        let Some(doubtful) = self.doubtful.filter(|doubtful| [doubtful.strike.key, doubtful.under].contains(&key))
        else {
            return;
        };
        if key == doubtful.under {
            self.settle(at, tell);
            return;
        }
        self.doubtful = None;
        // What was brushed hides nothing, and is down no more.
        self.down.retain(|held| held.key != key);
        if let Some(instead) = doubtful.instead {
            self.become_note(instead, at, None, tell);
        }
        self.perhaps_brushed.push(KeySlip { key, at: doubtful.strike.at });
    }

    /// The key that may have been brushed was not: it is the next note.
    pub(super) fn settle(&mut self, known: Seconds, tell: &mut dyn FnMut(NoteEvent)) {
        if let Some(Doubtful { strike, .. }) = self.doubtful.take() {
            self.become_note(strike, known.min(strike.at + BRUSHED), None, tell);
        }
    }

    /// Whether a key that counts more than a neighbour which is held may have been brushed over it: the note that sounds, or another that
    /// went down with it.
    pub(super) fn doubt(&self, counts: &Strike, chord: &[Strike]) -> Option<Doubtful> {
        let under = |one: &&Strike| one.up.is_none() && is_under(self.choice.of_chord, one, counts);
        let instead = match self.choice.of_chord {
            WhichOfChord::Highest => chord.iter().filter(under).max_by_key(|one| one.key),
            WhichOfChord::Lowest => chord.iter().filter(under).min_by_key(|one| one.key),
        };
        let sounding = self.sounding.map(|(strike, _)| strike);
        let sounds = sounding.filter(|one| self.down.iter().any(|held| (held.key, held.at) == (one.key, one.at)));
        let under = instead.copied().or(sounds.filter(|one| under(&one)))?;
        Some(Doubtful { strike: *counts, under: under.key, instead: instead.copied() })
    }
}
