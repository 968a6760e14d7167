use std::sync::Arc;

use crate::sound::Clip;

/// A sound of ours, sample for sample beside the input: a [`Placement`](crate::sound::Placement) turned into indices once, since the
/// canceller asks for a sample of it with every sample that comes in.
#[derive(Debug, Clone)]
pub(super) struct CueSamples {
    /// What was sounded.
    played: Arc<Clip>,
    /// Index of the sound's first sample, on the count of the input's samples.
    pub origin: i64,
    /// Index of the end of the sound, on the count of the input's samples.
    pub end: i64,
    /// Whether nothing is left to decide about this sound coming back: it was decided, or these are signs, of which nothing is decided.
    pub judged: bool,
    /// Index of a sample of the input, and the place in the sound that lies beside it.
    anchor: (i64, f64),
    /// Number of samples of the sound for each sample of the input from the anchor on, near 1.
    faster: f64,
    /// Number of samples of the sound that are sounded: fewer where it was cut off.
    last: usize,
}

impl CueSamples {
    /// A sound that begins beside sample `origin` of the input and is read `faster` times as fast.
    pub fn new(played: &Arc<Clip>, origin: i64, faster: f64, length: usize) -> Self {
        let end = origin + length as i64;
        let last = played.samples.len();
        Self { played: Arc::clone(played), origin, end, judged: false, anchor: (origin, 0.0), faster, last }
    }

    /// Fills `into` with what is sounded beside the input from sample `first` on.
    pub fn read(&self, first: i64, into: &mut [f32]) {
        for (n, sample) in into.iter_mut().enumerate() {
            *sample = self.at(self.place(first + n as i64));
        }
    }

    /// The place in the sound that lies beside a sample of the input.
    fn place(&self, index: i64) -> f64 {
        self.anchor.1 + (index - self.anchor.0) as f64 * self.faster
    }

    /// From sample `from` of the input on the sound is read faster by this share of its pace.
    pub fn hasten(&mut self, from: i64, by: f64) {
        self.anchor = (from, self.place(from));
        self.faster += by;
    }

    /// The sound comes back later by so many samples than was thought; earlier where that is below 0.
    pub fn delay(&mut self, by: f64) {
        self.anchor.1 -= by;
    }

    /// The sound is cut off beside sample `index` of the input.
    pub fn cut(&mut self, index: i64) {
        self.last = self.place(index).max(0.0) as usize;
        self.end = self.end.min(index);
    }

    /// The value of the sound between its samples: a cubic through the four nearest (Catmull and Rom 1974).
    fn at(&self, place: f64) -> f32 {
        let whole = place.floor();
        let x = (place - whole) as f32;
        let known = &self.played.samples[..self.last.min(self.played.samples.len())];
        let at = |n: i64| usize::try_from(n).ok().and_then(|n| known.get(n)).copied().unwrap_or(0.0);
        let one = |by: i64| at(whole as i64 + by);
        if x == 0.0 {
            return one(0);
        }
        let [a, b, c, d] = [-1, 0, 1, 2].map(one);
        b + 0.5 * x * (c - a + x * (2.0 * a - 5.0 * b + 4.0 * c - d + x * (3.0 * (b - c) + d - a)))
    }
}
