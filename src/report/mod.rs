//! What a teacher asks first, made from the record: per key right, reflex and pace; best and worst answers; minutes sounding and
//! rests; first tries; what came back; the intonation of every written note. No grand score, no points, no ranking.
//!
//! Flow: [`review`] gathers sessions into figures, [`to_text`] tells them in the player's written pitch; [`recheck`] makes every
//! sentence again that was shown.
//!
//! Invariant: everything is a function of the events, so a review of a file says what a review of the live sitting said.

mod by_key;
mod by_pattern;
mod called;
mod class;
mod comments;
mod date;
mod figures;
mod free_json;
mod held_tone;
mod judged;
mod keys_over_days;
mod lines;
mod log;
mod log_json;
mod log_text;
mod page;
mod part_page;
mod pattern_json;
mod recheck;
mod review;
mod review_json;
mod run;
mod run_json;
mod run_text;
mod steadiness;
mod steadiness_text;
mod takes;
mod text;
mod top;
mod trend;
mod tuning;
mod verdict_json;
mod weeks;
mod whose;

pub use by_key::{KeySummary, ReflexRow};
pub use by_pattern::PatternSummary;
pub use class::{ClassSitting, class, class_json, class_pages, class_sitting, class_to_html, class_to_text};
pub use comments::{CommentRow, comments_to_text};
pub use date::day_of;
pub use figures::{AnswerFigures, SittingFigures, figures};
pub use free_json::free_json;
pub use held_tone::{Bend, HeldTone, HeldToneTracker};
pub use keys_over_days::keys_over_days;
pub use log::log;
pub use log_json::log_json;
pub use log_text::log_to_text;
pub use page::{ChosenTake, gather, to_html};
pub use pattern_json::{ListedPattern, checked_json, pattern_json, patterns_json};
pub use recheck::recheck;
pub use review::{InstrumentReview, Review, SittingRow, review};
pub use review_json::review_json;
pub use run::RunIntonation;
pub use run_json::sound_check_json;
pub use run_text::run_to_text;
pub use steadiness::{Steadiness, StepsCompared};
pub use takes::{RetentionCheck, Take};
pub use text::to_text;
pub use top::{numbered_take, sittings_to_text};
pub use trend::{Doubt, Drift};
pub use tuning::PitchRow;
pub use verdict_json::verdict_json;
pub use weeks::WeekRow;
