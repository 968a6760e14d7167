//! Talk with the player on plain lines: all output and its failures, the questions of the first run and of a learnt line, and
//! another place for a sitting that the disk refused.
//!
//! What is shown: lists (`chart_views`, `device_list`, `pattern_list`), verdicts and findings on what was heard outside a drill
//! (`graded`, `heard`, `free_views`, `free_choruses`), what comes next (`forecast`, `day`), a sitting or a trade that runs
//! (`sitting_screen`, `planned_trade`, `trade_screen`).
//! What is opened: the rig of a drill (`rig`), microphone or MIDI instrument and loudspeaker outside one (`microphone`,
//! `loudspeaker`), files that were named (`notation_files`, `pattern_scores`,
//! `recordings`, `line_source`, `read_records`).
//!
//! Nothing here knows how an argument is typed: `cli` works that out and hands on what is meant ([`Who`](player::Who),
//! [`Meant`](asked::Meant), [`Sitting`](sitting::Sitting)).
//!
//! # To change it
//! Whatever prints goes through `output.rs` (but `json_lines.rs`, and `typed_line` of `first_run.rs`); a failure and its exit code:
//! `failure.rs`; a question at the first run: `first_run.rs`; what a sitting may ask: `asked.rs`. A list or table is made in
//! `words` or `report` and only handed out here. `cargo test typed`, `cargo test outputs`.

mod another_place;
pub mod answer_sound;
pub mod asked;
pub mod calibrated;
pub mod chart_views;
pub mod chosen_devices;
pub mod comment_typed;
pub mod comments;
pub mod day;
pub mod device_list;
pub mod drilled;
pub mod failure;
pub mod first_run;
pub mod forecast;
pub mod forgetting;
pub mod form_text;
pub mod free_choruses;
pub mod free_views;
pub mod graded;
pub mod habit;
pub mod heard;
pub mod held_out;
pub mod json_lines;
pub mod judged_again;
pub mod keys_told;
pub mod learn_typed;
pub mod learnt;
pub mod lessons;
pub mod library;
pub mod line_source;
pub mod loudspeaker;
pub mod microphone;
pub mod midi_check;
pub mod misspelt;
pub mod named_charts;
pub mod notation_files;
pub mod output;
pub mod own_charts;
pub mod own_patterns;
pub mod pattern_check;
pub mod pattern_list;
pub mod pattern_scores;
pub mod phrase_stock;
pub mod planned_trade;
pub mod player;
pub mod read_records;
pub mod record_words;
pub mod recorded_trade;
pub mod recordings;
pub mod rig;
#[cfg(feature = "school")]
pub mod school;
pub mod simulated_days;
pub mod sitting;
pub mod sitting_screen;
pub mod told_files;
pub mod trade_reasons;
pub mod trade_record;
pub mod trade_score;
pub mod trade_screen;
pub mod who;
