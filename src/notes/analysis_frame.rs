use super::rules::Rules;

/// Number of candidates that are kept of one frame.
pub(super) const CANDIDATES: usize = 16;
/// Frames that are kept: about three quarters of a second.
const KEPT: usize = 256;

/// One pitch that a frame might have.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Candidate {
    /// Half steps above A4 = 440 Hz.
    pub(super) semitone: f64,
    /// The period in heard samples.
    pub(super) period: f64,
    /// Normalised square difference, 0 to 1 (defined in `correlation.rs`).
    pub(super) clarity: f64,
    /// Length of the window without the lag, in heard samples.
    pub(super) window: usize,
}

/// What one hop brought: the candidates for a pitch, the best one, and the level.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct AnalysisFrame {
    /// Number of the frame, counted from the beginning of the stream.
    pub(super) number: i64,
    /// Position after the last sample of the frame, in heard samples.
    pub(super) end: i64,
    /// The candidate that was picked, even where it is not clear enough to be a pitch.
    pub(super) best: Candidate,
    /// Whether the odd partials say which of two pitches an octave apart is the note.
    pub(super) octave_known: bool,
    /// Whether the picked candidate is clear enough to be a pitch, and is no mains hum.
    pub(super) voiced: bool,
    /// Clarity at the multiple of the period that is nearest 5.5 ms; 1 for periods of 3.7 ms or more, and where nobody asks
    /// (`coherence` in `tracker.rs`). Noise in a narrow band repeats for a few of its short periods, but not for so long.
    pub(super) coherence: f64,
    /// Level of the hop, dB.
    pub(super) level_db: f64,
    /// Level over one period or 4 ms, the longer one, dB.
    pub(super) steady_db: f64,
    /// Level of the second differences of the samples of the hop, dB: it shows what is sharp in the sound.
    pub(super) sharp_db: f64,
    /// Memory for the candidates.
    candidates: [Candidate; CANDIDATES],
    /// Number of candidates.
    count: usize,
}

impl AnalysisFrame {
    /// The pitch in half steps above A4 = 440 Hz.
    pub(super) const fn semitone(&self) -> f64 {
        self.best.semitone
    }

    /// The candidates, shortest period first.
    pub(super) fn candidates(&self) -> &[Candidate] {
        &self.candidates[..self.count]
    }

    /// Adds a candidate. Of two candidates less than 3 % apart the clearer one stays. Where there are too many, the least clear one
    /// makes room for one that is clearly better.
    pub(super) fn add(&mut self, candidate: Candidate) {
        if let Some(last) = self.candidates[..self.count].last_mut()
            && candidate.period < last.period * 1.03
        {
            if candidate.clarity > last.clarity {
                *last = candidate;
            }
            return;
        }
        if self.count < CANDIDATES {
            self.candidates[self.count] = candidate;
            self.count += 1;
            return;
        }
        let mut weakest = 0;
        for (i, kept) in self.candidates.iter().enumerate() {
            if kept.clarity < self.candidates[weakest].clarity {
                weakest = i;
            }
        }
        if self.candidates[weakest].clarity < 0.9 * candidate.clarity {
            self.candidates.copy_within(weakest + 1.., weakest);
            self.candidates[CANDIDATES - 1] = candidate;
        }
    }

    /// The first position of the window that the pitch rests on.
    pub(super) fn begin(&self) -> i64 {
        self.end - self.best.window as i64 - self.best.period.ceil() as i64
    }
}

impl AnalysisFrame {
    /// Whether the frame belongs to a note that begins at `onset`: at most a small share of its window lies before.
    pub(super) fn starts_in(&self, onset: i64, rules: &Rules) -> bool {
        self.begin() + ((self.end - self.begin()) as f64 * rules.repeat_overlap) as i64 >= onset
    }
}

/// The newest frames, newest first.
#[derive(Debug, Clone)]
pub(super) struct FrameHistory {
    /// The newest frames, a ring.
    ring: Vec<AnalysisFrame>,
    /// Number of frames so far.
    count: i64,
}

impl FrameHistory {
    /// No frame yet.
    pub(super) fn new() -> Self {
        Self { ring: vec![AnalysisFrame::default(); KEPT], count: 0 }
    }

    /// Adds the newest frame; the oldest goes.
    pub(super) fn push(&mut self, frame: AnalysisFrame) {
        let slot = (self.count % KEPT as i64) as usize;
        self.ring[slot] = frame;
        self.count += 1;
    }

    /// The frame `hops` hops ago; 0 is the newest. `None` before the first frame and beyond what is kept.
    pub(super) fn ago(&self, hops: usize) -> Option<&AnalysisFrame> {
        if hops >= KEPT || hops as i64 >= self.count {
            return None;
        }
        self.ring.get(((self.count - 1 - hops as i64) % KEPT as i64) as usize)
    }

    /// The frames from the newest back, at most `count`.
    pub(super) fn newest(&self, count: usize) -> impl Iterator<Item = &AnalysisFrame> {
        (0..count).map_while(|hops| self.ago(hops))
    }
}
