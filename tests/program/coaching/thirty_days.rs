//! Twelve invented players over thirty invented days.

use earfirst::coach::{Beliefs, Dice};

use crate::coaching::learner::{Player, plan, sit};

const DAYS: i32 = 30;
const CUES_A_DAY: usize = 50;

struct Course {
    /// Spread between the slowest and the quickest key's true reflex time, per morning, in seconds.
    spread: Vec<f64>,
    /// Share of cues that went to the three keys that were weakest at the beginning, while not all were equal.
    weakest: f64,
}

fn course(seed: u64) -> Course {
    let (mut player, mut dice, mut beliefs) = (Player::new(seed), Dice::new(seed), Beliefs::new());
    player.rate = 0.012;
    let mut weak: Vec<usize> = (0..12).collect();
    weak.sort_by(|a, b| player.skill[*a].total_cmp(&player.skill[*b]));
    let (mut spread, mut to_weak, mut all) = (Vec::new(), 0, 0);
    for day in 0..DAYS {
        let times: Vec<f64> = (0..12).map(|place| player.reflex(place)).collect();
        let slowest = times.iter().copied().fold(0.0, f64::max);
        spread.push(slowest - times.iter().copied().fold(f64::INFINITY, f64::min));
        let turns = sit(&mut beliefs, &plan(day), &mut player, &mut dice, CUES_A_DAY);
        if day < DAYS / 3 {
            to_weak += turns.iter().filter(|turn| weak[..3].contains(&turn.choice.key.place())).count();
            all += turns.len();
        }
        player.sleep();
    }
    Course { spread, weakest: to_weak as f64 / all as f64 }
}

#[test]
fn over_thirty_days_the_keys_grow_equal_and_the_weak_ones_got_more_cues() {
    let courses: Vec<Course> = (0..12).map(course).collect();
    for (player, course) in courses.iter().enumerate() {
        let (first, last) = (course.spread[0], course.spread[course.spread.len() - 1]);
        assert!(last < 0.35 * first, "player {player}: {first:.2} s to {last:.2} s");
        assert!(course.weakest > 0.25, "player {player}: {:.3} to the three weakest", course.weakest);
    }
    let mean = courses.iter().map(|course| course.weakest).sum::<f64>() / courses.len() as f64;
    assert!(mean > 0.27, "the three weakest of twelve got {mean:.3} of the cues; an even share is .25");
    let weeks: Vec<f64> =
        (0..5).map(|n| courses.iter().map(|course| course.spread[7 * n]).sum::<f64>() / 12.0).collect();
    assert!((0..3).all(|n| weeks[n + 1] < weeks[n]), "each week the keys are closer together: {weeks:.2?}");
    assert!(weeks[4] < 0.3 * weeks[0], "and at last they are nearly equal: {weeks:.2?}");
}
