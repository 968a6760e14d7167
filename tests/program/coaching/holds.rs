//! When a key may be said to hold a pattern: the goals reached on two different days, and proved.

use earfirst::outside::coach::{AnswerEvidence, Goals, Holds, LearnerModel};
use earfirst::outside::cue::Form;
use earfirst::outside::music::ConcertKey;
use earfirst::outside::pattern::PatternId;
use earfirst::outside::units::{Seconds, Tempo};

use crate::coaching::learner::{GOALS, named};
use crate::coaching::memory::answer;

/// The reflex times, in seconds, of free answers that reach the goal.
const STEADY: [f64; 3] = [0.7, 0.6, 0.7];

/// A player of one pattern in one key.
struct Known {
    beliefs: LearnerModel,
    pattern: PatternId,
    key: ConcertKey,
}

impl Known {
    fn new() -> Self {
        Self { beliefs: LearnerModel::new(), pattern: named(&["five notes"]).remove(0), key: ConcertKey::FIFTHS[3] }
    }
    /// Adds an answer.
    fn plays(&mut self, day: i32, tempo: f64, passed: bool, reflex: Option<f64>) {
        self.beliefs.learn(&answer(&self.pattern, self.key, day, tempo, passed, reflex));
    }
    /// Adds a day of free answers that pass at this tempo, with these reflex times.
    fn day(&mut self, day: i32, tempo: f64, reflexes: &[f64]) {
        reflexes.iter().for_each(|time| self.plays(day, tempo, true, Some(*time)));
    }
    fn holds(&self) -> Option<Holds> {
        self.beliefs.holds(&self.pattern, self.key, &GOALS)
    }
}

#[test]
fn a_key_holds_only_when_the_goal_was_reached_on_two_days() {
    let mut player = Known::new();
    player.day(0, 160.0, &STEADY);
    assert_eq!(player.holds(), None, "one day is not enough");
    player.day(1, 150.0, &STEADY);
    assert_eq!(player.holds(), None, "the second day was slower than the goal");
    player.day(2, 160.0, &STEADY);
    assert_eq!(player.holds(), Some(Holds::Freely), "two of three days");
    player.day(3, 160.0, &[1.6, 1.9, 1.5]);
    assert_eq!(player.holds(), None, "and falls when of three days only one still stands");
}

#[test]
fn goals_are_the_players_and_what_holds_a_lower_goal_is_not_lost_by_a_higher_one() {
    let mut player = Known::new();
    [0, 1].iter().for_each(|day| player.day(*day, 160.0, &STEADY));
    let with = |tempo: f64, reflex: f64| {
        let goals = Goals { tempo: Tempo(tempo), reflex: Seconds(reflex) };
        let holds = player.beliefs.holds(&player.pattern, player.key, &goals);
        (holds, player.beliefs.need(&player.pattern, player.key, &goals).total())
    };
    let (held, need) = with(160.0, 0.8);
    assert_eq!((held, with(120.0, 1.5).0), (Some(Holds::Freely), Some(Holds::Freely)));
    for (tempo, reflex) in [(200.0, 0.8), (160.0, 0.5)] {
        assert!(with(tempo, reflex).0.is_none() && with(tempo, reflex).1 > need, "{tempo}, {reflex}");
    }
    assert_eq!(with(160.0, 0.8), (held, need), "nothing was forgotten");
}

#[test]
fn a_key_whose_reflex_times_scatter_does_not_hold() {
    for (day, holds) in [
        ([0.6, 0.65, 0.7, 0.6], true),
        // Standard deviation over mean: .27, worked by hand.
        ([0.5, 0.5, 0.8, 0.8], false),
        ([0.2, 1.3, 0.25, 1.2], false),
    ] {
        let mut player = Known::new();
        [0, 1].iter().for_each(|n| player.day(*n, 160.0, &day));
        assert_eq!(player.holds().is_some(), holds, "{day:?}");
    }
}

#[test]
fn one_or_two_quick_answers_a_day_are_no_reflex() {
    let mut player = Known::new();
    player.day(0, 160.0, &[0.13]);
    player.day(1, 160.0, &[0.79]);
    assert_eq!(player.holds(), None);
    player.day(2, 160.0, &[0.7, 0.7]);
    player.day(3, 160.0, &[0.7, 0.7]);
    assert_eq!(player.holds(), None, "two readings a day are not three");
}

#[test]
fn one_lucky_pass_among_nine_failures_holds_nothing() {
    let mut player = Known::new();
    for day in [0, 1] {
        (0..9).for_each(|_| player.plays(day, 160.0, false, Some(0.5)));
        (0..3).for_each(|_| player.plays(day, 160.0, true, Some(0.5)));
    }
    assert_eq!(player.holds(), None);
}

#[test]
fn only_answers_that_pass_tell_of_the_reflex() {
    let mut player = Known::new();
    for day in [0, 1] {
        player.plays(day, 160.0, true, Some(0.5));
        (0..6).for_each(|_| player.plays(day, 160.0, true, Some(1.1)));
        (0..6).for_each(|_| player.plays(day, 160.0, false, Some(0.5)));
    }
    assert_eq!(player.holds(), None, "quick only where it goes wrong");
}

#[test]
fn answers_in_tempo_hold_in_tempo_and_claim_no_reflex() {
    let mut player = Known::new();
    for day in [0, 3] {
        player.plays(day, 160.0, true, None);
    }
    assert_eq!(player.holds(), Some(Holds::InTempo));
    assert_eq!(player.beliefs.key_stats(&player.pattern, player.key).reflex(Form::FirstNote), None);
    assert!(player.beliefs.need(&player.pattern, player.key, &GOALS).reflex == 0.0);
    // Quick free answers at another tempo add nothing to it: the two were never done together.
    for day in [4, 5] {
        player.day(day, 80.0, &[0.4, 0.4, 0.4]);
    }
    assert_eq!(player.holds(), Some(Holds::InTempo));
}

#[test]
fn a_pass_at_another_pace_reaches_the_tempo_it_was_played_at() {
    let mut player = Known::new();
    for day in [0, 1] {
        for time in STEADY {
            let asked = answer(&player.pattern, player.key, day, 160.0, true, Some(time));
            player.beliefs.learn(&AnswerEvidence { kept_tempo: Some(Tempo(100.0)), ..asked });
        }
    }
    let row = player.beliefs.key_stats(&player.pattern, player.key);
    assert_eq!((row.reached(), player.holds()), (Some(Tempo(100.0)), None));
    assert!(row.tempo() > Some(Tempo(160.0)), "the ladder goes by what was asked");
}

#[test]
fn what_was_only_failed_or_asked_has_reached_nothing() {
    let mut player = Known::new();
    player.plays(0, 72.0, false, Some(1.0));
    assert_eq!(player.beliefs.key_stats(&player.pattern, player.key).reached(), None);
    player.plays(0, 63.0, true, Some(1.0));
    player.plays(0, 65.0, true, Some(1.0));
    player.plays(1, 67.0, false, Some(1.0));
    let row = player.beliefs.key_stats(&player.pattern, player.key);
    assert_eq!(row.reached(), Some(Tempo(65.0)), "not the next rung, and not what failed");
}
