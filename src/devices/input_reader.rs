//! The hearing thread's side of one microphone stream: its place on the input clock and its louder channel.

use std::sync::Arc;

use crate::units::Seconds;

use super::capture::CaptureReader;
use super::clock_line::ClockLine;
use super::open_stream::StreamInfo;
use super::stream_counters::{StreamCounters, seconds};

/// Before the first choice, another channel is taken when it has this many times the power (6 dB).
const CLEARLY: f64 = 4.0;

/// Reading stops after the block that reaches this many samples: otherwise, after the machine had stood still for seconds, all buffers
/// that hold one read would grow, and stay so large.
const AT_ONCE: usize = 12_000;

/// A stretch of sound that was read without a hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadSpan {
    /// Instant of the first sample on the input clock.
    pub at: Seconds,
    /// Length of the sound that was lost just before the first sample.
    pub gap: Seconds,
    /// Number of samples in the stretch.
    pub samples: usize,
}

/// One microphone stream being read.
#[derive(Debug)]
pub struct InputReader {
    /// The program's end of the ring.
    captured: CaptureReader,
    /// What is known of the stream.
    about: StreamInfo,
    /// What the callbacks publish.
    counters: Arc<StreamCounters>,
    /// The line between input frames and the monotonic clock.
    line: ClockLine,
    /// Instant of frame 0 on the input clock; `None` before anything was read.
    base: Option<Seconds>,
    /// Index of the next frame that is read.
    next_frame: u64,
    /// When the last frame that was read passed the device, on the monotonic clock.
    ended: Seconds,
    /// Number of reported overruns that the line knows of.
    xruns: u64,
    /// Index of the channel that is read.
    channel: usize,
    /// Whether the channel was chosen once by [`InputReader::choose_channel`].
    chosen: bool,
    /// Sum of squares of each channel since the last choice.
    power: Vec<f64>,
}

impl InputReader {
    /// The reader of a stream that was just opened.
    #[must_use]
    pub fn new(captured: CaptureReader, about: StreamInfo, counters: Arc<StreamCounters>) -> Self {
        Self {
            power: vec![0.0; captured.channels()],
            line: ClockLine::new(about.rate),
            captured,
            about,
            counters,
            base: None,
            next_frame: 0,
            ended: Seconds(0.0),
            xruns: 0,
            channel: 0,
            chosen: false,
        }
    }

    /// Reads one channel of what has come, up to the next place where sound is missing; of a long time's sound the rest is left for
    /// the next call. `end` is the instant up to which an earlier stream was heard, on the input clock and on the monotonic clock.
    pub fn read(&mut self, end: Option<(Seconds, Seconds)>, into: &mut Vec<f32>) -> Option<ReadSpan> {
        let first = self.captured.peek()?;
        let xruns = self.counters.totals().xruns;
        if xruns != self.xruns {
            // Sound was lost and its frames were not counted, so the frame count no longer fits the clock.
            self.xruns = xruns;
            self.line.begin_anew();
        }
        let rate = self.about.rate;
        let mut gap = rate.seconds((first.frame - self.next_frame) as usize);
        let base = *self.base.get_or_insert_with(|| {
            let (end, missing) = match end {
                Some((end, ended)) => (end, (seconds(first.nanos) - ended).max(Seconds(0.0))),
                None => (Seconds(0.0), Seconds(0.0)),
            };
            gap = missing;
            end + missing - rate.seconds(first.frame as usize)
        });
        let start = into.len();
        let mut next = first.frame;
        while into.len() - start < AT_ONCE
            && let Some(block) = self.captured.peek().filter(|block| block.frame == next)
        {
            let (channel, channels, power) = (self.channel, self.captured.channels(), &mut self.power);
            self.captured.take(|frames| {
                for frame in frames.chunks_exact(channels) {
                    into.push(frame[channel]);
                    for (power, sample) in power.iter_mut().zip(frame) {
                        *power += f64::from(*sample) * f64::from(*sample);
                    }
                }
            });
            next = block.frame + block.frames as u64;
            self.line.mark(block.frame, seconds(block.nanos));
            self.ended = seconds(block.nanos) + rate.seconds(block.frames);
            self.first_choice();
        }
        self.next_frame = next;
        Some(ReadSpan { at: base + rate.seconds(first.frame as usize), gap, samples: into.len() - start })
    }

    fn loudest(&self) -> usize {
        let louder = |best: usize, channel: usize| if self.power[channel] > self.power[best] { channel } else { best };
        (0..self.power.len()).fold(self.channel, louder)
    }

    fn first_choice(&mut self) {
        if !self.chosen && self.power.len() > 1 {
            let best = self.loudest();
            if self.power[best] > CLEARLY * self.power[self.channel] {
                self.channel = best;
            }
        }
    }

    /// Chooses the channel that was loudest since the last choice. It is called between answers, once for each.
    pub fn choose_channel(&mut self) -> usize {
        self.channel = self.loudest();
        self.chosen = true;
        self.power.fill(0.0);
        self.channel
    }

    /// The instant up to which the stream was heard, on the input clock and on the monotonic clock; `None` before anything was
    /// read.
    #[must_use]
    pub fn end(&self) -> Option<(Seconds, Seconds)> {
        let base = self.base?;
        Some((base + self.about.rate.seconds(self.next_frame as usize), self.ended))
    }

    /// The instant on the input clock of what came in at `time` of the monotonic clock.
    #[must_use]
    pub fn at(&self, time: Seconds) -> Option<Seconds> {
        let frame = self.line.frame_at(time)?;
        Some(Seconds(self.base?.0 + frame / self.about.rate.per_second()))
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

    /// The line between the frames of the stream and the monotonic clock.
    #[must_use]
    pub const fn line(&self) -> &ClockLine {
        &self.line
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::devices::capture::{CaptureWriter, capture};
    use crate::devices::stream_counters::MonotonicClock;
    use crate::units::SampleRate;

    fn stream(channels: usize) -> (CaptureWriter, InputReader) {
        stream_at(channels, SampleRate::new(1000).unwrap())
    }

    fn stream_at(channels: usize, rate: SampleRate) -> (CaptureWriter, InputReader) {
        let clock = MonotonicClock::begin();
        let counters = Arc::new(StreamCounters::opened_at(1));
        let (take, captured) = capture(channels, rate, Arc::clone(&counters), clock);
        let about = StreamInfo {
            id: String::new(),
            name: String::new(),
            rate,
            channels,
            format: String::new(),
            period: None,
            wireless: false,
        };
        (take, InputReader::new(captured, about, counters))
    }

    #[test]
    fn the_louder_side_of_a_stereo_pair_is_heard_and_kept_for_the_whole_answer() {
        let (mut take, mut reader) = stream(2);
        let mut heard = Vec::new();
        take.take(&[0.0f32, 0.5].repeat(100));
        reader.read(None, &mut heard);
        take.take(&[0.0f32, 0.5].repeat(10));
        heard.clear();
        reader.read(None, &mut heard);
        assert_eq!(heard, [0.5; 10]);
        assert_eq!(reader.choose_channel(), 1);
        // The other side grows loud in the middle of an answer, and is taken for the next answer only.
        take.take(&[0.9f32, 0.1].repeat(10));
        heard.clear();
        reader.read(None, &mut heard);
        assert_eq!(heard, [0.1; 10]);
        assert_eq!(reader.choose_channel(), 0);
    }

    #[test]
    fn sound_that_found_no_room_is_a_gap_and_the_clock_goes_on() {
        let (mut take, mut reader) = stream(1);
        for _ in 0..21 {
            take.take(&[0.25f32; 100]);
        }
        let mut heard = Vec::new();
        let first = reader.read(None, &mut heard).unwrap();
        assert_eq!((first.samples, first.gap), (2000, Seconds(0.0)));
        assert_eq!(reader.counters().totals().dropped, 100);
        take.take(&[0.5f32; 100]);
        let next = reader.read(None, &mut heard).unwrap();
        assert!((next.at.0 - 2.1).abs() < 1e-9 && (next.gap.0 - 0.1).abs() < 1e-9, "{next:?}");
    }

    #[test]
    fn what_came_while_the_machine_stood_still_is_read_in_pieces_that_join() {
        let (mut take, mut reader) = stream_at(1, SampleRate::DEVICE);
        (0..180).for_each(|_| take.take(&[0.25f32; 500]));
        let (mut heard, mut reads) = (Vec::new(), Vec::new());
        while let Some(span) = reader.read(None, &mut heard) {
            reads.push(span);
        }
        let longest = reads.iter().map(|span| span.samples).max().unwrap();
        assert!(heard.len() == 90_000 && longest <= AT_ONCE + 500, "{longest}");
        let mut joints = reads.windows(2).map(|pair| {
            let ended = pair[0].at + SampleRate::DEVICE.seconds(pair[0].samples);
            (pair[1].at - ended).abs() + pair[1].gap
        });
        assert!(joints.all(|off| off.0 < 1e-9));
    }

    #[test]
    fn a_new_stream_goes_on_where_the_old_one_ended_plus_the_time_between() {
        let (mut take, mut reader) = stream(1);
        take.take(&[0.25f32; 100]);
        let mut heard = Vec::new();
        let stretch = reader.read(Some((Seconds(60.0), Seconds(-7.5))), &mut heard).unwrap();
        let began = reader.ended - Seconds(0.1);
        assert!((stretch.gap - (began + Seconds(7.5))).abs().0 < 1e-9, "{stretch:?}");
        assert!((stretch.at - stretch.gap).0 == 60.0, "{stretch:?}");
        assert_eq!(reader.end().unwrap().0, stretch.at + Seconds(0.1));
    }

    #[test]
    fn blocks_of_any_length_come_back_in_order_across_the_rings_edge() {
        let (mut take, mut reader) = stream(3);
        let (mut sent, mut heard, mut got) = (0u32, Vec::new(), Vec::new());
        for length in [1usize, 0, 441, 97, 1500, 2, 1999, 64].into_iter().cycle().take(64) {
            let data: Vec<f32> =
                (0..length * 3).map(|i| if i % 3 == 2 { (sent + i as u32 / 3) as f32 } else { 0.0 }).collect();
            sent += length as u32;
            take.take(&data);
            heard.clear();
            reader.read(None, &mut heard);
            got.extend_from_slice(&heard);
        }
        // The first block is heard before the loud channel is known.
        assert_eq!(got.len(), sent as usize);
        assert!(got.iter().enumerate().skip(500).all(|(i, sample)| *sample == i as f32));
    }
}
