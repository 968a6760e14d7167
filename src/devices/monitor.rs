//! Finds out whether the microphone is really the loudspeaker's monitor: our own cue then comes back at full level with no room in
//! it.

use std::collections::VecDeque;
use std::sync::Arc;

use crate::sound::{Clip, SoundBlock, SoundFinder};
use crate::units::{SampleRate, Seconds};

use super::playback::PlayId;

/// Number of taps of the filter that is fitted, a fifth of a millisecond at 48 kHz: enough for a resampler's fraction of a sample,
/// far too short for a room.
const TAPS: usize = 9;
/// Share of the power, -40 dB, that the fitted taps may leave unexplained. Air, box and hiss leave far more.
const REST: f64 = 1e-4;
/// Bounds of the ratio of amplitudes that counts as full level, 6 dB below and above one.
const LEVEL: (f64, f64) = (0.5, 2.0);
/// How much of a clip's end is compared, and how much of what follows, where a room would still ring.
const COMPARED: (Seconds, Seconds) = (Seconds(0.6), Seconds(0.2));
/// The clip is looked for this much before and after its place by the clock lines.
const SEARCH: (Seconds, Seconds) = (Seconds(0.05), Seconds(0.45));
/// Number of clips of a stream that are compared; while the last one came back as from a monitor, every further clip is compared too.
/// One clip would do, but after an xrun some come back broken, so the last one counts.
const CLIPS: usize = 12;
/// A stream taken for a monitor is a microphone after all if it sounds for this long while no clip does.
const OWN: Seconds = Seconds(1.0);
/// Clips shorter than this are not compared, because too little of the sound would be left to compare.
const SHORTEST: Seconds = Seconds(0.1);

/// Whether `played`, with the silence that followed it, comes back in `captured` unchanged but for level and delay.
#[must_use]
pub fn comes_back_dry(finder: &mut SoundFinder, played: &[f32], captured: &[f32]) -> bool {
    let Some(found) = finder.find(played, captured) else { return false };
    let at = found.at.round() as usize;
    let Some(heard) = captured.get(at..at + played.len()).filter(|_| found.likeness > 0.9) else { return false };
    let Some(taps) = fit(played, heard) else { return false };
    let (mut rest, mut total, mut power) = (0.0, 0.0, 0.0);
    for (index, sample) in heard.iter().enumerate() {
        let shifts = shifts(played, index);
        let model: f64 = taps.iter().zip(shifts).map(|(gain, value)| gain * value).sum();
        let target = f64::from(*sample);
        rest += (target - model).powi(2);
        total += target * target;
        power += f64::from(played[index]).powi(2);
    }
    rest <= REST * total && (LEVEL.0..=LEVEL.1).contains(&(total / power).sqrt())
}

/// The samples of `played` round `index`, one for each tap.
fn shifts(played: &[f32], index: usize) -> [f64; TAPS] {
    std::array::from_fn(|tap| {
        (index + TAPS / 2).checked_sub(tap).and_then(|from| played.get(from)).map_or(0.0, |value| f64::from(*value))
    })
}

/// The taps that make `heard` out of shifts of `played`, by least squares.
fn fit(played: &[f32], heard: &[f32]) -> Option<[f64; TAPS]> {
    let mut rows = [[0.0f64; TAPS + 1]; TAPS];
    for (index, target) in heard.iter().enumerate() {
        let shifts = shifts(played, index);
        for (row, left) in rows.iter_mut().zip(shifts) {
            for (cell, right) in row.iter_mut().zip(shifts.into_iter().chain([f64::from(*target)])) {
                *cell += left * right;
            }
        }
    }
    // A cue has few frequencies, so the equations nearly repeat each other; a little ridge keeps the taps small.
    let ridge = 1e-7 * rows[TAPS / 2][TAPS / 2];
    for (index, row) in rows.iter_mut().enumerate() {
        row[index] += ridge;
    }
    solve(rows)
}

/// Gaussian elimination; the last column is the right side. The matrix is positive definite, so no rows are exchanged; `None`
/// when it is not.
fn solve(mut rows: [[f64; TAPS + 1]; TAPS]) -> Option<[f64; TAPS]> {
    for pivot in 0..TAPS {
        let top = rows[pivot];
        if top[pivot] <= 0.0 {
            return None;
        }
        for row in rows.iter_mut().skip(pivot + 1) {
            let factor = row[pivot] / top[pivot];
            for (cell, above) in row.iter_mut().zip(top) {
                *cell -= factor * above;
            }
        }
    }
    let mut taps = [0.0; TAPS];
    for (index, row) in rows.iter().enumerate().rev() {
        let known: f64 = row.iter().zip(taps).skip(index + 1).map(|(cell, tap)| cell * tap).sum();
        taps[index] = (row[TAPS] - known) / row[index];
    }
    Some(taps)
}

/// Compares the first clips of a stream, and all while it is taken for a monitor, with what the microphone heard of them.
#[derive(Debug)]
pub struct MonitorWatch {
    /// Samples a second of the microphone.
    rate: SampleRate,
    /// Clips that were ordered and not compared yet.
    waiting: VecDeque<(PlayId, Arc<Clip>)>,
    /// Number of clips that were compared.
    compared: usize,
    /// Whether the last clip that was compared came back without a room.
    dry: bool,
    /// Number of samples that sounded while no clip did, since a clip was last compared.
    own: usize,
    /// Instant of the first sample in `recent`.
    began: Seconds,
    /// Newest samples of the microphone, at most three seconds, while a clip waits.
    recent: Vec<f32>,
    /// Finds a clip in the samples.
    finder: SoundFinder,
}

impl MonitorWatch {
    /// A watch over a microphone of `rate`.
    #[must_use]
    pub fn new(rate: SampleRate) -> Self {
        Self {
            rate,
            waiting: VecDeque::new(),
            compared: 0,
            dry: false,
            own: 0,
            began: Seconds(0.0),
            recent: Vec::new(),
            finder: SoundFinder::default(),
        }
    }

    /// Begins anew for a new stream of `rate`; memory is kept.
    pub fn begin(&mut self, rate: SampleRate) {
        let (mut recent, finder) = (std::mem::take(&mut self.recent), std::mem::take(&mut self.finder));
        recent.clear();
        *self = Self { recent, finder, ..Self::new(rate) };
    }

    /// Tells of a new output stream. The clips of the old one are given up, since their ends are no longer known.
    pub fn output_opened_again(&mut self) {
        self.waiting.clear();
    }

    /// Tells of a clip that was ordered. Clips of another rate than the microphone's are not compared.
    pub fn played(&mut self, id: PlayId, clip: &Arc<Clip>) {
        // After enough clips, the last with a room in it, the stream is a microphone's, and no more are compared. While the stream is
        // taken for a monitor, clips are compared on and on.
        let room = self.dry || self.compared + self.waiting.len() < CLIPS;
        if room && clip.rate == self.rate && clip.samples.len() >= self.rate.samples(SHORTEST) {
            self.waiting.push_back((id, Arc::clone(clip)));
        }
    }

    /// Takes `samples` of the microphone that follow `block`'s gap; `until` gives the instant at which a clip ends, on the same clock.
    pub fn heard(&mut self, block: SoundBlock, samples: &[f32], until: impl Fn(PlayId) -> Option<Seconds>) {
        let Some((id, clip)) = self.waiting.front() else {
            self.recent.clear();
            // The server may have moved the stream back to a microphone. A monitor sounds only while a clip does.
            self.own += samples.iter().filter(|sample| self.dry && **sample != 0.0).count();
            self.dry &= self.own < self.rate.samples(OWN);
            return;
        };
        if block.gap.0 != 0.0 {
            self.recent.clear();
        }
        // On a busy machine the clock line moves by milliseconds while the samples still follow each other, so it is the newest
        // block that says when the oldest sample was.
        self.began = block.at - self.rate.seconds(self.recent.len());
        self.recent.extend_from_slice(samples);
        let spare = self.recent.len().saturating_sub(self.rate.samples(Seconds(3.0)));
        self.recent.drain(..spare);
        self.began = self.began + self.rate.seconds(spare);
        let now = self.began + self.rate.seconds(self.recent.len());
        let Some(end) = until(*id) else { return };
        let needed = end + COMPARED.1 + SEARCH.1;
        if now < needed {
            return;
        }
        let tail = clip.samples.len().saturating_sub(self.rate.samples(COMPARED.0));
        let mut piece = clip.samples[tail..].to_vec();
        let place = end - self.rate.seconds(piece.len()) - self.began;
        let from = self.rate.samples(place - SEARCH.0);
        piece.resize(piece.len() + self.rate.samples(COMPARED.1), 0.0);
        let to = self.rate.samples(needed - self.began).min(self.recent.len());
        // After a hole the clip's end may not be here whole, which says nothing of the stream.
        if place.0 >= 0.0
            && let Some(window) = self.recent.get(from..to)
        {
            self.dry = comes_back_dry(&mut self.finder, &piece, window);
            self.own = 0;
        }
        self.compared += 1;
        self.waiting.pop_front();
    }

    /// Takes it from a calibration that the stream is a monitor's.
    pub const fn is_a_monitor(&mut self) {
        (self.dry, self.own) = (true, 0);
    }

    /// Whether the last clip that was compared came back with no room in it.
    #[must_use]
    pub const fn dry(&self) -> bool {
        self.dry
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three notes with partials, and .2 s of silence.
    fn cue() -> Vec<f32> {
        let mut sound: Vec<f32> = (0..24_000)
            .map(|n| {
                let t = f64::from(n) / 48_000.0;
                let hz = [233.08, 293.66, 349.23][n as usize / 8000];
                let edge = (std::f64::consts::PI * f64::from(n % 8000) / 8000.0).sin();
                let tone =
                    |partial: i32| (std::f64::consts::TAU * hz * f64::from(partial) * t).sin() / f64::from(partial);
                (0.12 * edge * (1..9).map(tone).sum::<f64>()) as f32
            })
            .collect();
        sound.resize(33_600, 0.0);
        sound
    }

    fn dry(played: &[f32], captured: &[f32]) -> bool {
        comes_back_dry(&mut SoundFinder::default(), played, captured)
    }

    fn delayed(sound: &[f32], by: usize, level: f32) -> Vec<f32> {
        let mut out = vec![0.0; by];
        out.extend(sound.iter().map(|sample| level * sample));
        out.resize(out.len() + 4000, 0.0);
        out
    }

    #[test]
    fn our_own_cue_at_full_level_without_a_room_is_the_monitor() {
        assert!(dry(&cue(), &delayed(&cue(), 3000, 1.0)));
        // The cue went through a resampler: it is half a sample late, by the mean of two neighbours.
        let whole = delayed(&cue(), 3000, 0.9);
        let half: Vec<f32> = whole.windows(2).map(|pair| 0.5 * (pair[0] + pair[1])).collect();
        assert!(dry(&cue(), &half));
    }

    #[test]
    fn a_room_a_hiss_or_a_soft_echo_is_a_microphone() {
        let clean = delayed(&cue(), 3000, 0.8);
        let mut room = clean.clone();
        for (late, share) in [(100, 0.3f32), (531, -0.2), (1203, 0.15), (3100, 0.05)] {
            for index in late..room.len() {
                room[index] += share * clean[index - late];
            }
        }
        assert!(!dry(&cue(), &room));
        let mut seed = 1u64;
        let hissing: Vec<f32> = clean
            .iter()
            .map(|sample| {
                seed = seed * 48_271 % 2_147_483_647;
                sample + 0.01 * (seed as f32 / 1_073_741_823.5 - 1.0)
            })
            .collect();
        assert!(!dry(&cue(), &hissing));
        assert!(!dry(&cue(), &delayed(&cue(), 3000, 0.1)));
        assert!(!dry(&cue(), &[0.0; 40_000]));
    }

    /// A block that follows the one before it without a hole.
    fn block_at(at: Seconds) -> SoundBlock {
        SoundBlock { at, rate: SampleRate::DEVICE, gap: Seconds(0.0) }
    }

    /// Lets a fresh watch hear `heard` in blocks, which begin where `at` says and follow a gap of so many seconds.
    fn watched(heard: &[f32], at: impl Fn(usize) -> (Seconds, Seconds)) -> bool {
        let clip = Arc::new(Clip { rate: SampleRate::DEVICE, samples: cue()[..24_000].to_vec() });
        let mut watch = MonitorWatch::new(SampleRate::DEVICE);
        watch.played(PlayId(1), &clip);
        for (index, block) in heard.chunks(441).enumerate() {
            let (at, gap) = at(index);
            watch.heard(SoundBlock { gap, ..block_at(at) }, block, |_| Some(Seconds(1.48)));
        }
        watch.dry()
    }

    #[test]
    fn a_clock_line_that_moves_on_a_busy_machine_hides_no_monitor_and_a_hole_shows_none() {
        let mut heard = delayed(&cue()[..24_000], 48_000, 1.0);
        heard.resize(150_000, 0.0);
        let time = |index: usize| SampleRate::DEVICE.seconds(index * 441);
        // The line moves by 10 ms while the clip comes back.
        let moved = |index: usize| if index < 130 { time(index) + Seconds(0.01) } else { time(index) };
        assert!(watched(&heard, |index| (moved(index), Seconds(0.0))));
        let holed = |index: usize| Seconds(if index == 130 { 0.02 } else { 0.0 });
        assert!(!watched(&heard, |index| (time(index), holed(index))));
    }

    #[test]
    fn the_watch_compares_a_clip_once_it_has_come_back_whole() {
        let clip = Arc::new(Clip { rate: SampleRate::DEVICE, samples: cue()[..24_000].to_vec() });
        let mut watch = MonitorWatch::new(SampleRate::DEVICE);
        watch.played(PlayId(1), &clip);
        let heard = delayed(&clip.samples, 48_000, 1.0);
        // By the clock lines the clip began at .98 s; it came 20 ms later.
        let until = |_| Some(Seconds(0.98 + 0.5));
        let mut padded = heard.clone();
        padded.resize(150_000, 0.0);
        for (index, block) in padded.chunks(441).enumerate() {
            watch.heard(block_at(SampleRate::DEVICE.seconds(index * 441)), block, until);
        }
        assert!(watch.dry());
        // The stream is moved back to the microphone, where the room is still at first.
        watch.heard(block_at(Seconds(4.0)), &[0.0; 96_000], until);
        assert!(watch.dry());
        watch.heard(block_at(Seconds(6.0)), &[1e-4; 48_000], until);
        assert!(!watch.dry());
    }

    #[test]
    fn a_clip_of_a_loudspeaker_that_was_lost_does_not_keep_the_next_one_waiting() {
        let clip = Arc::new(Clip { rate: SampleRate::DEVICE, samples: cue()[..24_000].to_vec() });
        let mut watch = MonitorWatch::new(SampleRate::DEVICE);
        watch.played(PlayId(1), &clip);
        watch.output_opened_again();
        watch.played(PlayId(2), &clip);
        let mut heard = delayed(&clip.samples, 48_000, 1.0);
        heard.resize(150_000, 0.0);
        // Only the new stream's clip has an end.
        let until = |id: PlayId| (id == PlayId(2)).then_some(Seconds(0.98 + 0.5));
        for (index, block) in heard.chunks(441).enumerate() {
            watch.heard(block_at(SampleRate::DEVICE.seconds(index * 441)), block, until);
        }
        assert!(watch.dry());
    }
}
