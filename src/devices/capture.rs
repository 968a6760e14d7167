//! From the microphone's callback to the hearing thread, without waiting for each other.
//!
//! The callback converts, writes the samples and then a [`Block`] that says where they belong; a block that does not fit
//! is dropped whole and counted, so the reader always knows the index of every frame.

use std::sync::Arc;

use cpal::{FromSample, InputCallbackInfo, SizedSample};
use rtrb::chunks::ChunkError;
use rtrb::{Consumer, Producer, RingBuffer};

use crate::units::SampleRate;

use super::stream_counters::{MonotonicClock, StreamCounters};

/// Length of the sound that fits into the ring: far longer than any pause of the hearing thread, and short enough that a stream
/// opened beside a lost one does not make the program grow by a megabyte.
const RING_SECONDS: f64 = 2.0;
/// Most channels of a device that are read, the first ones.
const MOST_CHANNELS: usize = 8;
/// Most samples in the ring (16 MB).
const MOST_SAMPLES: usize = 1 << 22;
/// Number of blocks that can wait to be read.
const BLOCKS: usize = 4096;

/// The sound of one callback: where it belongs and when it came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Block {
    /// Index of the block's first frame, counted from the first frame of the stream.
    pub frame: u64,
    /// Number of frames in the block.
    pub frames: usize,
    /// When the block's first frame passed the microphone, or the loudspeaker's callback for it ran, in nanoseconds of the monotonic clock.
    pub nanos: u64,
    /// How much later the frame passes the device, in nanoseconds, as the backend reports; `None` where it reports nothing.
    pub ahead: Option<u64>,
}

/// The callback's end of the ring.
#[derive(Debug)]
pub struct CaptureWriter {
    /// Interleaved samples on their way to the reader.
    samples: Producer<f32>,
    /// Blocks on their way to the reader.
    blocks: Producer<Block>,
    /// What this callback publishes.
    counters: Arc<StreamCounters>,
    /// The clock by which blocks are dated.
    clock: MonotonicClock,
    /// Frames a second.
    rate: SampleRate,
    /// Number of channels of the device.
    channels: usize,
    /// Number of channels that go into the ring, the first ones of the device.
    kept: usize,
    /// Index of the next frame.
    frame: u64,
}

/// The reader's end of the ring.
#[derive(Debug)]
pub struct CaptureReader {
    /// Interleaved samples from the callback.
    samples: Consumer<f32>,
    /// Blocks from the callback.
    blocks: Consumer<Block>,
    /// Number of channels of a frame in the ring.
    kept: usize,
}

/// Both ends of a ring for a stream of `channels` channels at `rate`.
#[must_use]
pub fn capture(
    channels: usize,
    rate: SampleRate,
    counters: Arc<StreamCounters>,
    clock: MonotonicClock,
) -> (CaptureWriter, CaptureReader) {
    let channels = channels.max(1);
    let kept = channels.min(MOST_CHANNELS);
    // A whole number of frames, so that the ring never wraps inside one.
    let room = ((rate.per_second() * RING_SECONDS) as usize).min(MOST_SAMPLES / kept);
    let (samples, samples_out) = RingBuffer::new(room * kept);
    let (blocks, blocks_out) = RingBuffer::new(BLOCKS);
    (
        CaptureWriter { samples, blocks, counters, clock, rate, channels, kept, frame: 0 },
        CaptureReader { samples: samples_out, blocks: blocks_out, kept },
    )
}

/// The microphone's data callback, for a device that delivers samples of type `T`.
pub fn input_callback<T>(mut capture: CaptureWriter) -> impl FnMut(&[T], &InputCallbackInfo) + Send + 'static
where
    T: SizedSample + Send + 'static,
    f32: FromSample<T>,
{
    move |data, _| capture.take(data)
}

impl CaptureWriter {
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
            let block = Block { frame: self.frame, frames, nanos, ahead: None };
            // This cannot fail: room was checked before, and only this end writes.
            let _ = self.blocks.push(block);
        } else {
            self.counters.dropped(frames as u64);
        }
        if data.iter().any(|sample| f32::from_sample_(*sample) != 0.0) {
            self.counters.sounded(now);
        }
        self.frame += frames as u64;
        self.counters.data(now, self.frame);
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

/// Silence in place of a NaN or infinity of the device, which would spoil every sum that it enters.
fn finite(sample: f32) -> f32 {
    if sample.is_finite() { sample } else { 0.0 }
}

impl CaptureReader {
    /// Number of channels of a frame in this ring.
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
