//! Players like the one of the demo over many simulated days: twelve of them for thirty days with coach and judge, but without sound;
//! and one for a few days in sound, which has to give the same results.

use earfirst::outside::coach::{LearnerModel, Rng, SittingPlan, Spared};
use earfirst::outside::cue::{Cue, Form};
use earfirst::outside::drill::{Drill, RestRules, Settings};
use earfirst::outside::engine::{Listener, SimulatedAudio, unattended};
use earfirst::outside::music::{ConcertKey, WrittenKey};
use earfirst::outside::notes::{EarSettings, HeardNote};
use earfirst::outside::pattern;
use earfirst::outside::report::keys_over_days;
use earfirst::outside::room::Echo;
use earfirst::outside::session::{Event, Judgement, outcome};
use earfirst::outside::simulated::{AnswerClock, SimulatedPlayer};
use earfirst::outside::units::{A440, Hertz, SampleRate, Seconds};
use earfirst::outside::verdict::{Expectation, TimeOrigin, Verdict, judge};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::grading::made::note;
use crate::rehearsal::settings;

const PATTERN: &str = "five-note-row-up-and-down";
const PLAYERS: u64 = 12;
const DAYS: i32 = 30;
/// The number of answers a day, as in `earfirst demo --days 30`.
const ANSWERS: u32 = 36;
/// About how long one cue and its answer take, in seconds.
const TURN: f64 = 9.0;

/// The player of `earfirst demo --seed` on the trumpet, who is best in written C.
fn demo_player(settings: &Settings, seed: u64) -> SimulatedPlayer {
    let home = settings.instrument.concert_key(WrittenKey::C);
    SimulatedPlayer::developing(&settings.instrument, home, ChaCha8Rng::seed_from_u64(seed))
}

fn sitting_on(day: i32) -> Settings {
    let mut wanted = settings(PATTERN, Form::FirstNote, &ConcertKey::FIFTHS);
    wanted.rests =
        RestRules { share: None, spared: Spared { first: None, between: None, ..Spared::USUAL }, ..wanted.rests };
    wanted.plan.day = day;
    wanted.began.day = day;
    wanted
}

/// Lets the player answer a cue, and returns the verdict on what is played, as if every note were heard exactly as it was played; `None`
/// where no note came.
fn played(player: &mut SimulatedPlayer, cue: &Cue, settings: &Settings) -> Option<Verdict> {
    let asked = asked(cue, settings);
    let TimeOrigin::Free { cue_end } = asked.clock else { unreachable!("all are answered freely") };
    let performance = player.perform(cue, AnswerClock { cue_end, beat_zero: None });
    let heard: Vec<HeardNote> = performance.notes().map(|(at, length, pitch)| note(pitch.0, at.0, length.0)).collect();
    (!heard.is_empty()).then(|| judge(&asked, &heard))
}

fn asked(cue: &Cue, settings: &Settings) -> Expectation {
    let (line, clock) = (cue.line.clone(), TimeOrigin::Free { cue_end: Seconds(0.0) });
    let (delay, intonation) = (Some(Seconds(0.0)), settings.instrument.intonation);
    Expectation {
        line,
        tempo: cue.tempo,
        clock,
        delay,
        intonation,
        usual: earfirst::outside::verdict::UsualTuning::Unknown,
    }
}

/// One day without sound: for each cue the coach asks, the player plays, the judge judges and the coach learns. As in the drill, a cue is
/// asked once more where the player answered nothing or something else.
fn a_day(settings: &Settings, player: &mut SimulatedPlayer, beliefs: &mut LearnerModel, rng: &mut Rng) {
    let (sitting, pattern) = (SittingPlan::new(None, Spared::USUAL), &settings.patterns[0]);
    for answer in 0..ANSWERS {
        let at = Seconds(TURN * f64::from(answer));
        let plan = sitting.plan(at, &settings.plan);
        let choice = beliefs.choose(&plan, rng).unwrap();
        let line = pattern::realise(pattern, choice.key, None, settings.range, choice.register).unwrap();
        let cue = Cue {
            form: settings.form,
            timing: settings.timing,
            ..Cue::new(pattern, choice.key, choice.register, choice.tempo, line)
        };
        let learnt = (0..2).find_map(|_| {
            let verdict = played(player, &cue, settings)?;
            let asked = asked(&cue, settings);
            let step = earfirst::outside::verdict::step(&verdict, &asked, &[]);
            let judgement = Judgement { at, cue: cue.number, verdict, sentence: String::new(), step, varied: None };
            outcome(&cue, &choice.reason, &judgement, &[], plan.day)
        });
        learnt.iter().for_each(|outcome| beliefs.learn(outcome));
    }
    player.rest(1.0);
}

/// How thirty days of one player went.
struct Course {
    picture: String,
    /// The geometric mean of each key's reflex times on the first ten days, in seconds, by place on the circle of fifths. `last` has
    /// the means on the last ten days, `cues` the number of cues on all days.
    first: [f64; 12],
    last: [f64; 12],
    cues: [u32; 12],
}

fn course(seed: u64) -> Course {
    let settings = sitting_on(0);
    let (mut player, mut rng, mut beliefs) = (demo_player(&settings, seed), Rng::new(seed), LearnerModel::new());
    (0..DAYS).for_each(|day| a_day(&sitting_on(day), &mut player, &mut beliefs, &mut rng));
    let id = &settings.patterns[0].id;
    let on = |days: std::ops::Range<i32>| {
        ConcertKey::FIFTHS.map(|key| {
            let row = beliefs.key_stats(id, key);
            let counted = row.days().iter().filter(|day| days.contains(&day.day)).filter_map(|day| day.reflex());
            let times: Vec<f64> = counted.map(|(_, time)| time.0.ln()).collect();
            (times.iter().sum::<f64>() / times.len() as f64).exp()
        })
    };
    Course {
        picture: keys_over_days(
            &beliefs,
            id,
            0..=DAYS - 1,
            earfirst::outside::music::Mode::Major,
            &earfirst::outside::words::Page::new(
                settings.instrument.clone(),
                earfirst::outside::music::Reading::default(),
            ),
        ),
        first: on(0..DAYS / 3),
        last: on(DAYS - DAYS / 3..DAYS),
        cues: ConcertKey::FIFTHS.map(|key| beliefs.key_stats(id, key).cues()),
    }
}

impl Course {
    /// The difference between the slowest and the quickest key, in seconds.
    fn apart(times: &[f64; 12]) -> f64 {
        let quickest = times.iter().copied().fold(f64::INFINITY, f64::min);
        times.iter().copied().fold(0.0, f64::max) - quickest
    }
    /// The share of all cues that were in the four keys that were `slowest` on the first ten days, or else in the four that were quickest
    /// then. It would be a third if all keys were asked equally often.
    fn share(&self, slowest: bool) -> f64 {
        let mut order: Vec<usize> = (0..12).collect();
        order.sort_by(|a, b| self.first[*b].total_cmp(&self.first[*a]));
        let four = if slowest { &order[..4] } else { &order[8..] };
        let cues: u32 = four.iter().map(|place| self.cues[*place]).sum();
        f64::from(cues) / f64::from(self.cues.iter().sum::<u32>())
    }
}

#[test]
fn over_thirty_days_the_keys_of_twelve_players_grow_equal_and_the_weak_ones_got_more_cues() {
    let courses: Vec<Course> = (1..=PLAYERS).map(course).collect();
    println!("Player 1. {}", courses[0].picture);
    println!("player  apart, first and last ten days  cues to the four slowest and to the four quickest");
    for (n, course) in courses.iter().enumerate() {
        let (first, last) = (Course::apart(&course.first), Course::apart(&course.last));
        let (slow, quick) = (course.share(true), course.share(false));
        println!("{:>6}  {first:>15.1} s {last:>11.1} s  {slow:>23.2} {quick:>24.2}", n + 1);
        assert!(last < 0.5 * first, "player {}: {first:.2} s apart, then {last:.2} s", n + 1);
        assert!(slow > 1.2 * quick && slow > 0.36, "player {}: {slow:.2} and {quick:.2} of the cues", n + 1);
    }
    let mean = |of: fn(&Course) -> f64| courses.iter().map(of).sum::<f64>() / courses.len() as f64;
    let (first, last) = (mean(|c| Course::apart(&c.first)), mean(|c| Course::apart(&c.last)));
    assert!(last < 0.35 * first, "all twelve: {first:.2} s apart, then {last:.2} s");
}

/// Compares two runs of one player over four days: once in sound, through ear and drill, and once without sound, for the same cues.
#[test]
fn in_sound_the_days_are_the_same() {
    const RATE: SampleRate = SampleRate::CD;
    let settings = sitting_on(0);
    let (mut sounding, mut silent) = (demo_player(&settings, 3), demo_player(&settings, 3));
    let mut beliefs = LearnerModel::new();
    let (mut cues, mut alike, mut timed, mut near) = (0, 0, 0, 0);
    for day in 0..4 {
        let ear = EarSettings { rate: RATE, lowest: Hertz(110.0), highest: Hertz(1500.0), a4: A440 };
        let drill = Drill::new(sitting_on(day), beliefs, Rng::new(3));
        let mut audio = SimulatedAudio::new(sounding, RATE, A440, 3, true);
        let (mut asked, mut judged): (Vec<Cue>, Vec<(u32, Verdict)>) = (Vec::new(), Vec::new());
        let mut listener = Listener::new(ear, Echo::new(RATE), &mut audio);
        let drill = unattended(drill, &mut listener, A440, 16, &mut |event| match event {
            Event::Cued { cue, .. } => asked.push(cue),
            Event::Judged(judgement) => judged.push((judgement.cue, judgement.verdict)),
            _ => {}
        });
        beliefs = drill.learner().clone();
        sounding = audio.into_player();
        // The last cue may have been cut short by the end of the sitting, so it is not held against the player.
        for cue in &asked {
            let heard = judged.iter().find(|(number, _)| *number == cue.number).map(|(_, verdict)| verdict);
            let played = played(&mut silent, cue, &settings);
            let words = |verdict: &Verdict| {
                let labels: Vec<_> = verdict.expected.iter().map(|note| note.label).collect();
                (verdict.related, verdict.enough_in_format_1, verdict.shift, verdict.attempts, labels)
            };
            cues += 1;
            alike += u32::from(heard.map(words) == played.as_ref().map(words));
            if let (Some(one), Some(other)) = (heard.and_then(|v| v.reflex), played.and_then(|v| v.reflex)) {
                timed += 1;
                near += u32::from((one.time.0 - other.time.0).abs() < 0.02);
            }
        }
        assert_eq!(sounding.skill(), silent.skill(), "day {day}: the same was played");
        sounding.rest(1.0);
        silent.rest(1.0);
    }
    println!("{alike} of {cues} answers the same in sound; {near} of {timed} reflex times within 20 ms");
    assert!(alike * 100 >= cues * 95, "{alike} of {cues} answers the same");
    assert!(near * 100 >= timed * 95, "{near} of {timed} reflex times");
}
