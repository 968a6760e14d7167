//! What room and devices do to the sound.
//!
//! Two jobs. [`SoundCheck`] listens to the raw input and says what spoils it, as data ([`InputIssue`]). [`Echo`] knows the sound
//! of our own cue and finds it again in the microphone: it learns whether it comes back at all and by which way, takes out of the
//! samples what it can before the ear hears them, and decides whose a heard note is. It is given the samples of the *cue*, never
//! the notes that are expected as an answer.
//!
//! The way of one cue: `Echo::cue` lays its samples on the input's samples; block by block a [`Canceller`] predicts what comes
//! back, adapts to what came, and estimates how much of our sound is still in the residual. A note is the player's ([`Owner`]) where
//! the residual in its partials is clearly more than that.

mod canceller;
mod echo;
mod echo_evidence;
mod echo_path;
mod hum;
mod input_issue;
mod levels;
mod residual;
mod residual_mask;
mod sound_check;

pub use canceller::Canceller;
pub use echo::{Echo, Owner};
pub use echo_path::{EchoPath, Presence};
pub use input_issue::InputIssue;
pub use sound_check::{SoundCheck, SoundLevels};
