//! The hearing thread's side of one loudspeaker stream: what was ordered and where it began.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::sound::{Clip, Placement};
use crate::units::{Decibels, Hertz, Seconds};

use super::clock_line::ClockLine;
use super::key_voice::KeyTone;
use super::open_stream::StreamInfo;
use super::playback::{Order, OrderSender, PlayId};
use super::reported_delay::ReportedDelay;
use super::stream_counters::{StreamCounters, seconds};

/// Number of clips whose places are remembered.
pub const REMEMBERED: usize = 256;

/// If the time that the backend reports comes later by more than this from one callback to the next, there was an underrun.
const SLIP: Seconds = Seconds(0.006);
/// The buffer of a stream is filled before anything sounds: so much of its beginning says nothing of its clock.
const FILLING: Seconds = Seconds(0.5);

/// The frames of the output stream that a clip fills, from which its [`Placement`] is worked out. An instant on the input clock
/// needs both clock lines, and the stream knows its own alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClipFrames {
    /// Frame of the first sample.
    pub first: u64,
    /// Number of frames of the clip.
    pub frames: usize,
    /// Number of underruns of the stream before the callback took the clip.
    pub underruns: u64,
    /// When the clip began on the monotonic clock, where an underrun has moved the clock line since; `None` otherwise.
    pub began: Option<Seconds>,
}

/// Where a clip that sounds lies by the two clock lines alone; the delay that calibration found is not in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoundingClip {
    /// Where the clip lies on the input clock.
    pub place: Placement,
    /// Instant after the clip's last sample.
    pub until: Seconds,
    /// Whether there was an xrun of the microphone since the clip was ordered, or of the loudspeaker since it took the clip: then
    /// the sound has holes, and no time that is measured from the clip can be trusted.
    pub xrun: bool,
}

/// One loudspeaker stream being fed.
#[derive(Debug)]
pub struct OutputFeeder {
    /// The orders on their way to the callback, and its reports on their way back.
    orders: OrderSender,
    /// What is known of the stream.
    about: StreamInfo,
    /// What the callbacks publish.
    counters: Arc<StreamCounters>,
    /// The line between output frames and the callbacks, on the monotonic clock.
    line: ClockLine,
    /// How much later a frame passes the device than the line says.
    ahead: ReportedDelay,
    /// Clips that were ordered and that the callback has not taken, with their lengths in frames.
    ordered: BTreeMap<PlayId, usize>,
    /// Places of the newest clips that the callback took; one may begin later.
    places: BTreeMap<PlayId, ClipFrames>,
    /// Number of reported underruns that the line knows of.
    xruns: u64,
    /// Number of underruns that were inferred from a jump of the delay.
    slips: u64,
    /// Time that was reported of the newest block, beyond the nominal time of its frame.
    excess: Option<Seconds>,
}

impl OutputFeeder {
    /// The feeder of a stream that was just opened; `held` is the delay from callback to sound that calibration kept.
    #[must_use]
    pub fn new(orders: OrderSender, about: StreamInfo, counters: Arc<StreamCounters>, held: Option<Seconds>) -> Self {
        let line = ClockLine::new(about.rate);
        Self {
            orders,
            about,
            counters,
            line,
            ahead: ReportedDelay::new(held),
            ordered: BTreeMap::new(),
            places: BTreeMap::new(),
            xruns: 0,
            slips: 0,
            excess: None,
        }
    }

    /// Orders a clip from frame `at` on, or as soon as possible; `false` when too much is waiting or the stream is gone.
    pub fn play(&mut self, id: PlayId, clip: Arc<Clip>, at: Option<u64>) -> bool {
        let frames = clip.samples.len();
        let ordered = self.orders.order(Order::Play { id, clip, at });
        if ordered {
            self.ordered.insert(id, frames);
        }
        ordered
    }

    /// Sounds a key at once, in the cues' own sound, with this peak; all keys together peak at `most` at most. The key
    /// is not sounded where too many orders wait.
    pub fn key_down(&mut self, key: u8, pitch: Hertz, peak: Decibels, most: Decibels) {
        self.orders.order(Order::KeyDown(KeyTone::new(key, pitch, (peak, most), self.about.rate)));
    }

    /// Lets the key of this number go; `None` for all keys.
    pub fn key_up(&mut self, key: Option<u8>) {
        self.orders.order(Order::KeyUp(key));
    }

    /// Fades out everything that sounds; `false` where too many orders wait or the stream is gone.
    pub fn hush(&mut self) -> bool {
        self.orders.order(Order::Hush)
    }

    /// Reads what the callback has reported, and frees the clips that are over.
    pub fn poll(&mut self) {
        let xruns = self.counters.totals().xruns;
        if xruns != self.xruns {
            self.xruns = xruns;
            self.moved();
        }
        while let Some(block) = self.orders.block() {
            let (at, nominal) = (seconds(block.nanos), self.about.rate.seconds(block.frame as usize));
            if nominal.0 < FILLING.0 {
                continue;
            }
            let reported = block.ahead.map(|ahead| at + seconds(ahead));
            // A sound server may run dry without reporting an underrun; the time that the backend reports then jumps, and later it is,
            // for silence was put in. A jump the other way is the server's correction of an earlier report.
            let excess = reported.map(|reported| reported - nominal);
            if let (Some(before), Some(now)) = (self.excess, excess)
                && (now - before).0 > SLIP.0
            {
                self.slips += 1;
                self.moved();
            }
            self.excess = excess.or(self.excess);
            self.line.mark(block.frame, at);
            if let (Some(reported), Some(ran)) = (reported, self.line.time_of(block.frame as f64)) {
                self.ahead.mark(at, reported - ran);
            }
        }
        while let Some(began) = self.orders.began() {
            if let Some(frames) = self.ordered.remove(&began.id) {
                self.places.insert(
                    began.id,
                    ClipFrames { first: began.frame, frames, underruns: self.underruns(), began: None },
                );
            }
        }
        while self.places.len() > REMEMBERED {
            self.places.pop_first();
        }
        self.orders.sweep();
    }

    /// Takes in that silence was put in and not counted in frames: clips that began before keep the instant they began at, and the
    /// line begins anew.
    fn moved(&mut self) {
        for place in self.places.values_mut().filter(|place| place.began.is_none()) {
            place.began = self.line.time_of(place.first as f64).map(|ran| ran + self.ahead.now());
        }
        self.line.begin_anew();
    }

    /// Number of underruns of the stream so far, reported or inferred.
    #[must_use]
    pub fn underruns(&self) -> u64 {
        self.counters.totals().xruns + self.slips
    }

    /// Whether a clip was ordered and the callback has not taken it.
    #[must_use]
    pub fn waits(&self, id: PlayId) -> bool {
        self.ordered.contains_key(&id)
    }

    /// The frames that a clip fills; `None` until the callback took it, after `REMEMBERED` later clips, and for one of another
    /// stream.
    #[must_use]
    pub fn frames(&self, id: PlayId) -> Option<ClipFrames> {
        self.places.get(&id).copied()
    }

    /// Whether the stream ran dry since it took the clip that fills `clip`: what was heard of it has holes then, and its later part
    /// came late.
    #[must_use]
    pub fn had_xrun(&self, clip: ClipFrames) -> bool {
        self.underruns() != clip.underruns
    }

    /// When the first frame of `clip` passes the device, on the monotonic clock.
    #[must_use]
    pub fn began(&self, clip: ClipFrames) -> Option<Seconds> {
        clip.began.or_else(|| self.time_of(clip.first as f64))
    }

    /// When a frame passes the device, on the monotonic clock, as near as the backend reports it.
    #[must_use]
    pub fn time_of(&self, frame: f64) -> Option<Seconds> {
        Some(self.line.time_of(frame)? + self.ahead.now())
    }

    /// How much later a frame passes the device than its callback runs, as it is believed now.
    #[must_use]
    pub const fn ahead(&self) -> Seconds {
        self.ahead.now()
    }

    /// Holds the delay from callback to sound that calibration kept.
    pub fn hold(&mut self, ahead: Option<Seconds>) {
        self.ahead.hold(ahead);
    }

    /// What is known of the stream.
    #[must_use]
    pub const fn about(&self) -> &StreamInfo {
        &self.about
    }

    /// What the callbacks of the stream publish.
    #[must_use]
    pub fn counters(&self) -> &StreamCounters {
        &self.counters
    }

    /// The line between the frames of the stream and its callbacks, on the monotonic clock.
    #[must_use]
    pub const fn line(&self) -> &ClockLine {
        &self.line
    }
}
