//! The way from the hearing thread to the loudspeaker's callback; neither waits for the other.
//!
//! The output stream is always open and plays silence between clips. Clips are rendered before they are ordered; the callback only
//! adds them up, reports at which frame each begins, and hands the memory back to be freed elsewhere. Keys of an instrument that is
//! silent itself are sounded in the callback, since they cannot be rendered before they are struck.

use std::sync::Arc;
use std::time::Duration;

use cpal::{FromSample, OutputCallbackInfo, SizedSample};
use rtrb::{Consumer, Producer, RingBuffer};

use crate::sound::Clip;
use crate::units::{SampleRate, Seconds};

use super::capture::Block;
use super::key_voice::{KeyTone, KeyVoices};
use super::stream_counters::{MonotonicClock, StreamCounters};

/// Number of clips that can sound at once.
const CLIPS: usize = 8;
/// Number of orders, of beginnings and of used clips that can wait to be read.
const WAITING: usize = 64;
/// Number of blocks that can wait to be read.
const BLOCKS: usize = 4096;
/// Time in which a hushed clip fades away.
const FADE: Seconds = Seconds(0.01);

/// The number of an ordered clip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PlayId(pub u64);

/// What the callback is asked to do.
#[derive(Debug)]
pub enum Order {
    /// Play a clip from `at` on, or as soon as possible.
    Play {
        /// The clip's number, by which its place can be asked for.
        id: PlayId,
        /// The clip, at the stream's rate.
        clip: Arc<Clip>,
        /// Output frame of the first sample; the clip begins at once where that frame has passed, or where this is `None`.
        at: Option<u64>,
    },
    /// Fade everything out.
    Hush,
    /// Sound a key, at once.
    KeyDown(KeyTone),
    /// Let the key of this number go; `None` for all keys.
    KeyUp(Option<u8>),
}

/// The callback took a clip, which begins at this frame of the output stream: at once, or later where it was ordered so.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClipStart {
    /// The clip that was taken.
    pub id: PlayId,
    /// Output frame of the clip's first sample.
    pub frame: u64,
}

#[derive(Debug)]
struct PlayingClip {
    /// The clip, at the rate of the stream.
    clip: Arc<Clip>,
    /// Output frame of the first sample.
    from: u64,
    /// Output frame at which fading began; `None` while it does not fade.
    fading_from: Option<u64>,
}

/// The callback's end.
#[derive(Debug)]
pub struct Playback {
    /// What was ordered.
    orders: Consumer<Order>,
    /// Clips that were taken, on their way to the reader.
    began: Producer<ClipStart>,
    /// Clips that are over, on their way to be freed.
    used: Producer<Arc<Clip>>,
    /// Blocks that were played, on their way to the reader.
    blocks: Producer<Block>,
    /// What this callback publishes.
    counters: Arc<StreamCounters>,
    /// The clock by which blocks are dated.
    clock: MonotonicClock,
    /// Number of channels of the device; all play the same.
    channels: usize,
    /// Length of a fade, in frames.
    fade: u64,
    /// Index of the next frame.
    frame: u64,
    /// Clips that sound.
    clips: [Option<PlayingClip>; CLIPS],
    /// Keys that sound.
    keys: KeyVoices,
}

/// The ordering end.
#[derive(Debug)]
pub struct OrderSender {
    /// Orders on their way to the callback.
    orders: Producer<Order>,
    /// Clips that the callback took.
    began: Consumer<ClipStart>,
    /// Clips that are over.
    used: Consumer<Arc<Clip>>,
    /// Blocks that were played.
    blocks: Consumer<Block>,
}

/// Both ends for a stream of `channels` channels at `rate`.
#[must_use]
pub fn playback(
    channels: usize,
    rate: SampleRate,
    counters: Arc<StreamCounters>,
    clock: MonotonicClock,
) -> (Playback, OrderSender) {
    let (orders, orders_out) = RingBuffer::new(WAITING);
    let (began, began_out) = RingBuffer::new(WAITING);
    let (used, used_out) = RingBuffer::new(WAITING);
    let (blocks, blocks_out) = RingBuffer::new(BLOCKS);
    let playback = Playback {
        orders: orders_out,
        began,
        used,
        blocks,
        counters,
        clock,
        channels: channels.max(1),
        fade: rate.samples(FADE).max(1) as u64,
        frame: 0,
        clips: [const { None }; CLIPS],
        keys: KeyVoices::new(rate),
    };
    (playback, OrderSender { orders, began: began_out, used: used_out, blocks: blocks_out })
}

/// The loudspeaker's data callback, for a device that takes samples of type `T`.
pub fn output_callback<T>(mut playback: Playback) -> impl FnMut(&mut [T], &OutputCallbackInfo) + Send + 'static
where
    T: SizedSample + FromSample<f32> + Send + 'static,
{
    move |data, info| {
        let reported = info.timestamp();
        playback.fill(data, reported.playback.duration_since(reported.callback));
    }
}

/// A delay that the backend reports, in nanoseconds; `None` where it reports none or an impossible one.
fn believable(reported: Duration) -> Option<u64> {
    const LONGEST: Duration = Duration::from_secs(2);
    if reported.is_zero() || reported > LONGEST { None } else { u64::try_from(reported.as_nanos()).ok() }
}

impl Playback {
    /// Fills one callback's interleaved samples, the first of which sounds `ahead` from now, as the backend reports. Real-time
    /// safe: no allocation, no release of memory, lock or wait.
    pub fn fill<T>(&mut self, data: &mut [T], ahead: Duration)
    where
        T: SizedSample + FromSample<f32>,
    {
        let frames = data.len() / self.channels;
        if frames == 0 {
            return;
        }
        let now = self.clock.nanos();
        self.obey();
        for (index, frame) in data.chunks_exact_mut(self.channels).enumerate() {
            let place = self.frame + index as u64;
            let sum: f32 = self.clips.iter().flatten().map(|clip| clip.at(place, self.fade)).sum();
            frame.fill(T::from_sample_(within(sum + self.keys.next())));
        }
        // The ring is full only if nobody reads; a lost mark costs the clock line one point.
        let _ = self.blocks.push(Block { frame: self.frame, frames, nanos: now, ahead: believable(ahead) });
        self.frame += frames as u64;
        self.clear();
        self.counters.data(now, self.frame);
    }

    /// Carries out what was ordered, as far as there are free voices.
    fn obey(&mut self) {
        loop {
            let free = self.clips.iter().position(Option::is_none);
            // An order is popped only if it can be carried out: a clip that was dropped here would be freed here.
            match self.orders.peek() {
                Ok(Order::Play { .. }) if free.is_none() || self.began.is_full() => return,
                Ok(_) => {}
                Err(_) => return,
            }
            match (self.orders.pop(), free) {
                (Ok(Order::Play { id, clip, at }), Some(slot)) => {
                    let from = at.unwrap_or(0).max(self.frame);
                    self.clips[slot] = Some(PlayingClip { clip, from, fading_from: None });
                    let _ = self.began.push(ClipStart { id, frame: from });
                }
                (Ok(Order::Hush), _) => {
                    let frame = self.frame;
                    for clip in self.clips.iter_mut().flatten() {
                        clip.fading_from = clip.fading_from.or(Some(frame));
                    }
                    self.keys.end(None);
                }
                (Ok(Order::KeyDown(tone)), _) => self.keys.begin(&tone),
                (Ok(Order::KeyUp(key)), _) => self.keys.end(key),
                _ => return,
            }
        }
    }

    /// Hands back the clips that are over; a clip stays while the ring has no room.
    fn clear(&mut self) {
        for slot in &mut self.clips {
            let over = slot.as_ref().is_some_and(|clip| clip.over(self.frame, self.fade));
            if over
                && !self.used.is_full()
                && let Some(clip) = slot.take()
            {
                let _ = self.used.push(clip.clip);
            }
        }
    }
}

impl PlayingClip {
    fn at(&self, frame: u64, fade: u64) -> f32 {
        let Some(index) = frame.checked_sub(self.from) else { return 0.0 };
        let sample = self.clip.samples.get(index as usize).copied().unwrap_or(0.0);
        match self.fading_from {
            None => sample,
            Some(start) => {
                let gone = frame.saturating_sub(start).min(fade);
                sample * (1.0 - gone as f32 / fade as f32)
            }
        }
    }

    fn over(&self, frame: u64, fade: u64) -> bool {
        frame >= self.from + self.clip.samples.len() as u64
            || self.fading_from.is_some_and(|start| frame >= start + fade)
    }
}

/// Keeps a sample just below full scale, since a sample of 1 would overflow the integer formats. NaN becomes silence.
fn within(sample: f32) -> f32 {
    const TOP: f32 = 1.0 - f32::EPSILON / 2.0;
    if sample.is_nan() { 0.0 } else { sample.clamp(-1.0, TOP) }
}

impl OrderSender {
    /// Sends an order; `false` when too many wait already or nobody plays any more.
    pub fn order(&mut self, order: Order) -> bool {
        !self.orders.is_abandoned() && self.orders.push(order).is_ok()
    }

    /// The next clip that the callback took.
    pub fn began(&mut self) -> Option<ClipStart> {
        self.began.pop().ok()
    }

    /// The next block that was played.
    pub fn block(&mut self) -> Option<Block> {
        self.blocks.pop().ok()
    }

    /// Frees the clips that are over; call it now and then.
    pub fn sweep(&mut self) {
        while self.used.pop().is_ok() {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pair() -> (Playback, OrderSender) {
        let clock = MonotonicClock::begin();
        playback(2, SampleRate::DEVICE, Arc::new(StreamCounters::opened_at(1)), clock)
    }

    fn play(orders: &mut OrderSender, id: u64, clip: &[f32], at: Option<u64>) {
        let clip = Arc::new(Clip { rate: SampleRate::DEVICE, samples: clip.to_vec() });
        assert!(orders.order(Order::Play { id: PlayId(id), clip, at }));
    }

    #[test]
    fn a_clip_begins_on_the_frame_that_is_reported_and_sounds_on_both_sides() {
        let (mut playback, mut orders) = pair();
        let mut data = [9.0f32; 8];
        playback.fill(&mut data, Duration::ZERO);
        assert_eq!(data, [0.0; 8]);
        play(&mut orders, 1, &[0.5, -0.25], Some(6));
        playback.fill(&mut data, Duration::ZERO);
        assert_eq!(data, [0.0, 0.0, 0.0, 0.0, 0.5, 0.5, -0.25, -0.25]);
        assert_eq!(orders.began(), Some(ClipStart { id: PlayId(1), frame: 6 }));
    }

    #[test]
    fn two_clips_sound_together() {
        let (mut playback, mut orders) = pair();
        play(&mut orders, 1, &[0.25; 4], None);
        play(&mut orders, 2, &[0.5; 2], None);
        let mut data = [0.0f32; 8];
        playback.fill(&mut data, Duration::ZERO);
        assert_eq!(data, [0.75, 0.75, 0.75, 0.75, 0.25, 0.25, 0.25, 0.25]);
    }

    #[test]
    fn hush_fades_within_ten_milliseconds_and_leaves_no_click() {
        let (mut playback, mut orders) = pair();
        play(&mut orders, 1, &[0.5; 48_000], None);
        let mut data = vec![0.0f32; 960];
        playback.fill(&mut data, Duration::ZERO);
        assert!(orders.order(Order::Hush));
        let mut after = vec![0.0f32; 2000];
        playback.fill(&mut after, Duration::ZERO);
        assert!(after.windows(4).all(|pair| (pair[0] - pair[2]).abs() < 0.002));
        assert_eq!(after[960..], vec![0.0; 1040]);
        // The clip's voice is free again.
        assert_eq!(orders.used.slots(), 1);
    }

    #[test]
    fn a_ninth_clip_waits_for_a_free_voice() {
        let (mut playback, mut orders) = pair();
        for id in 0..9 {
            play(&mut orders, id, &[0.0625; 2], None);
        }
        let mut data = [0.0f32; 8];
        playback.fill(&mut data, Duration::ZERO);
        playback.fill(&mut data, Duration::ZERO);
        assert_eq!(data[..4], [0.0625; 4]);
        let began: Vec<u64> = std::iter::from_fn(|| orders.began()).map(|began| began.frame).collect();
        assert_eq!(began, [0, 0, 0, 0, 0, 0, 0, 0, 4]);
    }

    #[test]
    fn too_loud_a_sum_is_held_at_full_scale_in_every_format() {
        let (mut playback, mut orders) = pair();
        play(&mut orders, 1, &[3.0, -3.0, f32::NAN], None);
        let mut data = [cpal::I24::default(); 6];
        playback.fill(&mut data, Duration::ZERO);
        assert_eq!(data.map(|sample| sample.inner() / 0x10_0000), [7, 7, -8, -8, 0, 0]);
        assert!(data[0].inner() <= 0x7f_ffff);
    }
}
