//! Theory without time or sound: pitch, key, chord, instrument.
//!
//! A written pitch is what stands on the player's page, a concert pitch is what sounds; they are different types, joined
//! only by an [`Instrument`]. Everything between the page and the screen is concert pitch.

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
pub use spell::{readable, spell, spell_degree, spell_degree_above, spell_in};
pub use spelling::{Letter, PitchName, Spelled};
pub use symbol::ChordSymbol;
pub use tendency::{Check, Cure, Fingering, Tendency, tendency};
pub use unreadable::Unreadable;
pub use vocabulary::{chords, fits, scales_holding};
