use crate::music::{Concert, ConcertKey, Spelling};
use crate::pattern::{Line, Meter, Pattern, PatternId, Register, swing_at};
use crate::units::{Beats, Tempo};

/// What is sounded before an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Form {
    /// The whole pattern.
    Pattern,
    /// The first note of the pattern, the prompt tone.
    FirstNote,
    /// The chord it belongs to.
    Chord,
    /// The key's name only; a short tick marks the end of the cue.
    NameOnly,
}

impl Form {
    /// All of them, in the order in which they are shown, which is their number in the index: append only.
    pub const ALL: [Self; 4] = [Self::Pattern, Self::FirstNote, Self::Chord, Self::NameOnly];

    /// Its place in that order.
    #[must_use]
    pub const fn place(self) -> u8 {
        self as u8
    }
}

/// How an answer is timed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Timing {
    /// On the next bar, with the count.
    InTempo,
    /// As quickly as the player can.
    Free,
}

impl Timing {
    /// How an answer to a cue of this form is timed where nothing else is asked: the whole pattern on the next bar; what leaves the
    /// player to find the notes, as quickly as it comes.
    #[must_use]
    pub const fn usual(form: Form) -> Self {
        match form {
            Form::Pattern => Self::InTempo,
            Form::FirstNote | Form::Chord | Form::NameOnly => Self::Free,
        }
    }
}

/// No warning is longer, in counted beats.
pub const LONGEST_WARNING: u32 = 4;

/// One thing asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Cue {
    /// Counts from 1 in a session.
    pub number: u32,
    /// The pattern.
    pub pattern: PatternId,
    /// The plain name of the pattern.
    pub title: String,
    /// Sounding key.
    pub key: ConcertKey,
    /// How the key and the notes are spelled on a page.
    pub spelling: Spelling,
    /// Third of the player's range.
    pub register: Register,
    /// What is sounded.
    pub form: Form,
    /// How the answer is timed.
    pub timing: Timing,
    /// Asked tempo.
    pub tempo: Tempo,
    /// How the bars of the cue are counted.
    pub meter: Meter,
    /// The notes that are expected, at the places where they are due: swung where the pattern swings.
    pub line: Line,
    /// The chord to sound for [`Form::Chord`], lowest first; may be empty.
    pub chord: Vec<Concert>,
    /// The click goes on through the answer.
    pub click: bool,
    /// Sounded again (asked for, or nothing came): not a choice of the coach and not counted.
    pub repeat: bool,
    /// The key is given so many beats before the answer is due, to learn how little time is enough; `None` in all other cues.
    pub warning: Option<u32>,
    /// The round without a stop in which it is asked, from 1 in a session; `None` where each cue stands alone.
    pub round: Option<u32>,
    /// Nothing tells its key and its pattern but its sound, until it was answered.
    pub by_ear: bool,
}

impl Cue {
    /// A pattern asked for by its whole sound and answered freely; change what differs. `line` is the pattern realised in
    /// `key`, even; where the pattern swings, its eighths are moved as the tempo has it.
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
        }
    }
    /// The same with the pick-up of its pattern at the end of a bar of its own, where the answer is in tempo: its first bar then
    /// begins where the count has one. `pickup` is how much of the line stands before the first bar line.
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
    /// Counted beats before an answer whose key is told late: whole bars with room for every warning, so that nobody can tell from
    /// the count when the key will come.
    #[must_use]
    pub const fn lead_in(&self) -> u32 {
        let bar = self.meter.count();
        LONGEST_WARNING.div_ceil(bar) * bar
    }
    /// A bar is counted in where the answer is in tempo.
    #[must_use]
    pub fn counts_in(&self) -> bool {
        self.timing == Timing::InTempo
    }
}
