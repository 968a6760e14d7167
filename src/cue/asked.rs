use crate::cue::{JoinedPart, SecondTask, joins};
use crate::music::{Concert, ConcertKey, Spelling};
use crate::pattern::{Line, Meter, Pattern, PatternId, Register, swing_at};
use crate::units::{Beats, Tempo};

/// What a cue sounds before the answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Form {
    /// The whole pattern.
    Pattern,
    /// The first note of the pattern, the prompt tone.
    FirstNote,
    /// The chord on which the pattern begins, or root and fifth where the pattern has none; the first note where [`Cue::chord`] is empty.
    Chord,
    /// The key's name only; a short tick marks the end of the cue, except in a round, whose click goes on.
    NameOnly,
}

impl Form {
    /// All forms in the order in which they are shown. The place of a form here is its number in the index, so a new form goes last.
    pub const ALL: [Self; 4] = [Self::Pattern, Self::FirstNote, Self::Chord, Self::NameOnly];

    /// The place of the form in [`Form::ALL`], from 0.
    #[must_use]
    pub const fn place(self) -> u8 {
        self as u8
    }
}

/// How an answer is timed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Timing {
    /// In the tempo of the cue, from the first beat of the bar after it.
    InTempo,
    /// As quickly as the player can.
    Free,
}

impl Timing {
    /// How an answer to a cue of this form is timed where the player or the lesson says nothing else. The whole pattern is answered
    /// in tempo; every other form leaves the player to find the notes, so its answer is free.
    #[must_use]
    pub const fn usual(form: Form) -> Self {
        match form {
            Form::Pattern => Self::InTempo,
            Form::FirstNote | Form::Chord | Form::NameOnly => Self::Free,
        }
    }
}

/// The longest warning, in counted beats ([`Cue::warning`]).
pub const LONGEST_WARNING: u32 = 4;

/// One thing asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Cue {
    /// The number of the cue in its session, from 1.
    pub number: u32,
    /// The id of the pattern.
    pub pattern: PatternId,
    /// The plain name of the pattern.
    pub title: String,
    /// The key in which the cue sounds.
    pub key: ConcertKey,
    /// How the key and the notes are spelled on a page.
    pub spelling: Spelling,
    /// The third of the player's range in which the cue is asked.
    pub register: Register,
    /// What is sounded.
    pub form: Form,
    /// How the answer is timed.
    pub timing: Timing,
    /// The tempo that is asked for.
    pub tempo: Tempo,
    /// How the bars of the cue are counted.
    pub meter: Meter,
    /// The notes that are expected, at the places where they are due: swung where the pattern swings.
    pub line: Line,
    /// The chord to sound for [`Form::Chord`], lowest note first; where it is empty, the first note of the line sounds instead.
    pub chord: Vec<Concert>,
    /// Whether the click goes on through the answer.
    pub click: bool,
    /// Whether the cue is sounded once more, because the player asked for it or did not answer. The coach did not choose it, and it
    /// is not counted.
    pub repeat: bool,
    /// How many counted beats before its answer the key is told, where the coach measures how little time is enough; else `None`.
    pub warning: Option<u32>,
    /// The number, from 1 in a session, of the round in which this cue and others are asked without a stop; `None` for a cue alone.
    pub round: Option<u32>,
    /// Whether the screen hides the key and the pattern before the answer: only the sound tells them.
    pub by_ear: bool,
    /// The second task beside the answer, by which the cost of a divided mind is measured; `None` where the cue has none.
    pub second_task: Option<SecondTask>,
    /// The whole patterns of which a phrase is made, in order; empty in all other cues.
    pub joined: Vec<JoinedPart>,
}

impl Cue {
    /// A cue that sounds the whole pattern and is answered freely; the caller changes the fields that differ. `line` is the pattern
    /// realised in `key` with even eighths; where the pattern swings, its eighths are moved here, by the tempo.
    #[must_use]
    pub fn new(pattern: &Pattern, key: ConcertKey, register: Register, tempo: Tempo, line: Line) -> Self {
        Self {
            number: 1,
            pattern: pattern.id.clone(),
            title: pattern.name.clone(),
            key,
            spelling: pattern.spelling(),
            register,
            form: Form::Pattern,
            timing: Timing::Free,
            tempo,
            meter: pattern.meter(),
            line: if pattern.swing { line.swung(swing_at(tempo), pattern.pickup()) } else { line },
            chord: pattern.chord(key),
            click: false,
            repeat: false,
            warning: None,
            round: None,
            by_ear: false,
            second_task: None,
            joined: Vec::new(),
        }
    }
    /// For an answer in tempo, the same cue with a rest before its pick-up: the two together fill a bar, so that the first full bar of
    /// the line begins on a first beat of the count. `pickup` is how much of the line stands before its first bar line.
    #[must_use]
    pub fn with_pickup(mut self, pickup: Beats) -> Self {
        let bar = self.meter.bar().0;
        let before = (bar - pickup.0.rem_euclid(bar)) % bar;
        if self.timing == Timing::InTempo && before > 0.0 {
            self.line.notes.iter_mut().for_each(|note| note.at.0 += before);
            self.line.length.0 += before;
        }
        self
    }
    /// Counted beats before an answer whose key is told late: as many whole bars as hold the longest warning, so that the count does
    /// not show when the key will be told.
    #[must_use]
    pub const fn lead_in(&self) -> u32 {
        let bar = self.meter.count();
        LONGEST_WARNING.div_ceil(bar) * bar
    }
    /// Whether the cue is asked to find something out (its key was told late, or the mind was elsewhere): the coach learns nothing
    /// from its answer, which counts in no other figure.
    #[must_use]
    pub const fn probes(&self) -> bool {
        self.warning.is_some() || self.second_task.is_some()
    }
    /// The first note after each seam of a phrase, by its place in the line. The landing is among them where it stands after the last
    /// pattern.
    #[must_use]
    pub fn seam_notes(&self) -> Vec<usize> {
        let last = self.line.notes.len().saturating_sub(1);
        let apart = self.joined.last().filter(|part| part.last < last).map(|_| last);
        joins(&self.joined).into_iter().map(|it| it.note).chain(apart).collect()
    }
    /// Whether a bar is counted in, as it is for an answer in tempo.
    #[must_use]
    pub fn counts_in(&self) -> bool {
        self.timing == Timing::InTempo
    }
}
