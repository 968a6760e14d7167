use super::analysis_frame::AnalysisFrame;
use super::hum::MAINS_HZ;
use super::rules::Rules;
use crate::units::Decibels;

/// Hops of true quiet after which quiet is taken for the room (116 ms). That is more than the longest window: until a window is
/// full no sound repeats in it, and a note that sounds already when the stream begins would be taken for the room.
const ENOUGH: usize = 40;
/// Number of refused hops after which the start of the stream counts as over, whether the room was learnt or not.
const PATIENCE: usize = 200;
/// The floor while nothing is known, dB.
const UNKNOWN_DB: f64 = -75.0;
/// Number of hops in a row (50 ms) that must be softer than the learnt room to show that the room is softer; fewer hops may be
/// chance in noise.
const DOUBTS: usize = 17;
/// Share of the power of the hum that may be left in the stream after the hum was taken out.
const HUM_LEFT: f64 = 0.025;
/// Number of hops (300 ms) within which hum is learnt, where nobody plays.
const EARLY: usize = 103;
/// Number of hops (1 s) in a row without a pitch, or with mains hum alone, that were not learnt, after which the room is learnt
/// anew.
const NEW_ROOM: usize = 345;

/// What the room sounds like when nobody plays. Only what cannot be a note is learnt: a note learnt as background would be
/// taken out of every later note.
#[derive(Debug, Clone)]
pub(super) struct Background {
    /// Hops learnt.
    pub(super) learnt: usize,
    /// Smallest mean square of a hop while the room is being learnt.
    quietest: f64,
    /// Largest mean square among the first 14 hops of the stream.
    loudest_start: f64,
    /// Mean of the mean squares that were learnt.
    mean: f64,
    /// Largest mean square that was learnt; it fades with every hop that is learnt.
    largest: f64,
    /// Hops of the stream so far.
    hops: usize,
    /// Hops without a note that were not learnt.
    refused: usize,
    /// Clear hops in a row in which what does not repeat was softer than the learnt room.
    doubts: usize,
    /// Hops in a row without a pitch, or with mains hum alone, that were not learnt.
    waiting: usize,
    /// Power of the hum that is taken out.
    pub(super) hum: f64,
}

impl Background {
    /// Nothing is learnt yet.
    pub(super) const fn new() -> Self {
        Self {
            learnt: 0,
            quietest: f64::INFINITY,
            loudest_start: 0.0,
            mean: 0.0,
            largest: 0.0,
            hops: 0,
            refused: 0,
            doubts: 0,
            waiting: 0,
            hum: 0.0,
        }
    }

    /// The level of the room.
    pub(super) fn floor_db(&self) -> f64 {
        let rest = Decibels::of_power(HUM_LEFT * self.hum).0;
        let learnt =
            if self.learnt < ENOUGH { UNKNOWN_DB } else { Decibels::of_power(self.mean).0.max(UNKNOWN_DB - 10.0) };
        learnt.max(rest)
    }

    /// Power of the loudest 3 ms that were learnt, fading.
    pub(super) const fn largest_power(&self) -> f64 {
        if self.learnt < ENOUGH { 0.0 } else { self.largest }
    }

    /// The share of a window's energy that may be taken as background.
    pub(super) fn share(&self, rules: &Rules) -> f64 {
        if self.learnt < ENOUGH { 0.0 } else { rules.background_share }
    }

    /// Whether this frame is mains hum and no note: its pitch lies within 30 cents of 50 or 60 Hz, which lie 35 to 49 cents beside tempered
    /// notes, and it has less than 1.5 times the power of the loudest of the stream's first 14 hops. Where a stream begins with twice a
    /// mains frequency, as rectifiers hum, that pitch counts as hum until it could be learnt.
    pub(super) fn is_mains(&self, frame: &AnalysisFrame) -> bool {
        let near = |hz: f64, reach: f64| (frame.semitone() - 12.0 * (hz / 440.0).log2()).abs() < reach;
        let early = self.hops < EARLY;
        let power = 10f64.powf(0.1 * frame.steady_db);
        let at_one = |hz: &f64| near(*hz, 0.3) || (early && near(2.0 * hz, 0.05));
        power < 1.5 * self.loudest_start && MAINS_HZ.iter().any(at_one)
    }

    /// Forgets what was learnt: the room is another from here on. `hum` is the power of the hum that is now taken out.
    pub(super) const fn restart(&mut self, hum: f64) {
        self.hum = hum;
        self.learnt = 0;
        self.refused = 0;
        self.doubts = 0;
        self.waiting = 0;
        self.quietest = f64::INFINITY;
    }

    /// Takes in a clear frame in which no note was found. What does not repeat in such a frame is the most that the room can be.
    /// Where a louder room was learnt, it was clatter before the first note, and would hide every note of its level: so it is
    /// forgotten.
    pub(super) fn doubt(&mut self, frame: &AnalysisFrame, rules: &Rules) {
        let clear = frame.voiced && frame.best.clarity >= rules.open_clarity && frame.coherence >= rules.open_coherence;
        let rest = 1.0 - frame.best.clarity * (1.0 - self.share(rules));
        let too_loud = self.learnt > 0 && self.mean > rest * 10f64.powf(0.1 * frame.steady_db);
        self.doubts = if clear && too_loud { self.doubts + 1 } else { 0 };
        if self.doubts >= DOUBTS {
            self.restart(self.hum);
        }
    }

    /// Decides whether a hop of this power is background; true when the hop is to be learnt. The hop is also compared with the
    /// power `against` of the sound that the hop is correlated with: while a note still fades in that sound, the correlation says
    /// nothing about the room.
    pub(super) fn hear(&mut self, power: f64, against: f64, periodic: bool, mains: bool, note_sounds: bool) -> bool {
        let louder = power.max(against);
        self.hops += 1;
        if self.hops <= 14 {
            self.loudest_start = self.loudest_start.max(power);
        }
        if note_sounds {
            self.doubts = 0;
            self.waiting = 0;
            return false;
        }
        let plain = mains || !periodic;
        let accepted = if self.learnt < ENOUGH && self.refused < PATIENCE {
            if power < 0.1 * self.quietest && self.learnt > 0 {
                self.learnt = 0;
            }
            self.quietest = self.quietest.min(power.max(1e-16));
            plain && louder < 6.0 * self.quietest
        } else if self.learnt < ENOUGH {
            false
        } else {
            plain && louder < 4.0 * self.mean.max(1e-12)
        };
        if accepted {
            self.accept(power);
            return true;
        }
        self.refused += 1;
        self.waiting = if plain { self.waiting + 1 } else { 0 };
        if self.waiting > NEW_ROOM {
            self.learnt = 0;
            self.refused = 0;
            self.waiting = 0;
            self.quietest = power;
        }
        false
    }

    fn accept(&mut self, power: f64) {
        self.learnt += 1;
        self.waiting = 0;
        let weight = 1.0 / (self.learnt as f64).min(200.0);
        if self.learnt == 1 {
            self.mean = 0.0;
            self.largest = 0.0;
        }
        self.mean += weight * (power - self.mean);
        self.largest = (self.largest * 0.998).max(power);
    }
}
