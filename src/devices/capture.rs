//! From the microphone's callback to the hearing thread, without waiting for each other.
//!
//! The callback converts, writes the samples and then a [`Block`] that says where they belong; a block that does not fit
//! is dropped whole and counted, so the reader always knows which frame it holds.

use std::sync::Arc;

use cpal::{FromSample, InputCallbackInfo, SizedSample};
use rtrb::chunks::ChunkError;
use rtrb::{Consumer, Producer, RingBuffer};

use crate::units::SampleRate;

use super::signs::{Clock, Signs};

/// The ring holds this much sound: far longer than any pause of the hearing thread.
const RING_SECONDS: f64 = 4.0;
/// More channels than this are not looked at.
const MOST_CHANNELS: usize = 8;
/// Never more samples than this in the ring (16 MB).
const MOST_SAMPLES: usize = 1 << 22;
/// Blocks that can wait to be read.
const BLOCKS: usize = 4096;

/// One callback's worth of sound: where it belongs and when it came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Block {
    /// Index of its first frame, counted from the stream's first.
    pub frame: u64,
    /// How many frames.
    pub frames: usize,
    /// When its first frame passed the device, in nanoseconds of the shared clock, as near as is known.
    pub nanos: u64,
    /// The backend told so itself; else it is reckoned from when the callback ran.
    pub told: bool,
}

/// The callback's end of the ring.
#[derive(Debug)]
pub struct Capture {
    samples: Producer<f32>,
    blocks: Producer<Block>,
    signs: Arc<Signs>,
    clock: Clock,
    rate: SampleRate,
    channels: usize,
    kept: usize,
    frame: u64,
}

/// The reader's end of the ring.
#[derive(Debug)]
pub struct Captured {
    samples: Consumer<f32>,
    blocks: Consumer<Block>,
    kept: usize,
}

/// Both ends of a ring for a stream of `channels` channels at `rate`.
#[must_use]
pub fn capture(channels: usize, rate: SampleRate, signs: Arc<Signs>, clock: Clock) -> (Capture, Captured) {
    let channels = channels.max(1);
    let kept = channels.min(MOST_CHANNELS);
    // A whole number of frames, so that the ring never wraps inside one.
    let room = ((rate.per_second() * RING_SECONDS) as usize).min(MOST_SAMPLES / kept);
    let (samples, samples_out) = RingBuffer::new(room * kept);
    let (blocks, blocks_out) = RingBuffer::new(BLOCKS);
    (
        Capture { samples, blocks, signs, clock, rate, channels, kept, frame: 0 },
        Captured { samples: samples_out, blocks: blocks_out, kept },
    )
}

/// The microphone's data callback, for a device that delivers samples of type `T`.
pub fn input_callback<T>(mut capture: Capture) -> impl FnMut(&[T], &InputCallbackInfo) + Send + 'static
where
    T: SizedSample + Send + 'static,
    f32: FromSample<T>,
{
    move |data, _| capture.take(data)
}

impl Capture {
    /// Takes one callback's interleaved samples. Real-time safe: no allocation, lock or wait. A trailing part of a frame is
    /// ignored.
    ///
    /// The backend's own capture time is not used: through a sound server it wanders by several milliseconds over seconds,
    /// while the earliest callbacks of each second lie within .3 ms of a line.
    pub fn take<T>(&mut self, data: &[T])
    where
        T: SizedSample,
        f32: FromSample<T>,
    {
        let frames = data.len() / self.channels;
        if frames == 0 {
            return;
        }
        let now = self.clock.nanos();
        if self.write(data, frames).is_ok() {
            let length = (self.rate.seconds(frames).0 * 1e9) as u64;
            let nanos = now.saturating_sub(length);
            let block = Block { frame: self.frame, frames, nanos, told: false };
            // Room was checked before: only this end writes.
            let _ = self.blocks.push(block);
        } else {
            self.signs.dropped(frames as u64);
        }
        if data.iter().any(|sample| f32::from_sample_(*sample) != 0.0) {
            self.signs.sounded(now);
        }
        self.frame += frames as u64;
        self.signs.data(now, self.frame);
    }

    fn write<T>(&mut self, data: &[T], frames: usize) -> Result<(), ChunkError>
    where
        T: SizedSample,
        f32: FromSample<T>,
    {
        if self.blocks.is_full() {
            return Err(ChunkError::TooFewSlots(0));
        }
        let kept = self.kept;
        let chunk = self.samples.write_chunk_uninit(frames * kept)?;
        let wanted = data.chunks_exact(self.channels).flat_map(|frame| &frame[..kept]);
        chunk.fill_from_iter(wanted.map(|sample| finite(f32::from_sample_(*sample))));
        Ok(())
    }
}

/// A device's NaN or infinity would poison everything downstream.
fn finite(sample: f32) -> f32 {
    if sample.is_finite() { sample } else { 0.0 }
}

impl Captured {
    /// Channels a frame has in this ring.
    #[must_use]
    pub fn channels(&self) -> usize {
        self.kept
    }

    /// The next block, if there is one, without taking it.
    #[must_use]
    pub fn peek(&self) -> Option<Block> {
        self.blocks.peek().ok().copied()
    }

    /// Takes the next block and hands its frames over, interleaved, in one piece or two.
    pub fn take(&mut self, mut frames: impl FnMut(&[f32])) -> Option<Block> {
        let block = self.blocks.pop().ok()?;
        if let Ok(chunk) = self.samples.read_chunk(block.frames * self.kept) {
            let (first, second) = chunk.as_slices();
            frames(first);
            frames(second);
            chunk.commit_all();
        }
        Some(block)
    }
}
