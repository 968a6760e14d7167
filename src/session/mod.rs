//! The record of a sitting: events, their wire format, and replay. Bytes and values only.

mod event;

pub use event::{AnswerRecord, Began, Ended, Event, Judgement, PauseCause};
