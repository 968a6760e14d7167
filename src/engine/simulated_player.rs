use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::music::{ConcertKey, Instrument, PitchClass};
use crate::simulated::SimulatedPlayer;

/// The simulated player of an instrument, who is strongest round the written C.
#[must_use]
pub fn simulated_player(instrument: &Instrument, seed: u64) -> SimulatedPlayer {
    let home = ConcertKey(PitchClass::new(instrument.transposition.0));
    SimulatedPlayer::developing(instrument, home, ChaCha8Rng::seed_from_u64(seed))
}
