//! Talk with the player on plain lines: all output and its failures, the questions of the first run and of a learnt line, the
//! microphone or the MIDI instrument outside a drill, a running sitting shown, and another place for one that the disk refused.
//!
//! Nothing here knows how an argument is typed: `cli` works that out and hands on what is meant.

mod another_place;
pub mod chosen_devices;
pub mod comments;
pub mod failure;
pub mod first_run;
pub mod heard;
pub mod json_lines;
pub mod judged_again;
pub mod learn_typed;
pub mod learnt;
pub mod lessons;
pub mod library;
pub mod microphone;
pub mod midi_check;
pub mod named_charts;
pub mod output;
pub mod own_charts;
pub mod own_patterns;
pub mod player;
pub mod record_words;
pub mod sitting_screen;
pub mod who;
