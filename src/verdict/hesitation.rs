use super::clock;
use crate::units::{median, rank};

/// A wait longer than the note values ask, by up to this many beats at the player's own pace, makes the next note a late note and is no
/// standing still.
const LATE: f64 = 0.6;
/// A wait longer than the note values ask, by up to this many seconds, is a quick breath (common practice).
const BREATH_S: f64 = 0.3;
/// Extra notes that delay the line by less than this share of the usual distance between its notes were squeezed in and put nothing
/// off.
const IN_BETWEEN: f64 = 0.5;
/// Number of answered notes that are needed for one stand to be reported, and for two. Three stands are never reported: such a line
/// has no pace.
const NOTES: [usize; 2] = [4, 7];

/// A note in time, in the order of the line.
#[derive(Debug, Clone, Copy)]
pub(super) struct TimedNote {
    /// Place of the note in the line, in beats.
    pub beats: f64,
    /// When it begins, in seconds.
    pub onset_s: f64,
    /// Longest time without an onset between the note before and this one, seconds; extra notes have onsets too, since the time
    /// that they took is no standing still.
    pub wait_s: f64,
    /// Whether notes too many came between the note before and this one.
    pub extra: bool,
}

/// Before which notes the player stood still, and for how many seconds, in order.
///
/// The line is parted before the two notes that came after the longest waits beyond their note values, or, where the player did not stand
/// still before both, before the one. The pace is that of the notes within the parts. The player stood still where a part comes later than
/// the one before it, and waited, by more than a late note and more than a breath.
pub(super) fn stands(steps: &[TimedNote]) -> Vec<(usize, f64)> {
    let between: Vec<f64> = steps
        .windows(2)
        .flat_map(|pair| clock::slopes(&[(pair[0].beats, pair[0].onset_s), (pair[1].beats, pair[1].onset_s)]))
        .collect();
    let Some(beat_s) = median(&between) else { return Vec::new() };
    let mut longest: Vec<usize> = (1..steps.len()).collect();
    longest.sort_by_cached_key(|&step| rank(-waited(steps, step, beat_s)));
    let most = NOTES.iter().filter(|notes| steps.len() >= **notes).count();
    (1..=most).rev().find_map(|count| parted(steps, &longest[..count])).unwrap_or_default()
}

/// Before which notes extra notes put the line off, and by how many seconds, in order: where they took time of their own, all that follows
/// is later without being late. A wait beside an extra note that is longer than a late note and than a breath is taken off: the extra note
/// did not need that time.
pub(super) fn put_off(steps: &[TimedNote]) -> Vec<(usize, f64)> {
    let before: Vec<usize> = (1..steps.len()).filter(|&n| steps[n].extra).collect();
    if before.is_empty() {
        return Vec::new();
    }
    let apart: Vec<f64> = steps.windows(2).map(|pair| pair[1].beats - pair[0].beats).collect();
    let (Some(parts), Some(usual)) = (Parts::of(steps, &before), median(&apart)) else { return Vec::new() };
    let theirs = |(before, by_s): (usize, f64)| {
        let waited_s = Some(waited(steps, before, parts.beat_s)).filter(|seconds| parts.long(*seconds));
        let by_s = by_s - waited_s.unwrap_or(0.0);
        (by_s > IN_BETWEEN * usual * parts.beat_s).then_some((before, by_s))
    };
    parts.later.iter().copied().filter_map(theirs).collect()
}

/// How much longer the wait before a note was than the note values ask, seconds.
fn waited(steps: &[TimedNote], before: usize, beat_s: f64) -> f64 {
    steps[before].wait_s - beat_s * (steps[before].beats - steps[before - 1].beats)
}

/// The stands before exactly these notes; `None` if the player did not stand still before each of them.
fn parted(steps: &[TimedNote], before: &[usize]) -> Option<Vec<(usize, f64)>> {
    let parts = Parts::of(steps, before)?;
    let stood = |&(before, by_s): &(usize, f64)| {
        (parts.long(by_s) && parts.long(waited(steps, before, parts.beat_s))).then_some((before, by_s))
    };
    parts.later.iter().map(stood).collect()
}

/// A line parted before some of its notes.
struct Parts {
    /// The pace within the parts, seconds a beat.
    beat_s: f64,
    /// Each note that begins a part, in order, with how much later its part is than the one before, seconds.
    later: Vec<(usize, f64)>,
}

impl Parts {
    fn of(steps: &[TimedNote], before: &[usize]) -> Option<Self> {
        let mut ends = [&[0, steps.len()], before].concat();
        ends.sort_unstable();
        let part = |pair: &[usize]| steps[pair[0]..pair[1]].iter().map(|step| (step.beats, step.onset_s)).collect();
        let parts: Vec<Vec<(f64, f64)>> = ends.windows(2).map(part).collect();
        let beat_s = clock::pace_within(&parts)?;
        let starts: Vec<f64> = parts.iter().map(|part| clock::start(part, beat_s)).collect::<Option<_>>()?;
        let later = ends[1..].iter().zip(starts.windows(2)).map(|(&before, start)| (before, start[1] - start[0]));
        Some(Self { beat_s, later: later.collect() })
    }

    /// Whether this time is longer than a late note and longer than a breath.
    fn long(&self, seconds: f64) -> bool {
        seconds > BREATH_S && seconds > LATE * self.beat_s
    }
}
