use std::collections::VecDeque;
use std::sync::Arc;

use crate::cue::CueSound;
use crate::notes::HeardNote;
use crate::room::echo_evidence::{EchoEvidence, power};
use crate::room::residual::{LEAST_LEFT, ResidualSpectra};
use crate::room::residual_bias::ResidualBias;
use crate::room::residual_mask::ResidualMask;
use crate::room::{Canceller, EchoPath, Presence};
use crate::sound::{Clip, Placement};
use crate::units::{Hertz, SampleRate, Seconds};

/// Length of the raw input that is kept for a cue whose place becomes known late.
const KEPT: Seconds = Seconds(2.0);
/// The echo may come this much earlier than the clock lines say, since they are not exact.
const LEAD: Seconds = Seconds(0.048);
/// Longest delay that the canceller follows, the lead and the room's tail included.
const REACH: Seconds = Seconds(0.576);
/// By how much the place of a cue that two clock lines give may be off.
const LINED_UP: Seconds = Seconds(0.0006);
/// Time after the longest delay that is followed in which the room may still ring.
const LATE: Seconds = Seconds(0.6);
/// Time after the onset of a note, seconds, at which its owner is decided at the latest.
const LOOKED_AT: f64 = 0.09;
/// Time after the onset of a note, seconds, from which the residual is measured: before lies the attack of note and cue.
const FIRST_LOOK: f64 = 0.004;
/// A note is the player's where the residual in its partials exceeds the estimated echo by this much, dB.
const PLAYERS: f64 = 8.0;
/// A note is the player's at once, before `LOOKED_AT`, where the residual exceeds the estimated echo by this much, dB.
const SURE: f64 = 15.5;
/// Share of the bias of the estimated echo that is taken off.
const UNBIASED: f64 = 0.75;
/// Where cues come back, a note softer than the loudest echo by more than this, dB, is the echo's: nobody plays so softly.
const UNHEARD: f64 = 20.0;
/// Forgetting factor of the three means in `fit`, for each block.
const FIT: f64 = 0.85;

/// Whose a note is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Owner {
    /// The player's.
    Player,
    /// Our own cue's.
    Ours,
    /// Not known yet: ask again when more was heard.
    Unknown,
}

/// The newest cue, sample for sample beside the input: a [`Placement`] turned into indices once, since the canceller asks for a
/// sample of the cue with every sample that comes in.
#[derive(Debug, Clone)]
struct CueSamples {
    /// What was sounded.
    played: Arc<Clip>,
    /// Index of the cue's first sample, on the count of the input's samples.
    origin: i64,
    /// Number of samples of the cue for each sample of the input, near 1.
    faster: f64,
    /// Index of the end of the cue, on the count of the input's samples.
    end: i64,
    /// Whether nothing is left to decide about this cue coming back: it was decided, or these are signs, of which nothing is decided.
    judged: bool,
}

impl CueSamples {
    /// The value of the cue between its samples: a cubic through the four nearest (Catmull and Rom 1974).
    fn at(&self, place: f64) -> f32 {
        let whole = place.floor();
        let x = (place - whole) as f32;
        let at = |n: i64| usize::try_from(n).ok().and_then(|n| self.played.samples.get(n)).copied().unwrap_or(0.0);
        let one = |by: i64| at(whole as i64 + by);
        if x == 0.0 {
            return one(0);
        }
        let [a, b, c, d] = [-1, 0, 1, 2].map(one);
        b + 0.5 * x * (c - a + x * (2.0 * a - 5.0 * b + 4.0 * c - d + x * (3.0 * (b - c) + d - a)))
    }
}

/// Our own cue in the microphone: it is learned, taken out, and told from the player. Every block must be given to it.
#[derive(Debug, Clone)]
pub struct Echo {
    /// Samples a second of the input.
    rate: SampleRate,
    /// What was learned of the echo path.
    learned: EchoPath,
    /// The filter that predicts the echo.
    canceller: Canceller,
    /// Spectra of the newest residuals, by which the owner of a note is decided.
    residuals: ResidualSpectra,
    /// How far the echo that is estimated in the residuals is off, over this cue.
    bias: ResidualBias,
    /// The newest raw samples of the input, for a cue whose place becomes known late.
    recent: VecDeque<f32>,
    /// Number of samples heard since the streams were opened or the place of the cue was lost.
    heard: i64,
    /// Instant after the last sample.
    now: Seconds,
    /// Samples of the block that is being filled.
    microphone: Vec<f32>,
    /// Samples of the cue during this block.
    reference: Vec<f32>,
    /// The newest cue on the count of the input; `None` before the first.
    placement: Option<CueSamples>,
    /// What the newest cue shows of whether it comes back.
    evidence: EchoEvidence,
    /// Whether the predicted echo is subtracted from the samples.
    taking_out: bool,
    /// Number of cues in a row that did not come back, after one that did.
    misses: u32,
    /// Means of three powers: of the microphone, of the predicted echo, and of the residual.
    fit: [f64; 3],
    /// Mean square of the loudest block of the predicted echo of this cue.
    loudest: f64,
    /// Lowers what is left of the echo.
    mask: ResidualMask,
    /// Whether the block that is being heard goes through the mask; it comes out once the next block is whole.
    masking: bool,
    /// Whether the block before is still inside the mask.
    mask_full: bool,
    /// The cleaned samples on their way out.
    out: Vec<f32>,
    /// Index of the sample after the last block in which some echo may have come back.
    sounded: i64,
}

impl Echo {
    /// An echo of which nothing is known yet. `rate` is that of the input.
    #[must_use]
    pub fn new(rate: SampleRate) -> Self {
        let canceller = Canceller::new(rate, REACH);
        let block = canceller.block();
        Self {
            rate,
            learned: EchoPath::default(),
            residuals: ResidualSpectra::new(rate, &canceller),
            bias: ResidualBias::new(),
            recent: VecDeque::with_capacity(rate.samples(KEPT) + 1),
            heard: 0,
            now: Seconds(0.0),
            microphone: Vec::with_capacity(block),
            reference: vec![0.0; block],
            placement: None,
            evidence: EchoEvidence::default(),
            taking_out: false,
            misses: 0,
            fit: [0.0; 3],
            loudest: 0.0,
            mask: ResidualMask::new(&canceller),
            masking: false,
            mask_full: false,
            out: Vec::new(),
            sounded: i64::MIN / 2,
            canceller,
        }
    }

    /// What was learned so far.
    #[must_use]
    pub const fn learned(&self) -> &EchoPath {
        &self.learned
    }

    /// Tells of a cue that is sounded, and where it lies, at most two seconds after it began. A sound of another rate is ignored.
    pub fn cue(&mut self, sound: &CueSound, place: Placement) {
        if sound.clip.rate != self.rate {
            return;
        }
        self.judge_way();
        self.bias.clear();
        self.canceller.realign(LINED_UP);
        let origin = self.index(place.from);
        let before = self.recent.len() as i64 - (self.heard - origin).clamp(0, self.recent.len() as i64);
        let quiet = self.recent.iter().take(before as usize).copied();
        self.evidence = EchoEvidence::begin(quiet, self.canceller.block());
        self.placement = Some(CueSamples {
            played: Arc::clone(&sound.clip),
            origin,
            faster: place.faster,
            end: origin + self.rate.samples(sound.end) as i64,
            judged: false,
        });
        self.taking_out = self.learned.presence == Presence::Heard;
        self.loudest = 0.0;
        self.catch_up();
    }

    /// As `cue`, of signs: these are too soft and short to show whether our sound comes back.
    pub fn signs(&mut self, sound: &CueSound, place: Placement) {
        self.cue(sound, place);
        self.placement.iter_mut().for_each(|placement| placement.judged = true);
    }

    /// The streams were opened anew, or much of the input was lost: where the cue lies is no longer known.
    pub fn lost(&mut self) {
        self.recent.clear();
        self.microphone.clear();
        self.heard = 0;
        self.sounded = i64::MIN / 2;
        self.placement = None;
        self.taking_out = false;
        self.canceller.lose_line();
        (self.masking, self.mask_full) = (false, false);
        self.residuals = ResidualSpectra::new(self.rate, &self.canceller);
    }

    /// The index of an instant, on the count of the input's samples.
    fn index(&self, at: Seconds) -> i64 {
        self.heard - ((self.now - at).0 * self.rate.per_second()).round() as i64
    }

    /// Hears again, with the cue, the samples that came before the place of the cue was known.
    fn catch_up(&mut self) {
        let Some(placement) = &self.placement else { return };
        let block = self.canceller.block() as i64;
        let current = self.heard - self.microphone.len() as i64;
        let oldest = self.heard - self.recent.len() as i64;
        let first = (placement.origin - self.rate.samples(LEAD) as i64).max(oldest).min(current);
        let mut number = first.div_euclid(block) + i64::from(first.rem_euclid(block) > 0);
        let heard = std::mem::take(&mut self.microphone);
        while number * block < current {
            let from = (number * block - oldest).max(0) as usize;
            self.microphone.extend(self.recent.range(from..from + block as usize));
            self.predict(number * block);
            self.learn(number);
            number += 1;
        }
        self.microphone = heard;
        self.predict(current);
    }

    /// Predicts the echo in the block that begins with this sample.
    fn predict(&mut self, from: i64) {
        self.reference.fill(0.0);
        if let Some(placement) = &self.placement {
            let first = from + self.rate.samples(LEAD) as i64 - placement.origin;
            for (n, sample) in self.reference.iter_mut().enumerate() {
                *sample = placement.at((first + n as i64) as f64 * placement.faster);
            }
        }
        self.canceller.predict(&self.reference);
    }

    /// Adapts the canceller to a whole block.
    fn learn(&mut self, number: i64) {
        self.canceller.adapt(&self.microphone);
        self.weigh_fit();
        self.residuals.take(number, &self.canceller);
        let after = (number + 1) * self.canceller.block() as i64;
        if self.canceller.sounds() {
            self.sounded = after;
            self.evidence.add(&self.reference, &self.microphone, self.canceller.residual());
            self.taking_out |= self.learned.presence == Presence::Unknown && self.evidence.convinces();
            if self.placement.as_ref().is_some_and(|it| after > it.origin && after <= it.end) {
                self.bias.learn(&self.residuals, &self.canceller);
            }
        } else {
            self.taking_out = false;
        }
        if self.placement.as_ref().is_some_and(|placement| !placement.judged && after >= placement.end) {
            self.judge_way();
        }
        self.microphone.clear();
    }

    /// Where the predicted echo is loud and subtracting it helped little, the whole expected echo counts as still in the residual.
    fn weigh_fit(&mut self) {
        let reported = power(self.canceller.predicted());
        let [all, out, residual] = &mut self.fit;
        for (mean, now) in
            [(all, power(&self.microphone)), (out, reported), (residual, power(self.canceller.residual()))]
        {
            *mean = FIT * *mean + (1.0 - FIT) * now;
        }
        let [all, out, residual] = self.fit;
        let fails = residual > 0.5 * all && out > 0.3 * all;
        self.residuals.floor = if fails { 1.0 } else { LEAST_LEFT };
        if self.canceller.sounds() {
            self.loudest = self.loudest.max(reported);
        }
    }

    /// Decides after a cue whether it came back.
    fn judge_way(&mut self) {
        let Some(placement) = self.placement.as_mut().filter(|placement| !placement.judged) else { return };
        placement.judged = true;
        let comes_back = self.evidence.comes_back(self.canceller.gain());
        match (comes_back, self.learned.presence) {
            (Some(true), Presence::Absent) => {
                // Cues before did not come back: the headphones were unplugged, or somebody played along. The next cue decides.
                self.learned.presence = Presence::Unknown;
                self.canceller.forget(1.0);
            }
            (Some(true), _) => {
                self.misses = 0;
                self.learned.presence = Presence::Heard;
                self.learned.gain = crate::units::Decibels::of_power(f64::from(self.canceller.gain()));
            }
            (Some(false), Presence::Heard) if self.misses == 0 => self.misses = 1,
            (Some(false), _) => {
                self.learned.presence = Presence::Absent;
                self.canceller.forget(0.003);
            }
            (None, _) => {}
        }
    }

    /// Takes the predicted echo of our own cue out of a block. `at` is the instant of its first sample; blocks follow each
    /// other, of any length. While our cue is taken out the newest samples come out later ([`Echo::delayed`]), when more was heard.
    pub fn clean(&mut self, block: &mut Vec<f32>, at: Seconds) {
        let kept = self.rate.samples(KEPT);
        self.now = at + self.rate.seconds(block.len());
        self.out.clear();
        for sample in block.iter() {
            if self.recent.len() == kept {
                self.recent.pop_front();
            }
            self.recent.push_back(*sample);
            if self.microphone.is_empty() {
                self.begin_block();
            }
            let place = self.microphone.len();
            self.microphone.push(*sample);
            if !self.masking {
                self.out.push(if self.taking_out { sample - self.canceller.predicted()[place] } else { *sample });
            }
            self.heard += 1;
            if self.microphone.len() == self.canceller.block() {
                self.learn((self.heard - 1).div_euclid(self.canceller.block() as i64));
                self.end_block();
            }
        }
        block.clear();
        block.extend_from_slice(&self.out);
    }

    /// Samples that were heard and not yet given back.
    #[must_use]
    pub fn delayed(&self) -> usize {
        let current = if self.masking { self.microphone.len() } else { 0 };
        current + if self.mask_full { self.canceller.block() } else { 0 }
    }

    fn begin_block(&mut self) {
        self.masking = self.taking_out;
        if self.mask_full && !self.masking {
            self.out.extend_from_slice(self.mask.before());
            self.mask_full = false;
        }
        self.predict(self.heard);
    }

    fn end_block(&mut self) {
        self.mask.hear(&self.canceller, self.masking);
        if self.mask_full {
            self.out.extend_from_slice(self.mask.out());
        }
        self.mask_full = self.masking;
        self.masking = false;
    }

    /// Whose a note is, by all that was heard so far; `ended` says that the note is over, and `a4` is the reference pitch.
    #[must_use]
    pub fn owner(&self, note: &HeardNote, ended: bool, a4: Hertz) -> Owner {
        let onset = self.index(note.onset);
        if onset > self.sounded + self.rate.samples(LATE) as i64 {
            return Owner::Player;
        }
        let after = |from: i64, seconds: f64| from + (seconds * self.rate.per_second()).round() as i64;
        let echo = 10.0 * self.loudest.max(1e-20).log10();
        if self.learned.presence == Presence::Heard && note.loudness.0 < echo - UNHEARD {
            return Owner::Ours;
        }
        // A note that was announced after the cue began counts as begun no earlier than the cue.
        let reported = self.index(note.announced);
        let onset = match &self.placement {
            Some(placement) if reported >= placement.origin => onset.max(placement.origin),
            _ => onset,
        };
        // A note that has ended is looked at until shortly before its end, where the attack of the next may lie.
        let until = if ended { (note.length().0 - 0.02).clamp(0.02, LOOKED_AT) } else { LOOKED_AT };
        let share = self.residuals.share(note.pitch.hertz(a4), after(onset, FIRST_LOOK), after(onset, until));
        let whole = self.residuals.known() > after(onset, until);
        let over = share.over_db() - UNBIASED * self.bias.db();
        match (whole, share.frames) {
            (false, 0) => Owner::Unknown,
            (true, 0) => Owner::Player,
            _ if over > SURE => Owner::Player,
            (false, _) => Owner::Unknown,
            _ if share.is_of_a_higher() => Owner::Ours,
            _ if over > PLAYERS => Owner::Player,
            _ => Owner::Ours,
        }
    }
}

#[cfg(test)]
#[path = "echo_tests.rs"]
mod tests;
