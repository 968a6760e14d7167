mod band;
mod owning;

use std::collections::VecDeque;

use crate::cue::CueSound;
use crate::room::band_line::{BandLine, LEAST_LEFT_OVER_BAND};
use crate::room::cue_return::{CueReturn, comes_back};
use crate::room::cue_samples::CueSamples;
use crate::room::echo_evidence::{EchoEvidence, power};
use crate::room::residual::{LEAST_LEFT, ResidualSpectra};
use crate::room::residual_bias::ResidualBias;
use crate::room::residual_mask::ResidualMask;
use crate::room::{Canceller, EchoPath, Presence};
use crate::sound::Placement;
use crate::units::{SampleRate, Seconds};

/// What a device may still sound of a sound that is cut off.
const HELD: Seconds = Seconds(0.03);
/// Length of the raw input that is kept for a cue whose place becomes known late.
const KEPT: Seconds = Seconds(2.0);
/// The echo may come this much earlier than the clock lines say, since they are not exact.
const LEAD: Seconds = Seconds(0.048);
/// Longest delay that the canceller follows, the lead and the room's tail included.
const REACH: Seconds = Seconds(0.576);
/// By how much the place of a cue that two clock lines give may be off.
const LINED_UP: Seconds = Seconds(0.0006);
/// Forgetting factor of the three means in `fit`, for each block.
const FIT: f64 = 0.85;

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
    /// What is known besides of the newest sound, where it is a band that goes on while the player plays.
    band: Option<BandLine>,
    /// What the newest cue shows of whether it comes back.
    evidence: EchoEvidence,
    /// Whether the newest cues came back when they should.
    returned: CueReturn,
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
    /// Whether no block ever goes through the mask.
    unmasked: bool,
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
            band: None,
            evidence: EchoEvidence::default(),
            returned: CueReturn::default(),
            taking_out: false,
            misses: 0,
            fit: [0.0; 3],
            loudest: 0.0,
            mask: ResidualMask::new(&canceller),
            unmasked: false,
            masking: false,
            mask_full: false,
            out: Vec::new(),
            sounded: i64::MIN / 2,
            canceller,
        }
    }

    /// As `new`, without the mask: what a bench compares with.
    #[must_use]
    pub fn unmasked(rate: SampleRate) -> Self {
        Self { unmasked: true, ..Self::new(rate) }
    }

    /// What was learned so far.
    #[must_use]
    pub const fn learned(&self) -> &EchoPath {
        &self.learned
    }

    /// Number of samples in each block in which the input is worked on, counted from the first sample.
    #[must_use]
    pub fn block(&self) -> usize {
        self.canceller.block()
    }

    /// Tells of a cue that is sounded, and where it lies, at most two seconds after it began. A sound of another rate is ignored.
    pub fn cue(&mut self, sound: &CueSound, place: Placement) {
        if sound.clip.rate == self.rate {
            self.place(sound, place, None);
        }
    }

    fn place(&mut self, sound: &CueSound, place: Placement, band: Option<BandLine>) {
        self.judge_way();
        self.band = band;
        self.bias.clear();
        self.canceller.realign(LINED_UP);
        let origin = self.index(place.from);
        let before = self.recent.len() as i64 - (self.heard - origin).clamp(0, self.recent.len() as i64);
        let quiet = self.recent.iter().take(before as usize).copied();
        self.evidence = EchoEvidence::begin(quiet, self.canceller.block());
        let length = self.rate.samples(sound.end);
        let mut line = CueSamples::new(&sound.clip, origin, place.faster, length);
        line.judged = self.band.is_some();
        self.placement = Some(line);
        self.taking_out = self.learned.presence == Presence::Heard;
        self.loudest = 0.0;
        self.catch_up();
    }

    /// As `cue`, of signs: these are too soft and short to show whether our sound comes back.
    pub fn signs(&mut self, sound: &CueSound, place: Placement) {
        self.cue(sound, place);
        self.placement.iter_mut().for_each(|placement| placement.judged = true);
    }

    /// What sounds is cut off now; a device still holds a little of it.
    pub fn hush(&mut self) {
        if let Some(placement) = &mut self.placement {
            placement.cut(self.heard + self.rate.samples(HELD + LEAD) as i64);
        }
    }

    /// The streams were opened anew, or much of the input was lost: where the cue lies is no longer known.
    pub fn lost(&mut self) {
        self.recent.clear();
        self.microphone.clear();
        self.heard = 0;
        self.sounded = i64::MIN / 2;
        (self.placement, self.band) = (None, None);
        self.taking_out = false;
        self.returned.forget();
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
            placement.read(from + self.rate.samples(LEAD) as i64, &mut self.reference);
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
            self.taking_out &= self.band.is_some();
        }
        self.follow_band(after);
        if self.placement.as_ref().is_some_and(|placement| !placement.judged && after >= placement.end) {
            self.judge_way();
            self.time_return();
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
        // Whatever the player does, what is taken out rightly leaves less than came.
        let worse = residual > all && out > 0.3 * all;
        self.residuals.floor = match (&self.band, fails) {
            (Some(band), _) if worse || band.blocks < band.calm => 1.0,
            // The player is in the residual as long as he plays: how much of it there is says nothing of the fit.
            (Some(_), _) => LEAST_LEFT_OVER_BAND,
            (None, true) => 1.0,
            (None, false) => LEAST_LEFT,
        };
        if self.canceller.sounds() {
            self.loudest = self.loudest.max(reported);
        }
    }

    /// Decides after a cue whether it came back.
    fn judge_way(&mut self) {
        let Some(placement) = self.placement.as_mut().filter(|placement| !placement.judged) else { return };
        placement.judged = true;
        self.decide(self.evidence.comes_back(self.canceller.gain()));
    }

    /// Finds the cue that has ended in what came of its last two seconds.
    fn time_return(&mut self) {
        let Some(placement) = self.placement.as_ref().filter(|_| self.learned.presence == Presence::Heard) else {
            return;
        };
        let (lead, oldest) = (self.rate.samples(LEAD), self.heard - self.recent.len() as i64);
        let from = placement.origin.max(oldest + lead as i64);
        let mut sounded = vec![0.0; (placement.end - from).max(0) as usize];
        placement.read(from, &mut sounded);
        let heard: Vec<f32> = self.recent.iter().skip((from - oldest) as usize - lead).copied().collect();
        self.returned.enter(comes_back(&sounded, &heard, lead, self.rate));
    }

    /// By how much later than they should the newest cues came back, where they agree that the delay of the devices is not what was
    /// measured; given once.
    pub fn moved(&mut self) -> Option<Seconds> {
        self.returned.moved()
    }

    /// Takes in whether a cue or the lead-in of a band came back; `None` where it did not show it.
    fn decide(&mut self, comes_back: Option<bool>) {
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
        self.masking = self.taking_out && !self.unmasked;
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
}

#[cfg(test)]
#[path = "echo_tests.rs"]
mod tests;
