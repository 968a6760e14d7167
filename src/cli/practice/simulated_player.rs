use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::cli::practice::sitting::Sitting;
use crate::music::{Instrument, WrittenKey};
use crate::simulated::SimulatedPlayer;
use crate::units::SampleRate;

/// The simulated player plays at the rate of most devices.
pub(super) const RATE: SampleRate = SampleRate::DEVICE;

/// The simulated player of a sitting, at home in written C.
pub(super) fn player(sitting: &Sitting) -> SimulatedPlayer {
    of(&sitting.meant.who.page.instrument, sitting.settings.began.seed)
}

/// The simulated player of an instrument, at home in written C.
pub(super) fn of(instrument: &Instrument, seed: u64) -> SimulatedPlayer {
    let home = instrument.concert_key(WrittenKey::C);
    SimulatedPlayer::developing(instrument, home, ChaCha8Rng::seed_from_u64(seed))
}
