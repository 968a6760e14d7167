//! What a teacher asks first, made from the record: right notes, reflex and pace of each key; best and worst answers; minutes sounding and
//! rests; first tries; what came back; the intonation of every written note. No grand score, no points, no ranking.
//!
//! Flow: [`review`] gathers sessions into figures, [`to_text`] tells them as the player reads keys and notes; [`recheck`] makes the
//! sentences that were shown once more from the record and names those that differ.
//!
//! To change it: what is counted, below and in `figures.rs` (a sitting), `by_key.rs`, `by_pattern.rs`, `weeks.rs`; said in
//! `text.rs`, `takes_text.rs`, `review_json.rs`, `log_text.rs`, `log_json.rs`; counted anew in `tests/program/records/recounted`;
//! the page: `page/mod.rs`.
//!
//! Invariant: everything is a function of the events (and of the day, where it is read on one), so a review of a file says what a review
//! of the live sitting said.
//!
//! # Figures
//! What is counted of the records, in the words of their fields (in `code`); `tests/program/records/recounted` counts review, log
//! and page anew from the lines by these words alone.
//!
//! - An answer **counts** where its `reason` is neither `again` nor `apart`, it has neither `warning_beats` nor `second_task`,
//!   something was `heard`, its latest judgement is `related` and nobody contested it. **Whole** (all right): `right` = `of`, no
//!   `extra`, one attempt, `shift_half_steps` none or octaves; in another key no note is right. **Up**: by `step`, else `passed` (a
//!   sitting's up, same and slower are shown only where its record has steps). **Middle**: the median; **spread**: the median
//!   distance from it. **Reflex**: of `free` answers, where `counted`. **Pace**: of answers in tempo that went up (in the review's
//!   table of keys also of free ones). **Best**: the quickest tempo that one of these answers held. That is its pace; where it
//!   stood still or has none, the pace from its first to its last note that is not `merged`; from 95 % of the asked tempo on, and for a
//!   line of one note, the asked tempo. **First try**: the first answer of a day, pattern and key. **Back**: answers to `opening` and
//!   `opening_here` whose `days` are one or more.
//! - **A sitting** lasts until its latest `at_s`. It sounds as `ended` says, else as long as its `heard` notes; a rest goes on until
//!   `resumed`, else to the end. A cue and its `repeat`s count as one, those of `again` and `apart` as none: answered (contested ones
//!   too), silent (nothing in its answer) or broken off (neither silent nor judged). Asked again, something else and contested count cues
//!   to which something was played, each once: contested before something else.
//! - **Offset**: the middle `centre_cents`. **Drift**: the middle slope of any two of them over `at_s` of their cues, times the time from
//!   the first to the last; it needs eight answers, of more than 300 takes every ceil(n / 300)th, and is given or taken two standard
//!   errors (`trend.rs`).
//! - **A week**: seven days that end with the last sitting (review), with today (log; class and its page), or a Sunday (log); this
//!   week against the last only where both have a sitting. **Kept**: back after 7 to 29 days, and after 30 or more. **Held out**:
//!   cues whose `reason` has `held_out_until_day` (neither back nor kept), beside the first tries of the other keys on their days,
//!   in their patterns. **Left alone**: keys that are not held out today, not answered for two days, in patterns that were answered
//!   within the last 60. **A pitch**: the `cents` of notes labelled `right`, by asked pitch and shift together; up and down by the
//!   asked note before; the farthest, of those heard eight times or more: the middle of all notes, or, where
//!   up and down lie apart by more than their scatter (`tuning.rs`), the largest middle (all, up, down).
//! - **First and last** (page, and day by day in the review): middles of all values over the first and the last third (rounded up) of the
//!   days on which any key was measured by reflex, or by pace; the value of a day is its middle. **To work on** goes
//!   by last for reflex times, and for tempo by the best in tempo of a key's latest three days: its ratio to the middle of all keys, from 1.25 on; left behind: answered before the last three days of practice, and not on these; least sure:
//!   of four first tries or more, all that share the smallest share, four at most; none of these names a key that is held out until
//!   after the last sitting. What comes back: `verdict/recurring.rs`.
//! - **Told late** (`warning_beats`): right where whole and begun on its beat (`verdict::right_in_time`); silence and something else are
//!   not right. Left out: cues that are contested or broken off, whose `untimed` says `faltered` (the sound had an xrun), or that a
//!   `repeat` follows. Intervals: `units::share_interval`; enough: `coach/warned.rs`.
//! - **Second task** (`second_task`): answers of one pattern and key, one with `count` and one without, are a pair in the order in which
//!   they come; each has its share all right, its `late_s` and its `scatter_s` (these not with an xrun). Silence counts as not right
//!   once the sitting has an answer; contested and broken off cues count as none. Numbers: the events `counted`. Intervals, and when
//!   it was truly counted: `coach/divided.rs`.
//! - **A round** (`round`): of its answers, right as when told late; what is contested or was broken off is none of them.
//! - **Steadiness** is defined at the head of `steadiness.rs`.
//! - **A trade**: its cues are phrases. They count for none of the above; of them: those sounded, answered (something `heard`, and
//!   judged), whole (or `varied` as `rhythm` or `shape`), of these out of time or tune (a fault, or a gap at a seam, by the rules of the
//!   sentence), broken off (something `heard`, not judged). **In use**: of judged, `related`
//!   phrases that nobody contested and that have `joined`; a pattern passes, by its `concert_root`, where all its notes are right, a join
//!   where the notes on both sides are and `verdict/seams.rs` finds no gap, a phrase, by `concert_key`, where it is whole; all in the key
//!   asked, at one attempt.
//! - **By ear against shown** (log): answers that count by ear alone and all others, of every pattern and tempo together; from twelve of
//!   each on it is told whether fewer were all right by ear than chance explains (Fisher's exact test, `coach/told_apart.rs`, .05).
//! - **What warnings show** (review, below the table): the same test, all keys together, of the least time against the most; and of each
//!   key with the least time against all others, at .05 over the keys.
//! - **A free chorus** has neither cues nor answers: its minutes count, how many choruses and notes there were, and its `drilled`: in
//!   how many choruses a pattern was looked for, in how many it came, in which `concert_keys`, and what the latest says that it holds.
//! - **Class**: reasons, weakest keys and what of a lesson is done are defined at the head of `class/mod.rs`.
//! - **Best answers**: whole, not `jumped`, centre and all cents within `acceptable`; those with the fewest stands first, then the
//!   quickest tempo asked, the shortest reflex, the evenest. **To hear again**: not whole; those with the smallest share right first,
//!   then the most `extra`, the latest. Three of each; on the page one for each key: the best also went up, did not stand still and met
//!   the reflex goal (in tempo: held the goal, to half a quarter), by tempo asked, then reflex; the others by share, then latest.

mod by_key;
mod by_pattern;
mod by_second_task;
mod by_warning;
mod called;
mod class;
mod comments;
mod date;
mod device_json;
mod figures;
mod free_json;
mod held_text;
mod held_tone;
mod in_use;
mod judged;
mod kept;
mod kept_text;
mod keys_heard;
mod keys_over_days;
mod lately;
mod line_tuning;
mod lines;
mod log;
mod log_json;
mod log_text;
mod moved;
mod over_pitch;
mod over_time;
mod page;
mod part_page;
mod pattern_back;
mod pattern_json;
mod placed;
mod recheck;
mod remarks;
mod review;
mod review_json;
mod rounds;
mod run;
mod run_json;
mod run_moves;
mod run_slips;
mod run_text;
mod run_words;
mod steadiness;
mod steadiness_text;
#[cfg(feature = "school")]
mod tables;
mod takes;
mod takes_text;
mod text;
mod tone_path;
mod tone_wave;
mod top;
mod traded;
mod traded_text;
mod trend;
mod tuning;
mod verdict_json;
mod warning_text;
mod weeks;
mod whose;

pub use by_key::{KeySummary, ReflexRow};
pub use by_pattern::PatternSummary;
pub use by_second_task::SecondTaskReview;
pub use by_warning::WarningRow;
pub use class::{ClassSitting, class, class_json, class_pages, class_sitting, class_to_html, class_to_text};
pub use comments::{CommentRow, comments_to_text};
pub use date::{date, day_of};
pub use device_json::{DelayRow, delay_json, devices_json};
pub use figures::{AnswerFigures, SittingFigures, figures};
pub use free_json::{FreeJson, choruses_json, free_json};
pub use held_tone::{Bend, HeldTone, HeldToneTracker};
pub use kept::{HeldOutKeySummary, KeptAfter, TrySummary};
pub use keys_heard::{KeysHeard, keys_heard_json, velocity};
pub use keys_over_days::keys_over_days;
pub use line_tuning::{TuningFaults, line_tuning};
pub use log::log;
pub use log_json::log_json;
pub use log_text::log_to_text;
pub use moved::{NoteMoved, moved_notes};
pub use page::{ChorusPicture, ChosenTake, choruses_to_html, gather, to_html};
pub use pattern_back::back_today;
pub use pattern_json::{ListedPattern, checked_json, pattern_json, patterns_json};
pub use recheck::recheck;
pub use remarks::with_remarks;
pub use review::{InstrumentReview, Review, SittingRow, review};
pub use review_json::review_json;
pub use run::RunIntonation;
pub use run_json::sound_check_json;
pub use run_text::run_to_text;
pub use steadiness::{Steadiness, StepsCompared};
#[cfg(feature = "school")]
pub use tables::{ColumnValues, Pseudonyms, SchoolTable, TableColumn, add_to_tables, month_of};
pub use takes::{RetentionCheck, Take};
pub use text::to_text;
pub use top::{numbered_take, sittings_to_text, sittings_to_text_on};
pub use trend::{Doubt, Drift};
pub use tuning::PitchRow;
pub use verdict_json::verdict_json;
pub use weeks::WeekRow;
