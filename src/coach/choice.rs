use crate::coach::{OutOfRange, Rule};
use crate::cue::{Form, Timing};
use crate::music::{ConcertKey, Range};
use crate::pattern::{Pattern, PatternId, Register};
use crate::units::{Seconds, Tempo};
use crate::verdict::TempoStep;

/// The player's goals, which the player sets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goals {
    /// The tempo at which every pattern should be played all right.
    pub tempo: Tempo,
    /// The reflex time within which a free answer should begin.
    pub reflex: Seconds,
}

/// A tempo this much under the goal, in quarters a minute, still reaches it, since tempi are shown in whole quarters a minute.
const ROUNDING: f64 = 0.5;

impl Goals {
    /// Goals until the player sets their own.
    pub const USUAL: Self = Self { tempo: Tempo(144.0), reflex: Seconds(0.8) };

    /// These goals with the tempo that was set; without one, with the tempo the player began at, where that is quicker than the
    /// goal's: nobody's goal is slower than their beginning, unless they set it so.
    #[must_use]
    pub fn from_tempo(self, set: Option<Tempo>, begun: Option<Tempo>) -> Self {
        let begun = begun.filter(|begun| begun.0 > self.tempo.0);
        Self { tempo: set.or(begun).unwrap_or(self.tempo), ..self }
    }

    /// Whether a tempo that was truly held reaches the goal's.
    #[must_use]
    pub fn tempo_reached(&self, kept: Option<Tempo>) -> bool {
        kept.is_some_and(|tempo| tempo.0 >= self.tempo.0 - ROUNDING)
    }
}

/// What may be asked in this sitting.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Patterns, at least one.
    pub patterns: Vec<PatternId>,
    /// Sounding keys, at least one, no key twice; the player's easy ones first (that order decides where nothing is known).
    pub keys: Vec<ConcertKey>,
    /// Pairs of a pattern and a key that are never asked, because the pattern does not fit the player's range in that key. Every
    /// pattern fits in at least one key (which may be held out), and in every key at least one pattern fits.
    pub out_of_range: OutOfRange,
    /// Keys held out of practice; none of them is among `keys`. Each is asked at most once a week.
    pub held_out: Vec<HeldOut>,
    /// Registers that may be asked, at least one.
    pub registers: Vec<Register>,
    /// The player's goals.
    pub goals: Goals,
    /// Tempo for a pattern and key of which nothing is known.
    pub first_tempo: Tempo,
    /// Calendar day, counted from any fixed day; only differences matter.
    pub day: i32,
    /// What this part of the sitting is for.
    pub phase: SittingPhase,
    /// Whether a new pattern is met first: three slow answers in the easiest key.
    pub meet: bool,
    /// Whether keys join one by one, in the order of `keys`: the sitting begins with the first few, and one more joins when the others
    /// hold.
    pub one_by_one: bool,
}

/// A key that the player does not practise for a time, to hear whether what is learnt in the other keys carries over to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HeldOut {
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// The day from which the key is practised again, counted as [`Plan::day`].
    pub until: i32,
}

/// What a part of a sitting is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SittingPhase {
    /// The first minutes: the opening round begins with what goes well.
    Easy,
    /// The minutes between: the weakest keys first, then by need.
    #[default]
    Work,
    /// The last minutes: keys that go well.
    Closing,
}

impl Plan {
    /// Tempo of what was never asked before, where none is set.
    pub const FIRST_TEMPO: Tempo = Tempo(72.0);

    /// A plan in the middle register, from a quarter = 60, in which new patterns are met first. The caller changes what differs.
    #[must_use]
    pub fn new(patterns: Vec<PatternId>, keys: Vec<ConcertKey>, goals: Goals, day: i32) -> Self {
        Self {
            patterns,
            keys,
            out_of_range: OutOfRange::default(),
            held_out: Vec::new(),
            registers: vec![Register::Middle],
            goals,
            first_tempo: Tempo(60.0),
            day,
            phase: SittingPhase::Work,
            meet: true,
            one_by_one: false,
        }
    }

    /// Lets keys join one by one, beginning with those that the player knows, in this order, and then the plan's other keys.
    ///
    /// # Errors
    /// The first key of `known` that the plan does not ask.
    pub fn begin_with(&mut self, known: Vec<ConcertKey>) -> Result<(), ConcertKey> {
        if let Some(other) = known.iter().find(|key| !self.keys.contains(key)) {
            return Err(*other);
        }
        let others: Vec<ConcertKey> = self.keys.iter().copied().filter(|key| !known.contains(key)).collect();
        self.keys = known.into_iter().chain(others).collect();
        self.one_by_one = true;
        Ok(())
    }

    /// Leaves out what does not fit into the range: single patterns in single keys, and keys in which no pattern fits.
    ///
    /// # Errors
    /// The first pattern that fits in no key of the plan.
    pub fn leave_out<'p>(&mut self, all: &'p [Pattern], range: Range) -> Result<(), &'p Pattern> {
        self.out_of_range = OutOfRange::of(all, &self.keys, range);
        if let Some(nowhere) = all.iter().find(|pattern| self.keys_of(&pattern.id).is_empty()) {
            return Err(nowhere);
        }
        let Self { keys, patterns, out_of_range, .. } = self;
        keys.retain(|key| patterns.iter().any(|pattern| !out_of_range.contains(pattern, *key)));
        Ok(())
    }

    /// The keys in which a pattern may be asked, in the plan's order.
    #[must_use]
    pub fn keys_of(&self, pattern: &PatternId) -> Vec<ConcertKey> {
        self.keys.iter().copied().filter(|key| !self.out_of_range.contains(pattern, *key)).collect()
    }

    /// Takes keys out of practice until their days. A key that is not asked anyway, or whose day has come, is passed over.
    pub fn hold_out(&mut self, held_out: &[HeldOut]) {
        self.held_out =
            held_out.iter().filter(|it| self.day < it.until && self.keys.contains(&it.key)).copied().collect();
        self.keys.retain(|key| self.held_out.iter().all(|it| it.key != *key));
    }

    /// The one register of an order that has one: the middle one where it may be asked, else the first.
    #[must_use]
    pub fn one_register(&self) -> Option<Register> {
        let middle = self.registers.contains(&Register::Middle).then_some(Register::Middle);
        middle.or_else(|| self.registers.first().copied())
    }

    /// Every pattern with every key in which it may be asked.
    pub fn pairs(&self) -> impl Iterator<Item = (&PatternId, ConcertKey)> {
        self.patterns.iter().flat_map(|pattern| self.keys_of(pattern).into_iter().map(move |key| (pattern, key)))
    }
}

/// One judged answer, as far as the learner model needs it.
#[derive(Debug, Clone, PartialEq)]
pub struct AnswerEvidence {
    /// The pattern.
    pub pattern: PatternId,
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// The register in which the pattern was asked.
    pub register: Register,
    /// The form of the cue; reflex times of different forms are kept apart.
    pub form: Form,
    /// Whether the answer was free or in tempo.
    pub timing: Timing,
    /// The tempo asked.
    pub tempo: Tempo,
    /// The tempo the answer truly held, at most the one asked; `None` where that cannot be said.
    pub kept_tempo: Option<Tempo>,
    /// Number of right notes.
    pub right: u32,
    /// Number of expected notes.
    pub of: u32,
    /// What the answer does to the tempo of the key; the answer passed where the tempo goes up.
    pub step: TempoStep,
    /// The rule by which the tempo moves.
    pub rule: Rule,
    /// The reflex time; `None` where it does not count.
    pub reflex: Option<Seconds>,
    /// Calendar day, as in [`Plan::day`].
    pub day: i32,
    /// When the answer was judged, in seconds since the beginning of the sitting.
    pub at: Seconds,
}

impl AnswerEvidence {
    /// Whether the answer passed, which is whether its tempo goes up: it was all right at the first attempt, on its beat, even and in
    /// tune (in records of the first format: with at most one error in eight).
    #[must_use]
    pub fn passed(&self) -> bool {
        self.step == TempoStep::Up
    }
}

/// What is asked next.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The pattern.
    pub pattern: PatternId,
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// The register.
    pub register: Register,
    /// The tempo.
    pub tempo: Tempo,
    /// The true reason, made of the numbers that decided.
    pub reason: Reason,
}

/// Why a key was chosen, with the numbers that decided; they are of this key in this pattern, where nothing else is said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// A new pattern is met: asked slowly, in the player's easiest key, before the other keys come in.
    Meeting {
        /// Number of answers left before the pattern is mixed over the keys.
        left: u32,
    },
    /// The key is asked for the first time today, which tests what the night left.
    Opening {
        /// Days since it was last asked, in this pattern as in any; `None` where it never was.
        days: Option<i32>,
    },
    /// The first time today that the key is asked in this pattern, after more days than the key itself was away: other patterns
    /// asked the key meanwhile.
    OpeningHere {
        /// Days since it was last asked in this pattern; `None` where it never was.
        days: Option<i32>,
    },
    /// The key is held out of practice, and asked once a week to hear whether what is learnt in the others carries over to it.
    HeldOut {
        /// Days since it was last asked, in any pattern; `None` where it never was.
        days: Option<i32>,
        /// The day on which it is practised again.
        until: i32,
    },
    /// The key was not asked for a long time, in any pattern.
    Guard {
        /// Number of cues since it was last asked.
        cues: u32,
    },
    /// The key was never answered in this pattern, so nothing is known of the two together.
    Untried {
        /// Number of cues in this key and pattern, none of which was answered.
        cues: u32,
    },
    /// The key's need gives it more turns than the other keys.
    Need {
        /// The key's reflex time; `None` where it is not known.
        reflex: Option<Seconds>,
        /// The median of the reflex times of all keys of this pattern whose reflex time is known; `None` where none is.
        middle: Option<Seconds>,
        /// The reflex time that the key is to reach; `None` where the key's own is not known.
        aim: Option<Seconds>,
        /// The tempo at which the key is asked.
        tempo: Tempo,
        /// The tempo that the key is to reach.
        goal: Tempo,
        /// How many of the latest tries passed.
        passed: u32,
        /// Number of the latest tries, at most eight.
        tries: u32,
    },
    /// The key's turn has come, though its need is below the mean of the keys.
    Seldom {
        /// Number of cues since it was last asked in this pattern.
        cues: u32,
    },
    /// The key fails on and on today, so it comes seldom until tomorrow: the cause may lie outside the player.
    Rested {
        /// Number of cues in this key and pattern today.
        cues: u32,
        /// Number of today's answers in this key and pattern that passed.
        passed: u32,
    },
    /// A new key joins, since the others hold.
    Joins {
        /// Number of keys that hold.
        others: u32,
    },
    /// Every key of the pattern has reached its goal, so the keys take even turns.
    Even,
    /// The key's turn has come, and its numbers say no more: only a rare failure is left of its need, and that is no less than the
    /// mean of the keys. Balanced orders (`BlockOrder`, `WarningOrder`) give every cue this reason.
    Turn,
    /// A join of two patterns broke lately in phrases, so that a phrase is made for its sake.
    WeakJoin {
        /// How many of the latest tries broke.
        broke: u32,
        /// Number of the latest tries, at most six.
        tries: u32,
        /// Days since the latest try.
        days: i32,
    },
    /// Phrases broke lately in this key, so that a chorus begins in it.
    WeakKey {
        /// How many of the latest phrases were not all right.
        broke: u32,
        /// Number of the latest phrases, at most six.
        tries: u32,
        /// Days since the latest phrase.
        days: i32,
    },
    /// A pattern that holds never came in free playing, so that a phrase begins with it.
    NeverUsed {
        /// Number of keys in which the pattern holds.
        held: u32,
        /// Number of free choruses in which it was looked for.
        choruses: u32,
    },
    /// The player asked to hear it again, or did not answer; this is no choice of the coach.
    Again {
        /// Whether the player asked for it slower.
        slower: bool,
    },
    /// The key's tempo went down three times and not up between, so the line is taken apart, as a teacher would; this is no choice
    /// of the coach, and is not counted.
    Apart {
        /// The part of the line that is asked now.
        stage: ApartStage,
    },
    /// The last minutes are spent on something that goes well.
    Closing,
}

impl Reason {
    /// Whether the cue is a repeat, or help of the drill: the coach then neither chose the cue nor learns from its answer.
    #[must_use]
    pub const fn uncounted(&self) -> bool {
        matches!(self, Self::Again { .. } | Self::Apart { .. })
    }
}

/// What is asked of a line that is taken apart, in this order; where it comes right slower, the whole line is next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ApartStage {
    /// The whole line, slower.
    Slower,
    /// The first half of the line.
    FirstHalf,
    /// The second half of the line.
    SecondHalf,
    /// The few notes where the halves meet.
    Seam,
    /// The whole line, at the tempo at which the key is asked next.
    Whole,
}
