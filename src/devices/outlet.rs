//! The hearing thread's side of one loudspeaker stream: what was ordered and where it began.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::units::Seconds;

use super::line::ClockLine;
use super::open::About;
use super::playback::{Order, Orders, PlayId};
use super::signs::{Signs, seconds};

/// So many clips are remembered.
const REMEMBERED: usize = 256;

/// A clip's place in the output stream, in frames.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// Frame of the first sample.
    pub first: u64,
    /// How many frames.
    pub frames: usize,
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
}

impl Outlet {
    /// A stream that was just opened.
    #[must_use]
    pub fn new(orders: Orders, about: About, signs: Arc<Signs>) -> Self {
        let line = ClockLine::new(about.rate);
        Self { orders, about, signs, line, ordered: BTreeMap::new(), places: BTreeMap::new() }
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
        while let Some(block) = self.orders.block() {
            self.line.mark(block.frame + block.frames as u64, seconds(block.nanos));
        }
        while let Some(began) = self.orders.began() {
            if let Some(frames) = self.ordered.remove(&began.id) {
                self.places.insert(began.id, Place { first: began.frame, frames });
            }
        }
        while self.places.len() > REMEMBERED {
            self.places.pop_first();
        }
        self.orders.sweep();
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

    /// When a frame passes the callback, on the monotonic clock.
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
