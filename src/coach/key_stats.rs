use std::collections::BTreeMap;

use crate::coach::day::{Day, FirstTry};
use crate::coach::forgetting::{Forgetting, TimeAway};
use crate::coach::{AnswerEvidence, ladder};
use crate::cue::Form;
use crate::pattern::Register;
use crate::units::{Seconds, Tempo};
use crate::verdict::TempoStep;

/// Weight of the newest answer in a moving mean.
const FADE: f64 = 0.25;
/// A reflex time moves the mean as if it were at most this many octaves away from it, since single ones are wild.
const WILD: f64 = 1.0;
/// Reflex times are moved inside these bounds before they are averaged, in seconds: a quicker one is a jump, a slower one absence.
const REFLEX_S: (f64, f64) = (0.1, 8.0);

/// Number of tries that count as the latest.
pub const LATELY: usize = 8;

/// What is known of one key in one pattern: all that choosing needs, and the days behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct KeyStats {
    /// Where the key stands on its ladder of tempi: log2 of quarters a minute; `None` before it was first asked.
    pub(super) rung: Option<f64>,
    /// Whether an answer in this key ever failed to go up.
    pub(super) failed: bool,
    /// The moving share of tries that did not go down, 0 to 1.
    pub(super) passes: f64,
    /// For each form of cue, the moving mean of log2 of the reflex time in seconds.
    pub(super) reflexes: BTreeMap<Form, f64>,
    /// What is known of each register in which the key was asked.
    pub(super) registers: BTreeMap<Register, RegisterStats>,
    /// Number of answers ever entered.
    pub(super) answers: u32,
    /// Number of cues ever sounded, repeats not counted.
    pub(super) cues: u32,
    /// Number of cues on the latest day on which anything was entered.
    pub(super) cues_today: u32,
    /// Number of judged answers on the latest day on which anything was entered.
    pub(super) answers_today: u32,
    /// Number of passed answers on the latest day on which anything was entered.
    pub(super) passed_today: u32,
    /// The day on which the key was last asked.
    pub(super) last_day: Option<i32>,
    /// The turn at which the key was last asked.
    pub(super) last_turn: Option<u64>,
    /// The steps of the latest tries, oldest first.
    pub(super) lately: Vec<TempoStep>,
    /// Numbers of right and of expected notes in the latest answer.
    pub(super) latest: Option<(u32, u32)>,
    /// What the key has earned by its need and not yet paid by being asked, in cues.
    pub(super) credit: f64,
    /// The days on which the key was answered, oldest first.
    pub(super) days: Vec<Day>,
    /// What first tries had lost after a night, and after a week.
    pub(super) lost: [Forgetting; 2],
}

/// What is known of one register of a key: its own reflex times, and how often it was asked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RegisterStats {
    /// Number of cues in this register.
    pub(super) cues: u32,
    /// Number of answers with a reflex time that counts.
    pub(super) timed: u32,
    /// For each form of cue, the moving mean of log2 of the register's reflex time in seconds.
    pub(super) reflexes: BTreeMap<Form, f64>,
}

impl RegisterStats {
    /// Number of cues in this register.
    #[must_use]
    pub fn cues(&self) -> u32 {
        self.cues
    }
    /// The moving mean of the reflex time in this register for this form of cue, taken on a logarithmic scale.
    #[must_use]
    pub fn reflex(&self, form: Form) -> Option<Seconds> {
        self.reflexes.get(&form).map(|log2| Seconds(log2.exp2()))
    }
}

impl Default for KeyStats {
    fn default() -> Self {
        Self {
            rung: None,
            failed: false,
            passes: 0.5,
            reflexes: BTreeMap::new(),
            registers: BTreeMap::new(),
            answers: 0,
            cues: 0,
            cues_today: 0,
            answers_today: 0,
            passed_today: 0,
            last_day: None,
            last_turn: None,
            lately: Vec::new(),
            latest: None,
            credit: 0.0,
            days: Vec::new(),
            lost: [Forgetting::default(); 2],
        }
    }
}

impl KeyStats {
    /// The tempo at which the key stands on its ladder; it is asked at this tempo unless the goal bounds it. `None` where the key was
    /// never asked.
    #[must_use]
    pub fn tempo(&self) -> Option<Tempo> {
        self.rung.map(|rung| Tempo(rung.exp2()))
    }
    /// The quickest tempo that a passed answer truly held, on the latest day that had one.
    #[must_use]
    pub fn reached(&self) -> Option<Tempo> {
        self.days.iter().rev().find_map(|day| day.kept_tempo)
    }
    /// The moving mean of the reflex time for this form of cue, taken on a logarithmic scale; the newest time weighs 1/4.
    #[must_use]
    pub fn reflex(&self, form: Form) -> Option<Seconds> {
        self.reflexes.get(&form).map(|log2| Seconds(log2.exp2()))
    }
    /// The moving share of tries that did not go down, 0 to 1; it begins at 1/2, and the newest try weighs 1/4.
    #[must_use]
    pub fn passes(&self) -> f64 {
        self.passes
    }
    /// Number of cues ever sounded, repeats not counted.
    #[must_use]
    pub fn cues(&self) -> u32 {
        self.cues
    }
    /// Number of cues on the latest day on which anything was entered.
    #[must_use]
    pub fn cues_today(&self) -> u32 {
        self.cues_today
    }
    /// Number of judged answers on the latest day on which anything was entered; a cue left unanswered gives none.
    #[must_use]
    pub fn answers_today(&self) -> u32 {
        self.answers_today
    }
    /// Number of passed answers on the latest day on which anything was entered.
    #[must_use]
    pub fn passed_today(&self) -> u32 {
        self.passed_today
    }
    /// How many of the latest tries passed, and how many tries there were, at most eight.
    #[must_use]
    pub fn lately(&self) -> (u32, u32) {
        (self.lately.iter().filter(|step| **step == TempoStep::Up).count() as u32, self.lately.len() as u32)
    }
    /// Whether the latest try passed, and fewer than half of the latest eight went down.
    #[must_use]
    pub fn goes_well(&self) -> bool {
        let down = self.lately.iter().filter(|step| **step == TempoStep::Down).count();
        self.lately.last() == Some(&TempoStep::Up) && 2 * down < self.lately.len()
    }
    /// Number of answers ever entered.
    #[must_use]
    pub fn answers(&self) -> u32 {
        self.answers
    }
    /// The day on which the key was last asked.
    #[must_use]
    pub fn last_day(&self) -> Option<i32> {
        self.last_day
    }
    /// Numbers of right and of expected notes in the latest answer.
    #[must_use]
    pub fn latest(&self) -> Option<(u32, u32)> {
        self.latest
    }
    /// The days on which the key was answered, oldest first.
    #[must_use]
    pub fn days(&self) -> &[Day] {
        &self.days
    }
    /// What is known of the key in one register.
    #[must_use]
    pub fn register(&self, register: Register) -> RegisterStats {
        self.registers.get(&register).cloned().unwrap_or_default()
    }

    /// Enters one judged answer.
    pub(super) fn learn(&mut self, outcome: &AnswerEvidence) {
        let reflex =
            outcome.reflex.filter(|time| time.0.is_finite()).map(|time| time.0.clamp(REFLEX_S.0, REFLEX_S.1).log2());
        self.begin_day(outcome, reflex);
        if let Some(day) = self.days.last_mut() {
            day.learn(outcome, reflex);
        }
        if outcome.tempo.0.is_finite() && outcome.tempo.0 > 0.0 {
            let asked = outcome.tempo.0.log2();
            let rung = self.rung.unwrap_or(asked);
            self.rung = Some(ladder::moved(rung, asked, outcome.step, outcome.rule, self.failed));
        }
        self.failed |= !outcome.passed();
        self.passes += FADE * (f64::from(u8::from(outcome.step != TempoStep::Down)) - self.passes);
        if let Some(log2) = reflex {
            average(&mut self.reflexes, outcome.form, log2);
            let register = self.registers.entry(outcome.register).or_default();
            register.timed += 1;
            average(&mut register.reflexes, outcome.form, log2);
        }
        self.answers += 1;
        self.answers_today += 1;
        self.passed_today += u32::from(outcome.passed());
        self.latest = Some((outcome.right, outcome.of));
        self.lately.push(outcome.step);
        self.lately.drain(..self.lately.len().saturating_sub(LATELY));
    }

    /// Begins a new day where this answer is the first of its day. That answer is kept apart: it alone shows what the night left.
    fn begin_day(&mut self, outcome: &AnswerEvidence, reflex: Option<f64>) {
        let Some(before) = self.days.last().map(|day| day.day) else {
            self.days.push(Day::new(FirstTry::new(outcome)));
            return;
        };
        if before == outcome.day {
            return;
        }
        let slower = reflex.zip(self.reflexes.get(&outcome.form)).map_or(0.0, |(now, then)| now - then);
        let fewer = self.passes - f64::from(u8::from(outcome.step != TempoStep::Down));
        self.lost[TimeAway::of(outcome.day.saturating_sub(before)) as usize].enter(slower, fewer);
        self.days.push(Day::new(FirstTry::new(outcome)));
    }
}

/// Moves the mean of one form towards a new reading.
fn average(means: &mut BTreeMap<Form, f64>, form: Form, log2: f64) {
    means.entry(form).and_modify(|mean| *mean += FADE * (log2 - *mean).clamp(-WILD, WILD)).or_insert(log2);
}
