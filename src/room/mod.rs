//! What room and devices do to the sound.
//!
//! Two jobs. [`SoundCheck`] listens to the raw input and says what spoils it, as data ([`Opinion`]). [`Echo`] knows the sound
//! of our own cue and finds it again in the microphone: it learns whether it comes back at all and by which way, takes out of the
//! samples what it can before the ear hears them, and tells whose a heard note is. It is given the samples of the *cue*, never
//! the notes that are expected as an answer.
//!
//! The way of one cue: `Echo::cue` lays its samples on the input's samples; block by block a [`Canceller`] foretells what comes
//! back and learns from what came, and says how much of our sound it may have missed. A note is the player's ([`Owner`]) where
//! what is left in its partials is clearly more than that.

mod canceller;
mod check;
mod doubt;
mod echo;
mod envelope;
mod evidence;
mod hum;
mod learned;
mod mask;
mod opinion;

pub use canceller::Canceller;
pub use check::{SoundCheck, SoundLevels};
pub use echo::{Echo, Owner};
pub use learned::{Learned, Presence};
pub use opinion::Opinion;
