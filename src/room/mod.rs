//! What room and devices do to the sound.
//!
//! Two jobs. [`SoundCheck`] listens to the raw input and says what spoils it, as data ([`Opinion`]). [`Echo`] knows the sound
//! of our own cue and finds it again in the microphone: it learns whether it comes back at all, how late, how loud and how
//! long the room keeps it; takes what it can out of the samples before the ear hears them; and tells which heard notes are
//! the cue's own. It is given the samples and notes of the *cue*, never the notes that are expected as an answer.
//!
//! The way of one cue: `Echo::cue` lays its samples on the input's clock; until its end the ear hears everything and
//! `Echo::is_cue` compares onset, pitch and level; at its end the path from loudspeaker to microphone is estimated from this
//! very cue (least squares, conjugate gradients, weighted by the decay of a room), and what is still to come of the cue is
//! subtracted: the tail of its last note, and the clicks that go on.

mod check;
mod echo;
mod envelope;
mod hum;
mod laid;
mod learned;
mod opinion;
mod path;

pub use check::{SoundCheck, SoundLevels};
pub use echo::Echo;
pub use learned::{Learned, Presence};
pub use opinion::Opinion;
