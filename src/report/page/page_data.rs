use crate::music::ReflexUnit;
use crate::report::page::chosen::ChosenTake;
use crate::report::tuning::PitchRow;
use crate::units::Cents;

/// What the page shows of one player on one instrument; names are written ones, as the player reads them.
#[derive(Debug, Clone, PartialEq)]
pub struct TeacherPage {
    /// Who played: a name, or what stands for one.
    pub player: String,
    /// The trade's name of the instrument, such as "trumpet in Bb".
    pub instrument: String,
    /// Dates, sittings, days, minutes, answers: one fact an entry.
    pub facts: Vec<String>,
    /// What a teacher reads first, in one sentence; empty where nothing can be said.
    pub sentence: String,
    /// The last seven days against the seven before, where both have a sitting.
    pub week: Option<String>,
    /// What was said of the sittings afterwards, in their order.
    pub comments: Vec<String>,
    /// What to work on, gravest first, at most three sentences.
    pub work_on: Vec<String>,
    /// Reflex, pace, or both: whichever the answers give.
    pub tables: Vec<KeyTable>,
    /// What was kept after a time away, keys that were held out or told late, rounds without a stop, how steady the reflex times are; a
    /// paragraph each.
    pub firm: Vec<String>,
    /// Intonation, one row a written pitch, highest first; empty where it is not scored.
    pub pitches: Vec<PitchLine>,
    /// Pitches that were heard too rarely to be shown.
    pub rare: usize,
    /// Answers to listen to again, one a key.
    pub again: Vec<ChosenTake>,
    /// Answers at their best, one a key.
    pub best: Vec<ChosenTake>,
}

/// What is measured a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeyMeasure {
    /// Reflex time of free answers, measured in seconds and shown in the player's unit; shorter is quicker.
    Reflex(ReflexUnit),
    /// Pace held in answers in tempo, in quarters a minute; higher is quicker.
    Pace,
}

/// The keys by one measure.
#[derive(Debug, Clone, PartialEq)]
pub struct KeyTable {
    /// What is measured.
    pub measure: KeyMeasure,
    /// The player's goal: seconds, or quarters a minute.
    pub goal: f64,
    /// First and last calendar day, days since 1970-01-01.
    pub days: (i32, i32),
    /// The other keys, which no answer is in.
    pub missing: Vec<String>,
    /// One row a key that was asked, round the circle of fifths from a written C.
    pub lines: Vec<KeyLine>,
}

/// One key by one measure.
#[derive(Debug, Clone, PartialEq)]
pub struct KeyLine {
    /// The written key.
    pub name: String,
    /// The key is still held out of practice, so it is nothing to work on.
    pub held_out: bool,
    /// Middle value of the first third of the days; `None` where there are fewer than two days.
    pub first: Option<f64>,
    /// Middle value of the last third of the days.
    pub last: Option<f64>,
    /// Middle value of each day on which the key was measured: (days since 1970-01-01, value).
    pub days: Vec<(i32, f64)>,
    /// First tries of a day, whole ones and all.
    pub first_tries: (u32, u32),
    /// Notes right, and notes asked.
    pub right: (u32, u32),
    /// Answers that count.
    pub answers: u32,
}

/// The intonation of one written pitch.
#[derive(Debug, Clone, PartialEq)]
pub struct PitchLine {
    /// The written name with its octave.
    pub name: String,
    /// The figures of the pitch.
    pub row: PitchRow,
    /// Half the width of the middle half of all, in cents: a median absolute deviation either way.
    pub half: Cents,
}
