//! What room and devices do to the sound.
//!
//! This room has two jobs. [`SoundCheck`] listens to the raw input and says what spoils it, as data ([`InputIssue`]). [`Echo`]
//! knows the sound of the cue and finds that sound again in the microphone: it learns whether the cue comes back at all and by
//! which path, subtracts the predicted echo from the samples before the ear hears them, and decides whether a heard note is the
//! player's. It is given the samples of the *cue*, never the notes that are expected as an answer.
//!
//! What happens to one cue: `Echo::cue` places its samples on the count of the input's samples; block by block a [`Canceller`]
//! predicts the echo, adapts to what came, and estimates how much of the echo is still in the residual. A note is the player's
//! ([`Owner`]) where the residual in its partials is clearly more than that estimate.
//!
//! What there is ([`DeviceEntry`]) and what devices and cables do instead of giving sound or notes ([`SoundFault`], [`DeviceError`]) is
//! data here too: found in `devices`, said in `words`.
//!
//! # To change it
//! What spoils the sound is an `InputIssue` in `input_issue.rs`, found in `sound_check.rs`, with its sentence in
//! `words/sound_check.rs`. How an echo is taken out: `canceller.rs`, `residual_mask.rs`; whether the cue comes back:
//! `echo_evidence.rs`, and when: `cue_return.rs`; whose a note is: `residual.rs`, `residual_bias.rs`, `echo/owning.rs`. How a band is followed that goes on while the
//! player plays: `echo/band.rs`, its clock: `canceller/drift.rs` at first, then `canceller/pace.rs`, and where its delay jumps `canceller/settled.rs`,
//! `path_fit.rs`, `path_jump.rs`; what open headphones leak of it: `band_leak.rs`; figures: `benches/band`.
//! A second voice below the line: `second_voice.rs`.
//! `cargo test room::`, `cargo test echoes`.

mod band_leak;
mod band_line;
mod canceller;
mod cue_return;
mod cue_samples;
mod device_entry;
mod device_error;
mod echo;
mod echo_evidence;
mod echo_path;
mod hum;
mod input_issue;
mod levels;
mod owner;
mod path_fit;
mod path_jump;
mod residual;
mod residual_bias;
mod residual_mask;
mod second_voice;
mod sound_check;
mod sound_fault;

pub use canceller::Canceller;
pub use device_entry::DeviceEntry;
pub use device_error::{CalibrationError, DelayError, DeviceError, MidiError, Side};
pub use echo::Echo;
pub use echo_path::{EchoPath, Presence};
pub use input_issue::InputIssue;
pub use owner::Owner;
pub use second_voice::SecondVoice;
pub use sound_check::SoundCheck;
pub use sound_fault::SoundFault;
