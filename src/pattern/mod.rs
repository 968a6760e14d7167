//! What can be asked: the notation, the library of patterns, and a pattern realised as a line of expected notes.
//!
//! text of a pattern file -> fields (`file`) and tokens (`parse`) -> notes in time above a tonic (`timeline`, `compile`) ->
//! [`Pattern`] in a [`Library`] -> [`realise`] in a key, a range and a register -> [`Line`].
//!
//! A pattern has no key: its notes are spelled degrees above a tonic ([`Degree`](crate::music::Degree)) in exact time ([`Ticks`]).
//! [`realise`] puts it into a range as a whole, and never moves single notes by an octave to make them fit. A pattern of a file is
//! used only where [`read`] finds no trouble in it; [`check`] lists all troubles at once. Printing is canonical: `read(print(x)) == x`.
//!
//! # The notes
//! The field `notes` of a pattern, in EBNF (ISO 14977), read by `parse`. Blanks stand between tokens; brackets need none.
//!
//! ```text
//! notes   = { slot | group | root | "/" } ;                      (* one note at least; "/" is a bar line; at most 512 signs, *)
//!                                                                (* each bracket and each slot of a group counted *)
//! slot    = note | "-" | "." ;                                   (* the note or group before holds on; a rest *)
//! group   = "[" , slot , { slot } , "]" ;                        (* 1 to 9 slots share one unit evenly *)
//! note    = degree | tone | steps ;                              (* which of them: the field reads *)
//! degree  = [ sign ] , number , { "," } ;                        (* a comma: an octave lower; at most three *)
//! sign    = "bb" | "b" | "#" | "x" | "##" | "♭♭" | "♭" | "♯" | "♯♯" ;        (* printed as one of the first four *)
//! tone    = number , { "," } ;                                   (* chord tones 1 3 5 7, an octave up 8 10 12 14, then 15; *)
//!                                                                (* tensions 9 11 13, an octave lower 2 4 6; commas as above *)
//! number  = "1" | "2" | ... | "15" ;
//! steps   = [ "-" ] , digit , [ digit ] ;                        (* half steps from the tonic, 36 at most; no 07, no -0 *)
//! root    = [ "b" | "#" ] , ( "I" | ... | "VII" ) , [ quality ] , ":" ;   (* degrees count from it until the next *)
//! quality = "m" | "7" | "maj7" | "m7b5" | ... ;                  (* as assets/chords.toml prints them *)
//! ```
//!
//! A pattern's `meter` is `4/4` (left out), `3/4` or `6/8`; a note tied over a bar line goes on with `-` after the bar line.
//!
//! A root stands in the octave that begins at the tonic: `V7: 1` is seven half steps above the tonic. The numbers of chord tones
//! count tones, not letters: the `7` of a sixth chord is its sixth, the `3` of a suspended chord its fourth. [`realise`] makes even
//! eighths; where a pattern swings, the cue moves its off-beats by the tempo ([`swing_at`]).
//!
//! Sources: degrees, Roman numerals and chord names are common practice; TOML 1.0 for the file.
//!
//! # To change it
//! A pattern: a table in `assets/patterns/FAMILY.toml` (`earfirst patterns learn --print` writes one from what is played). A new field:
//! `file.rs`, `print.rs`, `assets/schema/pattern.schema.json`. Checked by `earfirst patterns check`, `cargo test patterns` and
//! `cargo test shelf` (theory written anew). A pattern's id is in players' records and is not changed; an id that has to go is kept
//! in `RENAMED` (`library.rs`).

mod compile;
mod cycle;
mod family_cost;
mod fields;
mod file;
#[cfg(test)]
mod file_tests;
mod fragments;
mod half_steps;
mod join;
mod library;
mod line;
mod meter;
mod mode;
mod model;
mod parse;
#[cfg(test)]
mod parse_tests;
mod print;
mod quality;
mod query;
mod realise;
mod rhythm;
mod sequence;
mod split;
#[cfg(test)]
mod split_tests;
mod swing;
mod time;
mod timeline;
mod token;
mod trouble;
mod write;

pub use cycle::Cycle;
pub use file::{check, read};
pub use fragments::{Fragment, fragments};
pub use join::{Join, Seam};
pub use library::Library;
pub use line::{ExpectedNote, Line, NoFit, Register};
pub use meter::Meter;
pub use model::{Family, Pattern, PatternId, TempoRange};
pub use print::{print, print_file};
pub use quality::Quality;
pub use query::PatternQuery;
pub use realise::{InRegisters, from_degree, in_registers, nearest_register, realise, realise_exact, starts};
pub use rhythm::RhythmFeature;
pub use split::{Between, LinePart, SplitLine, split};
pub use swing::{LateOffBeats, long_to_short, swing_at};
pub use time::Ticks;
#[cfg(test)]
pub use time::Unit;
pub use timeline::{ChordSpan, PatternNote};
pub use token::{Reads, Slot, Token, print_notes};
pub use trouble::PatternTrouble;
pub use write::{PatternHeader, Unwritable, begun_on, from_line};
