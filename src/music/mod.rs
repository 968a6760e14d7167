//! Theory without time or sound: pitch, key, chord, instrument.
//!
//! A written pitch stands on the player's page, a concert pitch is what sounds. They are different types, and only an [`Instrument`] turns
//! one into the other. All pitches inside the program are concert pitches; page and screen show written ones, unless the player reads in
//! concert pitch ([`Reading`]).
//!
//! # To change it
//! - An instrument (look first whether its id is there): a row in `assets/instruments.toml`, whose head says what each field means,
//!   and, at the same place in order, a compass in `tests/data/compasses.tsv`, with the count in its first line and in a test of
//!   `catalogue.rs`. Add the id to those tests of `catalogue.rs`, `tendency.rs` and `signature.rs` that apply to it; names that
//!   resemble others are tested in `catalogue.rs`. A fingering table is named by `fingerings =` in the row; a new table goes into
//!   `assets/fingerings.toml`, a new kind of table also into `tendency.rs` and `words/fingering.rs`. Another way to sound
//!   (`Sounding`): `instrument.rs`, its word in `file.rs`, how it tunes in `words/verdict/sentence.rs`, the simulated player's
//!   `simulated/timbre.rs`. `cargo test catalogue`, `cargo test instruments`, `cargo test theory`.
//! - A language of note names, or a unit of reflex times: the type with its words and its `ALL` in `reading.rs`. A language is typed in
//!   `cli/args/note_names.rs`, a unit in no option (`cli/resolve/player.rs`). Both are kept in `files/settings_words.rs` and recorded by
//!   `session/wire/words.rs` and the schema; whether an older program can read a new word: `FORMAT` in `session/read.rs`. Signs after
//!   a syllable: `report/page/staff.rs`. Room for names and units: `report/keys_over_days.rs`, `report/page/keys.rs`,
//!   `tui/view/over.rs`, `tui/view/strip.rs`; README. `cargo test --test program page`, `cargo test in_every_language`.

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
pub use vocabulary::{chords, fits, scales_over};
