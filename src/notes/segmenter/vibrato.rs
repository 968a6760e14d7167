use std::f64::consts::TAU;

/// Swings a second that are tried: from 3.5 to 8.5, in fifths of one.
const SLOWEST_HZ: f64 = 3.5;
const STEP_HZ: f64 = 0.2;
const RATES: usize = 26;
/// Seconds after the first pitch at which the swings may begin: many players hold a note still at first.
const BEGINNINGS: [f64; 4] = [0.0, 0.08, 0.16, 0.24];
/// The last pitches are left out, because the swings die down there, seconds.
const DYING: f64 = 0.05;
/// Shortest stretch in which swings can be told, seconds, and least number of them: a note that begins flat rises like a part of one.
const SHORTEST: f64 = 0.2;
const TURNS: f64 = 1.5;
/// Share of the movement of the pitch (of its variance) that the swings must account for; a later beginning must account for `MORE` more.
const EXPLAINED: f64 = 0.8;
const MORE: f64 = 0.02;
/// Least half width of the swings, half steps.
const NARROWEST: f64 = 0.1;
/// About how many pitches are looked at.
const ENOUGH: usize = 160;

/// The pitch about which a note swings, from its pitches in order of time: (seconds, half steps). It is the constant of the sine that lies
/// nearest to them (least squares over the rates of a vibrato), so that neither a broken-off swing nor a pitch that was not heard moves it,
/// as it moves a median. `None` where the pitch does not swing like a vibrato.
pub(super) fn centre_of_swings(pitches: impl Iterator<Item = (f64, f64)> + Clone) -> Option<f64> {
    let (count, first) = (pitches.clone().count(), pitches.clone().next()?.0);
    let last = pitches.clone().last()?.0 - DYING;
    let thinned = pitches.step_by(count / ENOUGH + 1);
    let mut best: Option<Swings> = None;
    for from in BEGINNINGS.map(|after| first + after) {
        if last - from < SHORTEST {
            break;
        }
        let part =
            || thinned.clone().filter(|(at, _)| (from..=last).contains(at)).map(|(at, pitch)| (at - from, pitch));
        let rates = (0..RATES).map(|n| SLOWEST_HZ + STEP_HZ * n as f64).filter(|rate| rate * (last - from) >= TURNS);
        let fitted = rates.filter_map(|rate| Swings::fitted(part(), rate));
        let Some(nearest) = fitted.max_by(|a, b| a.explained.total_cmp(&b.explained)) else { continue };
        if best.is_none_or(|best| nearest.explained > best.explained + MORE) {
            best = Some(nearest);
        }
    }
    best.filter(|swings| swings.explained >= EXPLAINED && swings.width >= NARROWEST).map(|swings| swings.centre)
}

/// A sine that lies nearest to some pitches.
#[derive(Debug, Clone, Copy)]
struct Swings {
    /// Half steps.
    centre: f64,
    /// Half the distance from the lowest to the highest point, half steps.
    width: f64,
    /// Share of the variance that the sine accounts for, 0 to 1.
    explained: f64,
}

impl Swings {
    /// The sine of one rate (swings a second) by the normal equations of least squares; `None` where there are too few pitches for one.
    fn fitted(pitches: impl Iterator<Item = (f64, f64)> + Clone, rate: f64) -> Option<Self> {
        let count = pitches.clone().count() as f64;
        let mean = pitches.clone().map(|(_, pitch)| pitch).sum::<f64>() / count;
        let (mut s, mut c, mut ss, mut sc, mut cc) = (0.0, 0.0, 0.0, 0.0, 0.0);
        let (mut ps, mut pc, mut pp) = (0.0, 0.0, 0.0);
        for (at, pitch) in pitches {
            let ((sin, cos), away) = ((TAU * rate * at).sin_cos(), pitch - mean);
            (s, c, ss, sc, cc) = (s + sin, c + cos, ss + sin * sin, sc + sin * cos, cc + cos * cos);
            (ps, pc, pp) = (ps + away * sin, pc + away * cos, pp + away * away);
        }
        // With the constant taken out (the pitches have no mean), two equations are left.
        let (ss, sc, cc) = (ss - s * s / count, sc - s * c / count, cc - c * c / count);
        let both = ss * cc - sc * sc;
        if count < 20.0 || both <= 1e-6 * ss * cc || pp <= 0.0 {
            return None;
        }
        let (sine, cosine) = ((ps * cc - pc * sc) / both, (pc * ss - ps * sc) / both);
        Some(Self {
            centre: mean - (sine * s + cosine * c) / count,
            width: sine.hypot(cosine),
            explained: (sine * ps + cosine * pc) / pp,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pitch every three milliseconds for `seconds`, as `at` gives it.
    fn pitches(seconds: f64, at: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
        (0..(seconds / 0.003) as usize).map(|n| (3.0 + 0.003 * n as f64, at(0.003 * n as f64))).collect()
    }

    fn centre(pitches: &[(f64, f64)]) -> Option<f64> {
        centre_of_swings(pitches.iter().copied())
    }

    #[test]
    fn a_swing_and_a_half_still_has_its_middle() {
        let short = pitches(0.38, |t| 2.0 + 0.8 * (TAU * 4.7 * t + 0.4).sin());
        assert!((centre(&short).unwrap() - 2.0).abs() < 0.01, "{:?}", centre(&short));
    }

    #[test]
    fn a_note_that_is_still_at_first_and_of_which_the_upper_turns_were_not_heard_keeps_its_middle() {
        let held = pitches(0.9, |t| if t < 0.15 { 2.0 } else { 2.0 + (TAU * 5.5 * (t - 0.15)).sin() });
        let heard: Vec<(f64, f64)> = held.into_iter().filter(|(_, pitch)| *pitch < 2.6).collect();
        assert!((centre(&heard).unwrap() - 2.0).abs() < 0.03, "{:?}", centre(&heard));
    }

    #[test]
    fn a_steady_note_a_slide_and_a_note_that_is_too_short_do_not_swing() {
        assert_eq!(centre(&pitches(0.5, |t| 2.0 + 0.02 * (TAU * 5.0 * t).sin())), None, "two cents are no vibrato");
        assert_eq!(centre(&pitches(0.5, |t| 2.0 + t)), None);
        // A reed that begins 60 cents flat and is there after a tenth of a second.
        assert_eq!(centre(&pitches(0.27, |t| 2.0 - 0.6 * (1.0 - t / 0.1).max(0.0))), None);
        assert_eq!(centre(&pitches(0.1, |t| 2.0 + (TAU * 5.0 * t).sin())), None, "too short");
        assert_eq!(centre(&[]), None);
    }
}
