//! A key that is held out of practice is asked once a week and at no other time.

use earfirst::outside::coach::{HeldOut, LearnerModel, Plan, Reason, Rng};
use earfirst::outside::music::ConcertKey;

use crate::coaching::learner::{GOALS, Player, named, plan, sit};
use crate::coaching::memory::answer;

const OUT: ConcertKey = ConcertKey::FIFTHS[8];

/// The plan of a day, with the key `OUT` held out until day 30.
fn without(day: i32) -> Plan {
    let mut plan = plan(day);
    plan.hold_out(&[HeldOut { key: OUT, until: 30 }]);
    plan
}

#[test]
fn a_key_that_is_held_out_is_asked_once_a_week_until_its_day() {
    let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(5), Player::new(5));
    sit(&mut beliefs, &plan(0), &mut player, &mut rng, 40);
    let mut replayed = beliefs.clone();
    let mut days = Vec::new();
    for day in 1..32 {
        let turns = sit(&mut beliefs, &without(day), &mut player, &mut rng, 30);
        let mine: Vec<usize> = (0..30).filter(|n| turns[*n].choice.key == OUT).collect();
        if day < 30 {
            assert!(mine.len() <= 1, "{mine:?}");
            for n in &mine {
                assert_eq!(*n, 11, "after the day's first tries of the other eleven");
                let Reason::HeldOut { days, until: 30 } = turns[*n].choice.reason else { panic!("{:?}", turns[*n]) };
                assert_eq!(days, Some(7));
            }
        } else {
            assert!(mine.len() > 1, "its day has come");
        }
        days.extend(mine.iter().map(|_| day));
        // The record names the keys that are practised, and each cue its reason.
        let recorded = Plan { held_out: Vec::new(), ..without(day) };
        for turn in &turns {
            replayed.asked(&recorded, &turn.choice, false);
            replayed.learn(turn.outcome.as_ref().unwrap());
        }
        assert_eq!(replayed, beliefs, "day {day}");
        player.sleep();
    }
    assert_eq!(days[..4], [7, 14, 21, 28]);
}

#[test]
fn a_key_in_which_nothing_fits_the_range_does_not_keep_another_from_its_week() {
    let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(5), Player::new(5));
    sit(&mut beliefs, &plan(0), &mut player, &mut rng, 40);
    let never = ConcertKey::FIFTHS[2];
    let mut plan = plan(8);
    plan.hold_out(&[HeldOut { key: never, until: 30 }, HeldOut { key: OUT, until: 30 }]);
    plan.out_of_range = plan.patterns.iter().map(|pattern| (pattern.clone(), never)).collect();
    let turns = sit(&mut beliefs, &plan, &mut player, &mut rng, 30);
    let asked = |key| turns.iter().filter(|turn| turn.choice.key == key).count();
    assert_eq!((asked(never), asked(OUT)), (0, 1));
}

#[test]
fn it_is_asked_as_fast_as_the_middle_of_the_others() {
    let mut beliefs = LearnerModel::new();
    let pattern = &named(&["five notes"])[0];
    for key in ConcertKey::FIFTHS.into_iter().filter(|key| *key != OUT) {
        for tempo in [60.0, 70.0, 80.0, 90.0, 100.0, 110.0] {
            beliefs.learn(&answer(pattern, key, 0, tempo, true, Some(0.5)));
        }
    }
    let mut rng = Rng::new(1);
    let choices: Vec<_> = (0..12).map(|_| beliefs.choose(&without(1), &mut rng).unwrap()).collect();
    let mut others: Vec<f64> = choices[..11].iter().map(|choice| choice.tempo.0).collect();
    others.sort_by(f64::total_cmp);
    assert_eq!((choices[11].key, choices[11].tempo.0), (OUT, others[5]));
}

#[test]
fn all_keys_hold_without_the_one_that_is_held_out() {
    let mut beliefs = LearnerModel::new();
    let pattern = &named(&["five notes"])[0];
    for day in 0..2 {
        for key in ConcertKey::FIFTHS.into_iter().filter(|key| *key != OUT) {
            (0..3).for_each(|_| beliefs.learn(&answer(pattern, key, day, GOALS.tempo.0, true, Some(0.6))));
        }
    }
    assert!(beliefs.all_hold(&plan(2)).is_none() && beliefs.all_hold(&without(2)).is_some());
}
