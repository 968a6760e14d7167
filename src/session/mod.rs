//! The record of a sitting: events, their wire format, and replay. This room takes and gives bytes and values; it opens no file.
//!
//! Flow: the drill hands out [`Event`]s as things happen; [`write_line`] makes one line of JSON of each; [`read`] gives back every event
//! that can be read and says what is damaged; a [`Session`] joins each cue with its answer and its latest verdict; and [`replay`] makes the
//! coach's learner model again from the events, bit for bit.
//!
//! Invariant: the events are the truth. Whatever else is shown of a sitting is made from them.
//!
//! # The format of the record
//! The record is JSON Lines, one object a line, flushed as it happens; `wire` and `assets/schema/session.schema.json` say what
//! stands in each. The learner model is replayed from the events bit for bit, and a test makes every sentence that was shown anew
//! from the record.
//!
//! Format 1 came first. Its header later got `unfit`, `player`, `by_midi` and `ear`; its cues got `mode`, `chromatic`, `meter`,
//! `warning_beats`, `round` and `by_ear`; the notes of a cue got `over_fifths`; the reason `opening` got `held_out_until_day`. All
//! of these are optional.
//! Format 2 added `step` in a judgement, the event `contested` and the reason `apart`. A judgement without a step is replayed by
//! the rule of format 1 (`coach::Rule::UpDown`).
//! Format 3 is a trade: its header has `trade`, its cues are phrases over the chart, each with its answer and verdict. No drill's
//! figure counts them ([`Session::traded`]); what is in use is learnt from them, where the cue has `joined` (optional, as `weak` of
//! the reason `turn` and `varied` of a judgement: all three came later). A drill beside a second task is format 3 too: its header
//! has `second_task`, its cues have one, and it has the event `counted`. Any other drill is still written as format 2; the lesson
//! in a header got `charts`, optional. Later the header's `trade` got `band` (optional), and the event `band` came, an aside.
//! What the microphone heard of a trade is kept as it was, the band in it: `band` of the header says what the band plays, each event
//! `band` where a chorus lies on the clock of what is heard, which phrases sounded, and which samples were heard since the chorus
//! before. So the sound is made anew and taken out again, and the trade is judged again (`engine/trade_again.rs`). The sound of an
//! `answered` of a trade is a part of that. Without these, a trade is only read.
//! Format 4 is a sitting of free choruses: `trade` in its header has `free`, the text of the form, and each chorus is an event
//! `free_chorus` with its notes. Nothing was asked, so it has neither cues nor answers; its minutes count.
//!
//! **A new kind of event** on which any figure rests needs a new `FORMAT` (`read.rs`). One on which none rests (`commented`, `spared`, `band`) says
//! `"aside":true`, and a program that does not know it passes over it without a word; programs older than that rule report that
//! they could not read the line, and count all the rest. An event that is added after a sitting has no `at_s`, so that it does not
//! lengthen the sitting; copies that differ in comments alone are one sitting.
//!
//! A `player` has a random id that stays and a name that may change. Names of files, parts of a review and what the coach learns go
//! by the id. A record without a player counts as one of the first player in the settings, with its figures shown apart.
//!
//! # To change it: a field of a cue or of a verdict
//! Change the type (`cue/asked.rs`; `verdict/judged.rs`, filled in `verdict/judge.rs` or `verdict/score.rs`), its form on the wire
//! (`wire/cued.rs`, `wire/judged.rs`), the schema, the history above, and the literals (`replay.rs`, `room/echo_tests.rs`,
//! `drill/apart.rs`, `tests/program/records/made.rs`, `tests/program/asking.rs`). `cargo test records`.

mod band;
mod event;
mod player;
mod read;
mod replay;
mod view;
mod wire;

pub use band::{BandMark, BandRecord, RecordedPhrase, RecordedSound};
pub use event::{
    AnswerRecord, Began, ChorusRecord, Comment, CountedTaps, Ended, Event, Judgement, LessonMark, PauseCause,
    SparedRecord, TradeMark,
};
pub use player::{NamedPlayer, PlayerId};
pub use read::{Damage, FORMAT, read};
pub use replay::{outcome, replay, replay_into};
pub use view::{Pause, Session, Trial};
pub use wire::write_line;
