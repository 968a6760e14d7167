use crate::coach::{Choice, LearnerModel, Rng, SittingPlan, SparedTurn};
use crate::cue::{Loudness, SoundSign};
use crate::drill::apart::Apart;
use crate::drill::before_answer::Before;
use crate::drill::held_steering::HeldSteering;
use crate::drill::high_notes::HighNotes;
use crate::drill::late_keys::LateKeys;
use crate::drill::lesson_trial::TrialOrder;
use crate::drill::open_spared::{OpenSpared, Spares};
use crate::drill::open_trial::{OpenTrial, Outcome};
use crate::drill::rests::Rests;
use crate::drill::rounds::Rounds;
use crate::drill::second_tasks::SecondTasks;
use crate::drill::shown::Shown;
use crate::drill::xruns::XrunsInARow;
use crate::drill::{Command, Effect, Face, Hints, Input, JudgedAnswer, Settings};
use crate::music::ConcertKey;
use crate::session::{Ended, Event, PauseCause};
use crate::units::{Decibels, Seconds};
use crate::verdict::Tuned;
use crate::words::Page;
use crate::words::SoundFault;
use crate::words::verdict::Named;

/// The next cue, or the next round, starts only after this much silence.
const SILENCE: Seconds = Seconds(0.6);
/// After devices are told to open anew, the next cue waits at least this long: by then the old ones are closed.
const CLOSED: Seconds = Seconds(0.2);
/// A verdict stands at least this long after its answer is over, unless the player asks for a cue or the sound fails.
const VERDICT: Seconds = Seconds(1.5);
/// By ear, the next cue waits at least this long after the signs of a verdict, so that they are not taken for its count.
const AFTER_SIGNS: Seconds = Seconds(1.0);

/// The phase that the drill is in.
#[derive(Debug)]
pub(super) enum Phase {
    /// The sitting has not begun: no sound has come in yet.
    Waiting,
    /// Between an answer, or a pause, and a cue: the next cue starts at `from` or later, after a silence; where it `stays`, the
    /// verdict stands until the player goes on.
    Gap { from: Seconds, stays: bool },
    /// A cue sounds or is answered.
    OpenTrial(Box<OpenTrial>),
    /// A cue is to be sung or fingered, away from the instrument.
    Spared(Box<OpenSpared>),
    /// Until `until` the screen tells what is to be counted in the block that begins, or that the taps are let pass.
    BlockBegins { until: Seconds },
    /// The number of a block's taps was asked at `since`; `played` notes were played since then in place of a number.
    HowMany { since: Seconds, played: u32 },
    /// The drill is paused for this cause; a rest ends by itself at `until`, which every other pause lacks.
    Paused { cause: PauseCause, until: Option<Seconds> },
    /// The sitting has ended.
    Over,
}

/// The drill as a state machine: what is heard and asked for goes in, what is to be done comes out. It reads no clock (its time
/// is the input stream's), does no I/O, and two drills with the same inputs do the same things.
#[derive(Debug)]
pub struct Drill {
    /// What the sitting was begun with.
    pub(super) settings: Settings,
    /// The player's page, for the sentences.
    pub(super) page: Page,
    /// When a cue is to be sung or fingered.
    pub(super) spares: Spares,
    /// The generator for whatever is drawn by lot.
    pub(super) rng: Rng,
    /// What is believed of the player now.
    pub(super) learner: LearnerModel,
    /// How long the player has sounded, and when a rest is due.
    pub(super) rests: Rests,
    /// Planned length and rests of the sitting.
    pub(super) sitting: SittingPlan,
    /// The clock of the input stream, as the latest input gave it.
    pub(super) now: Seconds,
    /// The phase that the drill is in.
    pub(super) phase: Phase,
    /// Latest release of all notes that were heard, whether part of an answer or not.
    pub(super) last_sound: Seconds,
    /// Notes that sound now: number and onset.
    pub(super) sounding: Vec<(u32, Seconds)>,
    /// The held note that steers, where one may.
    pub(super) held_steering: HeldSteering,
    /// When the signs that were sounded last, by ear, are over; 0 before the first.
    pub(super) signs_until: Seconds,
    /// Number of cues so far, which is the number of the newest.
    pub(super) cues: u32,
    /// Number of answers so far that were attempts at their line and that nobody called misheard.
    pub(super) answers: u32,
    /// Number of cues in a row that were not answered.
    pub(super) unanswered: u32,
    /// Number of answers in a row that had nothing to do with the cue.
    pub(super) unrelated: u32,
    /// How the top third of the range goes.
    pub(super) high_notes: HighNotes,
    /// Count of the cues in a row across which a stream had an xrun.
    pub(super) xruns: XrunsInARow,
    /// How loud the next cue is.
    pub(super) loudness: Loudness,
    /// Level of the cue that sounds or was answered last.
    pub(super) level: Decibels,
    /// The cue that sounds, is answered or comes again next, and why it is asked; `None` once it needs no further answer.
    pub(super) asked: Option<(crate::cue::Cue, crate::coach::Reason)>,
    /// The newest judged answer.
    pub(super) judged: Option<JudgedAnswer>,
    /// The notes that were explained to the player by what the instrument does to them.
    pub(super) hints: Hints,
    /// The answers by pattern, and the faults that were named to the player.
    pub(super) named: Named,
    /// The player's usual intonation in this sitting.
    pub(super) tuned: Tuned,
    /// What is asked next, once that is known.
    pub(super) next: Option<Choice>,
    /// The key that the player left for another one; it does not come next unless there is no other.
    pub(super) left: Option<ConcertKey>,
    /// The order of a trial; `None` where the sitting is no trial.
    pub(super) trial_order: Option<TrialOrder>,
    /// Keys and warnings, where the keys are told late.
    pub(super) late_keys: Option<LateKeys>,
    /// Rounds without a stop, where these are asked.
    pub(super) rounds: Option<Rounds>,
    /// Blocks beside a second task, where these are asked.
    pub(super) second_tasks: Option<SecondTasks>,
    /// How often each key has failed, which keys were taken apart already, and the one that is taken apart, where one is.
    pub(super) apart: Apart,
    /// The state from before the drill learnt from the answer whose verdict stands; `None` once another cue has sounded or the
    /// player called that answer misheard.
    pub(super) before_answer: Option<Box<Before>>,
    /// Time that the cue and the answer judged last take when they are played one after the other.
    pub(super) lasted: Seconds,
    /// Instant until which cue and answer are played back; `None` while nothing is.
    pub(super) plays_back: Option<Seconds>,
    /// What was believed of the player when the sitting began.
    pub(super) before: LearnerModel,
    /// What is wrong with the sound; `None` where nothing is.
    pub(super) trouble: Option<SoundFault>,
    /// Number of input samples that were lost.
    pub(super) dropped: u64,
    /// Rises with every change of the state that a screen may show.
    pub(super) revision: u64,
    /// The face that was shown last, and whether the key was shown; both may also change with time alone.
    pub(super) shown_face: Option<(Face, bool)>,
    /// The revision and the second that were shown last.
    pub(super) shown: Option<Shown>,
    /// What is to be done, gathered in one step.
    pub(super) effects: Vec<Effect>,
}

impl Drill {
    /// A drill that has not begun; `learner` comes from the player's earlier sittings.
    #[must_use]
    pub fn new(settings: Settings, learner: LearnerModel, rng: Rng) -> Self {
        let sitting = SittingPlan::new(settings.planned, settings.rests.spared);
        let is_trial = settings.began.lesson.as_ref().is_some_and(|lesson| lesson.trial);
        Self {
            rests: Rests::new(settings.rests, sitting.rests()),
            sitting,
            loudness: settings.level.map_or(Loudness::first(), Loudness::known),
            level: crate::cue::FIRST,
            page: Page::new(settings.instrument.clone(), settings.began.reading),
            trial_order: is_trial.then(|| TrialOrder::new(&settings.plan, settings.began.seed)),
            late_keys: LateKeys::of(&settings),
            spares: Spares::new(if settings.rests.turns { SparedTurn::of(settings.instrument.sounding) } else { &[] }),
            rounds: settings.round.map(Rounds::new),
            second_tasks: settings.second_task.then(|| SecondTasks::new(&settings.plan, settings.began.seed)),
            settings,
            rng,
            before: learner.clone(),
            learner,
            now: Seconds(0.0),
            phase: Phase::Waiting,
            last_sound: Seconds(-10.0),
            sounding: Vec::new(),
            held_steering: HeldSteering::default(),
            signs_until: Seconds(0.0),
            cues: 0,
            answers: 0,
            unanswered: 0,
            unrelated: 0,
            high_notes: HighNotes::default(),
            xruns: XrunsInARow::default(),
            asked: None,
            judged: None,
            hints: Hints::default(),
            named: Named::default(),
            tuned: Tuned::default(),
            next: None,
            left: None,
            apart: Apart::default(),
            before_answer: None,
            lasted: Seconds(0.0),
            plays_back: None,
            trouble: None,
            dropped: 0,
            revision: 0,
            shown_face: None,
            shown: None,
            effects: Vec::new(),
        }
    }

    /// What is believed of the player now.
    #[must_use]
    pub fn learner(&self) -> &LearnerModel {
        &self.learner
    }

    /// The measured delay of the devices; zero where it was not measured.
    #[must_use]
    pub fn delay(&self) -> Seconds {
        self.settings.began.delay.unwrap_or(Seconds(0.0))
    }

    /// How loud the cues are that the player answers; `None` before the first answer of the sitting.
    #[must_use]
    pub fn answered_at(&self) -> Option<Decibels> {
        self.loudness.settled()
    }

    /// Whether the sitting has ended.
    #[must_use]
    pub fn is_over(&self) -> bool {
        matches!(self.phase, Phase::Over)
    }

    /// Sets the number of input samples that were lost so far.
    pub fn set_dropped(&mut self, dropped: u64) {
        self.revision += u64::from(self.dropped != dropped);
        self.dropped = dropped;
    }

    /// Takes one input in; gives what is to be done, in order. Nothing is done once the sitting is over.
    pub fn step(&mut self, input: Input) -> Vec<Effect> {
        if self.is_over() {
            return Vec::new();
        }
        // Every input may change what is shown; time alone changes it where it does something or turns the face.
        self.revision += u64::from(!matches!(input, Input::Now(_)));
        match input {
            Input::Heard(event) => self.hear(&event),
            Input::Now(now) => self.tick(now),
            Input::Sounding { cue, span } => self.lay(cue, span),
            Input::Xrun => self.note_xrun(),
            Input::Command(command) => self.command(command),
            Input::SoundFault(trouble) => self.set_trouble(trouble),
        }
        self.revision += u64::from(!self.effects.is_empty());
        self.show();
        std::mem::take(&mut self.effects)
    }

    fn tick(&mut self, now: Seconds) {
        if matches!(self.phase, Phase::Waiting) {
            self.effects.push(Effect::Record(Box::new(Event::Began(self.settings.began.clone()))));
            self.phase = Phase::Gap { from: now, stays: false };
        }
        self.now = now;
        if self.plays_back.is_some_and(|until| now.0 >= until.0) {
            self.plays_back = None;
            self.revision += 1;
        }
        self.resume_by_note();
        self.steer_by_note();
        match &self.phase {
            Phase::Gap { stays: false, from } if now.0 >= from.0 => self.leave_gap(),
            Phase::OpenTrial(trial) if self.bars_are_over(trial) => self.close_in_round(),
            Phase::OpenTrial(_) if self.rounds.is_some() => {}
            Phase::OpenTrial(trial) => {
                if let Some(outcome) = trial.over(now) {
                    self.close(outcome);
                }
            }
            Phase::BlockBegins { until } if now.0 >= until.0 => self.phase = Phase::Gap { from: now, stays: false },
            Phase::HowMany { .. } => self.take_number(),
            Phase::Spared(_) => self.go_on_spared(),
            Phase::Paused { until: Some(until), .. } if now.0 >= until.0 => self.resume(),
            _ => {}
        }
    }

    /// Leaves the gap once it is silent: ends the sitting, has the devices opened anew, rests, or asks.
    fn leave_gap(&mut self) {
        let taps_sound = self.second_tasks.as_ref().is_some_and(|it| self.now.0 < it.quiet_from.0);
        if !self.sounding.is_empty() || self.now.0 - self.last_sound.0 < SILENCE.0 || taps_sound {
            return;
        }
        if self.sitting.over(self.now) {
            self.end();
        } else if self.xruns.due() {
            // The devices are opened anew only now, so that the verdict stood as long as any other.
            self.effects.push(Effect::Renew);
            self.phase = Phase::Gap { from: self.now + CLOSED, stays: false };
        } else if let Some(length) = self.rests.wanted(self.now).filter(|_| !self.in_block()) {
            self.rest(self.now + length);
        } else if !self.filled() {
            self.ask_next();
        }
    }

    /// Closes the trial, which is over.
    fn close(&mut self, outcome: Outcome) {
        let Phase::OpenTrial(trial) = std::mem::replace(&mut self.phase, Phase::Gap { from: self.now, stays: false })
        else {
            return;
        };
        self.xruns.enter(trial.xrun);
        self.held_steering.quiet_since = self.now;
        match outcome {
            Outcome::Nothing => self.close_unanswered(*trial),
            Outcome::Answered => self.close_answered(*trial),
        }
    }

    /// An answer whose verdict stands is written down before anything else: neither a command nor a lost device may lose what was
    /// shown.
    pub(super) fn settle(&mut self) {
        // In a round no verdict is shown before the end, so there is nothing to settle.
        if self.rounds.is_none() && matches!(&self.phase, Phase::OpenTrial(trial) if trial.at_once.is_some()) {
            self.close(Outcome::Answered);
        }
    }

    /// Opens the gap before the next cue; the verdict stands meanwhile. The gap is so long that an answer of length `answer` after it
    /// keeps to the share of time for which lips and voice may sound.
    pub(super) fn open_gap(&mut self, answer: Seconds) {
        let shown = (self.now + VERDICT).max(self.signs_until + AFTER_SIGNS);
        let from = self.rests.earliest(shown, answer);
        self.phase = Phase::Gap { from: if self.may_fill(shown, from) { shown } else { from }, stays: false };
    }

    /// Lets the verdict stand from now on for `length` and then as long as any other.
    pub(super) fn linger(&mut self, length: Seconds) {
        if let Phase::Gap { from, .. } = &mut self.phase {
            *from = from.max(self.now + length + VERDICT);
        }
    }

    /// Ends the sitting.
    pub(super) fn end(&mut self) {
        if self.is_over() {
            return;
        }
        self.settle();
        if matches!(self.phase, Phase::OpenTrial(_)) {
            self.effects.push(Effect::Hush);
        }
        self.close_spared(true);
        let ended = Ended { at: self.now, sounding: self.rests.total(), dropped: self.dropped };
        self.effects.push(Effect::Record(Box::new(Event::Ended(ended))));
        self.sign(&[SoundSign::Over]);
        self.phase = Phase::Over;
        self.show();
        self.effects.push(Effect::Done);
    }

    fn command(&mut self, command: Command) {
        self.settle();
        match command {
            Command::Again | Command::Slower | Command::Another | Command::PlayBack | Command::Misheard
                if self.rounds.is_some() => {}
            Command::Again | Command::Slower | Command::Another | Command::PlayBack if self.second_tasks.is_some() => {}
            Command::Again | Command::Slower | Command::Another | Command::PlayBack if self.trial_order.is_some() => {}
            Command::Another if matches!(self.phase, Phase::Spared(_)) => self.leave_spared(true),
            Command::Again | Command::Slower | Command::PlayBack if matches!(self.phase, Phase::Spared(_)) => {}
            Command::End => self.end(),
            Command::Pause => self.toggle(),
            Command::Again => self.ask_again(1.0),
            Command::Slower => self.ask_again(0.8),
            Command::Another => self.another(),
            Command::PlayBack => self.play_back(),
            Command::Misheard => self.contest(),
            Command::Count(said) => self.counted(Some(said)),
        }
    }
}
