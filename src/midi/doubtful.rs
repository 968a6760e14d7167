use crate::midi::WhichOfChord;
use crate::midi::hiding::{Strike, counting, over};
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
fn is_under(of_chord: WhichOfChord, one: &Strike, other: &Strike) -> bool {
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

/// Whether a key that counts more than a neighbour which is held may have been brushed over it: over the note that `sounds`, where its key is
/// held, or over another key that went down with it.
pub(super) fn doubt(
    of_chord: WhichOfChord,
    counts: &Strike,
    chord: &[Strike],
    sounds: Option<Strike>,
) -> Option<Doubtful> {
    let under = |one: &&Strike| one.up.is_none() && is_under(of_chord, one, counts);
    let instead = counting(of_chord, chord.iter().filter(under));
    let under = instead.or(sounds.filter(|one| under(&one)))?;
    Some(Doubtful { strike: *counts, under: under.key, instead })
}
