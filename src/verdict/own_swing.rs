//! Off-beats that a player puts elsewhere than asked: a swing of their own, late off-beats, or the limp of early ones.

use super::{Expectation, Verdict};
use crate::pattern::{Line, long_to_short};

/// A swing counts as the player's own where it brings the distance of the onsets from their pulse below this share of what it was.
pub(super) const SWINGS: f64 = 0.6;

/// Whoever tries for even eighths puts the off-beats from here on, as a share of the beat (from memory).
const TRIED_EVEN: f64 = 0.45;
/// Off-beats that come early by no more than this, seconds, are what people play who try for even ones: they stray by 15 to 25 ms (Repp 2005,
/// from memory).
const STRAYS_S: f64 = 0.034;
/// The share of the beat at which the off-beats stand must lie below `TRIED_EVEN` by so many standard errors: 1.5, times 1.4 for a median of
/// what rests on three onsets each. The second number counts where only two off-beats are known: they come early together by chance.
const CLEARLY: [f64; 2] = [2.0, 4.0];

/// Shares of the beat up to which eighths are straight, and from which on they swing (1.2 to 1 and 1.35 to 1).
const SWUNG: (f64, f64) = (0.545, 0.575);
/// So many beats at least are straight, and so many swing, where the one goes over to the other: of two that are, chance shows some. The
/// off-beats of each part lie no further apart than the second number, seconds, as those of one who means them alike (Repp 2005, from memory).
const TURNS: (usize, f64) = (3, 0.06);

/// Off-beats came early as a whole where no more than one in so many did not.
const NOT_ALL: usize = 4;

/// The place of a note, in beats, if the player swings in a way of their own: off-beats are moved from where the line has them to `played`
/// long to short.
pub(super) fn own_swing(line: &Line, played: Option<f64>) -> impl Fn(f64) -> f64 {
    let shares = line.long_to_short().zip(played).map(|(asked, played)| (share(asked), share(played)));
    move |at: f64| match shares {
        Some((asked, played)) if (at - at.floor() - asked).abs() < 1e-3 => at.floor() + played,
        _ => at,
    }
}

/// The share of a beat that the long eighth of two takes, from the ratio of long to short, which is held between .2 and 4.
fn share(ratio: f64) -> f64 {
    let ratio = ratio.clamp(0.2, 4.0);
    ratio / (1.0 + ratio)
}

/// Whether the off-beats came early, short-long, where even or swung eighths were asked: nearly all of them, and clearly more so than in
/// eighths that were meant to be even.
pub(super) fn off_beats_early(verdict: &Verdict, asked: &Expectation) -> bool {
    let line = &asked.line;
    let (Some(played), Some(scatter), Some(pace)) = (verdict.swing, verdict.scatter, verdict.pace) else {
        return false;
    };
    if line.long_to_short().is_none() || begins_half_a_beat_before(line) {
        return false;
    }
    let beat_s = pace.beat().0;
    let at_s = |n: usize| Some(beat_s * line.notes[n].at.0 + verdict.expected.get(n)?.off_pulse?.0);
    let pair = |n: usize| {
        let [first, second, next] = [n, n + 1, n + 2];
        long_to_short(line.notes[first].at, line.notes[second].at, line.notes[next].at)?;
        Some((at_s(second)? - at_s(first)?) / (at_s(next)? - at_s(first)?))
    };
    let pairs: Vec<f64> = (0..line.notes.len().saturating_sub(2)).filter_map(pair).collect();
    let even = pairs.iter().filter(|share| **share > TRIED_EVEN).count();
    // One late note makes two or three pairs limp, and start, pace and limp together leave three notes fewer to tell how people stray.
    let notes = verdict.expected.iter().filter(|note| note.off_pulse.is_some()).count();
    if verdict.astray.is_some() && pairs.len() < NOT_ALL || notes < 4 {
        return false;
    }
    let strays_s = scatter.0 * (notes as f64 / (notes - 3) as f64).sqrt();
    let off = CLEARLY[usize::from(pairs.len() < 3)] * strays_s / (beat_s * (pairs.len().max(1) as f64).sqrt());
    NOT_ALL * even <= pairs.len() && share(played) + off < TRIED_EVEN && (0.5 - share(played)) * beat_s > STRAYS_S
}

/// Which note first goes otherwise where a line swung at first and was straight from some beat on, or the other way round, and whether it
/// swung from there; `None` for every other line.
#[must_use]
pub fn swing_turned(verdict: &Verdict, line: &Line) -> Option<(usize, bool)> {
    let beat_s = verdict.pace?.beat().0;
    let at_s = |n: usize| Some(beat_s * line.notes[n].at.0 + verdict.expected.get(n)?.off_pulse?.0);
    let pair = |n: usize| {
        long_to_short(line.notes[n].at, line.notes[n + 1].at, line.notes[n + 2].at)?;
        Some((n, (at_s(n + 1)? - at_s(n)?) / (at_s(n + 2)? - at_s(n)?)))
    };
    let pairs: Vec<(usize, f64)> = (0..line.notes.len().saturating_sub(2)).filter_map(pair).collect();
    let straight = |share: f64| (TRIED_EVEN..SWUNG.0).contains(&share);
    let all = |part: &[(usize, f64)], swung: bool| {
        let (least, most) = part.iter().fold((1.0_f64, 0.0_f64), |ends, (_, it)| (ends.0.min(*it), ends.1.max(*it)));
        let as_said = part.iter().all(|(_, share)| if swung { *share > SWUNG.1 } else { straight(*share) });
        part.len() >= TURNS.0 && as_said && (most - least) * beat_s < TURNS.1
    };
    (1..pairs.len()).find_map(|n| {
        let (before, after) = pairs.split_at(n);
        let swung = [false, true].into_iter().find(|swung| all(before, !swung) && all(after, *swung))?;
        Some((after[0].0, swung))
    })
}

/// Whether a line that is counted from its first note begins with half a beat of pick-up, so that its beats lie half way between whole
/// quarters: it ends there, and its length has half a beat too many for whole bars.
fn begins_half_a_beat_before(line: &Line) -> bool {
    let half = |at: f64| (at - at.floor() - 0.5).abs() < 1e-3;
    let ends = line.notes.last().is_some_and(|last| half(last.at.0));
    ends && half(line.length.0)
}
