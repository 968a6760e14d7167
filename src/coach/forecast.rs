use crate::coach::{AnswerEvidence, Choice, LearnerModel, Plan, Rng, Rule, SittingPlan};
use crate::cue::{Form, Timing};
use crate::units::Seconds;
use crate::verdict::TempoStep;

/// The most cues of a forecast, for each pattern of the plan. By then every key came, or comes too seldom to be waited for.
const FURTHEST: usize = 60;
/// About how long a cue and its answer take.
const TURN: Seconds = Seconds(10.0);

impl LearnerModel {
    /// What the day would bring, in order, if every answer passed and came as quickly as its key is known to: until every pattern
    /// was asked in every key, the sitting is over, or `FURTHEST` is reached. Nothing is entered. Phases and registers follow the
    /// clock of the sitting, as in a drill; `form` and `timing` are those the player practises.
    #[must_use]
    pub fn forecast(
        &self,
        plan: &Plan,
        sitting: &SittingPlan,
        mut rng: Rng,
        form: Form,
        timing: Timing,
    ) -> Vec<Choice> {
        let mut learner = self.clone();
        let mut wanted: Vec<_> = plan.pairs().collect();
        let mut choices = Vec::new();
        while !wanted.is_empty() && choices.len() < FURTHEST * plan.patterns.len() {
            let at = TURN * choices.len() as f64;
            if sitting.over(at) {
                break;
            }
            let Some(choice) = learner.choose(&sitting.plan(at, plan), &mut rng) else { break };
            wanted.retain(|(id, key)| **id != choice.pattern || *key != choice.key);
            let reflex = learner.key_stats(&choice.pattern, choice.key).reflex(form).filter(|_| timing == Timing::Free);
            learner.learn(&AnswerEvidence {
                pattern: choice.pattern.clone(),
                key: choice.key,
                register: choice.register,
                form,
                timing,
                tempo: choice.tempo,
                kept_tempo: Some(choice.tempo),
                right: 1,
                of: 1,
                step: TempoStep::Up,
                rule: Rule::UpStayDown,
                reflex,
                day: plan.day,
                at: Seconds(0.0),
            });
            choices.push(choice);
        }
        choices
    }
}
