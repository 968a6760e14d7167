use super::super::analysis_frame::AnalysisFrame;

/// Pitches kept of one note; beyond, every second one is dropped and only every second one is added.
const KEPT: usize = 2048;

/// The pitch of one look inside a note, with the window it rests on.
#[derive(Debug, Clone, Copy)]
pub(super) struct PitchSample {
    pub(super) begin: i64,
    pub(super) end: i64,
    pub(super) semitone: f64,
}

/// A note while it sounds. Positions are in heard samples, pitches in half steps above A4 = 440 Hz.
#[derive(Debug, Clone)]
pub(super) struct OpenNote {
    pub(super) number: u32,
    pub(super) onset: i64,
    /// The onset is never dated back before this.
    pub(super) limit: i64,
    /// It began with a rise of level.
    pub(super) attacked: bool,
    /// The rise may still be dated better once the loudest moment is known.
    pub(super) dated: bool,
    /// Number and end of the look that opened it.
    pub(super) opened: i64,
    pub(super) opened_end: i64,
    pub(super) reference: f64,
    pub(super) near: usize,
    pub(super) settled: bool,
    pub(super) loudest_db: f64,
    pub(super) last_voiced: i64,
    /// Position and pitch with which it was first told.
    pub(super) announced: Option<(i64, f64)>,
    pub(super) release: Option<i64>,
    pub(super) clarity_sum: f64,
    pub(super) clarity_count: f64,
    pub(super) pitches: Vec<PitchSample>,
    /// Room for sorting them.
    pub(super) sorted: Vec<f64>,
    pub(super) scratch: Vec<f64>,
    stride: usize,
    skipped: usize,
}

impl OpenNote {
    pub(super) fn new() -> Self {
        Self {
            number: 0,
            onset: 0,
            limit: 0,
            attacked: false,
            dated: false,
            opened: 0,
            opened_end: 0,
            reference: 0.0,
            near: 0,
            settled: false,
            loudest_db: -200.0,
            last_voiced: 0,
            announced: None,
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

    pub(super) fn restart(&mut self, number: u32, onset: i64, frame: &AnalysisFrame, pitch: f64) {
        self.number = number;
        self.onset = onset;
        self.limit = onset;
        self.attacked = false;
        self.dated = true;
        self.opened = frame.number;
        self.opened_end = frame.end;
        self.loudest_db = frame.steady_db;
        self.last_voiced = frame.end;
        self.announced = None;
        self.release = None;
        self.correct(pitch);
    }

    /// What was heard so far belongs to another pitch.
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

    /// So many looks before it opened already agreed.
    pub(super) fn calm(&mut self, frames: usize, settle: f64) {
        self.near = frames;
        self.settled = frames as f64 >= settle;
    }

    /// Takes a look as part of the note.
    pub(super) fn hear(&mut self, frame: &AnalysisFrame) {
        self.clarity_sum += frame.best.clarity;
        self.clarity_count += 1.0;
        self.keep(frame);
    }

    /// Mean clarity of its looks, 0 to 1; 0 where there were none.
    pub(super) fn clarity(&self) -> f64 {
        self.clarity_sum / self.clarity_count.max(1.0)
    }

    /// Keeps the pitch of a look for the centre of the note.
    pub(super) fn keep(&mut self, frame: &AnalysisFrame) {
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
        self.pitches.push(PitchSample { begin: frame.begin(), end: frame.end, semitone: frame.semitone() });
    }
}
