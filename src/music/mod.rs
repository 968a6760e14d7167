//! Theory without time or sound: pitch, key, chord, instrument.
//!
//! A written pitch is what stands on the player's page, a concert pitch is what sounds; they are different types, joined
//! only by an [`Instrument`]. Everything between the page and the screen is concert pitch.
//!
//! # To change it
//! - An instrument: a row in `assets/instruments.toml` (its head says what each field means) and, at the same place in order, a
//!   compass in `tests/data/compasses.tsv` (the count stands in its first line and in a test of `catalogue.rs`); where it has what they
//!   test, its id in the tests of `catalogue.rs`, `tendency.rs`, `signature.rs`; a fingering chart: `fingerings =` in
//!   the row, a new one in `assets/fingerings.toml` (code, `tendency.rs` and `words/fingering.rs`, only for a new kind). Look first
//!   whether the id is there; names that resemble others: the tests of `catalogue.rs`. Another way to sound (`Sounding`):
//!   `instrument.rs`, its word in `file.rs`, how it tunes in `words/verdict/sentence.rs`, the simulated player's
//!   `simulated/timbre.rs`. `cargo test catalogue`, `cargo test instruments`, `cargo test theory`.
//! - A word of a closed set (a language of note names, a unit of reflex times): the type with its words and its `ALL` in `reading.rs`; a
//!   language is typed: `cli/args/note_names.rs` (a unit is not: `cli/resolve/player.rs`); kept: `files/settings_words.rs`; recorded: `session/wire/words.rs` and the schema (a new
//!   word: whether an older program can read on, `FORMAT` in `session/read.rs`); signs after a syllable: `report/page/staff.rs`; room for names and units: `report/keys_over_days.rs`,
//!   `report/page/keys.rs`, `tui/view/over.rs`, `tui/view/strip.rs`; README. `cargo test --test program page`, `cargo test in_every_language`.

mod catalogue;
mod chord_scales;
mod degree;
mod file;
mod fingerings;
mod instrument;
mod key;
mod nearest;
mod pitch;
mod quality;
mod reading;
mod scale;
mod scales;
mod signature;
mod spell;
mod spelling;
mod symbol;
mod symbol_reader;
mod tendency;
mod tube;
mod unreadable;
mod vocabulary;

pub use catalogue::{instrument, instruments};
pub use chord_scales::{NamedChord, ScaleFit};
pub use degree::Degree;
pub use instrument::{Clef, Instrument, Intonation, Level, Sounding};
pub use key::{ConcertKey, WrittenKey};
pub use nearest::{nearest, slips};
pub use pitch::{Concert, HalfSteps, PitchClass, Range, Written};
pub use quality::ChordQuality;
pub use reading::{NamedBy, NoteNames, Reading, ReflexUnit, Spelling};
pub use scale::Scale;
pub use scales::{scale, scales};
pub use signature::{Mode, Signature, Tonality};
pub use spell::{readable, spell_degree, spell_degree_above, spell_in};
pub use spelling::{Letter, PitchName, Spelled};
pub use symbol::ChordSymbol;
pub use tendency::{Check, Cure, Fingering, Tendency, tendency};
pub use unreadable::Unreadable;
pub use vocabulary::{chords, fits, scales_holding};
