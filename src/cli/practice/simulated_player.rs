use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::cli::practice::sitting::Sitting;
use crate::music::WrittenKey;
use crate::simulated::SimulatedPlayer;
use crate::units::SampleRate;

/// The simulated player plays at the rate of most devices.
pub(super) const RATE: SampleRate = SampleRate::DEVICE;

/// The simulated player of a sitting, at home in written C.
pub(super) fn player(sitting: &Sitting) -> SimulatedPlayer {
    let instrument = &sitting.meant.who.page.instrument;
    let home = instrument.concert_key(WrittenKey::C);
    SimulatedPlayer::developing(instrument, home, ChaCha8Rng::seed_from_u64(sitting.settings.began.seed))
}
