//! Coaching from line to line: a question or an answer as JSON in, the next key with its tempo and reason as JSON out.
//!
//! One pattern in twelve keys, already met. `{"ask":"next","day":D,"second":S}` is answered with `{"key":"Db","bpm":72.0,"why":"..."}`;
//! `{"tell":"answer","key":..,"bpm":..,"right":7,"of":8,"reflex_s":1.12,"day":D, "second":S}` is learnt and not answered; `reflex_s` may be
//! left out, and `second` of a question or an answer. `day` counts from anywhere, `second` from the first day. Keys are C G D A E B F# Db
//! Ab Eb Bb F. A pure function of the lines so far, the goals, the page and the seed.

use serde::{Deserialize, Serialize};

use crate::coach::{AnswerEvidence, Goals, LearnerModel, Plan, Rng, Rule};
use crate::cue::{Form, Timing};
use crate::music::{ConcertKey, Mode};
use crate::pattern::{PatternId, Register};
use crate::units::{Seconds, Tempo};
use crate::verdict::TempoStep;
use crate::words::{Page, reason};

/// What is said to a line that is neither a question nor an answer.
const NEITHER: &str = "neither a question, such as {\"ask\":\"next\",\"day\":0}, nor an answer, such as \
    {\"tell\":\"answer\",\"key\":\"Db\",\"bpm\":72,\"right\":7,\"of\":8,\"day\":0}";
/// The only pattern of a driven coach.
const PATTERN: &str = "driven";

/// A coach that is driven from outside.
#[derive(Debug, Clone)]
pub struct DrivenCoach {
    learner: LearnerModel,
    rng: Rng,
    plan: Plan,
    /// The page by which the keys in a reason are named.
    page: Page,
}

/// One line from outside.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum DriverLine {
    Tell(DriverAnswer),
    Ask(DriverQuestion),
}

#[derive(Debug, Deserialize)]
struct DriverQuestion {
    ask: String,
    day: i32,
}

#[derive(Debug, Deserialize)]
struct DriverAnswer {
    tell: String,
    key: String,
    /// Quarter notes a minute.
    bpm: f64,
    right: u32,
    of: u32,
    #[serde(default)]
    reflex_s: Option<f64>,
    day: i32,
    #[serde(default)]
    second: f64,
}

#[derive(Debug, Serialize)]
struct Next {
    key: &'static str,
    bpm: f64,
    why: String,
}

impl DrivenCoach {
    /// A coach that knows nothing yet, with these goals and this seed.
    #[must_use]
    pub fn new(goals: Goals, seed: u64, page: Page) -> Self {
        let patterns = vec![PatternId(PATTERN.to_owned())];
        let plan = Plan { meet: false, ..Plan::new(patterns, ConcertKey::FIFTHS.to_vec(), goals, 0) };
        Self { learner: LearnerModel::new(), rng: Rng::new(seed), plan, page }
    }

    /// What the coach says to one line, without a line end; `None` where it says nothing.
    ///
    /// # Errors
    /// What is wrong with the line, for the reader of a message. A refused line changes nothing.
    pub fn line(&mut self, text: &str) -> Result<Option<String>, String> {
        match serde_json::from_str(text).map_err(|_| NEITHER.to_owned())? {
            DriverLine::Ask(DriverQuestion { ask, .. }) if ask != "next" => {
                Err(format!("ask {ask:?}; only \"next\" is known"))
            }
            DriverLine::Ask(DriverQuestion { day, .. }) => self.next(day).map(Some),
            DriverLine::Tell(answer) => {
                self.learner.learn(&outcome(&answer)?);
                Ok(None)
            }
        }
    }

    fn next(&mut self, day: i32) -> Result<String, String> {
        self.plan.day = day;
        let choice = self.learner.choose(&self.plan, &mut self.rng).ok_or("nothing to choose from")?;
        let why = reason::sentence(&choice.reason, choice.key, Mode::Major, &self.page, None);
        let next = Next { key: choice.key.name(), bpm: choice.tempo.0, why };
        serde_json::to_string(&next).map_err(|why| why.to_string())
    }
}

fn outcome(answer: &DriverAnswer) -> Result<AnswerEvidence, String> {
    if answer.tell != "answer" {
        return Err(format!("tell {:?}; only \"answer\" is known", answer.tell));
    }
    let known = ConcertKey::FIFTHS.into_iter().find(|key| key.name() == answer.key);
    let key = known.ok_or_else(|| format!("key {:?} is none of C G D A E B F# Db Ab Eb Bb F", answer.key))?;
    if !(1.0..=1000.0).contains(&answer.bpm) {
        return Err(format!("bpm {} is not between 1 and 1000", answer.bpm));
    }
    if answer.of == 0 || answer.right > answer.of {
        return Err(format!("{} of {} notes right", answer.right, answer.of));
    }
    if answer.reflex_s.is_some_and(|time| !(0.0..=600.0).contains(&time)) || !answer.second.is_finite() {
        return Err("a time that is none".to_owned());
    }
    Ok(AnswerEvidence {
        pattern: PatternId(PATTERN.to_owned()),
        key,
        register: Register::Middle,
        form: Form::FirstNote,
        timing: Timing::Free,
        tempo: Tempo(answer.bpm),
        kept_tempo: Some(Tempo(answer.bpm)),
        right: answer.right,
        of: answer.of,
        step: TempoStep::of_errors(answer.of - answer.right, answer.of),
        rule: Rule::UpStayDown,
        reflex: answer.reflex_s.map(Seconds),
        day: answer.day,
        at: Seconds(answer.second),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn driven() -> DrivenCoach {
        let piano = crate::music::instrument("piano").unwrap().clone();
        DrivenCoach::new(
            Goals { tempo: Tempo(160.0), reflex: Seconds(0.8) },
            5,
            Page::new(piano, crate::music::Reading::default()),
        )
    }

    #[test]
    fn a_question_is_answered_with_a_key_a_tempo_and_a_reason() {
        let mut coach = driven();
        let said = coach.line(r#"{"ask": "next", "day": 0, "second": 0.0}"#).unwrap().unwrap();
        assert!(said.starts_with(r#"{"key":""#) && said.contains(r#""bpm":60.0,"why":""#), "{said}");
        assert!(!said.contains('\n'));
    }

    #[test]
    fn an_answer_is_learnt_in_silence_eight_of_eight_go_up_seven_stay_and_six_go_down() {
        for (right, passed, tempi) in [(8, 1, 60.1..80.0), (7, 0, 59.9..60.1), (6, 0, 50.0..59.9)] {
            let mut coach = driven();
            let answer =
                format!(r#"{{"tell":"answer","key":"Db","bpm":60.0,"right":{right},"of":8,"reflex_s":1.12,"day":0}}"#);
            assert_eq!(coach.line(&answer).unwrap(), None);
            let row = coach.learner.key_stats(&PatternId(PATTERN.to_owned()), ConcertKey::FIFTHS[7]);
            assert_eq!((row.passed_today(), row.latest()), (passed, Some((right, 8))));
            assert!(tempi.contains(&row.tempo().unwrap().0), "{right}");
        }
    }

    #[test]
    fn a_line_that_makes_no_sense_is_refused_and_changes_nothing() {
        let mut coach = driven();
        for line in [
            "",
            "next",
            r#"{"ask":"first","day":0}"#,
            r#"{"tell":"answer","key":"H","bpm":60,"right":8,"of":8,"day":0}"#,
            r#"{"tell":"answer","key":"C","bpm":0,"right":8,"of":8,"day":0}"#,
            r#"{"tell":"answer","key":"C","bpm":60,"right":9,"of":8,"day":0}"#,
            r#"{"tell":"answer","key":"C","bpm":60,"right":8,"of":8,"reflex_s":-1,"day":0}"#,
        ] {
            assert!(coach.line(line).is_err(), "{line}");
        }
        assert_eq!(coach.learner, LearnerModel::new());
    }
}
