//! What can be asked: the notation, the library of patterns, and a pattern realised as a line of expected notes.
//!
//! text of a pattern file -> fields (`file`) and tokens (`parse`) -> notes in time above a tonic (`layout`, `compile`) ->
//! [`Pattern`] in a [`Library`] -> [`realise`] in a key, a range and a register -> [`Line`].
//!
//! A pattern knows no key: it is degrees, spelled, above a tonic ([`Degree`](crate::music::Degree)), and exact time ([`Ticks`]). Only
//! [`realise`] knows a range, and it never folds a note into it. A file from a stranger is text until [`read`] has found it
//! right; [`check`] lists all troubles at once. Printing is canonical: `read(print(x)) == x`.
//!
//! # Grammar of the notes
//! ISO 14977 notation; tokens are parted by blanks, brackets need none.
//! ```text
//! notes       = { token } ;
//! token       = slot | group | root | bar ;
//! slot        = note | hold | rest ;
//! note        = degree | half steps | chord tone ;        (* which of them: the field reads *)
//! degree      = [ "bb" | "b" | "#" | "x" ] , number , { "," } ;   (* a comma: an octave lower; at most three *)
//! chord tone  = number , { "," } ;                         (* 1 3 5 7 and their octaves 8 10 12 14; 9 11 13 *)
//! number      = "1" | "2" | ... | "15" ;
//! half steps  = [ "-" ] , digit , [ digit ] ;              (* from the tonic, 36 at most *)
//! hold        = "-" ;                                      (* the note, or the group, before lasts one unit more *)
//! rest        = "." ;
//! group       = "[" , slot , { slot } , "]" ;              (* 1 to 9 slots share one unit evenly *)
//! root        = [ "b" | "#" ] , numeral , [ quality ] , ":" ;  (* degrees count from it until the next *)
//! numeral     = "I" | "II" | "III" | "IV" | "V" | "VI" | "VII" ;
//! quality     = "m" | "7" | "maj7" | "m7b5" | ... ;        (* the printed names of the chord qualities *)
//! bar         = "/" ;                                      (* for the eye only *)
//! ```
//! A root stands in the octave that begins at the tonic: `V7: 1` is seven half steps above it. Chord tones count tones, not
//! letters: the `7` of a sixth chord is its sixth, the `3` of a suspended chord its fourth.
//!
//! Sources: degrees, Roman numerals and chord names are common practice; TOML 1.0 for the file.

mod compile;
mod cycle;
mod fields;
mod file;
mod layout;
mod library;
mod line;
mod model;
mod nearest;
mod parse;
#[cfg(test)]
mod parse_tests;
mod print;
mod quality;
mod realise;
mod sequence;
mod time;
mod token;
mod trouble;
mod words;
mod write;

pub use cycle::Cycle;
pub use file::{check, read};
pub use layout::{Section, Step};
pub use library::{Library, UnknownPattern, Wanted};
pub use line::{ExpectedNote, Line, NoFit, Register};
pub use model::{Family, Notation, Pattern, PatternId, TempoRange};
pub use print::{print, print_file};
pub use quality::Quality;
pub use realise::{from_degree, realise, starts};
pub use sequence::Sequence;
pub use time::{Ticks, Unit};
pub use token::{Reads, Root, Slot, Token, print_notes};
pub use trouble::Trouble;
pub use words::{describe, level_name, level_words};
pub use write::{About, from_line};
