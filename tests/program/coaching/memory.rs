use arbtest::arbtest;
use earfirst::outside::coach::{
    AnswerEvidence, Choice, LearnerModel, Plan, Reason, Rng, Rule, SittingPhase, SittingPlan, Spared, TimeAway,
};
use earfirst::outside::cue::{Form, Timing};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::pattern::{PatternId, Register};
use earfirst::outside::session::{Event, Judgement, replay};
use earfirst::outside::units::{Seconds, Tempo};
use earfirst::outside::verdict::{TempoStep, Verdict};

use crate::coaching::learner::{GOALS, Player, Turn, again, named, of_a_narrow_range, plan, sit};
use crate::rehearsal::{Rehearsal, faithful, settings};

/// One answer to a pattern of eight notes, of which eight are right where the answer `passed`, else four. The answer is free where a reflex
/// time is given, else in tempo.
pub fn answer(
    pattern: &PatternId,
    key: ConcertKey,
    day: i32,
    tempo: f64,
    passed: bool,
    reflex: Option<f64>,
) -> AnswerEvidence {
    AnswerEvidence {
        pattern: pattern.clone(),
        key,
        register: Register::Middle,
        form: Form::FirstNote,
        timing: if reflex.is_some() { Timing::Free } else { Timing::InTempo },
        tempo: Tempo(tempo),
        kept_tempo: Some(Tempo(tempo)),
        right: if passed { 8 } else { 4 },
        of: 8,
        step: if passed { TempoStep::Up } else { TempoStep::Down },
        rule: Rule::UpStayDown,
        reflex: reflex.map(Seconds),
        day,
        at: Seconds(0.0),
    }
}

#[test]
fn replaying_the_record_gives_the_same_beliefs_bit_for_bit() {
    arbtest(|u| {
        let (mut beliefs, mut rng, mut player) =
            (LearnerModel::new(), Rng::new(u.arbitrary()?), Player::new(u.arbitrary()?));
        let patterns = named(&["five notes", "broken thirds", "enclosure"][..u.int_in_range(1..=3)?]);
        let keys = ConcertKey::FIFTHS[..u.int_in_range(1..=12)?].to_vec();
        let one_by_one = u.arbitrary()?;
        let any = of_a_narrow_range(u, Plan::new(patterns, keys, GOALS, 0))?;
        let mut day = 0;
        let mut record: Vec<(Plan, Turn)> = Vec::new();
        for _ in 0..u.int_in_range(1..=4)? {
            day += u.int_in_range(1..=9)?;
            let sitting = SittingPlan::new(Some(Seconds(600.0)), Spared::USUAL);
            for n in 0..60 {
                let phase = sitting.phase(Seconds(f64::from(n) * 10.0));
                let plan = Plan { phase, one_by_one, day, ..any.clone() };
                let repeat = n > 0 && u.ratio(1, 10)?;
                let choice = match record.last().filter(|_| repeat) {
                    Some((_, turn)) => again(&turn.choice),
                    None => beliefs.choose(&plan, &mut rng).unwrap(),
                };
                let outcome = (!u.ratio(1, 12)?).then(|| player.answer(&choice, day, 0.0));
                outcome.iter().for_each(|outcome| beliefs.learn(outcome));
                record.push((plan, Turn { choice, repeat, outcome, day }));
            }
            player.sleep();
        }
        let mut replayed = LearnerModel::new();
        for (plan, turn) in &record {
            // The record does not hold the phase of the sitting; bookkeeping must not need it.
            replayed.asked(&Plan { phase: SittingPhase::Work, ..plan.clone() }, &turn.choice, turn.repeat);
            turn.outcome.iter().for_each(|outcome| replayed.learn(outcome));
        }
        assert_eq!(replayed, beliefs);
        let plan = Plan { day, ..any };
        assert_eq!(replayed.choose(&plan, &mut Rng::new(1)), beliefs.choose(&plan, &mut Rng::new(1)));
        Ok(())
    })
    .budget_ms(2500);
}

#[test]
fn a_corrected_verdict_changes_what_is_believed() {
    let mut room =
        Rehearsal::new(settings("five-note-row-up-and-down", Form::FirstNote, &ConcertKey::FIFTHS), faithful(0.5));
    room.run(90.0);
    assert_eq!(&replay(&room.events), room.drill.learner());
    let place = room.events.iter().position(|event| matches!(event, Event::Judged(_))).unwrap();
    let Event::Judged(judgement) = &room.events[place] else { unreachable!("it was looked for") };
    let verdict = Verdict { right: 5, ..judgement.verdict.clone() };
    let corrected = Event::Judged(Judgement { verdict, step: Some(TempoStep::Down), ..judgement.clone() });
    let appended = [&room.events[..], std::slice::from_ref(&corrected)].concat();
    let mut from_the_beginning = room.events.clone();
    from_the_beginning[place] = corrected;
    assert_ne!(replay(&appended), replay(&room.events));
    assert_eq!(replay(&appended), replay(&from_the_beginning), "as if it had been the verdict then");
}

#[test]
fn a_cue_that_is_heard_again_is_no_turn() {
    let (mut beliefs, mut rng) = (LearnerModel::new(), Rng::new(1));
    sit(&mut beliefs, &plan(0), &mut Player::new(1), &mut rng, 20);
    let choice = beliefs.choose(&plan(0), &mut rng).unwrap();
    let before = beliefs.clone();
    beliefs.asked(&plan(0), &again(&choice), false);
    beliefs.asked(&plan(0), &choice, true);
    assert_eq!(beliefs, before);
}

#[test]
fn days_of_rest_cost_nothing() {
    let mut beliefs = LearnerModel::new();
    sit(&mut beliefs, &plan(0), &mut Player::new(1), &mut Rng::new(1), 100);
    let id = &plan(0).patterns[0];
    let known = |beliefs: &LearnerModel| {
        ConcertKey::FIFTHS.map(|key| {
            let row = beliefs.key_stats(id, key);
            (beliefs.need(id, key, &GOALS), row.tempo(), row.reached(), row.reflex(Form::FirstNote))
        })
    };
    let before = known(&beliefs);
    let first = beliefs.choose(&plan(9), &mut Rng::new(1)).unwrap();
    assert_eq!(first.reason, Reason::Opening { days: Some(9) }, "a test of what is left");
    assert_eq!(known(&beliefs), before);
}

#[test]
fn of_a_new_pattern_the_player_is_thought_to_be_as_good_as_on_the_mean_of_the_others() {
    let (mut beliefs, key) = (LearnerModel::new(), ConcertKey::FIFTHS[3]);
    let ids = named(&["quick", "slow", "new"]);
    beliefs.learn(&answer(&ids[0], key, 0, 150.0, true, Some(0.7)));
    beliefs.learn(&answer(&ids[1], key, 0, 60.0, false, Some(2.4)));
    let total = |n: usize| beliefs.need(&ids[n], key, &GOALS).total();
    assert!(total(0) < total(1));
    assert!((total(2) - 0.5 * (total(0) + total(1))).abs() < 1e-12);
}

#[test]
fn the_first_try_of_a_day_is_kept_apart() {
    let (id, key) = (&named(&["five notes"])[0], ConcertKey::FIFTHS[3]);
    let mut beliefs = LearnerModel::new();
    for (day, passed) in [(0, true), (0, true), (1, false), (1, true), (1, true)] {
        beliefs.learn(&answer(id, key, day, 80.0, passed, Some(1.0)));
    }
    let row = beliefs.key_stats(id, key);
    assert_eq!(row.days().iter().map(|day| day.first.passed).collect::<Vec<_>>(), [true, false]);
    assert_eq!((row.days()[1].answers, row.days()[1].passed), (3, 2));
}

#[test]
fn a_week_away_shows_in_the_players_own_record_and_the_key_is_back_first() {
    let mut beliefs = LearnerModel::new();
    let id = &named(&["five notes"])[0];
    let (iron, sieve) = (ConcertKey::FIFTHS[0], ConcertKey::FIFTHS[7]);
    for day in [0, 7, 14, 21, 28] {
        for key in [iron, sieve] {
            let choice = Choice {
                pattern: id.clone(),
                key,
                register: Register::Middle,
                tempo: Tempo(80.0),
                reason: Reason::Opening { days: None },
            };
            beliefs.asked(&plan(day), &choice, false);
            let first = if key == sieve && day > 0 { 2.0 } else { 1.0 };
            beliefs.learn(&answer(id, key, day, 80.0, true, Some(first)));
            (0..8).for_each(|_| beliefs.learn(&answer(id, key, day, 80.0, true, Some(1.0))));
        }
    }
    assert!(beliefs.forgets(id, sieve, 7) > 0.3, "{}", beliefs.forgets(id, sieve, 7));
    assert!(beliefs.forgets(id, iron, 7) < 0.2, "{}", beliefs.forgets(id, iron, 7));
    assert!(beliefs.forgets(id, sieve, 1).abs() < 1e-9, "nothing is known of single nights");
    assert_eq!(beliefs.forgotten(TimeAway::Week).tries, 8);
    // A key without a record of its own is drawn to the player's mean.
    let unknown = beliefs.forgets(id, ConcertKey::FIFTHS[4], 7);
    assert!(beliefs.forgets(id, iron, 7) < unknown && unknown < beliefs.forgets(id, sieve, 7));
    let back = beliefs.back(&plan(35));
    assert_eq!(back.iter().map(|one| (one.key, one.days)).collect::<Vec<_>>(), [(sieve, 7), (iron, 7)]);
    assert!(beliefs.back(&plan(29)).is_empty(), "yesterday is not away");
}

#[test]
fn a_new_pattern_is_met_with_three_slow_answers_in_the_easiest_key() {
    let old_plan = plan(0);
    let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(1), Player::new(1));
    player.skill[9] = 2.6;
    sit(&mut beliefs, &old_plan, &mut player, &mut rng, 150);
    let patterns = [old_plan.patterns.clone(), named(&["new one"])].concat();
    let both = Plan { patterns, meet: true, ..plan(1) };
    let turns = sit(&mut beliefs, &both, &mut player, &mut rng, 60);
    let met: Vec<usize> = (0..60).filter(|n| matches!(turns[*n].choice.reason, Reason::Meeting { .. })).collect();
    assert_eq!(met, [12, 13, 14], "after the day's first tries of what is known, three in a row");
    let meeting = &turns[12..15];
    assert!(meeting.iter().all(|turn| turn.choice.pattern.0 == "new one" && turn.choice.key.place() == 9));
    assert!(meeting.iter().all(|turn| turn.choice.tempo.0 <= 60.0));
    let left: Vec<Reason> = meeting.iter().map(|turn| turn.choice.reason).collect();
    assert_eq!(left, [3, 2, 1].map(|left| Reason::Meeting { left }));
    assert!(turns[15..].iter().any(|turn| turn.choice.pattern.0 == "new one"), "then it is mixed over the keys");
}

#[test]
fn the_very_first_pattern_is_met_in_the_players_first_key() {
    let keys = [5, 4, 3].map(|place| ConcertKey::FIFTHS[place]).to_vec();
    let first = Plan { keys, ..Plan::new(named(&["first"]), Vec::new(), GOALS, 0) };
    let turns = sit(&mut LearnerModel::new(), &first, &mut Player::new(1), &mut Rng::new(1), 6);
    let places: Vec<usize> = turns.iter().map(|turn| turn.choice.key.place()).collect();
    assert_eq!(places[..3], [5, 5, 5]);
    assert_ne!(places[3], 5, "then another key");
}

#[test]
fn one_more_key_joins_when_the_others_hold() {
    let growing = |day| Plan { one_by_one: true, ..plan(day) };
    let (mut beliefs, mut rng) = (LearnerModel::new(), Rng::new(1));
    let mut keys_of_days = Vec::new();
    let mut joined = Vec::new();
    for day in 0..8 {
        let mut keys = std::collections::BTreeSet::new();
        for _ in 0..30 {
            let choice = beliefs.choose(&growing(day), &mut rng).unwrap();
            keys.insert(choice.key.place());
            joined.extend(matches!(choice.reason, Reason::Joins { .. }).then_some((choice.key.place(), choice.reason)));
            beliefs.learn(&answer(&choice.pattern, choice.key, day, choice.tempo.0, true, Some(0.5)));
        }
        keys_of_days.push(keys.len());
    }
    assert_eq!(keys_of_days[0], 3, "the first three of the plan");
    assert!(keys_of_days[7] > 4 && keys_of_days.windows(2).all(|pair| pair[1] >= pair[0]), "{keys_of_days:?}");
    assert_eq!(joined[0], (3, Reason::Joins { others: 3 }), "the fourth key joins the three that hold");
}

#[test]
fn the_last_minutes_are_spent_on_what_goes_well() {
    let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(1), Player::new(1));
    player.skill = [0.0; 12];
    [1, 2, 6, 10].iter().for_each(|place| player.skill[*place] = 2.6);
    sit(&mut beliefs, &plan(0), &mut player, &mut rng, 150);
    let closing = Plan { phase: SittingPhase::Closing, ..plan(0) };
    let turns = sit(&mut beliefs, &closing, &mut player, &mut rng, 12);
    assert!(turns.iter().all(|turn| turn.choice.reason == Reason::Closing));
    let well = turns.iter().filter(|turn| [1, 2, 6, 10].contains(&turn.choice.key.place())).count();
    assert!(well >= 8, "{well} of 12");
}

#[test]
fn what_just_failed_or_mostly_fails_is_no_way_to_close() {
    let id = &named(&["five notes"])[0];
    let closing = Plan { phase: SittingPhase::Closing, ..plan(0) };
    let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(3), Player::new(3));
    sit(&mut beliefs, &plan(0), &mut player, &mut rng, 60);
    let mut closed = 0;
    for _ in 0..60 {
        let before = beliefs.clone();
        let choice = beliefs.choose(&closing, &mut rng).unwrap();
        if choice.reason == Reason::Closing {
            closed += 1;
            assert!(before.key_stats(id, choice.key).goes_well(), "{} goes well", choice.key.name());
        }
        beliefs.learn(&player.answer(&choice, 0, 0.0));
    }
    assert!(closed > 30, "{closed}");
    let mut fails = LearnerModel::new();
    for key in ConcertKey::FIFTHS {
        [true, true, false].iter().for_each(|passed| fails.learn(&answer(id, key, 0, 72.0, *passed, Some(1.0))));
        assert!(!fails.key_stats(id, key).goes_well(), "it just failed");
    }
    let choices: Vec<Choice> = (0..12).map(|_| fails.choose(&closing, &mut rng).unwrap()).collect();
    assert!(choices.iter().all(|choice| choice.reason != Reason::Closing), "nothing goes well");
}

#[test]
fn the_first_minutes_begin_with_what_goes_well_and_later_the_weakest_comes_first() {
    let first = |phase| {
        let (mut beliefs, mut rng, mut player) = (LearnerModel::new(), Rng::new(1), Player::new(1));
        player.skill = [1.0; 12];
        (player.skill[2], player.skill[8]) = (2.6, -0.8);
        sit(&mut beliefs, &plan(0), &mut player, &mut rng, 150);
        sit(&mut beliefs, &Plan { phase, ..plan(1) }, &mut player, &mut rng, 1)[0].choice.key.place()
    };
    assert_eq!((first(SittingPhase::Easy), first(SittingPhase::Work)), (2, 8));
}

#[test]
fn a_plan_without_keys_or_patterns_chooses_nothing() {
    let (mut beliefs, mut rng) = (LearnerModel::new(), Rng::new(1));
    assert_eq!(beliefs.choose(&Plan { keys: Vec::new(), ..plan(0) }, &mut rng), None);
    assert_eq!(beliefs.choose(&Plan { patterns: Vec::new(), ..plan(0) }, &mut rng), None);
}
