//! A held tone whose pitch goes in a slow wave, or swells once and comes back: neither is a bent end of it.

use crate::units::{Cents, Hertz, Seconds, median};

/// Slowest and quickest wave that is looked for, in turns a second; a quicker one is a vibrato.
const WAVES_HZ: (f64, f64) = (0.3, 3.2);
/// Steps in which it is looked for, in turns a second.
const STEP_HZ: f64 = 0.02;
/// Smallest number of turns that make a wave.
const TURNS: f64 = 2.2;
/// A wave leaves no more than this share of what a straight line leaves (root mean square).
const BETTER: f64 = 0.4;
/// Smallest wave that is told, to either side, and smallest swell, in cents.
const FELT: f64 = 8.0;
const SWELLS: f64 = 12.0;
/// Share of a tone at either end that tells where a swell comes from and goes to.
const OUTER: f64 = 0.12;
/// Largest distance, in cents, of the two ends of a tone that swells and comes back, and of all that lies outside the swell (root mean
/// square).
const BACK: (f64, f64) = (5.0, 3.0);
/// The two ends of the tone together may go the way of a swell by so many cents, and by this share of it: a tone that moves all the
/// time has no level to come back to.
const STANDS: (f64, f64) = (2.0, 0.1);
/// Share of a swell below which it has not begun, or is over.
const BEGUN: f64 = 0.15;

/// A pitch that goes up and down slowly, about a straight line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlowWave {
    /// Turns a second.
    pub rate: Hertz,
    /// How far it goes to either side.
    pub extent: Cents,
}

/// A pitch that left its level once and came back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToneSwell {
    /// When it was farthest, from the beginning of the tone.
    pub at: Seconds,
    /// How far it went; above 0 is upwards.
    pub by: Cents,
    /// How long it lasted, from leaving to coming back.
    pub lasting: Seconds,
}

/// The slow wave of a path (seconds and cents), with the level at 0 s and the slope of the line about which it goes; `None` where there is
/// none.
pub(super) fn slow_wave(path: &[(f64, f64)]) -> Option<(SlowWave, f64, f64)> {
    let length = path.last()?.0 - path.first()?.0;
    let line = fit(path, None)?;
    let slowest = WAVES_HZ.0.max(TURNS / length);
    let rates = (0..).map(|n| slowest + f64::from(n) * STEP_HZ).take_while(|rate| *rate <= WAVES_HZ.1);
    let fits = rates.filter_map(|rate| Some((rate, fit(path, Some(rate))?)));
    let (rate, best) = fits.min_by(|a, b| a.1.left.total_cmp(&b.1.left))?;
    let extent = best.factors[2].hypot(best.factors[3]);
    let wave = SlowWave { rate: Hertz(rate), extent: Cents(extent) };
    (extent >= FELT && best.left <= BETTER * line.left).then_some((wave, best.factors[0], best.factors[1]))
}

/// Level, slope, and the two parts of a wave, with the root mean square of what they leave.
struct WaveFit {
    factors: [f64; 4],
    left: f64,
}

/// The line, and the wave of this rate where one is given, that fit a path best by least squares.
fn fit(path: &[(f64, f64)], rate: Option<f64>) -> Option<WaveFit> {
    let size = if rate.is_some() { 4 } else { 2 };
    let shapes = |at: f64| {
        let turn = std::f64::consts::TAU * rate.unwrap_or(0.0) * at;
        [1.0, at, turn.sin(), turn.cos()]
    };
    let mut rows = [[0.0; 5]; 4];
    for (at, cents) in path {
        let shape = shapes(*at);
        for (row, one) in rows.iter_mut().zip(shape).take(size) {
            row.iter_mut().zip(shape).for_each(|(sum, other)| *sum += one * other);
            row[4] += one * cents;
        }
    }
    let factors = solved(rows, size)?;
    let said = |at: f64| shapes(at).iter().zip(factors).take(size).map(|(shape, factor)| shape * factor).sum::<f64>();
    let squares: f64 = path.iter().map(|(at, cents)| (cents - said(*at)).powi(2)).sum();
    Some(WaveFit { factors, left: (squares / path.len() as f64).sqrt() })
}

/// The solution of the first `size` equations, by elimination; the fifth column is their right side. `None` where they have none.
fn solved(mut rows: [[f64; 5]; 4], size: usize) -> Option<[f64; 4]> {
    for n in 0..size {
        let largest = (n..size).max_by(|a, b| rows[*a][n].abs().total_cmp(&rows[*b][n].abs()))?;
        rows.swap(n, largest);
        if rows[n][n].abs() < 1e-9 {
            return None;
        }
        let from = rows[n];
        for (_, row) in rows.iter_mut().enumerate().take(size).filter(|(other, _)| *other != n) {
            let times = row[n] / from[n];
            row.iter_mut().zip(from).for_each(|(one, other)| *one -= times * other);
        }
    }
    let mut factors = [0.0; 4];
    (0..size).for_each(|n| factors[n] = rows[n][4] / rows[n][n]);
    Some(factors)
}

/// The swell of a path and the level that it left and came back to; `None` where it did not leave one level once and come back.
pub(super) fn swell(path: &[(f64, f64)]) -> Option<(ToneSwell, f64)> {
    let (from, until) = (path.first()?.0, path.last()?.0);
    let outer = OUTER * (until - from);
    let level = |part: &dyn Fn(f64) -> bool| {
        median(&path.iter().filter(|look| part(look.0)).map(|look| look.1).collect::<Vec<_>>())
    };
    let (first, last) = (level(&|at| at <= from + outer)?, level(&|at| at >= until - outer)?);
    let half = 0.5 * outer;
    let (begins, ends) = (level(&|at| at <= from + half)?, level(&|at| at >= until - half)?);
    let base = 0.5 * (begins + ends);
    let peak = *path.iter().max_by(|a, b| (a.1 - base).abs().total_cmp(&(b.1 - base).abs()))?;
    let by = peak.1 - base;
    let away = |look: &&(f64, f64)| (look.1 - base) * by.signum() > BEGUN * by.abs();
    let left = path.iter().rev().skip_while(|look| look.0 > peak.0).take_while(away).last()?.0;
    let back = path.iter().skip_while(|look| look.0 < peak.0).take_while(away).last()?.0;
    let outside: Vec<f64> =
        path.iter().filter(|look| look.0 < left || look.0 > back).map(|look| (look.1 - base).powi(2)).collect();
    let rest = (outside.iter().sum::<f64>() / outside.len().max(1) as f64).sqrt();
    let inside = left > from + half && back < until - half;
    let goes = (first - begins) + (last - ends);
    let comes_back =
        (begins - ends).abs() <= BACK.0 && rest <= BACK.1 && goes * by.signum() < STANDS.0.max(STANDS.1 * by.abs());
    let swell = ToneSwell { at: Seconds(peak.0), by: Cents(by), lasting: Seconds(back - left) };
    (by.abs() >= SWELLS && inside && comes_back).then_some((swell, base))
}
