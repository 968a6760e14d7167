use super::open_note::OpenNote;
use super::vibrato::centre_of_swings;

/// Least spread of a note that may swing, half steps: a steady one is not looked at for long.
const UNSTEADY: f64 = 0.08;

/// Least share of a note that the swings of a vibrato fill: a plucked string wanders at first, and swings for less.
const CYCLES_SHARE: f64 = 0.5;

/// The pitch of one note, taken over its length.
#[derive(Debug, Clone, Copy)]
pub(super) struct PitchCentre {
    /// Half steps above A4 = 440 Hz.
    pub(super) semitone: f64,
    /// Median absolute deviation, half steps.
    pub(super) spread: f64,
}

/// The middle of a vibrato; without one the median of the frames whose whole window lies in the note (where there are fewer than two: whose
/// middle lies in it), over whole cycles; the reference pitch of the note where there is no such frame. `heard_hz` is the rate of the
/// positions.
pub(super) fn centre(note: &mut OpenNote, release: i64, heard_hz: f64) -> PitchCentre {
    let onset = note.onset;
    let reference = note.reference;
    let inside = |h: &&super::open_note::PitchSample| h.begin >= onset && h.end <= release;
    let middle =
        |h: &&super::open_note::PitchSample| (h.begin + h.end) / 2 >= onset && (h.begin + h.end) / 2 <= release;
    note.sorted.clear();
    note.sorted.extend(note.pitches.iter().filter(inside).map(|h| h.semitone));
    if note.sorted.len() < 2 {
        note.sorted.clear();
        note.sorted.extend(note.pitches.iter().filter(middle).map(|h| h.semitone));
    }
    if note.sorted.is_empty() {
        return PitchCentre { semitone: reference, spread: 0.0 };
    }
    note.scratch.clear();
    note.scratch.extend_from_slice(&note.sorted);
    let rough = median(&mut note.scratch);
    let (first, last) = whole_cycles(&note.sorted, rough);
    let kept = &mut note.sorted[first..last];
    let semitone = median(kept);
    for pitch in kept.iter_mut() {
        *pitch = (*pitch - semitone).abs();
    }
    let spread = median(kept);
    let timed = |h: &super::open_note::PitchSample| ((h.begin + h.end) as f64 * 0.5 / heard_hz, h.semitone);
    let swings = || centre_of_swings(note.pitches.iter().filter(inside).map(timed));
    let semitone = if spread >= UNSTEADY { swings().unwrap_or(semitone) } else { semitone };
    PitchCentre { semitone, spread }
}

/// From the first to the last upward crossing of `level`, where at least two swings lie between that go .08 half steps below it, and fill
/// [`CYCLES_SHARE`] of the note; else everything.
fn whole_cycles(pitches: &[f64], level: f64) -> (usize, usize) {
    let (mut first, mut last, mut cycles, mut below) = (0, pitches.len(), 0, false);
    let mut latest = 0;
    for (i, pitch) in pitches.iter().enumerate() {
        if *pitch < level - 0.08 {
            below = true;
        } else if below && *pitch > level {
            below = false;
            if cycles == 0 {
                first = i;
            }
            cycles += 1;
            latest = i;
        }
    }
    if cycles >= 3 && (latest - first) as f64 >= CYCLES_SHARE * pitches.len() as f64 {
        last = latest;
    } else {
        first = 0;
    }
    (first, last)
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_unstable_by(f64::total_cmp);
    let half = values.len() / 2;
    match values.len() {
        0 => 0.0,
        n if n % 2 == 1 => values[half],
        _ => 0.5 * (values[half - 1] + values[half]),
    }
}
