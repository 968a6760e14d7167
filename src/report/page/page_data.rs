use crate::music::ReflexUnit;
use crate::report::in_use::UsedSentences;
use crate::report::page::chorus_data::ChorusPicture;
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
    /// Dates, sittings and days, minutes of sound, answers, the longest time away, that pitches are written as the player reads them, a
    /// delay that was not measured: one fact in each entry.
    pub facts: Vec<String>,
    /// What a teacher reads first, in one sentence; empty where nothing can be said.
    pub sentence: String,
    /// Seven days against the seven before, where both have a sitting.
    pub week: Option<String>,
    /// Comments that were added to the sittings afterwards, in their order: what each is about, and its text.
    pub comments: Vec<(String, String)>,
    /// What to work on, gravest first, at most three sentences.
    pub work_on: Vec<String>,
    /// One table for reflex times, one for pace, or both, as the answers have them.
    pub tables: Vec<KeyTable>,
    /// One paragraph each for what was kept after a time away, keys that were held out or told late, rounds without a stop,
    /// sittings by ear, second tasks, and how steady the reflex times are.
    pub firm: Vec<String>,
    /// Intonation, one row for each pitch, highest first; empty where it is not scored.
    pub pitches: Vec<PitchLine>,
    /// At most three answers to listen to again, each in a key of its own.
    pub again: Vec<ChosenTake>,
    /// At most three answers at their best, each in a key of its own.
    pub best: Vec<ChosenTake>,
    /// Whether a drill was answered; a trade alone has no answers to hear again.
    pub drilled: bool,
    /// The phrases over a form that went wrong, the worst first, a sentence each.
    pub went_wrong: Vec<String>,
    /// What passed in phrases over a form; `None` where no phrase was answered.
    pub in_use: Option<UsedSentences>,
    /// What is drilled, and what of it came out in free choruses: one sentence for each pattern.
    pub came_out: Vec<String>,
    /// The latest sitting with free choruses, by its place among all sittings.
    pub played_freely: Option<usize>,
    /// The pictures of its free choruses; whoever has the library puts them in.
    pub choruses: Vec<ChorusPicture>,
}

/// What is measured of a key.
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
    /// First and last day on which any key was measured so, days since 1970-01-01.
    pub days: (i32, i32),
    /// Names of the keys without an answer that counts.
    pub missing: Vec<String>,
    /// One row for each key with an answer that counts, measured or not, round the circle of fifths from a written C.
    pub lines: Vec<KeyLine>,
}

/// One key by one measure.
#[derive(Debug, Clone, PartialEq)]
pub struct KeyLine {
    /// The key, as the player reads it.
    pub name: String,
    /// Whether the key is still held out of practice and so not named as one to work on.
    pub held_out: bool,
    /// Middle value of the first third of the days; `None` where there are fewer than two days, or the key was not measured on these.
    pub first: Option<f64>,
    /// Middle value of the last third of the days; `None` where the key was not measured on these.
    pub last: Option<f64>,
    /// Of a table by pace: the quickest tempo held on the latest three days on which the key was answered, by which it is slow or quick.
    pub best: Option<f64>,
    /// The day of the key's latest answer, where the player practised on three days or more since; `None` where not, and for a key that is
    /// held out.
    pub left_since: Option<i32>,
    /// Middle value of each day on which the key was measured: (days since 1970-01-01, value).
    pub days: Vec<(i32, f64)>,
    /// Number of first tries of a day that were whole, and of all first tries.
    pub first_tries: (u32, u32),
    /// Number of right notes, and of notes asked.
    pub right: (u32, u32),
    /// Number of answers that count.
    pub answers: u32,
}

/// The intonation of one pitch.
#[derive(Debug, Clone, PartialEq)]
pub struct PitchLine {
    /// The name of the pitch, as the player reads it, with its octave.
    pub name: String,
    /// The figures of the pitch.
    pub row: PitchRow,
    /// Half the width of the band that has the middle half of all cents: their median absolute deviation.
    pub half: Cents,
}
