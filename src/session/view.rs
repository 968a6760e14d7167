use crate::coach::Reason;
use crate::cue::Cue;
use crate::music::Intonation;
use crate::session::{
    AnswerRecord, BandRecord, Began, ChorusRecord, Comment, CountedTaps, Ended, Event, Judgement, PauseCause,
    SparedRecord,
};
use crate::units::Seconds;
use crate::verdict::{Expectation, UsualTuning};

/// A sitting as it is looked at afterwards: every cue with its answer and its latest verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// The first line of the record.
    pub began: Began,
    /// The cues of a drill in the order in which they sounded.
    pub trials: Vec<Trial>,
    /// The phrases of a trade. They are no cues that a coach chose, so they stand apart.
    pub traded: Vec<Trial>,
    /// The free choruses, in order.
    pub choruses: Vec<ChorusRecord>,
    /// The choruses of a trade, in order, as the band played them; none in records of older programs.
    pub band: Vec<BandRecord>,
    /// The pauses in order.
    pub pauses: Vec<Pause>,
    /// The numbers that were given for taps, in order.
    pub counted: Vec<CountedTaps>,
    /// The turns that were sung or fingered in silence, those that were broken off too.
    pub spared: Vec<SparedRecord>,
    /// How the sitting ended; `None` when the program was killed or the sitting goes on.
    pub ended: Option<Ended>,
    /// Instant of the latest event other than a comment, in seconds since the first sample of the sitting.
    pub until: Seconds,
    /// Comments on the sitting, in the order in which they were added.
    pub comments: Vec<Comment>,
}

/// One cue with its answer and judgement.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// When the cue began to sound.
    pub at: Seconds,
    /// What was asked.
    pub cue: Cue,
    /// Why it was asked.
    pub reason: Reason,
    /// What was heard, once the answer was over.
    pub answer: Option<AnswerRecord>,
    /// The latest judgement.
    pub judgement: Option<Judgement>,
    /// Whether the player says that the answer was misheard.
    pub contested: bool,
}

/// A pause of the drill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pause {
    /// When the drill paused.
    pub from: Seconds,
    /// When the drill went on; `None` when it never did.
    pub until: Option<Seconds>,
    /// Why the drill paused.
    pub cause: PauseCause,
}

impl Session {
    /// Joins the events of one sitting; `None` when they do not begin with a header. An answer or a judgement of a cue that
    /// never sounded is passed over; a later judgement of a cue replaces an earlier one.
    #[must_use]
    pub fn from_events(events: &[Event]) -> Option<Self> {
        Self::of(events.iter().cloned())
    }

    /// Does what [`Session::from_events`] does with events that the caller gives away, and copies none of them.
    #[must_use]
    pub fn of(events: impl IntoIterator<Item = Event>) -> Option<Self> {
        let mut events = events.into_iter();
        let Some(Event::Began(began)) = events.next() else {
            return None;
        };
        let mut session = Self {
            began,
            trials: Vec::new(),
            traded: Vec::new(),
            choruses: Vec::new(),
            pauses: Vec::new(),
            counted: Vec::new(),
            spared: Vec::new(),
            band: Vec::new(),
            ended: None,
            until: Seconds(0.0),
            comments: Vec::new(),
        };
        events.for_each(|event| session.take(event));
        Some(session)
    }

    fn take(&mut self, event: Event) {
        self.until = self.until.max(event.at());
        match event {
            Event::Began(_) => {}
            Event::Cued { at, cue, reason } => {
                self.asked().push(Trial { at, cue, reason, answer: None, judgement: None, contested: false });
            }
            Event::Answered(answer) => {
                if let Some(trial) = self.trial(answer.cue) {
                    trial.answer = Some(answer);
                }
            }
            Event::Judged(judgement) => {
                if let Some(trial) = self.trial(judgement.cue) {
                    trial.judgement = Some(judgement);
                }
            }
            Event::Contested { cue, .. } => {
                if let Some(trial) = self.trial(cue) {
                    trial.contested = true;
                }
            }
            Event::FreeChorus(chorus) => self.choruses.push(chorus),
            Event::Counted(counted) => self.counted.push(counted),
            Event::Band(band) => self.band.push(band),
            Event::Spared(spared) => self.spared.push(spared),
            Event::Paused { at, cause } => self.pauses.push(Pause { from: at, until: None, cause }),
            Event::Resumed { at } => {
                if let Some(pause) = self.pauses.last_mut().filter(|pause| pause.until.is_none()) {
                    pause.until = Some(at);
                }
            }
            Event::Ended(ended) => self.ended = Some(ended),
            Event::Commented(comment) => self.comments.push(comment),
        }
    }

    /// The latest trial whose cue has this number. The search goes from the end over at most 1000 trials, since an answer follows
    /// its cue closely.
    fn trial(&mut self, number: u32) -> Option<&mut Trial> {
        self.asked().iter_mut().rev().take(1000).find(|trial| trial.cue.number == number)
    }

    const fn asked(&mut self) -> &mut Vec<Trial> {
        if self.began.trade.is_some() { &mut self.traded } else { &mut self.trials }
    }

    /// The phrases of a trade that were judged and that nobody contested.
    pub fn phrases(&self) -> impl Iterator<Item = (&Trial, &Judgement)> {
        let judged = self.traded.iter().filter(|trial| !trial.contested);
        judged.filter_map(|trial| Some((trial, trial.judgement.as_ref()?)))
    }

    /// Whether nothing was asked and nothing freely played.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.trials.is_empty() && self.traded.is_empty() && self.choruses.is_empty()
    }

    /// Length of the player's own sound: as counted at the end, otherwise the sum of the lengths of all heard notes.
    #[must_use]
    pub fn sounding(&self) -> Seconds {
        if let Some(ended) = &self.ended {
            return ended.sounding;
        }
        let asked = self.trials.iter().chain(&self.traded).filter_map(|trial| trial.answer.as_ref());
        let heard = asked.map(|answer| &answer.heard).chain(self.choruses.iter().map(|chorus| &chorus.heard)).flatten();
        heard.fold(Seconds(0.0), |sum, note| sum + note.length().max(Seconds(0.0)))
    }
}

impl Trial {
    /// Whether something was heard for the cue.
    #[must_use]
    pub fn answered(&self) -> bool {
        self.answer.as_ref().is_some_and(|answer| !answer.heard.is_empty())
    }
    /// What the answer was compared with, for judging it again; `None` where no answer was recorded.
    #[must_use]
    pub fn expectation(&self, began: &Began, intonation: Intonation, usual: UsualTuning) -> Option<Expectation> {
        self.answer.as_ref().map(|answer| Expectation {
            line: self.cue.line.clone(),
            tempo: self.cue.tempo,
            clock: answer.clock,
            delay: began.delay,
            intonation,
            usual,
        })
    }
}

impl Event {
    /// When the event happened, in seconds since the first sample: 0 for the header, and for a comment, which was added afterwards
    /// and must not lengthen the sitting.
    #[must_use]
    pub const fn at(&self) -> Seconds {
        match self {
            Self::Began(_) | Self::Commented(_) => Seconds(0.0),
            Self::Cued { at, .. } | Self::Contested { at, .. } | Self::Paused { at, .. } | Self::Resumed { at } => *at,
            Self::Answered(answer) => answer.at,
            Self::Judged(judgement) => judgement.at,
            Self::FreeChorus(chorus) => chorus.at,
            Self::Counted(counted) => counted.at,
            Self::Band(band) => band.at,
            Self::Spared(spared) => spared.at,
            Self::Ended(ended) => ended.at,
        }
    }
}
