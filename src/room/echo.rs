use std::collections::VecDeque;

use crate::cue::CueSound;
use crate::notes::HeardNote;
use crate::room::doubt::Doubts;
use crate::room::evidence::{Evidence, power};
use crate::room::mask::Mask;
use crate::room::{Canceller, Learned, Presence};
use crate::units::{Hertz, SampleRate, Seconds};

/// How much of the raw input is kept for a cue that is laid late.
const KEPT: Seconds = Seconds(2.0);
/// The echo may come this much earlier than the clocks say.
const LEAD: Seconds = Seconds(0.048);
/// The longest way that is followed, the lead and the room's tail included.
const REACH: Seconds = Seconds(0.576);
/// Two lines of clocks are lined up to about this.
const LINED_UP: Seconds = Seconds(0.0006);
/// After all that is followed the room may keep this much of it.
const LATE: Seconds = Seconds(0.6);
/// A note is looked at so long after its onset before it is told whose it is ...
const LOOKED_AT: f64 = 0.09;
/// ... and first so soon.
const FIRST_LOOK: f64 = 0.004;
/// It is the player's where what is left is so much more than what may be ours, dB ...
const PLAYERS: f64 = 5.0;
/// ... and told at once where it is so much more.
const SURE: f64 = 12.0;

/// Nobody plays so much softer than the loudspeaker at the microphone, dB.
const UNHEARD: f64 = 20.0;
/// The share of what was expected that is never taken for taken out.
const TAKEN_OUT: f32 = 0.25;
/// Memory of how well the filter fits, a block.
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

/// A cue laid on the input's samples.
#[derive(Debug, Clone)]
struct Laid {
    played: Vec<f32>,
    /// Index of its first sample, on the count of the input's samples.
    origin: i64,
    /// Samples of it to one of the input.
    faster: f64,
    /// Index of its end.
    end: i64,
    judged: bool,
}

impl Laid {
    /// The cue between its samples: a cubic through the four nearest (Catmull and Rom 1974).
    fn at(&self, place: f64) -> f32 {
        let whole = place.floor();
        let x = (place - whole) as f32;
        let one =
            |by: i64| usize::try_from(whole as i64 + by).ok().and_then(|n| self.played.get(n)).copied().unwrap_or(0.0);
        if x == 0.0 {
            return one(0);
        }
        let [a, b, c, d] = [-1, 0, 1, 2].map(one);
        b + 0.5 * x * (c - a + x * (2.0 * a - 5.0 * b + 4.0 * c - d + x * (3.0 * (b - c) + d - a)))
    }
}

/// Our own cue in the microphone: learned, taken out, and told from the player. Streaming and causal; give it every block of
/// the input, of any length.
#[derive(Debug, Clone)]
pub struct Echo {
    rate: SampleRate,
    learned: Learned,
    canceller: Canceller,
    doubts: Doubts,
    recent: VecDeque<f32>,
    /// Samples heard so far, and the instant after the last.
    heard: i64,
    now: Seconds,
    microphone: Vec<f32>,
    reference: Vec<f32>,
    laid: Option<Laid>,
    evidence: Evidence,
    taking_out: bool,
    misses: u32,
    /// Means of the power that came, that was foretold, and that was left.
    fit: [f64; 3],
    /// The loudest block of the echo of this cue, as it was foretold.
    loudest: f64,
    mask: Mask,
    /// The block that is being heard is held back; the one before is.
    masking: bool,
    holds: bool,
    out: Vec<f32>,
    /// The last sample in which something of ours may have come back.
    sounded: i64,
}

impl Echo {
    /// Knows nothing yet. `rate` is that of the input.
    #[must_use]
    pub fn new(rate: SampleRate) -> Self {
        let canceller = Canceller::new(rate, REACH);
        let block = canceller.block();
        Self {
            rate,
            learned: Learned::default(),
            doubts: Doubts::new(rate, &canceller),
            recent: VecDeque::with_capacity(rate.samples(KEPT) + 1),
            heard: 0,
            now: Seconds(0.0),
            microphone: Vec::with_capacity(block),
            reference: vec![0.0; block],
            laid: None,
            evidence: Evidence::default(),
            taking_out: false,
            misses: 0,
            fit: [0.0; 3],
            loudest: 0.0,
            mask: Mask::new(&canceller),
            masking: false,
            holds: false,
            out: Vec::new(),
            sounded: i64::MIN / 2,
            canceller,
        }
    }

    /// What was learned so far.
    #[must_use]
    pub const fn learned(&self) -> &Learned {
        &self.learned
    }

    /// A cue is sounded: `sound` rendered at the input's rate (a cue at another rate is ignored), and the instant of its first
    /// sample on the input's clock; `faster` is the pace of the output's clock against the input's, near 1. May be told up to two
    /// seconds late.
    pub fn cue(&mut self, sound: &CueSound, begins_at: Seconds, faster: f64) {
        if sound.clip.rate != self.rate {
            return;
        }
        self.judge_way();
        self.canceller.realign(LINED_UP);
        let origin = self.index(begins_at);
        let before = self.recent.len() as i64 - (self.heard - origin).clamp(0, self.recent.len() as i64);
        let quiet: Vec<f64> = self.recent.iter().take(before as usize).map(|s| f64::from(*s)).collect();
        self.evidence = Evidence::begin(&quiet, self.canceller.block());
        self.laid = Some(Laid {
            played: sound.clip.samples.clone(),
            origin,
            faster,
            end: origin + self.rate.samples(sound.end) as i64,
            judged: false,
        });
        self.taking_out = self.learned.presence == Presence::Heard;
        self.loudest = 0.0;
        self.catch_up();
    }

    /// The streams were opened anew, or much of the input was lost: where the cue lies is only about known.
    pub fn lost(&mut self) {
        self.recent.clear();
        self.microphone.clear();
        self.heard = 0;
        self.sounded = i64::MIN / 2;
        self.laid = None;
        self.taking_out = false;
        self.canceller.lose_line();
        (self.masking, self.holds) = (false, false);
        self.doubts = Doubts::new(self.rate, &self.canceller);
    }

    /// The index of an instant, on the count of the input's samples.
    fn index(&self, at: Seconds) -> i64 {
        self.heard - ((self.now - at).0 * self.rate.per_second()).round() as i64
    }

    /// Hears again, with the cue, what was heard before it was laid.
    fn catch_up(&mut self) {
        let Some(laid) = &self.laid else { return };
        let block = self.canceller.block() as i64;
        let current = self.heard - self.microphone.len() as i64;
        let oldest = self.heard - self.recent.len() as i64;
        let first = (laid.origin - self.rate.samples(LEAD) as i64).max(oldest).min(current);
        let mut number = first.div_euclid(block) + i64::from(first.rem_euclid(block) > 0);
        let heard = std::mem::take(&mut self.microphone);
        while number * block < current {
            let from = (number * block - oldest).max(0) as usize;
            self.microphone.extend(self.recent.range(from..from + block as usize));
            self.foretell(number * block);
            self.learn(number);
            number += 1;
        }
        self.microphone = heard;
        self.foretell(current);
    }

    /// What is sounded while the block from this sample on is heard.
    fn foretell(&mut self, from: i64) {
        self.reference.fill(0.0);
        if let Some(laid) = &self.laid {
            let first = from + self.rate.samples(LEAD) as i64 - laid.origin;
            for (n, sample) in self.reference.iter_mut().enumerate() {
                *sample = laid.at((first + n as i64) as f64 * laid.faster);
            }
        }
        self.canceller.foretell(&self.reference);
    }

    /// Learns from a whole block.
    fn learn(&mut self, number: i64) {
        self.canceller.learn(&self.microphone);
        self.weigh_fit();
        self.doubts.look(number, &self.canceller);
        let after = (number + 1) * self.canceller.block() as i64;
        if self.canceller.sounds() {
            self.sounded = after;
            self.evidence.add(&self.reference, &self.microphone, self.canceller.left());
            self.taking_out |= self.learned.presence == Presence::Unknown && self.evidence.convinces();
        } else {
            self.taking_out = false;
        }
        if self.laid.as_ref().is_some_and(|laid| !laid.judged && after >= laid.end) {
            self.judge_way();
        }
        self.microphone.clear();
    }

    /// Where what was foretold is as loud as what came, and taking it out helped little, nothing is believed of it.
    fn weigh_fit(&mut self) {
        let told = power(self.canceller.foretold());
        let [all, out, left] = &mut self.fit;
        for (mean, now) in [(all, power(&self.microphone)), (out, told), (left, power(self.canceller.left()))] {
            *mean = FIT * *mean + (1.0 - FIT) * now;
        }
        let [all, out, left] = self.fit;
        let fails = left > 0.5 * all && out > 0.3 * all;
        self.doubts.floor = if fails { 1.0 } else { TAKEN_OUT };
        if self.canceller.sounds() {
            self.loudest = self.loudest.max(told);
        }
    }

    /// The cue is over: does it come back?
    fn judge_way(&mut self) {
        let Some(laid) = self.laid.as_mut().filter(|laid| !laid.judged) else { return };
        laid.judged = true;
        let comes_back = self.evidence.comes_back(self.canceller.gain());
        match (comes_back, self.learned.presence) {
            (Some(true), Presence::Absent) => {
                // Only now: was the plug pulled, or did somebody play along? The next cue is listened to anew.
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

    /// Takes out of a block what can be foretold of our own cue. `at` is the instant of its first sample; blocks follow each
    /// other, of any length. While our cue is taken out the newest samples are held back ([`Echo::held`]) until more was heard.
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
                self.out.push(if self.taking_out { sample - self.canceller.foretold()[place] } else { *sample });
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
    pub fn held(&self) -> usize {
        let current = if self.masking { self.microphone.len() } else { 0 };
        current + if self.holds { self.canceller.block() } else { 0 }
    }

    fn begin_block(&mut self) {
        self.masking = self.taking_out;
        if self.holds && !self.masking {
            self.out.extend_from_slice(self.mask.before());
            self.holds = false;
        }
        self.foretell(self.heard);
    }

    fn end_block(&mut self) {
        self.mask.hear(&self.canceller, self.masking);
        if self.holds {
            self.out.extend_from_slice(self.mask.out());
        }
        self.holds = self.masking;
        self.masking = false;
    }

    /// Whose a note is.
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
        // Made out of what lay before the cue, and told only when that sounded: the cue decides.
        let told = self.index(note.announced);
        let onset = match &self.laid {
            Some(laid) if told >= laid.origin => onset.max(laid.origin),
            _ => onset,
        };
        // What was over before is looked at to its end, before the attack of the next.
        let until = if ended { (note.length().0 - 0.02).clamp(0.02, LOOKED_AT) } else { LOOKED_AT };
        let share = self.doubts.share(note.pitch.hertz(a4), after(onset, FIRST_LOOK), after(onset, until));
        let whole = self.doubts.known() > after(onset, until);
        let over = share.over_db();
        match (whole, share.looks) {
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
