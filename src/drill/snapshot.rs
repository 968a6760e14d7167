use crate::coach::{Goals, Holds, Misfit, Reason, SparedTurn, TapCounts, TaskCost, WarnedShare};
use crate::cue::{Cue, TapSound};
use crate::music::{ConcertKey, Mode};
use crate::notes::HeardNote;
use crate::pattern::Fragment;
use crate::session::PauseCause;
use crate::units::{Seconds, Tempo};
use crate::verdict::{NoteInTime, TempoStep, Verdict};
use crate::words::SoundFault;

/// Everything a screen may show, as plain data; words and written pitch are made by whoever draws it.
#[derive(Debug, Clone, PartialEq)]
pub struct Snapshot {
    /// Rises with every change but that of the clock: two snapshots of one revision show the same.
    pub revision: u64,
    /// Time since the beginning of the sitting.
    pub at: Seconds,
    /// Planned length of the sitting, where there is one.
    pub planned: Option<Seconds>,
    /// What the player is to do.
    pub face: Face,
    /// The cue that sounds, is answered or comes again next; `None` where there is none, as after most verdicts.
    pub cue: Option<Cue>,
    /// Why that cue is asked.
    pub reason: Option<Reason>,
    /// Whether the key of the cue may be shown: by ear only after its answer, a key that is told late only once it has been told.
    pub key_known: bool,
    /// Where keys are told late: how the answers came out so far, one row a warning; else empty.
    pub warned: Vec<WarnedShare>,
    /// What is counted and what came out so far, where the sitting has a second task.
    pub second_task: Option<TaskShown>,
    /// What became of the round so far, where rounds are asked.
    pub round: Option<RoundSummary>,
    /// What of the plan does not fit the player's range, and so is not asked.
    pub out_of_range: Vec<Misfit>,
    /// The last judged answer; stays until the next one is judged.
    pub judged: Option<Box<JudgedAnswer>>,
    /// What comes next, once it is known.
    pub next: Option<NextKey>,
    /// Name of the pattern whose keys are shown: the one that is asked, else the one judged last, else the first of the plan; at the end
    /// the one answered most today. "by ear" while the pattern is hidden.
    pub title: String,
    /// The other patterns answered today; empty until the sitting is over.
    pub also: Vec<String>,
    /// The mode of the pattern whose keys are shown, by which they are spelled.
    pub mode: Mode,
    /// The keys of the pattern (twelve, or those chosen), round the circle of fifths of sounding keys from C.
    pub keys: Vec<KeyRow>,
    /// The rows of `keys` as they stood when the sitting began; empty until the sitting is over.
    pub before: Vec<KeyRow>,
    /// The goals, and the weakest way in which any key holds them ([`Holds`]); `None` until every pattern of the plan holds in every
    /// key in which it is asked.
    pub all_hold: Option<(Holds, Goals)>,
    /// The faults that came back in this sitting, a sentence a pattern; empty until the sitting is over.
    pub recurring: Vec<String>,
    /// Whether the cue and the answer are played one after the other now, as the player asked.
    pub plays_back: bool,
    /// What is wrong with the sound; `None` where nothing is.
    pub trouble: Option<SoundFault>,
    /// How long the player has sounded.
    pub sounding: Seconds,
    /// Number of input samples that were lost.
    pub dropped: u64,
    /// Number of answers so far that were attempts at their line and that nobody called misheard.
    pub answers: u32,
    /// Whether the delay of the devices was measured.
    pub calibrated: bool,
    /// Whether a MIDI instrument answers: there is no microphone.
    pub by_midi: bool,
    /// Whether the simulated player answers.
    pub simulated: bool,
    /// Whether the sitting is the trial of a lesson: the player can neither ask for a cue again nor leave one out.
    pub lesson_trial: bool,
}

/// What the player is to do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Face {
    /// The devices are being opened, or the first sound is awaited.
    Waiting,
    /// The count-in or the cue sounds, or the gap before it is open; `beats_left` while beats are counted.
    Listen {
        /// Beats left of the count-in or, where the key is told late, until the answer is due.
        beats_left: Option<u32>,
    },
    /// The player's turn; `heard` once a note was heard.
    YourTurn {
        /// Whether a note was heard.
        heard: bool,
        /// Beats left to the bar on which an answer in tempo begins.
        beats_left: Option<u32>,
    },
    /// A block begins: the screen says what is to be counted in it.
    BlockBegins,
    /// The drill asks how many taps were counted.
    HowMany,
    /// A cue that is to be sung or fingered, in which nothing is judged.
    Spared {
        /// What is to be done.
        turn: SparedTurn,
        /// How far it is.
        part: SparedPart,
        /// Whether it is the first of the sitting.
        first: bool,
    },
    /// The answer is judged; `settled` once the last note has ended and the sentence stands.
    Verdict {
        /// Whether the sentence stands.
        settled: bool,
        /// Whether the verdict is held until the player goes on.
        stays: bool,
    },
    /// A round is over: the screen says how its answers came out.
    RoundOver {
        /// Whether what came out is held until the player goes on.
        stays: bool,
    },
    /// Paused: why, and when it goes on by itself, where it does.
    Paused {
        /// Why the drill is paused.
        cause: PauseCause,
        /// The instant of the sitting at which the drill goes on by itself; `None` where it does not.
        until: Option<Seconds>,
    },
    /// The sitting is over.
    Over,
}

/// How far a turn away from the instrument is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SparedPart {
    /// What is to be done stands there.
    Told,
    /// The cue sounds.
    Listen,
    /// The player's turn.
    Yours,
}

/// One judged answer with all that a screen needs to show it.
#[derive(Debug, Clone, PartialEq)]
pub struct JudgedAnswer {
    /// What was asked.
    pub cue: Cue,
    /// What was heard.
    pub heard: Vec<HeardNote>,
    /// The verdict on the answer.
    pub verdict: Verdict,
    /// The one thing that matters, in a word or two.
    pub headline: String,
    /// The sentence on the answer.
    pub sentence: String,
    /// Where each note was asked and played, where the sentence names a fault of rhythm, evenness or pace; else empty.
    pub in_time: Vec<NoteInTime>,
    /// What the instrument does to a note that was out of tune, where that teaches something new.
    pub hint: Option<String>,
    /// The parts of a phrase that is met for the first time, shown once it was answered: before, the ear finds them. Otherwise empty.
    pub parts: Vec<Fragment>,
    /// A fault that has become a pattern with this answer, named once.
    pub recurring: Option<String>,
    /// What the answer does to the tempo of its key; `None` before the answer is over, where it does not count, and in a trial or a
    /// round, where no tempo changes.
    pub moved: Option<Moved>,
    /// Whether the player says that the answer was misheard, so that it does not count.
    pub contested: bool,
}

/// The key that comes next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NextKey {
    /// Sounding key.
    pub key: ConcertKey,
    /// The mode of its pattern, by which the key is spelled.
    pub mode: Mode,
    /// Why it comes.
    pub reason: Reason,
}

/// What an answer does to the tempo of its key.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moved {
    /// Up, stay or down.
    pub step: TempoStep,
    /// The tempo at which the key is asked next.
    pub next: Tempo,
    /// Whether the tempo stays because the ear is in doubt.
    pub doubted: bool,
}

/// What is shown of one key in the strip of keys.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeyRow {
    /// Sounding key.
    pub key: ConcertKey,
    /// The key's reflex time, the moving mean over its free answers to the form of cue that is asked; `None` where none counted.
    pub reflex: Option<Seconds>,
    /// The quickest tempo that a passed answer truly held, on the latest day that had one.
    pub reached: Option<Tempo>,
    /// Right notes and expected notes of the latest answer in the key.
    pub right: Option<(u32, u32)>,
    /// Number of answers that counted today.
    pub answers_today: u32,
    /// How the key holds: the goals reached on two of the last three days on which it was answered so; `None` where it does not
    /// hold.
    pub holds: Option<Holds>,
}

/// What became of a round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoundSummary {
    /// Number of the round, counted from 1.
    pub number: u32,
    /// What became of its cues so far, in the order in which they were asked.
    pub answers: Vec<RoundAnswer>,
}

/// A second task as it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TaskShown {
    /// Number of the block; 0 before the first.
    pub block: u32,
    /// What is counted in the block; `None` where the taps are let pass.
    pub counted: Option<TapSound>,
    /// The newest number: how many taps sounded, and the number that was said, if any.
    pub newest: Option<(u32, Option<u32>)>,
    /// What counting cost so far.
    pub cost: TaskCost,
    /// How the numbers came out.
    pub counts: TapCounts,
}

/// What became of one cue of a round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoundAnswer {
    /// Sounding key.
    pub key: ConcertKey,
    /// The mode by which the key is spelled.
    pub mode: Mode,
    /// Name of the pattern.
    pub title: String,
    /// Whether the answer was all right and on its beat.
    pub right: bool,
    /// The one thing that matters, in a word or two; `None` where nothing came.
    pub headline: Option<String>,
}
