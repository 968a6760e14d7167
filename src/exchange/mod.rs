//! Patterns and lines as bytes for other programs, both ways: Standard MIDI Files and MusicXML.
//!
//! A [`Staff`] is one staff in written pitch: a pattern in some keys, one after another, each beginning a new bar. [`to_midi`] and
//! [`to_musicxml`] turn it into bytes; [`from_midi`] and [`from_musicxml`] read one voice back as an [`ImportedVoice`] in concert pitch.
//! No foreign file is trusted: its size, depth and number of notes are limited, and each refusal says why. Besides: free lines on a
//! staff (`free_staff`), trades on two (`traded_score`), charts (`chart_xml`, `chart_json`), heard notes as tables (`note_table`), and judge and coach driven by
//! lines of JSON (`case_lines`, `coach_lines`).
//!
//! Sources: Standard MIDI Files 1.0 (RP-001) with MIDI 1.0; MusicXML 4.0 (W3C Music Notation Community Group, 2021),
//! score-partwise; both from memory of the standards and checked by reading the results with independent readers.
//!
//! Another format of notes or scores needs a file here, a kind in `notation.rs` where its first bytes show it, and the command that reads
//! or writes it (`cli/patterns/exchange.rs`, `cli/charts/exchange.rs`).

mod accidentals;
mod bar;
mod case_lines;
mod chart_bars;
mod chart_json;
mod chart_xml;
mod chart_xml_in;
mod coach_lines;
mod compressed;
mod durations;
mod free_staff;
mod harmony;
mod held_keys;
mod midi;
mod midi_fault;
mod midi_held;
mod midi_in;
mod midi_played;
mod midi_told;
mod musicxml;
mod musicxml_form;
mod musicxml_in;
mod notation;
mod note_table;
mod staff;
mod swung_eighths;
mod traded_rhythm;
mod traded_score;
mod voice;
mod xml_page;

pub use case_lines::answer_to_case;
pub use chart_json::{chart_json, charts_json};
pub use chart_xml::{ChartSheet, chart_to_musicxml};
pub use chart_xml_in::chart_from_musicxml;
pub use coach_lines::DrivenCoach;
pub use free_staff::{NoScore, free_staff};
pub use midi::{heard_to_midi, to_midi};
pub use midi_held::{HeldOver, HeldReading, OtherLine};
pub use midi_in::from_midi;
pub use midi_played::{PlayedFile, chosen_in_midi, played_in_midi};
pub use midi_told::MidiTold;
pub use musicxml::{score_to_musicxml, to_musicxml};
pub use musicxml_in::from_musicxml;
pub use notation::NotationKind;
pub use note_table::{frames_json, frames_table, notes_from_table, notes_json, notes_table};
pub use staff::{Staff, StaffNote, StaffRequest, staff};
pub use traded_score::{ScoreHead, ScoredAnswer, ScoredChorus, traded_score};
pub use voice::{ImportedVoice, Refused};
