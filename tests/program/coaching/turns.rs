use std::collections::BTreeSet;

use arbtest::arbitrary::{Result, Unstructured};
use arbtest::arbtest;
use earfirst::outside::coach::{AnswerEvidence, Choice, LearnerModel, Plan, Reason, Rng, SittingPhase};
use earfirst::outside::music::{ConcertKey, Mode, Reading, WrittenKey, instrument};
use earfirst::outside::pattern::{PatternId, Register};
use earfirst::outside::units::{Seconds, Tempo, median};
use earfirst::outside::verdict::TempoStep;
use earfirst::outside::words::Page;
use earfirst::outside::words::reason::sentence;

use crate::coaching::learner::{GOALS, Player, Turn, named, of_a_narrow_range, plan, sit};

/// Draws the plan of any sitting that a player could set up.
fn any_plan(u: &mut Unstructured, day: i32) -> Result<Plan> {
    let mut keys = ConcertKey::FIFTHS.to_vec();
    keys.rotate_left(u.int_in_range(0..=11)?);
    keys.truncate(u.int_in_range(1..=12)?);
    let patterns = named(&["five notes", "broken thirds", "enclosure"][..u.int_in_range(1..=3)?]);
    let phase = *u.choose(&[SittingPhase::Easy, SittingPhase::Work, SittingPhase::Closing])?;
    let registers = vec![Register::Low, Register::Middle, Register::High];
    let plan = Plan { registers, phase, meet: false, one_by_one: false, ..Plan::new(patterns, keys, GOALS, day) };
    of_a_narrow_range(u, plan)
}

fn key(name: &str) -> ConcertKey {
    ConcertKey(WrittenKey::parse(name).unwrap().0)
}

#[test]
fn no_key_comes_again_within_two_cues_and_with_two_keys_they_alternate() {
    arbtest(|u| {
        let plan = any_plan(u, 0)?;
        let (mut player, mut rng) = (Player::new(u.arbitrary()?), Rng::new(u.arbitrary()?));
        let turns = sit(&mut LearnerModel::new(), &plan, &mut player, &mut rng, 90);
        let gap = plan.keys.len().saturating_sub(1).min(2);
        for n in 0..turns.len() {
            for before in n.saturating_sub(gap)..n {
                assert_ne!(turns[before].choice.key, turns[n].choice.key, "cue {n} of {plan:?}");
            }
        }
        Ok(())
    })
    .budget_ms(1500);
}

#[test]
fn only_the_pairs_that_fit_are_asked_and_meeting_joining_and_closing_keep_to_them() {
    arbtest(|u| {
        let (mut player, mut rng) = (Player::new(u.arbitrary()?), Rng::new(u.arbitrary()?));
        let mut beliefs = LearnerModel::new();
        for day in 0..3 {
            let plan = Plan { meet: u.arbitrary()?, one_by_one: u.arbitrary()?, ..any_plan(u, day)? };
            let closing = Plan { phase: SittingPhase::Closing, ..plan.clone() };
            let pairs: BTreeSet<(&PatternId, ConcertKey)> = plan.pairs().collect();
            for (plan, cues) in [(&plan, 80), (&closing, 10)] {
                for turn in sit(&mut beliefs, plan, &mut player, &mut rng, cues) {
                    assert!(pairs.contains(&(&turn.choice.pattern, turn.choice.key)), "{turn:?} of {plan:?}");
                }
            }
            let least = pairs.iter().map(|(id, key)| beliefs.holds(id, *key, &GOALS)).min().flatten();
            assert_eq!(beliefs.all_hold(&plan), least);
        }
        Ok(())
    })
    .budget_ms(1500);
}

#[test]
fn a_pattern_with_one_key_waits_rather_than_ask_it_within_two_cues() {
    let patterns = named(&["wide", "narrow"]);
    let wide = ConcertKey::FIFTHS[1..].iter().map(|key| (patterns[0].clone(), *key));
    let plan = Plan { out_of_range: wide.collect(), patterns: patterns.clone(), ..plan(0) };
    let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(5), Player::new(5));
    let turns = sit(&mut beliefs, &plan, &mut player, &mut rng, 200);
    let wide: Vec<usize> = (0..turns.len()).filter(|n| turns[*n].choice.pattern == patterns[0]).collect();
    assert!(wide.len() >= 20 && wide.iter().all(|n| turns[*n].choice.key == key("C")), "{wide:?}");
    for n in 2..turns.len() {
        let three: BTreeSet<ConcertKey> = turns[n - 2..=n].iter().map(|turn| turn.choice.key).collect();
        assert_eq!(three.len(), 3, "cue {n}");
    }
}

#[test]
fn every_day_begins_with_every_key_once_and_none_waits_longer_than_forty_cues() {
    arbtest(|u| {
        let (mut beliefs, mut rng, mut player) =
            (LearnerModel::new(), Rng::new(u.arbitrary()?), Player::new(u.arbitrary()?));
        player.stuck = u.choose(&[None, Some(7)]).copied()?;
        for day in 0..4 {
            let plan = Plan { day, ..any_plan(u, day)? };
            let turns = sit(&mut beliefs, &plan, &mut player, &mut rng, 150);
            let keys: Vec<ConcertKey> = turns.iter().map(|turn| turn.choice.key).collect();
            let first: BTreeSet<ConcertKey> = keys[..plan.keys.len()].iter().copied().collect();
            assert_eq!(first.len(), plan.keys.len(), "day {day} of {plan:?}");
            for key in &plan.keys {
                let at: Vec<usize> = (0..keys.len()).filter(|n| keys[*n] == *key).chain([keys.len()]).collect();
                let longest = at.windows(2).map(|pair| pair[1] - pair[0]).max();
                assert!(longest.is_none_or(|wait| wait <= 40), "{} waited {longest:?}", key.name());
            }
        }
        Ok(())
    })
    .budget_ms(2500);
}

#[test]
fn the_same_seed_gives_the_same_session_and_another_seed_another() {
    let session = |seed| sit(&mut LearnerModel::new(), &plan(0), &mut Player::new(1), &mut Rng::new(seed), 100);
    assert_eq!(session(5), session(5));
    let keys = |turns: Vec<Turn>| turns.into_iter().map(|turn| turn.choice.key).collect::<Vec<_>>();
    assert_ne!(keys(session(5)), keys(session(6)));
}

/// The share of the cues of three days that each key got, 0 to 1, by place on the circle of fifths.
fn shares(player: &mut Player, seed: u64) -> [f64; 12] {
    let (mut beliefs, mut rng, mut counts, mut all) = (LearnerModel::new(), Rng::new(seed), [0.0; 12], 0.0);
    for day in 0..3 {
        for turn in sit(&mut beliefs, &plan(day), player, &mut rng, 120) {
            counts[turn.choice.key.place()] += 1.0;
            all += 1.0;
        }
        player.sleep();
    }
    counts.map(|count| count / all)
}

#[test]
fn a_weak_key_is_found_and_comes_more_often() {
    for weak in 0..12 {
        let mut player = Player::new(weak as u64);
        player.skill = [1.2; 12];
        player.skill[weak] = -0.6;
        let shares = shares(&mut player, 9);
        let others = (1.0 - shares[weak]) / 11.0;
        assert!(shares[weak] > 1.5 * others, "place {weak}: {:.3} against {others:.3}", shares[weak]);
    }
}

/// With stride scheduling a key gets at most about one turn more or less than its share (Waldspurger and Weihl 1995, from memory). Two
/// things may cost it another turn: a key comes again only after two other cues, and chance moves each choice a little.
#[test]
fn no_key_is_far_from_the_turns_that_its_need_earns() {
    let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(3), Player::new(3));
    sit(&mut beliefs, &plan(0), &mut player, &mut rng, 150);
    // Nobody answers on the second day, so that needs stay as they are.
    let (id, goals) = (&plan(1).patterns[0], GOALS);
    let needs = ConcertKey::FIFTHS.map(|key| beliefs.need(id, key, &goals).total());
    let mean = needs.iter().sum::<f64>() / 12.0;
    let weights = needs.map(|need| 0.25 + need / mean);
    let before = ConcertKey::FIFTHS.map(|key| beliefs.key_stats(id, key).cues());
    const CUES: u32 = 240;
    (0..12 + CUES).for_each(|_| drop(beliefs.choose(&plan(1), &mut rng)));
    for key in ConcertKey::FIFTHS {
        let place = key.place();
        // The opening round asks every key once.
        let turns = f64::from(beliefs.key_stats(id, key).cues() - before[place] - 1);
        let earned = f64::from(CUES) * weights[place] / weights.iter().sum::<f64>();
        assert!((turns - earned).abs() <= 4.0, "{}: {turns} turns, {earned:.1} earned", key.name());
    }
    assert!(needs.iter().any(|need| *need > 1.3 * mean), "the keys differ: {needs:?}");
}

#[test]
fn a_key_that_is_never_heard_right_does_not_eat_the_session() {
    for seed in 0..6 {
        let mut player = Player::new(seed);
        player.stuck = Some(7);
        let share = shares(&mut player, seed)[7];
        assert!(share <= 0.15, "{share:.3}");
    }
}

#[test]
fn a_key_that_fails_on_and_on_rests_until_tomorrow_and_the_player_hears_of_it() {
    let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(2), Player::new(2));
    player.stuck = Some(7);
    let turns = sit(&mut beliefs, &plan(0), &mut player, &mut rng, 200);
    let pattern = &plan(0).patterns[0];
    assert!(beliefs.rested(pattern, key("Db")));
    let rested = turns.iter().filter(|turn| matches!(turn.choice.reason, Reason::Rested { .. }));
    let page = Page::new(instrument("piano").unwrap().clone(), Reading::default());
    let said: Vec<String> =
        rested.map(|t| sentence(&t.choice.reason, t.choice.key, Mode::Major, &page, None)).collect();
    assert!(said.iter().any(|why| why.contains("Check the sound, or slow it by hand")), "{said:?}");
    assert!(said.iter().all(|why| why.starts_with("Db: asked ")), "{said:?}");
    let tomorrow = sit(&mut beliefs, &plan(1), &mut player, &mut rng, 12);
    assert!(!beliefs.rested(pattern, key("Db")));
    assert!(tomorrow.iter().all(|turn| turn.choice.reason == Reason::Opening { days: Some(1) }));
}

/// A count of the cues, kept without the coach's own.
#[derive(Default)]
struct Count {
    /// Day, pattern and key of each cue, and its tempo where the answer passed.
    asked: Vec<(i32, PatternId, ConcertKey, Option<Tempo>)>,
}

impl Count {
    fn all(
        &self,
        of: &PatternId,
        key: ConcertKey,
    ) -> impl DoubleEndedIterator<Item = &(i32, PatternId, ConcertKey, Option<Tempo>)> {
        self.asked.iter().filter(move |turn| turn.1 == *of && turn.2 == key)
    }
    /// The day of the latest cue for which `is` holds, and the number of cues from that one on.
    fn last(&self, is: impl Fn(&PatternId, ConcertKey) -> bool) -> Option<(i32, u32)> {
        let n = self.asked.iter().rposition(|turn| is(&turn.1, turn.2))?;
        Some((self.asked[n].0, (self.asked.len() - n) as u32))
    }
    /// The quickest tempo that passed on the latest day on which any did.
    fn reached(&self, of: &PatternId, key: ConcertKey) -> f64 {
        let passes: Vec<(i32, f64)> = self.all(of, key).filter_map(|turn| Some((turn.0, turn.3?.0))).collect();
        let day = passes.last().map(|pass| pass.0);
        passes.iter().filter(|pass| Some(pass.0) == day).map(|pass| pass.1).fold(0.0, f64::max)
    }
}

/// Compares every reason that the coach gives with that count. Hands back the kinds of reasons that came.
fn reasons_are_true(patterns: &[&str], cues: u32) -> BTreeSet<&'static str> {
    let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(4), Player::new(4));
    player.stuck = Some(5);
    let (mut count, mut seen) = (Count::default(), BTreeSet::new());
    for day in [0, 1, 2, 5] {
        let plan = Plan { patterns: named(patterns), ..plan(day) };
        for _ in 0..cues {
            let before = beliefs.clone();
            let choice = beliefs.choose(&plan, &mut rng).unwrap();
            is_true(&before, &choice, &count, day);
            let outcome = player.answer(&choice, day, 0.0);
            beliefs.learn(&outcome);
            let passed = outcome.passed().then_some(choice.tempo);
            count.asked.push((day, choice.pattern.clone(), choice.key, passed));
            seen.insert(word(&choice.reason));
        }
        player.sleep();
    }
    seen
}

fn is_true(before: &LearnerModel, choice: &Choice, count: &Count, day: i32) {
    let (pattern, key) = (&choice.pattern, choice.key);
    let here = count.last(|of, which| of == pattern && which == key);
    let anywhere = count.last(|_, which| which == key);
    let ago = |last: Option<(i32, u32)>| last.map(|(last, _)| day - last);
    let today = || count.all(pattern, key).filter(|turn| turn.0 == day);
    let total = |key: &ConcertKey| before.need(pattern, *key, &GOALS).total();
    let turn = |key: &ConcertKey| if before.rested(pattern, *key) { 0.0 } else { total(key) };
    let mean = ConcertKey::FIFTHS.iter().map(turn).sum::<f64>() / 12.0;
    match choice.reason {
        Reason::Opening { days } => assert_eq!((days, days, days != Some(0)), (ago(here), ago(anywhere), true)),
        Reason::OpeningHere { days } => {
            assert_eq!((days, ago(anywhere) != Some(0)), (ago(here), true));
            assert!(ago(anywhere).is_some() && ago(anywhere) != days);
        }
        Reason::Untried { cues } => assert_eq!((cues, here), (0, None)),
        Reason::Guard { cues } => assert_eq!((Some(cues), cues >= 36), (anywhere.map(|last| last.1), true)),
        Reason::Seldom { cues } => assert!(Some(cues) == here.map(|last| last.1) && total(&key) < mean),
        Reason::Rested { cues, passed } => {
            assert_eq!(cues as usize, today().count());
            assert_eq!(passed as usize, today().filter(|turn| turn.3.is_some()).count());
        }
        Reason::Need { reflex, middle, aim, tempo, goal, passed, tries } => {
            assert!(total(&key) >= mean);
            let time = |key| before.key_stats(pattern, key).reflex(earfirst::outside::cue::Form::FirstNote);
            let all: Vec<f64> = ConcertKey::FIFTHS.into_iter().filter_map(time).map(Seconds::get).collect();
            assert_eq!((reflex, middle, aim), (time(key), median(&all).map(Seconds), Some(GOALS.reflex)));
            assert_eq!((tempo, goal), (choice.tempo, GOALS.tempo));
            let latest = || count.all(pattern, key).rev().take(8);
            let passes = latest().filter(|turn| turn.3.is_some()).count();
            assert_eq!((passed as usize, tries as usize), (passes, latest().count()));
        }
        Reason::Even => {
            assert!(ConcertKey::FIFTHS.iter().all(|key| before.need(pattern, *key, &GOALS).is_satisfied()));
            assert!(ConcertKey::FIFTHS.iter().all(|key| count.reached(pattern, *key) >= GOALS.tempo.0 - 0.5));
        }
        Reason::Turn => assert!(before.need(pattern, key, &GOALS).is_satisfied()),
        other => panic!("{other:?} in the middle of a sitting"),
    }
}

#[test]
fn every_reason_is_true_of_the_numbers() {
    let told = |patterns: &[&str], cues: u32, wanted: &[&str]| {
        let seen = reasons_are_true(patterns, cues);
        assert!(wanted.iter().all(|reason| seen.contains(reason)), "{seen:?}");
    };
    told(&["five notes"], 150, &["opening", "need", "seldom", "rested"]);
    let three = ["five notes", "broken thirds", "enclosure"];
    told(&three, 150, &["opening", "guard", "need", "seldom", "untried"]);
    // So few that no day asks every key in every pattern.
    told(&three, 30, &["opening", "opening here", "need", "untried"]);
}

fn word(reason: &Reason) -> &'static str {
    match reason {
        Reason::Opening { .. } => "opening",
        Reason::OpeningHere { .. } => "opening here",
        Reason::Untried { .. } => "untried",
        Reason::Guard { .. } => "guard",
        Reason::Need { .. } => "need",
        Reason::Seldom { .. } => "seldom",
        Reason::Rested { .. } => "rested",
        _ => "other",
    }
}

#[test]
fn three_patterns_share_the_opening_round_and_the_needy_one_gets_more_turns() {
    let patterns = named(&["easy", "hard", "middling"]);
    let plan = Plan { patterns: patterns.clone(), ..plan(0) };
    let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(1), Player::new(1));
    let mut counts = [0usize; 3];
    let place = |pattern: &PatternId| patterns.iter().position(|one| one == pattern).unwrap();
    for n in 0..212 {
        let choice = beliefs.choose(&plan, &mut rng).unwrap();
        let mut outcome = player.answer(&choice, 0, 0.0);
        let well = choice.pattern.0 != "hard" || n % 3 == 0;
        outcome.step = if well { TempoStep::Up } else { TempoStep::Down };
        outcome.reflex = Some(Seconds([0.6, 2.4, 1.2][place(&choice.pattern)]));
        beliefs.learn(&outcome);
        if n == 11 {
            assert!(
                patterns.iter().all(|p| plan.keys.iter().map(|k| beliefs.key_stats(p, *k).cues()).sum::<u32>() == 4)
            );
        }
        counts[place(&choice.pattern)] += usize::from(n >= 12);
    }
    assert!(counts[1] > counts[2] && counts[2] > counts[0] && counts[0] >= 15, "{counts:?}");
}

#[test]
fn registers_are_asked_evenly_in_every_key() {
    let registers = vec![Register::Low, Register::Middle, Register::High];
    let plan = Plan { registers: registers.clone(), ..plan(0) };
    let mut beliefs = LearnerModel::new();
    sit(&mut beliefs, &plan, &mut Player::new(3), &mut Rng::new(3), 150);
    for key in ConcertKey::FIFTHS {
        let row = beliefs.key_stats(&plan.patterns[0], key);
        let cues: Vec<u32> = registers.iter().map(|register| row.register(*register).cues()).collect();
        assert!(cues.iter().max().unwrap() - cues.iter().min().unwrap() <= 1, "{}: {cues:?}", key.name());
    }
}

#[test]
fn a_register_that_stays_slow_gets_every_other_turn_once_all_are_known() {
    let registers = vec![Register::Low, Register::Middle, Register::High];
    let plan = Plan { registers: registers.clone(), keys: vec![key("C")], ..plan(0) };
    let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(1), Player::new(1));
    let asked: Vec<Register> = (0..64)
        .map(|_| {
            let choice = beliefs.choose(&plan, &mut rng).unwrap();
            let reflex = Some(Seconds(if choice.register == Register::High { 1.9 } else { 0.7 }));
            beliefs.learn(&AnswerEvidence { reflex, ..player.answer(&choice, 0, 0.0) });
            choice.register
        })
        .collect();
    let share = |asked: &[Register], of| asked.iter().filter(|register| **register == of).count();
    assert_eq!(registers.iter().map(|of| share(&asked[..24], *of)).collect::<Vec<_>>(), [8, 8, 8]);
    assert_eq!(share(&asked[24..], Register::High), 20, "half of what follows: {asked:?}");
    assert!(share(&asked[24..], Register::Low) >= 9 && share(&asked[24..], Register::Middle) >= 9, "{asked:?}");
}
