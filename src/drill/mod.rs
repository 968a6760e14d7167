//! The conductor: a state machine without I/O. `step(Input) -> Vec<Effect>`; time is the input stream's own.
//!
//! Flow: the coach chooses, a cue is sounded, the answer is collected note by note, judged as soon as it can be, shown, written down and
//! learnt from; then comes the gap before the next cue. Where no answer comes, the cue sounds once more, then the drill waits for a held
//! note. A trial, keys that are told late and blocks beside a second task have an order of their own instead of the coach's, and so
//! has a round, whose cues sound without a stop. Lips and voice are rested; a lost device pauses the drill and loses nothing.
//!
//! Invariant: every effect is a consequence of the inputs alone. Two drills with the same settings, learner model and generator
//! that get the same inputs do the same things.
//!
//! The level of the cues is kept per output, headphones apart. The first cue ever peaks at -30 dBFS, the first of a later sitting
//! at the level that was answered last; the level rises, never above -12, until a cue is answered. Where the sound ran dry during a
//! cue or its answer, the reflex time does not count; where only the loudspeaker did, after the cue had ended, it counts. Some
//! streams have xruns from their opening on: after two such cues in a row the devices are opened anew between two cues; if that did
//! not help, again after four more, then eight (`xruns.rs`).
//!
//! # To change it
//! A command: `signal.rs`, its arm in `conductor.rs`, its key in `tui/terminal.rs` (`pressed`). A phase of a trial: `conductor.rs`,
//! what it shows in `showing.rs` (`Face` in `snapshot.rs`), its screen [`tui/mod.rs`]. An order of its own beside the coach's: as
//! `rounds.rs`, `late_keys.rs` and `second_tasks.rs`, asked in `asking.rs`. What comes in place of a rest: `spared_turns.rs`. What is hidden and told by ear, and how held notes
//! steer: `by_ear.rs`; the signs: `cue/sound_sign.rs`. `cargo test drills`, `cargo test screens`, `cargo test by_ear`.

mod apart;
mod asking;
mod before_answer;
mod by_ear;
mod conductor;
mod contest;
mod held_steering;
mod high_notes;
mod hints;
mod in_blocks;
mod judging;
mod late_keys;
mod lesson_trial;
mod open_spared;
mod open_trial;
mod pausing;
mod rests;
mod rounding;
mod rounds;
mod second_tasks;
mod settings;
mod showing;
mod shown;
mod signal;
mod snapshot;
mod spared_turns;
mod to_screen;
mod xruns;

pub use conductor::Drill;
pub use hints::Hints;
pub use rests::RestRules;
pub use settings::Settings;
pub use signal::{CUE_TAIL, Command, CueSpan, Effect, Input, KEPT_BEFORE};
pub use snapshot::{Face, JudgedAnswer, KeyRow, Moved, NextKey, RoundSummary, Snapshot, SparedPart, TaskShown};
pub use to_screen::ToScreen;
