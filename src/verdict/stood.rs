use super::clock;
use crate::units::median;

/// Beats of the player's own pace up to which a late note is a late note.
const LATE: f64 = 0.6;
/// Seconds up to which a wait is a quick breath (common practice).
const BREATH_S: f64 = 0.3;
/// So many notes tell a pace to stand still from once, and twice; who stands still more often in one line has none.
const NOTES: [usize; 2] = [5, 8];

/// A note in time, in the order of the line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    /// Its place in the line, in beats.
    pub beats: f64,
    pub onset_s: f64,
    /// The longest time without a new note on the way here from the note before: what notes too many took is no standing still.
    pub wait_s: f64,
}

/// Before which notes the player stood still, and for how many seconds, in order.
///
/// The waits that are longest beyond their share of the line part it; the pace is that of the notes within the parts, and the
/// player stood still where all that follows is later by more than a late note and more than a breath.
pub(super) fn stands(steps: &[Step]) -> Vec<(usize, f64)> {
    let between: Vec<f64> = steps
        .windows(2)
        .flat_map(|pair| clock::slopes(&[(pair[0].beats, pair[0].onset_s), (pair[1].beats, pair[1].onset_s)]))
        .collect();
    let Some(beat_s) = median(&between) else { return Vec::new() };
    let mut longest: Vec<usize> = (1..steps.len()).collect();
    longest.sort_by(|&a, &b| waited(steps, b, beat_s).total_cmp(&waited(steps, a, beat_s)));
    let most = NOTES.iter().filter(|notes| steps.len() >= **notes).count();
    (1..=most).rev().find_map(|count| parted(steps, &longest[..count])).unwrap_or_default()
}

/// How much longer than its share the wait before a note was, seconds.
fn waited(steps: &[Step], before: usize, beat_s: f64) -> f64 {
    steps[before].wait_s - beat_s * (steps[before].beats - steps[before - 1].beats)
}

/// The stands, if the player stood still before each of these notes.
fn parted(steps: &[Step], before: &[usize]) -> Option<Vec<(usize, f64)>> {
    let mut ends = [&[0, steps.len()], before].concat();
    ends.sort_unstable();
    let part = |pair: &[usize]| steps[pair[0]..pair[1]].iter().map(|step| (step.beats, step.onset_s)).collect();
    let parts: Vec<Vec<(f64, f64)>> = ends.windows(2).map(part).collect();
    let beat_s = median(&parts.iter().flat_map(|part| clock::slopes(part)).collect::<Vec<_>>())?;
    let starts: Vec<f64> = parts.iter().map(|part| clock::start(part, beat_s)).collect::<Option<_>>()?;
    let long = |seconds: f64| seconds > BREATH_S && seconds > LATE * beat_s;
    let stood = |(&before, start): (&usize, &[f64])| {
        let by_s = start[1] - start[0];
        (long(by_s) && long(waited(steps, before, beat_s))).then_some((before, by_s))
    };
    ends[1..].iter().zip(starts.windows(2)).map(stood).collect()
}
