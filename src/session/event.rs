use crate::coach::{CameOut, Goals, OutOfRange, Reason, SparedTurn};
use crate::cue::Cue;
use crate::music::{ConcertKey, Level, Reading};
use crate::notes::HeardNote;
use crate::pattern::PatternId;
use crate::session::{BandMark, BandRecord, NamedPlayer};
use crate::units::{Hertz, SampleRate, Seconds, Tempo};
use crate::verdict::{TempoStep, TimeOrigin, VariedAs, Verdict};

/// One event of the record, in the order in which it happened. `at` is always seconds since the first sample of the sitting.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// The sitting began; the first line of the record.
    Began(Began),
    /// A cue began to sound.
    Cued {
        /// When the cue began to sound.
        at: Seconds,
        /// What was asked.
        cue: Cue,
        /// Why it was asked.
        reason: Reason,
    },
    /// An answer was complete, or never came.
    Answered(AnswerRecord),
    /// The answer to a cue was judged; a later judgement of the same cue replaces an earlier one.
    Judged(Judgement),
    /// The player says that this answer was misheard: nothing is learnt from it, and it stays in the record.
    Contested {
        /// When the player said so.
        at: Seconds,
        /// Number of the cue.
        cue: u32,
    },
    /// A free chorus is over, or was broken off: what was heard in it. Nothing was asked, so nothing is judged.
    FreeChorus(ChorusRecord),
    /// A chorus of a trade was played, or what there is of it. No figure rests on it: it lets the sound be judged again.
    Band(BandRecord),
    /// A block whose taps were counted is over, and its number was asked.
    Counted(CountedTaps),
    /// A turn away from the instrument is over: sung, or fingered in silence. No figure rests on it.
    Spared(SparedRecord),
    /// The drill paused.
    Paused {
        /// When the drill paused.
        at: Seconds,
        /// Why the drill paused.
        cause: PauseCause,
    },
    /// The drill went on after a pause.
    Resumed {
        /// When the drill went on.
        at: Seconds,
    },
    /// The sitting was ended; in its record only comments follow.
    Ended(Ended),
    /// A comment by somebody who reviewed the sitting, such as a teacher. It belongs to no instant of the sitting and enters no
    /// figure.
    Commented(Comment),
}

/// What was heard in a free chorus over the chart of a sitting ([`TradeMark::free`]), as notes. The two instants of the chorus and its
/// form give every note its beat and its chord.
#[derive(Debug, Clone, PartialEq)]
pub struct ChorusRecord {
    /// Up to when the chorus was heard: before `ends` where it was broken off.
    pub at: Seconds,
    /// Number of the chorus, counted from 1; a chorus of rest has none.
    pub chorus: u32,
    /// The key of the chorus.
    pub key: ConcertKey,
    /// When bar 1 began, on the clock of what is heard, without the delay of the devices.
    pub begins: Seconds,
    /// When the form ends on that clock.
    pub ends: Seconds,
    /// The notes, in order; like those of an answer they have the delay in them.
    pub heard: Vec<HeardNote>,
    /// The drilled patterns that were looked for when the chorus was over, and what came out of them; empty in records of older
    /// programs.
    pub drilled: Vec<CameOut>,
}

/// The number that a player gave for the taps of a block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountedTaps {
    /// When the number was given, or was waited for no longer.
    pub at: Seconds,
    /// Number of the block.
    pub block: u32,
    /// Number of the taps to be counted that sounded in the block.
    pub sounded: u32,
    /// The number given, 9 for nine or more; `None` where none was.
    pub said: Option<u32>,
}

/// A turn in which the instrument was silent.
#[derive(Debug, Clone, PartialEq)]
pub struct SparedRecord {
    /// When the turn was over or broken off.
    pub at: Seconds,
    /// Whether it was to be sung or fingered.
    pub turn: SparedTurn,
    /// The pattern that was sounded.
    pub pattern: PatternId,
    /// The key in which it was sounded.
    pub key: ConcertKey,
    /// Whether it was broken off.
    pub left: bool,
}

/// A comment on a sitting, added after its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Comment {
    /// When it was written: local time with zone, RFC 3339.
    pub written: String,
    /// Number of the cue whose answer is meant; `None` for the whole sitting.
    pub cue: Option<u32>,
    /// What the comment says.
    pub text: String,
}

/// What the sitting began with: enough to judge its sound again.
#[derive(Debug, Clone, PartialEq)]
pub struct Began {
    /// When the sitting began: local time with zone, RFC 3339.
    pub started: String,
    /// Calendar day of the sitting: days since 1970-01-01 in local time.
    pub day: i32,
    /// Who played; `None` for a simulated player without a name, and in records from before players had ids.
    pub player: Option<NamedPlayer>,
    /// Id of the instrument.
    pub instrument: String,
    /// Frequency of the concert pitch A4.
    pub a4: Hertz,
    /// Seed of the drill's generator.
    pub seed: u64,
    /// The patterns that may be asked.
    pub patterns: Vec<PatternId>,
    /// The sounding keys that may be asked.
    pub keys: Vec<ConcertKey>,
    /// Pairs of a pattern and a key that were not asked, because the pattern does not fit the player's range in that key. (A key in
    /// which no pattern fits is listed here and not in `keys`.)
    pub out_of_range: OutOfRange,
    /// The player's goals.
    pub goals: Goals,
    /// Rate of the stored sound.
    pub rate: SampleRate,
    /// The measured delay of the devices, taken off every onset; `None` where it was not measured, so that reflex times contain it.
    pub delay: Option<Seconds>,
    /// Whether the answers come from the simulated player.
    pub simulated: bool,
    /// Whether the answers come from a MIDI instrument, as notes; there is no sound of such answers.
    pub by_midi: bool,
    /// Whether the sound of the answers is kept.
    pub keeps_sound: bool,
    /// Whether keys join one by one, each once the others hold; the coach needs to know this when the sitting is replayed.
    pub one_by_one: bool,
    /// How the player reads keys, notes and reflex times; the sentences of the record are made anew with it.
    pub reading: Reading,
    /// How far the player has come, which sets the bands of intonation against which the answers were judged.
    pub level: Level,
    /// Version of the ear that heard the answers (`notes::EAR_VERSION`).
    pub ear: u32,
    /// The lesson that was practised, where one was.
    pub lesson: Option<LessonMark>,
    /// The chart over which phrases were traded or free choruses played; `None` where the sitting is a drill.
    pub trade: Option<TradeMark>,
    /// Whether taps sound beside the answers, and are counted in some blocks.
    pub second_task: bool,
}

/// A chart that was traded or freely played over, as a record names it.
#[derive(Debug, Clone, PartialEq)]
pub struct TradeMark {
    /// The form by its id, or the chords as they were typed.
    pub chart: String,
    /// Quarter notes a minute.
    pub tempo: Tempo,
    /// Number of bars of one phrase, and of the answer to the phrase; 0 where the choruses are free.
    pub bars: u32,
    /// How often the form was to be gone through.
    pub choruses: u32,
    /// Where free choruses are played, the text of the form in the key of the first one, so that their chords stay known whatever
    /// becomes of the chart; `None` where phrases are traded.
    pub free: Option<String>,
    /// What the band plays while phrases are traded; `None` of free choruses, and in records of older programs.
    pub band: Option<BandMark>,
}

/// A lesson as a record names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LessonMark {
    /// The name of the lesson.
    pub name: String,
    /// SHA-256 of its canonical text, 64 hexadecimal digits: a lesson that asks anything else has another sum.
    pub sha256: String,
    /// Number of days on which it is to be practised.
    pub days: u32,
    /// The last day for the lesson, as a date such as 2026-12-07; `None` where the lesson names none.
    pub by: Option<String>,
    /// Whether the sitting is a trial of the lesson: every pattern once in every key, without help.
    pub trial: bool,
    /// The charts to trade over, as the lesson writes them; none in records from before trades were recorded.
    pub charts: Vec<String>,
}

/// What was heard for one cue.
#[derive(Debug, Clone, PartialEq)]
pub struct AnswerRecord {
    /// When the drill took the answer to be over.
    pub at: Seconds,
    /// Number of the cue.
    pub cue: u32,
    /// What the times of the answer are counted from.
    pub clock: TimeOrigin,
    /// The notes, in order of onset; empty when nothing came.
    pub heard: Vec<HeardNote>,
    /// Where the answer lies in the stored sound: its first sample, counted from the start of the sound file, and its number of
    /// samples; `None` where no sound was stored.
    pub sound: Option<(u64, u64)>,
}

/// A verdict on one cue's answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// When the answer was judged.
    pub at: Seconds,
    /// Number of the cue.
    pub cue: u32,
    /// The verdict on the answer.
    pub verdict: Verdict,
    /// The sentence that was shown.
    pub sentence: String,
    /// What the answer does to the tempo of the key; `None` where it was no attempt, and in records of the first format.
    pub step: Option<TempoStep>,
    /// By which rule the answer was taken as a variation of a phrase; `None` where no variation was asked.
    pub varied: Option<VariedAs>,
}

impl Judgement {
    /// Whether the answer to a phrase came back all right: varied by a rule where it was to be varied, else as it was asked.
    #[must_use]
    pub fn whole_phrase(&self) -> bool {
        self.varied.map_or_else(|| self.verdict.whole(), VariedAs::passed)
    }

    /// Whether the answer passed: it moved the tempo of its key up, or, in a record of the first format, was good enough for that.
    #[must_use]
    pub fn passed(&self) -> bool {
        self.step.map_or(self.verdict.enough_in_format_1, |step| step == TempoStep::Up)
    }
}

/// Why a drill pauses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PauseCause {
    /// The player asked for a pause, or nothing could be asked.
    Asked,
    /// Two cues in a row, or a whole round, got no answer.
    Silence,
    /// Lips, voice or hands are to have a rest.
    Rest,
    /// The microphone, the loudspeaker or the MIDI instrument is gone, or does not work.
    Device,
}

/// How the sitting ended.
#[derive(Debug, Clone, PartialEq)]
pub struct Ended {
    /// When the sitting ended.
    pub at: Seconds,
    /// Length of the player's own sound in the sitting.
    pub sounding: Seconds,
    /// Number of input samples that were lost on the way.
    pub dropped: u64,
}
