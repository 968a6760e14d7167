use super::super::analysis_frame::AnalysisFrame;

/// Largest number of pitches kept of one note. When they are full, every second one is dropped, and from then on half as many are
/// added.
const KEPT: usize = 2048;

/// The pitch of one frame inside a note, with the window it rests on.
#[derive(Debug, Clone, Copy)]
pub(super) struct PitchSample {
    /// First position of the window, in heard samples.
    pub(super) begin: i64,
    /// Position after the last sample of the window.
    pub(super) end: i64,
    /// Half steps above A4 = 440 Hz.
    pub(super) semitone: f64,
}

/// A note while it sounds. Positions are in heard samples, pitches in half steps above A4 = 440 Hz.
#[derive(Debug, Clone)]
pub(super) struct OpenNote {
    /// The number that all events of this note carry.
    pub(super) number: u32,
    /// Where the note begins.
    pub(super) onset: i64,
    /// The onset is never dated back before this.
    pub(super) limit: i64,
    /// Whether the note began with a rise of level, not with a slur.
    pub(super) attacked: bool,
    /// Whether the onset is final. Until the loudest moment of the attack is known it may still be dated better.
    pub(super) dated: bool,
    /// Number of the first frame that belongs to the note.
    pub(super) opened: i64,
    /// End of the frame at which the note was opened.
    pub(super) opened_end: i64,
    /// Where the pitch of the note was last corrected by more than eleven half steps, in heard samples; far before all sound where it never
    /// was.
    pub(super) octave_corrected: i64,
    /// The pitch that new frames are compared with; it follows them slowly.
    pub(super) reference: f64,
    /// Number of frames in a row that lay near the reference pitch.
    pub(super) near: usize,
    /// Whether the pitch has come to rest once.
    pub(super) settled: bool,
    /// Loudest level so far, dB.
    pub(super) loudest_db: f64,
    /// End of the last frame at the pitch of the note.
    pub(super) last_voiced: i64,
    /// Position and pitch with which the note was announced; `None` before that.
    pub(super) announced: Option<(i64, f64)>,
    /// Whether the note may be reported: the onset detector heard it begin, or its pitch rests.
    pub(super) confirmed: bool,
    /// How likely the note began, by the onset detector: the most that was said so far, 0 to 1.
    pub(super) likelihood: f64,
    /// Where the note ends; `None` while it sounds.
    pub(super) release: Option<i64>,
    /// Sum of the clarity of the frames of the note.
    pub(super) clarity_sum: f64,
    /// Number of frames in `clarity_sum`.
    pub(super) clarity_count: f64,
    /// Pitches of the note in order of time, at most `KEPT`.
    pub(super) pitches: Vec<PitchSample>,
    /// Memory for the pitches that the centre rests on, so that nothing is allocated when a note ends.
    pub(super) sorted: Vec<f64>,
    /// Memory for a second copy of these pitches, which the median sorts.
    pub(super) scratch: Vec<f64>,
    /// The pitch of one frame in this many is kept.
    stride: usize,
    /// Frames since the last one that was kept.
    skipped: usize,
}

impl OpenNote {
    /// A note that is not begun; its memory is taken here, once.
    pub(super) fn new() -> Self {
        Self {
            number: 0,
            onset: 0,
            limit: 0,
            attacked: false,
            dated: false,
            opened: 0,
            opened_end: 0,
            octave_corrected: i64::MIN / 2,
            reference: 0.0,
            near: 0,
            settled: false,
            loudest_db: -200.0,
            last_voiced: 0,
            announced: None,
            confirmed: false,
            likelihood: 0.0,
            release: None,
            clarity_sum: 0.0,
            clarity_count: 0.0,
            pitches: Vec::with_capacity(KEPT),
            sorted: Vec::with_capacity(KEPT),
            scratch: Vec::with_capacity(KEPT),
            stride: 1,
            skipped: 0,
        }
    }

    /// Begins the note anew: `onset` is in heard samples, `pitch` in half steps above A4 = 440 Hz.
    pub(super) fn restart(&mut self, number: u32, onset: i64, frame: &AnalysisFrame, pitch: f64) {
        self.number = number;
        self.onset = onset;
        self.limit = onset;
        self.attacked = false;
        self.dated = true;
        self.opened = frame.number;
        self.opened_end = frame.end;
        self.octave_corrected = i64::MIN / 2;
        self.loudest_db = frame.steady_db;
        self.last_voiced = frame.end;
        self.announced = None;
        self.confirmed = false;
        self.likelihood = 0.0;
        self.release = None;
        self.correct(pitch);
    }

    /// Gives the note another pitch and forgets the frames so far, which belong to the old one.
    pub(super) fn correct(&mut self, pitch: f64) {
        self.reference = pitch;
        self.near = 0;
        self.settled = false;
        self.clarity_sum = 0.0;
        self.clarity_count = 0.0;
        self.pitches.clear();
        self.stride = 1;
        self.skipped = 0;
    }

    /// Counts the `frames` that agreed on a pitch before the note was opened as frames near the note's pitch; the note has settled
    /// where they reach `settle`, so that its first pitch is not waited for twice.
    pub(super) fn calm(&mut self, frames: usize, settle: f64) {
        self.near = frames;
        self.settled = frames as f64 >= settle;
    }

    /// Takes a frame as part of the note.
    pub(super) fn hear(&mut self, frame: &AnalysisFrame) {
        self.clarity_sum += frame.best.clarity;
        self.clarity_count += 1.0;
        self.keep(frame);
    }

    /// Mean clarity of the frames of the note, 0 to 1; 0 where there were none.
    pub(super) fn clarity(&self) -> f64 {
        self.clarity_sum / self.clarity_count.max(1.0)
    }

    /// Takes the frames of another note as its own: that note was a swing of this one.
    pub(super) fn absorb(&mut self, other: &Self) {
        self.clarity_sum += other.clarity_sum;
        self.clarity_count += other.clarity_count;
        self.loudest_db = self.loudest_db.max(other.loudest_db);
        self.last_voiced = self.last_voiced.max(other.last_voiced);
        other.pitches.iter().for_each(|sample| self.push(*sample));
    }

    /// Keeps the pitch of a frame for the centre of the note.
    pub(super) fn keep(&mut self, frame: &AnalysisFrame) {
        self.push(PitchSample { begin: frame.begin(), end: frame.end, semitone: frame.semitone() });
    }

    fn push(&mut self, sample: PitchSample) {
        self.skipped += 1;
        if self.skipped < self.stride {
            return;
        }
        self.skipped = 0;
        if self.pitches.len() == KEPT {
            let mut keep = false;
            self.pitches.retain(|_| {
                keep = !keep;
                keep
            });
            self.stride *= 2;
        }
        self.pitches.push(sample);
    }
}
