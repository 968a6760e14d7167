//! The tempo of lines that nobody counted in: tunes in quarters, lines in eighths and mixtures of both, from quarter = 60 to 240, even and
//! swung, played by the simulated player and heard by the ear.
//!
//! `EARFIRST_LONGER=1` plays four lines of each kind at each of eleven tempos, from the seed `EARFIRST_SEED` on; else four lines in all.
//! `--nocapture` shows the figures.

use earfirst::outside::coach::Rng;
use earfirst::outside::cue::{Form, Timing};
use earfirst::outside::free::FreeLine;
use earfirst::outside::music::{Concert, ConcertKey, Range as Compass};
use earfirst::outside::notes::{EarSettings, hear_clip};
use earfirst::outside::pattern::{ExpectedNote, Line};
use earfirst::outside::simulated::{AnswerClock, Profile, SimulatedPlayer, Skill, Timbre};
use earfirst::outside::units::{A440, Beats, Cents, Hertz, SampleRate, Seconds, Tempo};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::asking;

const RATE: SampleRate = SampleRate::CD;
const TEMPOS: [f64; 11] = [60.0, 70.0, 80.0, 92.0, 104.0, 120.0, 138.0, 160.0, 184.0, 210.0, 240.0];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mostly {
    Quarters,
    Eighths,
    Mixed,
}

const KINDS: [Mostly; 3] = [Mostly::Quarters, Mostly::Eighths, Mostly::Mixed];

fn below(rng: &mut Rng, n: usize) -> usize {
    (rng.uniform() * n as f64) as usize % n
}

/// The next notes of a line from a beat on, each with its place and length in beats, and the beat after them; `off` is where the second
/// eighth of a beat stands.
fn next(mostly: Mostly, beat: f64, off: f64, rng: &mut Rng) -> (Vec<(f64, f64)>, f64) {
    let eighths = vec![(beat, off), (beat + off, 1.0 - off)];
    let (quarter, half) = (vec![(beat, 1.0)], vec![(beat, 2.0)]);
    let dotted = vec![(beat, 1.5), (beat + 1.0 + off, 1.0 - off)];
    let off_beat = vec![(beat + off, 1.0 - off)];
    let triplet: Vec<(f64, f64)> = (0..3).map(|n| (beat + f64::from(n) / 3.0, 0.33)).collect();
    let draw = below(rng, 20);
    let (notes, beats) = match (mostly, draw) {
        (Mostly::Quarters, 0..13) => (quarter, 1.0),
        (Mostly::Quarters, 13..16) => (eighths, 1.0),
        (Mostly::Quarters, 16..18) => (half, 2.0),
        (Mostly::Quarters, _) => (dotted, 2.0),
        (Mostly::Eighths, 0..14) | (Mostly::Mixed, 0..8) => (eighths, 1.0),
        (Mostly::Eighths, 14..16) | (Mostly::Mixed, 8..14) => (quarter, 1.0),
        (Mostly::Mixed, 14) => (half, 2.0),
        (Mostly::Mixed, 15..17) => (dotted, 2.0),
        (_, 16 | 17) => (Vec::new(), 1.0),
        (_, 18) => (off_beat, 1.0),
        _ => (triplet, 1.0),
    };
    (notes, beat + beats)
}

/// Twelve or sixteen bars in phrases of two or four, each of which ends on a long note and a rest.
fn line(mostly: Mostly, off: f64, bars: u32, rng: &mut Rng) -> Line {
    let (mut beat, mut phrase, mut rhythm) = (0.0, 8.0, Vec::new());
    while beat < f64::from(4 * bars) {
        if beat + 2.0 < phrase {
            let (notes, after) = next(mostly, beat, off, rng);
            rhythm.extend(notes);
            beat = after;
            continue;
        }
        rhythm.push((beat, 1.0));
        (beat, phrase) = (phrase.max(beat + 1.0), phrase + if below(rng, 2) == 0 { 8.0 } else { 16.0 });
    }
    let (mut height, mut way) = (67, 1);
    let notes = rhythm.into_iter().map(|(at, length)| {
        way = if height > 76 {
            -1
        } else if height < 60 {
            1
        } else if below(rng, 4) == 0 {
            -way
        } else {
            way
        };
        height += way * [1, 2, 2, 3, 4][below(rng, 5)];
        ExpectedNote { pitch: Concert(height), at: Beats(at), length: Beats(length), named: None }
    });
    Line { notes: notes.collect(), length: Beats(f64::from(4 * bars)) }
}

/// The line as it was heard, and the pace at which the player truly played it.
fn heard(line: Line, tempo: f64, timbre: Timbre, seed: u64) -> (FreeLine, Tempo) {
    let mut asked = asking::cue(&[60, 62], tempo, Form::FirstNote, Timing::InTempo);
    asked.line = line;
    let profile = Profile {
        timbre,
        range: Compass::new(Concert(50), Concert(90)),
        skill: Skill::around(ConcertKey::FIFTHS[0], 0.9),
        offset: Cents(6.0),
        faulty: 0.05,
    };
    // One that goes wrong on purpose is played again.
    let played = (0..).map(|again| {
        let mut player = SimulatedPlayer::new(ChaCha8Rng::seed_from_u64(seed * 100 + again), profile.clone());
        let clock = AnswerClock { cue_end: Seconds(0.0), beat_zero: Some(Seconds(0.5)) };
        player.answer(&asked, clock, RATE, A440)
    });
    let sounded = played.into_iter().find(|sounded| sounded.truth.faults.is_empty()).unwrap();
    let settings = EarSettings { rate: RATE, lowest: Hertz(130.0), highest: Hertz(1800.0), a4: A440 };
    (FreeLine::heard(&hear_clip(&settings, &sounded.clip), None).unwrap(), sounded.truth.pace)
}

#[test]
fn the_tempo_of_tunes_in_quarters_and_of_lines_in_eighths_is_heard() {
    let longer = std::env::var_os("EARFIRST_LONGER").is_some();
    let mut seed = std::env::var("EARFIRST_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(1u64);
    let (mut right, mut either, mut all) = ([0; 3], [0; 3], [0; 3]);
    for (n, mostly) in KINDS.into_iter().enumerate() {
        for tempo in if longer { TEMPOS.to_vec() } else { vec![[104.0, 184.0, 138.0][n]] } {
            for turn in 0..if longer { 4 } else { 1 } {
                seed += 1;
                // Eighths are even in every other line; the quicker, the less the others swing (common practice).
                let ratio = if turn % 2 == 0 { 1.0 } else { 2.0 - (f64::max(tempo, 120.0) - 120.0) / 180.0 };
                let bars = if tempo > 150.0 { 16 } else { 12 };
                let line = line(mostly, ratio / (1.0 + ratio), bars, &mut Rng::new(seed));
                let timbre = if turn < 2 { Timbre::Reed } else { Timbre::Brass };
                let (line, pace) = heard(line, tempo, timbre, seed);
                let is = |told: Option<Tempo>| told.is_some_and(|told| (told.0 / pace.0 - 1.0).abs() < 0.02);
                all[n] += 1;
                right[n] += usize::from(is(line.tempo));
                either[n] += usize::from(is(line.tempo) || is(line.tempo_or));
                if !is(line.tempo) {
                    println!(
                        "{mostly:?} at {:.0}, long to short {ratio:.2}: {:?}",
                        pace.0,
                        (line.tempo, line.tempo_or)
                    );
                }
            }
        }
    }
    println!("{KINDS:?}: of {all:?} lines {right:?} at their tempo, {either:?} with the other reading");
    assert!(right.iter().zip(all).all(|(right, all)| 10 * right >= 9 * all), "{right:?} of {all:?}");
}
