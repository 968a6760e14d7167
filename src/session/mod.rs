//! The record of a sitting: events, their wire format, and replay. Bytes and values only.
//!
//! Flow: the drill hands out [`Event`]s as things happen; [`write_line`] makes one line of JSON of each; [`read`] gives the
//! events back, whatever happened to the file; a [`Session`] joins each cue with its answer and its latest verdict; and
//! [`replay`] makes the coach's learner model again from the events, bit for bit.
//!
//! Invariant: the events are the truth. Whatever else is shown of a sitting is made from them.

mod event;
mod player;
mod read;
mod replay;
mod view;
mod wire;

pub use event::{AnswerRecord, Began, Comment, Ended, Event, Judgement, LessonMark, PauseCause};
pub use player::{NamedPlayer, PlayerId};
pub use read::{Damage, FORMAT, read};
pub use replay::{outcome, replay, replay_into};
pub use view::{Pause, Session, Trial};
pub use wire::write_line;
