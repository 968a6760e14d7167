//! One sound on the loudspeaker, outside a drill.

use std::fmt::Display;
use std::path::Path;
use std::sync::Arc;

use crate::engine::{self, DeviceAudio};
use crate::files::{UserSettings, write_wav};
use crate::sound::Clip;
use crate::talk::chosen_devices::loudspeaker;
use crate::talk::failure::Failure;
use crate::talk::output::say;
use crate::units::SampleRate;

/// Plays the sound that `make` makes at the loudspeaker's rate, to its end; `otherwise` says what can be done without a loudspeaker.
pub fn play<C: Into<Arc<Clip>>>(
    settings: &UserSettings,
    otherwise: &str,
    make: impl FnOnce(SampleRate) -> C,
) -> Result<(), Failure> {
    let gone = |why: &dyn Display| Failure::device(why, format!("earfirst devices lists what is there; {otherwise}"));
    let _quiet = engine::quiet();
    let mut audio = DeviceAudio::open(&loudspeaker(settings)).map_err(|failure| gone(&failure))?;
    audio.play_to_end(make).map_err(|why| gone(&why))
}

/// Writes a sound and says how long and how loud it is.
pub fn write(wav: &Path, clip: &Clip) -> Result<(), Failure> {
    write_wav(wav, clip)?;
    say(format!("{}: {:.1} s, peaks at {:.1} dB of full scale", wav.display(), clip.length().0, clip.peak().0))
}
