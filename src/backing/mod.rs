//! A soft band under a chart: plucked bass, short chords, a brush or a click, two bars of lead-in.
//!
//! [`Chorus`](crate::chart::Chorus) -> notes of one chorus by rule (`bass`, `voicing`, `comp`, gathered in `plan`) -> samples
//! (`voice`), read in blocks of any size ([`BackingBand`]). The generator is an argument: the same chart, wish and draws give the same
//! samples, whatever the blocks. A chorus is planned only when it is due, so memory does not grow with time. Planning allocates
//! memory, so a band is never read in a callback but on another thread.
//!
//! # Rules (common practice, as in any handbook of the walking bass and of comping)
//! - Walking: the root (or the bass after a slash) on the first beat of every chord; root, third or fifth on the first beat of a
//!   further bar under the same chord; before every such note a half step or a step of the chord's scale. Between them lie chord
//!   tones and steps of the scale, never a note twice running, no leap beyond a fifth except the octave; E1 to E3. Two exceptions:
//!   the note under a chord of one beat may leap or come again, and where no draw keeps the rules, two notes alternate (`plain` in
//!   `bass.rs`).
//! - Root and fifth: where a chord fills four beats of a bar or more, the root (or the bass after a slash), and halfway through
//!   them the fifth; under a shorter chord the root alone, and where it goes on into the next bar, as in three, fifth and root in turn.
//! - Chords: third and seventh (a triad: third and fifth), each led to the nearest pitch, D3 to C5; a voice that would leave this
//!   range is moved back by an octave. An altered fifth is a third voice. Chords are short, so that the player is heard.
//! - The second half of every beat swings as the cue does ([`swing_at`](crate::pattern::swing_at)).
//!
//! # To change it
//! How the band plays: `bass.rs`, `voicing.rs` and `comp.rs`, gathered in `plan.rs`, which says how long a chord lasts (`SHORT`) and
//! strikes pick-up and end without `comp.rs`. A kind of bass is a `BassLine` (`wish.rs`). `bass.rs` is told
//! chords and no key: what needs the tonic gets it from `plan.rs` (`bass_stretches`, from `Change::place`). How loud and how long each
//! part sounds: `voice.rs`, which knows no beat; what differs
//! from beat to beat is given to it in `BandSound` (`plan.rs`). The rules above are also written anew in `rule_tests.rs`. What a player may
//! wish: `wish.rs`, typed in `cli/args/charts.rs` (for `trade` too), worked out in `cli/charts/band.rs`; README. What plays
//! otherwise raises `SOUND_VERSION` (`trade/sounded.rs`): a trade that was recorded is judged again by making its band anew. `cargo test
//! rule_tests`, `cargo test band_tests`.

mod band;
#[cfg(test)]
mod band_tests;
mod bass;
mod comp;
mod plan;
#[cfg(test)]
mod rule_tests;
mod tones;
mod voice;
mod voicing;
mod wish;

pub use band::{BackingBand, LEAD_IN};
pub use wish::{BandWish, BassLine, CEILING, TEMPOS, TimeKeeping};
