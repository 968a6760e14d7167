//! The hearing thread's side of one loudspeaker stream: what was ordered and where it began.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::units::Seconds;

use super::line::ClockLine;
use super::open::About;
use super::playback::{Order, Orders, PlayId};
use super::signs::{Signs, seconds};

/// So many clips are remembered.
pub const REMEMBERED: usize = 256;

/// From one callback to the next the told delay never wanders by so much.
const SLIP: Seconds = Seconds(0.006);

/// A clip's place in the output stream, in frames.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Frame of the first sample.
    pub first: u64,
    /// How many frames.
    pub frames: usize,
    /// How often the stream had run dry before it began.
    pub ran_dry: u64,
    /// When it began on the monotonic clock, if an underrun has since moved the line.
    pub began: Option<Seconds>,
}

/// One loudspeaker stream being fed.
#[derive(Debug)]
pub struct Outlet {
    orders: Orders,
    about: About,
    signs: Arc<Signs>,
    line: ClockLine,
    ordered: BTreeMap<PlayId, usize>,
    places: BTreeMap<PlayId, Place>,
    xruns: u64,
    slips: u64,
    excess: Option<Seconds>,
}

impl Outlet {
    /// A stream that was just opened.
    #[must_use]
    pub fn new(orders: Orders, about: About, signs: Arc<Signs>) -> Self {
        let line = ClockLine::new(about.rate);
        Self {
            orders,
            about,
            signs,
            line,
            ordered: BTreeMap::new(),
            places: BTreeMap::new(),
            xruns: 0,
            slips: 0,
            excess: None,
        }
    }

    /// Orders a clip from frame `at` on, or as soon as possible; `false` when too much is waiting or the stream is gone.
    pub fn play(&mut self, id: PlayId, clip: Arc<[f32]>, at: Option<u64>) -> bool {
        let frames = clip.len();
        let ordered = self.orders.order(Order::Play { id, clip, at });
        if ordered {
            self.ordered.insert(id, frames);
        }
        ordered
    }

    /// Fades out everything that sounds.
    pub fn hush(&mut self) -> bool {
        self.orders.order(Order::Hush)
    }

    /// Reads what the callback told and frees what it has done with.
    pub fn tend(&mut self) {
        let xruns = self.signs.counters().xruns;
        if xruns != self.xruns {
            self.xruns = xruns;
            self.moved();
        }
        while let Some(block) = self.orders.block() {
            // A sound server may run dry without a word; then what the backend tells of the delay jumps.
            let excess = block.told.then(|| seconds(block.nanos) - self.about.rate.seconds(block.frame as usize));
            if let (Some(before), Some(now)) = (self.excess, excess)
                && (now - before).abs() > SLIP
            {
                self.slips += 1;
                self.moved();
            }
            self.excess = excess.or(self.excess);
            self.line.mark(block.frame, seconds(block.nanos));
        }
        while let Some(began) = self.orders.began() {
            if let Some(frames) = self.ordered.remove(&began.id) {
                self.places
                    .insert(began.id, Place { first: began.frame, frames, ran_dry: self.ran_dry(), began: None });
            }
        }
        while self.places.len() > REMEMBERED {
            self.places.pop_first();
        }
        self.orders.sweep();
    }

    /// Silence was put in where no frame was counted: what began before keeps the place it had, and the line begins anew.
    fn moved(&mut self) {
        for place in self.places.values_mut().filter(|place| place.began.is_none()) {
            place.began = self.line.time_of(place.first as f64);
        }
        self.line.begin_anew();
    }

    /// How often the stream ran dry.
    #[must_use]
    pub fn ran_dry(&self) -> u64 {
        self.signs.counters().xruns + self.slips
    }

    /// Whether a clip was ordered and has not begun.
    #[must_use]
    pub fn waits(&self, id: PlayId) -> bool {
        self.ordered.contains_key(&id)
    }

    /// Where a clip lies; `None` until it began, and for one of another stream.
    #[must_use]
    pub fn place(&self, id: PlayId) -> Option<Place> {
        self.places.get(&id).copied()
    }

    /// The stream ran dry since a clip at `place` began: what was heard of it has holes, and its later part came late.
    #[must_use]
    pub fn faltered(&self, place: Place) -> bool {
        self.ran_dry() != place.ran_dry
    }

    /// When the first sample of `place` passes the device, on the monotonic clock.
    #[must_use]
    pub fn began(&self, place: Place) -> Option<Seconds> {
        place.began.or_else(|| self.time_of(place.first as f64))
    }

    /// When a frame passes the device, on the monotonic clock, as near as the backend tells.
    #[must_use]
    pub fn time_of(&self, frame: f64) -> Option<Seconds> {
        self.line.time_of(frame)
    }

    /// What stream this is.
    #[must_use]
    pub const fn about(&self) -> &About {
        &self.about
    }

    /// Its signs of life.
    #[must_use]
    pub fn signs(&self) -> &Signs {
        &self.signs
    }

    /// Its line on the monotonic clock.
    #[must_use]
    pub const fn line(&self) -> &ClockLine {
        &self.line
    }
}
