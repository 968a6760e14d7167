use std::fmt;

use crate::music::{Concert, ConcertKey, Degree, HalfSteps};
use crate::pattern::cycle::Cycle;
use crate::pattern::meter::Meter;
use crate::pattern::quality::Quality;
use crate::pattern::sequence::Sequence;
use crate::pattern::time::{Ticks, Unit};
use crate::pattern::timeline::{ChordSpan, PatternNote, Timeline};
use crate::pattern::token::{ChordRoot, Reads, Token};
use crate::units::{Beats, Tempo};

/// The name by which a pattern is stored and typed, such as `broken-thirds-up`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PatternId(pub String);

impl fmt::Display for PatternId {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.0)
    }
}

/// The three families by motion, and phrases joined from them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// By steps within a key.
    Stepwise,
    /// By consecutive half steps.
    HalfSteps,
    /// By thirds and wider moves.
    Skips,
    /// Fragments of several families, joined.
    Phrase,
}

impl Family {
    /// All families with their names in pattern files and on screens.
    pub const NAMES: [(&str, Self); 4] = [
        ("stepwise", Self::Stepwise),
        ("half steps", Self::HalfSteps),
        ("skips", Self::Skips),
        ("phrase", Self::Phrase),
    ];

    /// The plain name of the family.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Stepwise => "stepwise",
            Self::HalfSteps => "half steps",
            Self::Skips => "skips",
            Self::Phrase => "phrase",
        }
    }
}

/// The tempos at which a pattern is usually practised, in quarter notes a minute.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TempoRange {
    /// Tempo at which the pattern is begun.
    pub low: Tempo,
    /// The quickest usual tempo.
    pub high: Tempo,
}

/// The notes of a pattern as its file has them, and how the file says that they go on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notation {
    /// How the numbers are read.
    pub reads: Reads,
    /// How the bars of the pattern are counted.
    pub meter: Meter,
    /// The length of one slot outside groups, and of a whole group.
    pub unit: Unit,
    /// The notes as written.
    pub tokens: Vec<Token>,
    /// The scale along which the pattern moves, one octave upward from the tonic, where the file states it.
    pub scale: Option<Vec<Degree>>,
    /// How the cell moves on, and the number of cells; `None` where the notes are played as they are written.
    pub sequence: Option<(Sequence, u32)>,
    /// How often the whole is played, from 1.
    pub repeats: u32,
    /// The number of units before the first bar line.
    pub pickup: u32,
}

/// A short line that can be realised in any key.
#[derive(Debug, Clone, PartialEq)]
pub struct Pattern {
    /// Name for files and the command line.
    pub id: PatternId,
    /// The name musicians use.
    pub name: String,
    /// Family by motion.
    pub family: Family,
    /// How hard the pattern is, 1 (first week) to 5.
    pub level: u8,
    /// What the pattern trains, as a noun phrase.
    pub trains: String,
    /// The tempos at which the pattern is usually practised.
    pub tempo: TempoRange,
    /// The chord qualities that the pattern fits; empty where it fits any.
    pub over: Vec<Quality>,
    /// Whether the eighths swing. The notes here are even; how much they swing depends on the tempo ([`swing_at`](super::swing_at)).
    pub swing: bool,
    /// The usual order of keys.
    pub cycle: Cycle,
    /// Where the pattern comes from.
    pub source: String,
    /// The notes as written.
    pub notation: Notation,
    /// The notes in time, made from `notation`.
    pub(super) timeline: Timeline,
}

impl Pattern {
    /// The notes in time, counted from the tonic.
    #[must_use]
    pub fn notes(&self) -> &[PatternNote] {
        &self.timeline.notes
    }
    /// The chords under the pattern, in order. Where its notes name no root it has one chord on the tonic, of the first quality that the
    /// pattern fits, or none if it fits any.
    #[must_use]
    pub fn chords(&self) -> Vec<ChordSpan> {
        if self.timeline.chords.is_empty() {
            let tonic = self.over.first().map(|quality| ChordSpan { at: Ticks(0), root: ChordRoot::tonic(*quality) });
            return tonic.into_iter().collect();
        }
        self.timeline.chords.clone()
    }
    /// How the bars of the pattern are counted.
    #[must_use]
    pub const fn meter(&self) -> Meter {
        self.notation.meter
    }
    /// The whole length, rests at the end included.
    #[must_use]
    pub fn length(&self) -> Beats {
        self.timeline.length.beats()
    }
    /// How much of the pattern stands before the first bar line.
    #[must_use]
    pub fn pickup(&self) -> Beats {
        self.pickup_ticks().beats()
    }
    /// The pick-up in ticks.
    #[must_use]
    pub fn pickup_ticks(&self) -> Ticks {
        Ticks(self.notation.unit.ticks().0 * i64::from(self.notation.pickup))
    }
    /// The distance from the lowest to the highest note.
    #[must_use]
    pub fn span(&self) -> HalfSteps {
        let heights = self.timeline.notes.iter().map(|step| step.degree.half_steps);
        HalfSteps(heights.clone().max().unwrap_or(0) - heights.min().unwrap_or(0))
    }
    /// The pitches of the chord on which the pattern begins, in close position above a root between C3 and B3, where close thirds are still
    /// clear: at most five tones, one of each letter. Root and fifth alone where the pattern has no chord.
    #[must_use]
    pub fn chord(&self, key: ConcertKey) -> Vec<Concert> {
        let first = self.chords().first().map(|section| section.root);
        let root = first.map_or(0, |root| root.degree.half_steps);
        let bottom = Concert(48 + (key.0.get() + root).rem_euclid(12));
        match first {
            Some(root) => {
                let mut tones = root.quality.tones().to_vec();
                tones.dedup_by_key(|tone| tone.letters);
                tones.iter().take(5).map(|tone| bottom + HalfSteps(tone.half_steps)).collect()
            }
            None => vec![bottom, bottom + HalfSteps(7)],
        }
    }
    /// Whether the pattern is minor: its last chord on the tonic has a minor third.
    #[must_use]
    pub fn minor(&self) -> bool {
        let chords = self.chords();
        let home = chords.iter().rev().find(|section| section.root.degree == Degree::TONIC);
        let third = home.and_then(|section| section.root.quality.tones().get(1).copied());
        third.is_some_and(|third| third.half_steps == 3)
    }
}
