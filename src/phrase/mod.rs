//! Joined phrases: two or three patterns over the chords of a form, joined by rule and landing on a tone of the chord.
//!
//! bars of a [`Chorus`](crate::chart::Chorus) -> what fits each chord there ([`Ground`]) and the patterns that a player may be
//! asked to join ([`Stock`]) -> pieces laid one after another (`laying`) -> [`Phrase`] ([`PhraseMaker`]). The generator is an
//! argument: the same ground, stock and draws give the same phrase.
//!
//! # Rules (common practice of harmony and of improvised lines, except where another is named)
//! - A piece is a whole pattern that fits the chord on which it begins; where it begins on an off-beat, the chord of the next beat. A
//!   pattern that names no chord and goes by half steps, with no leap beyond a minor third, fits any chord.
//! - A seam joins two pieces: the last note of the first goes by a half or whole step to a tone of the second's chord, or one note
//!   ends the first pattern and begins the second.
//! - A note that sounds on a strong beat, or runs on into another chord, is a tone of that chord or a tension a whole step over one,
//!   taken from the scale on the chord: 9; 11 over a minor third; 13 unless the third is minor and the fifth perfect. A diminished
//!   seventh chord has no tensions.
//! - The last note is 3, 5, 7 or 9 of its chord and lasts for a beat or more: 9 only where the scale has a major ninth there,
//!   and no 3 where the chord has a fourth too.
//! - The scale on a chord: its tones, and for every other letter the note of the key; on a root outside the key the scale of
//!   first choice that has all tones of the chord.
//! - The rhythm of a piece is the pattern's own, or drawn from a set (`figure`). Triplets and snaps stay at their place in the beat.
//! - A join that is wanted (because it broke), or a pattern (because it holds and was never used), begins two phrases of five, where it
//!   can be made.
//! - No phrase comes again within forty, where the patterns are enough for that.
//!
//! # To change it
//! Chords: `ground.rs`. Rhythm: `figure.rs`. Joins: `laying.rs`. Which patterns may be pieces: `stock.rs`; which of those are wanted:
//! `talk/phrase_stock.rs`. The rules written anew as tests: `rule_tests.rs`. The words: `words/traded.rs`. `cargo test trades`.

mod figure;
mod ground;
mod laying;
mod made;
mod maker;
#[cfg(test)]
mod rule_tests;
mod stock;

pub use ground::Ground;
pub use made::{JoinedPiece, NoPhrase, Phrase, WantedPiece};
#[cfg(test)]
pub(crate) use maker::APART;
pub use maker::PhraseMaker;
pub use stock::Stock;
