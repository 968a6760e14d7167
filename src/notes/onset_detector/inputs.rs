use super::super::analysis_frame::{AnalysisFrame, Candidate};
use super::super::background::Background;
use super::super::bands::Bands;
use super::super::filters::dot;
use super::super::pick::pick;
use super::super::rules::Rules;
use super::super::tracker::Tracker;
use crate::units::Decibels;

/// How many numbers the detector is given of each frame.
pub const INPUTS: usize = 56;
/// Frames that are remembered.
const KEPT: usize = 64;
/// The pitch of the frame is compared with the pitch this many frames ago.
const PITCHES_AGO: [usize; 8] = [1, 2, 4, 8, 12, 16, 24, 40];
/// The first three levels of the frame are compared with the levels this many frames ago.
const LEVELS_AGO: [usize; 6] = [1, 2, 4, 8, 16, 24];
/// The newest sound is compared with the sound one period earlier, for the period of the frame this many frames ago: where it
/// repeats, what sounded then still sounds.
const PERIODS_AGO: [usize; 4] = [0, 12, 24, 40];
/// Octaves and twelfths up and down, in half steps: the pitches for which a partial may be mistaken.
const OVER: [f64; 4] = [12.0, -12.0, 19.0, -19.0];
/// The loudest recent level falls by this many dB a frame (10 dB a second).
const FADES_DB: f64 = 0.029;
/// Number of levels that are compared with their own loudest of late: of the hop, of one period or 4 ms, of what is sharp, of the
/// middle band and of the low band.
const LEVELS: usize = 5;

/// What is remembered of one frame.
#[derive(Debug, Clone, Copy, Default)]
struct Past {
    /// Half steps above A4 = 440 Hz, as picked without the pitch of the sounding note.
    semitone: f64,
    /// The period in heard samples.
    period: f64,
    clarity: f64,
    levels_db: [f64; LEVELS],
}

/// Makes the numbers that the detector gets of each frame: levels, clarities, and how pitch and sound compare with those of a
/// moment ago. The numbers rest on the sound alone, neither on a key or an expected note nor on what was decided about notes,
/// except that the floor of the room is learnt where no note sounds.
#[derive(Debug, Clone)]
pub(super) struct Inputs {
    past: Vec<Past>,
    count: usize,
    loudest_db: [f64; LEVELS],
    values: [f32; INPUTS],
    filled: usize,
}

impl Inputs {
    /// Nothing was heard yet.
    pub(super) fn new() -> Self {
        let past = vec![Past { levels_db: [-100.0; LEVELS], ..Past::default() }; KEPT];
        Self { past, count: 0, loudest_db: [-100.0; LEVELS], values: [0.0; INPUTS], filled: 0 }
    }

    /// The numbers of the newest frame.
    pub(super) const fn values(&self) -> &[f32; INPUTS] {
        &self.values
    }

    /// Takes a frame of `hop` heard samples; `tracker` has the sound of the frame.
    pub(super) fn take(&mut self, frame: &AnalysisFrame, hop: i64, tracker: &Tracker, rules: &Rules) {
        let (bands, background) = (&tracker.bands, &tracker.background);
        let best = pick(frame.candidates(), None, None, rules).unwrap_or_default();
        let of = |band: usize| {
            let history = &bands.bands[band].history;
            let span = hop / bands.bands[band].factor as i64;
            Decibels::of_power(history.power(history.end() - span, history.end())).0
        };
        let levels_db = [frame.level_db, frame.steady_db, frame.sharp_db, of(1), of(2)].map(|db| db.max(-100.0));
        let now = Past { semitone: best.semitone, period: best.period, clarity: best.clarity, levels_db };
        self.past[self.count % KEPT] = now;
        self.count += 1;
        self.filled = 0;
        self.give_levels(&now, background);
        self.give_clarities(frame, &best);
        self.give_pitches(&now, rules);
        self.give_repetition(frame.end, hop, bands);
        debug_assert_eq!(self.filled, INPUTS);
    }

    fn give(&mut self, value: f64) {
        if let Some(slot) = self.values.get_mut(self.filled) {
            *slot = value as f32;
        }
        self.filled += 1;
    }

    fn ago(&self, frames: usize) -> Past {
        self.past[(self.count + KEPT - 1 - frames) % KEPT]
    }

    fn give_levels(&mut self, now: &Past, background: &Background) {
        let over = |db: f64| (0.05 * (db - background.floor_db())).clamp(-1.0, 3.5);
        self.give(over(now.levels_db[0]));
        self.give(over(now.levels_db[1]));
        for (level, db) in now.levels_db.into_iter().enumerate() {
            self.loudest_db[level] = db.max(self.loudest_db[level] - FADES_DB);
            self.give(0.05 * (db - self.loudest_db[level]).max(-60.0));
        }
        for frames in LEVELS_AGO {
            let then = self.ago(frames).levels_db;
            for level in [0, 1, 2] {
                self.give((0.1 * (now.levels_db[level] - then[level])).clamp(-3.0, 3.0));
            }
        }
    }

    fn give_clarities(&mut self, frame: &AnalysisFrame, best: &Candidate) {
        let at = |semitone: f64| clarity_at(frame, semitone);
        self.give(best.clarity);
        self.give(frame.candidates().iter().map(|c| c.clarity).fold(0.0, f64::max));
        for over in OVER {
            self.give(if best.period > 0.0 { at(best.semitone + over) } else { 0.0 });
        }
        for frames in [12, 24] {
            let then = self.ago(frames);
            self.give(if then.period > 0.0 { at(then.semitone) } else { 0.0 });
        }
        self.give(best.semitone / 24.0);
        self.give(best.window as f64 / 1024.0);
    }

    fn give_pitches(&mut self, now: &Past, rules: &Rules) {
        for frames in PITCHES_AGO {
            let then = self.ago(frames);
            let both = now.clarity >= rules.voiced && then.clarity >= rules.voiced;
            let moved = if both { now.semitone - then.semitone } else { 0.0 };
            self.give((2.0 * moved).tanh());
            self.give((0.25 * moved).tanh());
        }
        self.give(if self.ago(8).clarity >= rules.voiced { 1.0 } else { 0.0 });
    }

    /// How well the newest hop repeats what lies one period before it, for the periods of now and of some moments ago.
    fn give_repetition(&mut self, end: i64, hop: i64, bands: &Bands) {
        let all = bands.all();
        let begin = end - hop;
        let energy = all.energy(begin, end);
        for frames in PERIODS_AGO {
            let lag = self.ago(frames).period.round() as i64;
            let like = if lag > 0 {
                let product = dot(all.window(begin, end), all.window(begin - lag, end - lag));
                2.0 * f64::from(product) / (energy + all.energy(begin - lag, end - lag)).max(1e-9)
            } else {
                0.0
            };
            self.give(like);
        }
    }
}

/// The clarity of the candidate at a pitch; 0 where there is none.
fn clarity_at(frame: &AnalysisFrame, semitone: f64) -> f64 {
    let near = |c: &&Candidate| (c.semitone - semitone).abs() < 0.5;
    frame.candidates().iter().filter(near).map(|c| c.clarity).fold(0.0, f64::max)
}
