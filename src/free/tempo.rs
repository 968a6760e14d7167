//! A tempo found from the onsets of a line, where nobody tells it.

use std::f64::consts::TAU;

use crate::units::{Tempo, median, rank};

/// The fewest onsets from which a tempo is found, and the most that are read.
const ONSETS: (usize, usize) = (16, 400);
/// The slowest and the quickest tempo that is looked for, and the ratio from one to the next.
const LOOKED: (f64, f64, f64) = (55.0, 262.0, 1.008);
/// How much it weighs that distances are whole beats, whole halves and whole thirds of a beat.
const WEIGHTS: [f64; 3] = [1.0, 1.0, 0.5];
/// Distances are compared over so many beats, and once more over the second number of beats around the tempo that was found.
const REACH: (f64, f64) = (4.0, 16.0);
/// How far around the tempo that was found it is looked for once more, and the ratio from one to the next.
const NEAR: (f64, f64) = (0.015, 1.0005);
/// The tempo that lines have most often, and how far others lie from it, in octaves (common practice; tempos of twice and half are as
/// good to the ear, so that something has to choose).
const USUAL: (f64, f64) = (130.0, 1.2);
/// The mean distance from onset to onset in beats, and how far it lies from that, in octaves: a line is mostly eighths.
const MOSTLY: (f64, f64) = (0.6, 0.4);
/// The least share of the weights that a pulse has. Onsets at random distances reach .07, lines of which a twelfth of the beats has
/// triplets or sixteenths, each onset 15 ms from its place (standard deviation), .09 and more.
const LEAST: f64 = 0.09;
/// Long to short from which eighths swing. Even ones that lie 15 ms from their places reach 1.34 at quarter = 240, 1.2 at 160.
const SWINGS: f64 = 1.35;
/// The fewest beats with a long and a short eighth from which swing is told.
const PAIRS: usize = 4;

/// The tempo of these onsets, in seconds, that are mostly eighths; `None` where they have no pulse, or are too few.
pub(super) fn found(onsets: &[f64]) -> Option<Tempo> {
    let onsets = onsets.get(..ONSETS.1).unwrap_or(onsets);
    if onsets.len() < ONSETS.0 {
        return None;
    }
    let gaps: Vec<f64> = onsets.windows(2).map(|pair| pair[1] - pair[0]).collect();
    // Rests are left out of the mean.
    let long = 4.0 * median(&gaps)?;
    let (sum, count) =
        gaps.iter().filter(|gap| **gap < long).fold((0.0, 0.0), |(sum, count), gap| (sum + gap, count + 1.0));
    let mean = sum / f64::max(count, 1.0);
    let likely = |tempo: f64| {
        let octaves = |of: f64, wide: f64| (of.log2() / wide).powi(2);
        let usual = octaves(tempo / USUAL.0, USUAL.1) + octaves(mean * tempo / 60.0 / MOSTLY.0, MOSTLY.1);
        let fits = fits(onsets, 60.0 / tempo, REACH.0, WEIGHTS);
        // A pulse that fits worse than chance does not become likely by being usual.
        (fits / WEIGHTS.iter().sum::<f64>() + 0.12).max(0.0) * (-0.5 * usual).exp()
    };
    let rough = best(LOOKED.0, LOOKED.1, LOOKED.2, likely);
    let exactly = |tempo: f64| fits(onsets, 60.0 / tempo, REACH.1, [1.0, 1.0, 0.0]);
    let tempo = best(rough * (1.0 - NEAR.0), rough * (1.0 + NEAR.0), NEAR.1, exactly);
    let pulse = fits(onsets, 60.0 / tempo, REACH.0, WEIGHTS) / WEIGHTS.iter().sum::<f64>();
    (pulse >= LEAST).then_some(Tempo(tempo))
}

/// Long to short of eighths that swing: the median over the beats that two notes divide; `None` where they are even, or too few.
pub(super) fn swing(onsets: &[f64], tempo: Tempo) -> Option<f64> {
    let beat = tempo.beat().0;
    let pairs = onsets.windows(3).map(|three| (three[1] - three[0], three[2] - three[1]));
    let divides = |(one, other): &(f64, f64)| ((one + other) / beat - 1.0).abs() < 0.15 && one.min(*other) > 0.2 * beat;
    let ratios: Vec<f64> = pairs.filter(divides).map(|(one, other)| one.max(other) / one.min(other)).collect();
    median(&ratios).filter(|ratio| ratios.len() >= PAIRS && *ratio >= SWINGS)
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
                right += u32::from(heard.is_some_and(|it| (it.0 / tempo - 1.0).abs() < 0.01));
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
