//! A tempo found from the onsets of a line, where nobody tells it.

use std::f64::consts::TAU;

use crate::units::{Tempo, median, rank};

/// The fewest onsets from which a tempo is found, and the most that are read.
const ONSETS: (usize, usize) = (16, 400);
/// The slowest and the quickest tempo that is looked for, and the ratio from one to the next.
const LOOKED: (f64, f64, f64) = (45.0, 262.0, 1.01);
/// How far around the tempo that was found it is looked for once more, and the ratio from one to the next.
const NEAR: (f64, f64) = (0.015, 1.0005);
/// How much it weighs that distances are whole beats, whole halves and whole thirds of a beat.
const WEIGHTS: [f64; 3] = [1.0, 1.0, 0.5];
/// Distances are compared over so many beats, and once more over the second number of beats around the tempo that was found.
const REACH: (f64, f64) = (4.0, 16.0);
/// The least share of the weights that a pulse has. Onsets at random distances reach .07, lines of which a twelfth of the beats has
/// triplets or sixteenths, each onset 15 ms from its place (standard deviation), .09 and more.
const LEAST: f64 = 0.09;
/// A line has the tempo of its file where no tempo within the first share of it has much more pulse: that of the file has at least the second
/// share of the best. One per cent beside it a line has .7.
const BESIDE: f64 = 0.05;
/// See `BESIDE`.
const OF_BEST: f64 = 0.8;
/// Over many beats a line that was played to a click has at least this share of the pulse it has over a few.
const HOLDS: f64 = 0.5;
/// A distance from onset to onset lies so far from its note value: in seconds, and as a share of it (standard deviations).
const STRAYS: (f64, f64) = (0.022, 0.03);
/// The density, in seconds, of distances that are no note value.
const STRAY: f64 = 0.02;
/// Long to short of eighths, and how often lines have it.
const SWUNG: [(f64, f64); 3] = [(1.0, 0.5), (1.6, 0.25), (2.2, 0.25)];
/// Another reading of the beat is told where its logarithm is at most so far below the likeliest. Of lines whose note values are mixed it is
/// mostly 17 and more, of equal notes less than 6.
const CLOSE: f64 = 6.0;
/// The ratios at which the same line may be counted otherwise.
const OTHERWISE: [f64; 2] = [2.0, 0.5];
/// Long to short from which eighths swing. Even ones that lie 15 ms from their places reach 1.34 at quarter = 240, 1.2 at 160.
const SWINGS: f64 = 1.35;
/// The fewest beats with a long and a short eighth from which swing is told.
const PAIRS: usize = 4;

/// Where in its beat a note begins: on it, on the second eighth, on the second and third of a triplet, on the second and fourth sixteenth.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Place {
    On,
    Off,
    SecondThird,
    LastThird,
    SecondSixteenth,
    LastSixteenth,
}
use Place::{LastSixteenth, LastThird, Off, On, SecondSixteenth, SecondThird};

const PLACES: [Place; 6] = [On, Off, SecondThird, LastThird, SecondSixteenth, LastSixteenth];

/// A kind of line.
struct LineKind {
    /// From which place of a beat a line goes to which, after so many quarters, where eighths are even; and how often.
    goes: &'static [(Place, Place, f64, f64)],
    /// The tempo that lines of this kind have most often, and how far others lie from it, in octaves (standard deviation).
    usual: (f64, f64),
    /// How many lines are of this kind.
    often: f64,
}

const THIRD: f64 = 1.0 / 3.0;

/// Lines that run in eighths, as most improvised ones do, and tunes in quarters (common practice; the shares are round numbers). A note
/// of a beat or more begins on a beat more often than between two.
const KINDS: [LineKind; 2] = [
    LineKind {
        goes: &[
            (On, Off, 0.5, 0.66),
            (On, On, 1.0, 0.16),
            (On, On, 2.0, 0.04),
            (On, On, 3.0, 0.02),
            (On, On, 4.0, 0.02),
            (On, Off, 1.5, 0.05),
            (On, Off, 2.5, 0.01),
            (On, SecondThird, THIRD, 0.03),
            (On, SecondSixteenth, 0.25, 0.02),
            (On, LastSixteenth, 0.75, 0.005),
            (Off, On, 0.5, 0.78),
            (Off, On, 1.5, 0.07),
            (Off, On, 2.5, 0.03),
            (Off, Off, 1.0, 0.06),
            (Off, Off, 2.0, 0.03),
            (Off, LastSixteenth, 0.25, 0.02),
            (SecondThird, LastThird, THIRD, 0.95),
            (LastThird, On, THIRD, 0.9),
            (SecondSixteenth, Off, 0.25, 0.9),
            (LastSixteenth, On, 0.25, 0.9),
        ],
        usual: (130.0, 0.75),
        often: 0.6,
    },
    LineKind {
        goes: &[
            (On, On, 1.0, 0.7),
            (On, On, 2.0, 0.09),
            (On, On, 3.0, 0.02),
            (On, On, 4.0, 0.02),
            (On, Off, 0.5, 0.1),
            (On, Off, 1.5, 0.04),
            (On, SecondThird, THIRD, 0.01),
            (On, SecondSixteenth, 0.25, 0.01),
            (On, LastSixteenth, 0.75, 0.005),
            (Off, On, 0.5, 0.85),
            (Off, On, 1.5, 0.05),
            (Off, Off, 1.0, 0.05),
            (Off, LastSixteenth, 0.25, 0.01),
            (SecondThird, LastThird, THIRD, 0.95),
            (LastThird, On, THIRD, 0.9),
            (SecondSixteenth, Off, 0.25, 0.9),
            (LastSixteenth, On, 0.25, 0.9),
        ],
        usual: (110.0, 0.6),
        often: 0.4,
    },
];

/// A tempo that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TempoFound {
    /// The likeliest tempo.
    pub tempo: Tempo,
    /// The same line counted twice as quick or twice as slow, where that is nearly as likely.
    pub other: Option<Tempo>,
}

/// The tempo of these onsets, in seconds; `None` where they have no pulse, or are too few.
///
/// Onsets tell where beats may lie, hardly which of them are quarters: the same line can be written in eighths or, at half the tempo, in
/// sixteenths. That is chosen by which note values and which tempos lines usually have.
pub(super) fn found(onsets: &[f64]) -> Option<TempoFound> {
    let onsets = onsets.get(..ONSETS.1).unwrap_or(onsets);
    if onsets.len() < ONSETS.0 {
        return None;
    }
    let gaps: Vec<f64> = onsets.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let rough = best(LOOKED.0, LOOKED.1, LOOKED.2, |tempo| likely(&gaps, tempo));
    let exactly = |tempo: f64| fits(onsets, 60.0 / tempo, REACH.1, [1.0, 1.0, 0.0]);
    let tempo = best(rough * (1.0 - NEAR.0), rough * (1.0 + NEAR.0), NEAR.1, exactly);
    let at = likely(&gaps, rough);
    let others = OTHERWISE.map(|by| (tempo * by, likely(&gaps, rough * by)));
    let close = others.into_iter().filter(|(_, other)| *other > at - CLOSE).max_by_key(|(_, other)| rank(*other));
    (pulse(onsets, tempo) >= LEAST)
        .then_some(TempoFound { tempo: Tempo(tempo), other: close.map(|(tempo, _)| Tempo(tempo)) })
}

/// Whether these onsets have the pulse of a tempo, and of none beside it, or are too few to have another one. What was played to a click keeps
/// its pulse over many beats as it does over a few; any other line drifts.
pub(super) fn has_pulse(onsets: &[f64], tempo: Tempo) -> bool {
    let onsets = onsets.get(..ONSETS.1).unwrap_or(onsets);
    if onsets.len() < ONSETS.0 {
        return true;
    }
    let over = |beats: f64, tempo: f64| fits(onsets, 60.0 / tempo, beats, WEIGHTS);
    let near = best(tempo.0 * (1.0 - BESIDE), tempo.0 * (1.0 + BESIDE), NEAR.1, |near| over(REACH.1, near));
    let least = (OF_BEST * over(REACH.1, near)).max(HOLDS * over(REACH.0, tempo.0));
    pulse(onsets, tempo.0) >= LEAST && over(REACH.1, tempo.0) >= least
}

/// The share of the weights that a tempo has: 1 for exact, about 0 for no pulse.
fn pulse(onsets: &[f64], tempo: f64) -> f64 {
    fits(onsets, 60.0 / tempo, REACH.0, WEIGHTS) / WEIGHTS.iter().sum::<f64>()
}

/// How likely these distances from onset to onset are at a tempo, as a logarithm.
fn likely(gaps: &[f64], tempo: f64) -> f64 {
    let of = |kind: &LineKind| {
        let octaves = (tempo / kind.usual.0).log2() / kind.usual.1;
        let all = SWUNG.map(|(swung, often)| followed(gaps, 60.0 / tempo, kind, swung) + often.ln());
        log_of_sum(&all) - 0.5 * octaves * octaves + kind.often.ln()
    };
    log_of_sum(&KINDS.each_ref().map(of))
}

/// How likely the distances are for a kind of line, by the forward algorithm of hidden Markov models (Rabiner, "A tutorial on hidden Markov
/// models", 1989): what is hidden is the place of each onset in its beat.
fn followed(gaps: &[f64], beat: f64, kind: &LineKind, swung: f64) -> f64 {
    let late = swung / (1.0 + swung) - 0.5;
    let at = |place: Place| if place == Off { late } else { 0.0 };
    let goes: Vec<(usize, usize, f64, f64, f64)> = kind
        .goes
        .iter()
        .map(|(from, to, after, often)| {
            let after = (after + at(*to) - at(*from)) * beat;
            let strays = STRAYS.0.hypot(STRAYS.1 * after);
            (*from as usize, *to as usize, after, strays, often / (strays * TAU.sqrt()))
        })
        .collect();
    let mut places = [0.7, 0.3, 0.0, 0.0, 0.0, 0.0];
    let mut sum = 0.0;
    for gap in gaps {
        let mut next = [0.0; PLACES.len()];
        for (from, to, after, strays, often) in &goes {
            let off = (gap - after) / strays;
            if off.abs() < 6.0 {
                next[*to] += places[*from] * often * (-0.5 * off * off).exp();
            }
        }
        // After a distance that is no note value the line may go on on a beat or between two.
        next[0] += 0.7 * STRAY;
        next[1] += 0.3 * STRAY;
        let all: f64 = next.iter().sum();
        sum += all.ln();
        places = next.map(|one| one / all);
    }
    sum
}

fn log_of_sum(all: &[f64]) -> f64 {
    let most = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most + all.iter().map(|one| (one - most).exp()).sum::<f64>().ln()
}

/// Long to short of eighths that swing: the median over the beats that two notes divide; `None` where they are even, or too few.
pub(super) fn swing(onsets: &[f64], tempo: Tempo) -> Option<f64> {
    let beat = tempo.beat().0;
    let pairs = onsets.windows(3).map(|three| (three[1] - three[0], three[2] - three[1]));
    let divides = |(one, other): &(f64, f64)| ((one + other) / beat - 1.0).abs() < 0.15 && one.min(*other) > 0.2 * beat;
    let ratios: Vec<f64> = pairs.filter(divides).map(|(one, other)| one.max(other) / one.min(other)).collect();
    median(&ratios).filter(|ratio| ratios.len() >= PAIRS && *ratio >= SWINGS)
}

/// Whether the first of these onsets lies between two beats, by where the long ones of eighths that swing begin; `None` where they are
/// even, or too few.
pub(super) fn first_is_between(onsets: &[f64], tempo: Tempo) -> Option<bool> {
    swing(onsets, tempo)?;
    let beat = tempo.beat().0;
    let three = onsets.windows(3).map(|three| (three[0], three[1] - three[0], three[2] - three[1]));
    let swung = |(_, one, other): &(f64, f64, f64)| {
        ((one + other) / beat - 1.0).abs() < 0.15 && one.max(*other) >= SWINGS * one.min(*other)
    };
    // Of a long and a short one the first begins on a beat, of a short and a long one the second.
    let on = three.filter(swung).map(|(at, one, other)| if one > other { at } else { at + one });
    let turned: f64 = on.map(|at| ((at - onsets[0]) / beat * TAU).cos()).sum();
    Some(turned < 0.0)
}

fn best(from: f64, to: f64, ratio: f64, good: impl Fn(f64) -> f64) -> f64 {
    let tempos = std::iter::successors(Some(from), |tempo| Some(tempo * ratio)).take_while(|tempo| *tempo <= to);
    tempos.max_by_key(|tempo| rank(good(*tempo))).unwrap_or(from)
}

/// How well the distances between onsets up to `reach` beats apart are whole beats, halves and thirds, by these weights: their sum for
/// exactly, about 0 for no pulse.
fn fits(onsets: &[f64], beat: f64, reach: f64, weights: [f64; 3]) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for (n, one) in onsets.iter().enumerate() {
        for other in &onsets[n + 1..] {
            let beats = (other - one) / beat;
            if beats > reach {
                break;
            }
            let whole = (TAU * beats).cos();
            // Cosines of twice and three times the angle.
            let (half, third) = (2.0 * whole * whole - 1.0, whole * (4.0 * whole * whole - 3.0));
            sum += weights[0] * whole + weights[1] * half + weights[2] * third;
            count += 1.0;
        }
    }
    if count > 0.0 { sum / count } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Splitmix64, from memory.
    fn draw(seed: &mut u64) -> f64 {
        *seed = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = *seed;
        mixed = (mixed ^ mixed >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((mixed ^ mixed >> 31) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Twelve bars mostly of eighths, with quarters, off-beats, rests and triplets, each onset up to 25 ms from its place; `ratio` is long
    /// to short.
    fn line(tempo: f64, ratio: f64, seed: &mut u64) -> Vec<f64> {
        let (beat, off) = (60.0 / tempo, ratio / (1.0 + ratio));
        let mut onsets = Vec::new();
        for n in 0..48 {
            let places: &[f64] = match (draw(seed) * 20.0) as u32 {
                0..=11 => &[0.0, off],
                12..=14 => &[0.0],
                15 | 16 => &[],
                17 | 18 => &[off],
                _ => &[0.0, 1.0 / 3.0, 2.0 / 3.0],
            };
            let late = |place: &f64| (f64::from(n) + place) * beat + 0.05 * (draw(seed) - 0.5);
            onsets.extend(places.iter().map(late).collect::<Vec<_>>());
        }
        onsets
    }

    #[test]
    fn of_lines_of_eighths_from_60_to_240_the_tempo_and_the_swing_are_heard() {
        let (mut right, mut all, mut swings, mut even) = (0, 0, 0, 0);
        let mut seed = 3;
        for tempo in [60.0, 80.0, 100.0, 120.0, 150.0, 180.0, 210.0, 240.0] {
            for ratio in [1.0, 2.0 - (f64::max(tempo, 120.0) - 120.0) / 180.0].repeat(5) {
                let onsets = line(tempo, ratio, &mut seed);
                let heard = found(&onsets);
                all += 1;
                right += u32::from(heard.is_some_and(|it| (it.tempo.0 / tempo - 1.0).abs() < 0.01));
                let swung = swing(&onsets, Tempo(tempo)).is_some();
                swings += u32::from(swung == (ratio > 1.5) || (1.0..1.5).contains(&ratio) && ratio > 1.0);
                even += u32::from(swung && ratio < 1.05);
            }
        }
        println!("{right} of {all} tempos, swing told rightly in {swings}, of even lines {even} said to swing");
        assert!(10 * right >= 9 * all, "{right} of {all}");
        assert!(10 * swings >= 9 * all && even <= 1, "{swings} of {all}, {even}");
    }

    #[test]
    fn of_equal_notes_both_readings_are_told_and_of_mixed_ones_one() {
        let mut seed = 2;
        let equal: Vec<f64> = (0..32).map(|n| 0.5 * f64::from(n) + 0.04 * (draw(&mut seed) - 0.5)).collect();
        let heard = found(&equal).unwrap();
        // Two notes a second are quarters at 120, or eighths at 60 (common practice).
        assert!((heard.tempo.0 - 120.0).abs() < 1.0 && (heard.other.unwrap().0 - 60.0).abs() < 0.5, "{heard:?}");
        assert_eq!(found(&line(120.0, 1.0, &mut seed)).unwrap().other, None);
    }

    #[test]
    fn where_there_is_no_pulse_none_is_made_up() {
        let mut seed = 8;
        let mut some = 0;
        for _ in 0..20 {
            let mut at = 0.0;
            let onsets: Vec<f64> = (0..60)
                .map(|_| {
                    at += 0.12 + 0.5 * draw(&mut seed);
                    at
                })
                .collect();
            some += u32::from(found(&onsets).is_some());
        }
        assert!(some <= 1, "{some} of 20");
        assert_eq!(found(&[0.0, 0.5, 1.0]), None);
    }
}
