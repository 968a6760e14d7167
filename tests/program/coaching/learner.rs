//! An invented player without sound: twelve skills, as numbers, that grow by playing and fade overnight.

use arbtest::arbitrary::{Result, Unstructured};
use earfirst::outside::coach::{AnswerEvidence, Choice, Goals, LearnerModel, Plan, Reason, Rng, Rule};
use earfirst::outside::cue::{Form, Timing};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::pattern::PatternId;
use earfirst::outside::units::{Seconds, Tempo};
use earfirst::outside::verdict::TempoStep;

pub const GOALS: Goals = Goals { tempo: Tempo(160.0), reflex: Seconds(0.8) };
const NOTES: u32 = 8;

/// One event of an invented record: what was asked, whether it was a repeat, and what the answer showed.
#[derive(Debug, Clone, PartialEq)]
pub struct Turn {
    pub choice: Choice,
    pub repeat: bool,
    pub outcome: Option<AnswerEvidence>,
    pub day: i32,
}

pub struct Player {
    /// Octaves above a quarter = 60 at which a note comes out right nine times in ten, by place on the circle of fifths.
    pub skill: [f64; 12],
    /// The share of the distance to the ceiling by which one good answer raises a skill.
    pub rate: f64,
    /// Three tenths of today's gain, by key; a night takes half of this off the skill.
    fresh: [f64; 12],
    /// A key that the microphone never hears right.
    pub stuck: Option<usize>,
    rng: Rng,
}

impl Player {
    /// A player who is weaker in keys with many accidentals; beside that, chance makes each skill higher or lower. The same seed makes
    /// the same player.
    pub fn new(seed: u64) -> Self {
        let mut rng = Rng::new(seed);
        let skill =
            std::array::from_fn(|place| 0.5 - 0.16 * place.min(12 - place) as f64 + 0.4 * (rng.uniform() - 0.5));
        Self { skill, rate: 0.035, fresh: [0.0; 12], stuck: None, rng }
    }
    /// Median reflex time of a key, in seconds.
    pub fn reflex(&self, place: usize) -> f64 {
        0.4 + 1.5 * (-1.2 * self.skill[place]).exp2()
    }
    /// A night passes: each skill loses half of `fresh`, which is three twentieths of what it gained on the day.
    pub fn sleep(&mut self) {
        for (skill, fresh) in self.skill.iter_mut().zip(&mut self.fresh) {
            *skill -= 0.5 * *fresh;
            *fresh = 0.0;
        }
    }
    pub fn answer(&mut self, choice: &Choice, day: i32, at: f64) -> AnswerEvidence {
        let place = choice.key.place();
        let ease = self.skill[place] - (choice.tempo.0 / 60.0).log2();
        let each = 1.0 / (1.0 + (-2.2 - 5.0 * ease).exp());
        let mut right = (0..NOTES).filter(|_| self.rng.uniform() < each).count() as u32;
        let spread = 0.5 * (self.rng.uniform() + self.rng.uniform() + self.rng.uniform() - 1.5);
        let reflex = self.reflex(place) * spread.exp2();
        if right + 1 >= NOTES {
            let gain = self.rate * (2.6 - self.skill[place]);
            self.skill[place] += gain;
            self.fresh[place] += 0.3 * gain;
        }
        if self.stuck == Some(place) {
            right = right.min(5);
        }
        AnswerEvidence {
            pattern: choice.pattern.clone(),
            key: choice.key,
            register: choice.register,
            form: Form::FirstNote,
            timing: Timing::Free,
            tempo: choice.tempo,
            kept_tempo: Some(choice.tempo),
            right,
            of: NOTES,
            step: TempoStep::of_errors(NOTES - right, NOTES),
            rule: Rule::UpStayDown,
            reflex: Some(Seconds(reflex)),
            day,
            at: Seconds(at),
        }
    }
}

pub fn named(names: &[&str]) -> Vec<PatternId> {
    names.iter().map(|name| PatternId((*name).to_owned())).collect()
}

/// The plan of a day with one pattern in all twelve keys.
pub fn plan(day: i32) -> Plan {
    Plan { meet: false, ..Plan::new(named(&["five notes"]), ConcertKey::FIFTHS.to_vec(), GOALS, day) }
}

/// The same plan for a player with a narrow range, so that some patterns do not fit in some keys, drawn from `u`. As in the plans that the
/// commands make, every pattern fits in at least one key and in every key at least one pattern fits.
pub fn of_a_narrow_range(u: &mut Unstructured, plan: Plan) -> Result<Plan> {
    let quarters = u.int_in_range(0..=3)?;
    let out: Vec<bool> = plan.pairs().map(|_| Ok(u.int_in_range(1..=4)? > 4 - quarters)).collect::<Result<_>>()?;
    let out = plan.pairs().zip(out).filter(|(_, out)| *out).map(|((pattern, key), _)| (pattern.clone(), key));
    let mut narrow = Plan { out_of_range: out.collect(), ..plan.clone() };
    let fitting = narrow.clone();
    narrow.patterns.retain(|pattern| !fitting.keys_of(pattern).is_empty());
    narrow.keys.retain(|key| fitting.pairs().any(|(_, fits)| fits == *key));
    Ok(if narrow.patterns.is_empty() { plan } else { narrow })
}

/// Lets the player answer `cues` cues of one day, and hands back the record.
pub fn sit(beliefs: &mut LearnerModel, plan: &Plan, player: &mut Player, rng: &mut Rng, cues: usize) -> Vec<Turn> {
    let mut turns = Vec::new();
    for n in 0..cues {
        let choice = beliefs.choose(plan, rng).unwrap();
        let outcome = player.answer(&choice, plan.day, n as f64 * 8.0);
        beliefs.learn(&outcome);
        turns.push(Turn { choice, repeat: false, outcome: Some(outcome), day: plan.day });
    }
    turns
}

/// The same cue once more, as a player asks for it.
pub fn again(choice: &Choice) -> Choice {
    Choice { reason: Reason::Again { slower: false }, ..choice.clone() }
}
