use super::*;
use crate::coach::Rng;
use crate::music::Mode;
use crate::units::Seconds;

/// A planted player: every key's middle time falls from 1.6 to .6 s, and its spread over the middle goes from .3 to `last`.
#[derive(Clone, Copy)]
struct Planted {
    /// Number of times of each key.
    times: usize,
    /// Number of keys.
    keys: usize,
    /// Spread over the middle at last; logarithms of times are normal, one time in twenty is a lapse (1.7 times as long, at the
    /// median).
    last: f64,
    /// What no practice shortens, in seconds.
    fixed: f64,
    /// Whether times fall quickly at first and then slowly (a power of the tries, as practice mostly goes: Newell & Rosenbloom 1981);
    /// otherwise they fall evenly.
    power: bool,
}

fn normal(rng: &mut Rng) -> f64 {
    let (one, other) = (rng.uniform().max(1e-300), rng.uniform());
    (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos()
}

impl Planted {
    fn time(&self, n: usize, rng: &mut Rng) -> f64 {
        let (from, to) = (1.6f64, 0.6f64);
        let part = n as f64 / (self.times - 1) as f64;
        let ratio = to / from;
        let middle =
            from * if self.power { (1.0 + 29.0 * part).powf(ratio.ln() / 30f64.ln()) } else { ratio.powf(part) };
        let spread = 0.3 * (self.last / 0.3).powf(part);
        let lapse = if rng.uniform() < 0.05 { (0.8 * normal(rng).abs()).exp() } else { 1.0 };
        self.fixed + (middle - self.fixed) * (spread * normal(rng)).exp() * lapse
    }

    fn steps(&self, rng: &mut Rng) -> Vec<Vec<Step>> {
        let key = |rng: &mut Rng| {
            let times: Vec<f64> = (0..self.times).map(|n| self.time(n, rng)).collect();
            times.windows(2).map(|two| step(two[0], two[1])).collect()
        };
        (0..self.keys).map(|_| key(rng)).collect()
    }

    /// The share of draws in which a fall is reported.
    fn reported(&self, draws: u32, seed: u64) -> f64 {
        let (rng, bar) = (&mut Rng::new(seed), if self.keys == 1 { BAR_A_KEY } else { BAR });
        let mut reported = 0;
        for _ in 0..draws {
            let keys = self.steps(rng);
            let both: Vec<[&[Step]; 2]> = keys.iter().filter_map(|steps| thirds(steps)).collect();
            reported += u32::from(fell(&both, bar) == Some(true));
        }
        f64::from(reported) / f64::from(draws)
    }
}

/// Number of draws, more where the longer tests are run.
fn draws() -> u32 {
    if std::env::var_os("EARFIRST_LONGER").is_some() { 2000 } else { 120 }
}

const ALL_KEYS: Planted = Planted { times: NEEDED / 12 + 1, keys: 12, last: 0.3, fixed: 0.15, power: false };
const ONE_KEY: Planted = Planted { times: NEEDED_A_KEY + 1, keys: 1, last: 0.3, fixed: 0.15, power: false };

#[test]
fn who_only_grows_quicker_is_told_so_at_most_one_time_in_twenty() {
    // Normal bounds of a share of .05, three standard errors.
    let most = 0.05 + 3.0 * (0.05 * 0.95 / f64::from(draws())).sqrt();
    for (seed, planted) in (1..).zip([
        ALL_KEYS,
        Planted { power: true, ..ALL_KEYS },
        Planted { fixed: 0.0, ..ALL_KEYS },
        Planted { power: true, ..ONE_KEY },
    ]) {
        let reported = planted.reported(draws(), seed);
        assert!(reported <= most, "{seed}: {reported}");
    }
}

#[test]
fn a_spread_that_halves_is_found_four_times_in_five_with_as_many_times_as_are_asked_for() {
    let least = 0.8 - 3.0 * (0.8 * 0.2 / f64::from(draws())).sqrt();
    for planted in [Planted { last: 0.15, ..ALL_KEYS }, Planted { last: 0.15, ..ONE_KEY }] {
        let reported = planted.reported(draws(), 11);
        assert!(reported >= least, "{reported}");
    }
    let less = Planted { last: 0.2, ..ALL_KEYS };
    assert!(less.reported(draws(), 12) < 0.7, "a third less takes more of them");
}

#[test]
fn the_table_of_the_figures() {
    if std::env::var_os("EARFIRST_LONGER").is_none() {
        return;
    }
    println!("| keys | times a key | only quicker, evenly | by a power | .2 s fixed | spread a third less | halved |");
    for (keys, times) in [(12, 25), (12, 31), (12, 49), (12, 97), (1, 121), (1, 361), (1, 721)] {
        let it = Planted { keys, times, ..ALL_KEYS };
        let row: Vec<String> = [
            it,
            Planted { power: true, ..it },
            Planted { fixed: 0.2, ..it },
            Planted { last: 0.2, ..it },
            Planted { last: 0.15, ..it },
        ]
        .iter()
        .map(|planted| format!("{:.3}", planted.reported(draws(), 21)))
        .collect();
        println!("| {keys} | {times} | {} |", row.join(" | "));
    }
}

fn answer(key: usize, pattern: &str, form: Form, time: f64) -> AnswerFigures {
    AnswerFigures {
        pattern: PatternId(pattern.to_owned()),
        title: pattern.to_owned(),
        key: ConcertKey::FIFTHS[key],
        mode: Mode::Major,
        form,
        whole: true,
        right: 5,
        of: 5,
        reflex: Some(Seconds(time)),
        pace: None,
        away: None,
        held_out: None,
    }
}

#[test]
fn a_time_is_held_against_the_last_one_of_the_same_line_only() {
    let answers = [
        answer(0, "row", Form::FirstNote, 1.0),
        answer(0, "turn", Form::FirstNote, 3.0),
        answer(0, "row", Form::NameOnly, 5.0),
        answer(1, "row", Form::FirstNote, 7.0),
        answer(0, "row", Form::FirstNote, 2.0),
    ];
    let found = steps(answers.iter());
    assert_eq!(found.len(), 1);
    assert_eq!((found[0].0, found[0].1.len()), (ConcertKey::FIFTHS[0], 1));
    assert!((found[0].1[0].whole - 2f64.ln()).abs() < 1e-12);
}

#[test]
fn growing_quicker_alone_leaves_the_spread_over_the_middle_as_it_was() {
    // Every time is 5 % shorter than the one before last, and every second time is a fifth longer than the one before it (steps by
    // hand: ln 1.2 and ln(1.2 / .95)).
    let times = |n: usize| 2.0 * 0.95f64.powi(n as i32 / 2) * if n.is_multiple_of(2) { 1.0 } else { 1.2 };
    let steps: Vec<Step> = (0..61).map(times).collect::<Vec<_>>().windows(2).map(|two| step(two[0], two[1])).collect();
    let [first, last] = spread(&[thirds(&steps).unwrap()]).unwrap();
    assert!((first - last).abs() < 1e-9 && (first - 1.2f64.ln() / 2f64.sqrt()).abs() < 0.04, "{first} {last}");
}
