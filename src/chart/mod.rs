//! Chord charts: text as a musician writes it, a form that can be unrolled and moved to any key, and a library of forms.
//!
//! text -> words and bar signs (`lex`) -> [`ChordChart`] (`read`) -> [`Chorus`], once through the form with a chord for each
//! beat. A chart keeps its chords as places in a key ([`Numeral`]), in letters or numerals alike, so a chart is moved to another key
//! by naming its chords there. Printing is canonical: `parse(print(c)) == c`.
//!
//! # The text
//! In EBNF (ISO 14977); blanks and line ends part tokens.
//!
//! ```text
//! chart   = [ "in" , key ] , [ meter ] , [ "pick-up" , slot , { slot } ] , strain , { strain } ;
//! meter   = ( "2" | "3" | "4" | "5" | "6" | "7" ) , "/4" ;                (* left out: 4/4 *)
//! strain  = [ name , ":" ] , { "|" , bars , ( "|" | "||" ) | repeat } ;
//! bars    = bar , { "|" , bar } ;                                          (* a "|" at a line end may stand on the next too *)
//! repeat  = "|:" , bars , ":|" , [ number , "x" ]                          (* twice, or so many times, 16 at most *)
//!         | "|:" , bars , "|" , "1." , bars , { ":|" , number , "." , bars } , "||" ;    (* endings, two at least; "||", *)
//!                                                                          (* a name, "|:" or the end ends the last *)
//! bar     = "%" | slot , { slot } ;                                        (* "%": as the bar before *)
//! slot    = chord | "N.C." | "NC" | "-" | "/" ;                            (* no chord; the one before goes on *)
//! chord   = symbol | numeral ;           (* all in letters, or all in numerals; symbols are read in `music/symbol_reader.rs` *)
//! ```
//!
//! The slots of a bar share its beats evenly: one chord fills it, two in 4/4 have two beats each, `C - - G` is three and one.
//! A slot of the pick-up lasts a beat.
//!
//! Sources: bar lines, repeats, endings, `%` and chord symbols are common practice; TOML 1.0 for the files of forms.
//!
//! # To change it
//! A form: a table in `assets/charts/*.toml`, its bars and chords written anew in `form_tests.rs`; a new file of forms: `BUILT_IN`
//! in `forms.rs`. A feel besides swing and even: `named_chart.rs`, `file.rs`; preset for typed charts in `talk/named_charts.rs`;
//! typed (`--even`) in `cli/args/charts.rs`, said in `talk/chart_views.rs`, written by `exchange/chart_xml.rs` and
//! `cli/charts/exchange.rs` (`exchange/chart_xml_in.rs` reads none); literals in `tests/program/charts.rs`,
//! `backing/band_tests.rs`. `cargo test form_tests`.

mod before_key;
mod chorus;
mod field;
mod file;
#[cfg(test)]
mod form_tests;
mod forms;
mod lex;
mod misprint;
mod model;
mod named_chart;
mod numeral;
mod print;
mod read;
mod read_bar;
#[cfg(test)]
mod read_tests;

pub use chorus::{Change, Chorus};
pub use file::{check_forms, print_form};
pub use forms::Forms;
pub use model::{ChartBar, ChordChart, ChordShare, Passage};
pub use named_chart::NamedChart;
pub use numeral::Numeral;
