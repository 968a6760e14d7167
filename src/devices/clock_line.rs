//! The line between a stream's frame count and the monotonic clock.
//!
//! A callback often comes late and hardly ever early, so the truth is the lower envelope of (frame, time). For a minute, one of the
//! earliest marks of each second is kept (not quite the very earliest, which may be an accident of the backend's clock). The slope
//! against the nominal rate is the median of the slopes between all pairs of them (Theil 1950, Sen 1968), and is believed the more
//! the more seconds it rests on. The level is the lower quartile of what remains. A gap begins the line anew, and so does
//! a step of the envelope: three late seconds in a row, or one early second.

use std::collections::VecDeque;

use crate::units::{SampleRate, Seconds};

/// Number of seconds of which a mark is kept.
const MEMORY: usize = 60;
/// The slope is fitted from this many seconds on, and half believed at this many: callbacks that wander by 8 ms over ten seconds
/// look like 500 millionths, where crystals are off by some tens (common practice).
const SLOPE_FROM: usize = 10;
/// A longer time than this between two marks begins the line anew.
const GAP: Seconds = Seconds(0.5);
/// A step of the envelope by more than this is no jitter.
const STEP: Seconds = Seconds(0.006);
/// Number of late seconds in a row that make a step; an early second makes one at once.
const LATE: usize = 3;
/// Steepest slope, seconds a second: no crystal is so far off, and a steeper slope is an accident of the first seconds.
const STEEPEST: f64 = 5e-4;

/// Most marks of one second that are looked at.
const MARKS: usize = 512;

/// A mark of the stream: when its frame was due, and by how much it came later.
#[derive(Debug, Clone, Copy)]
struct ClockMark {
    /// Nominal time of the frame: its index over the rate, seconds.
    nominal: f64,
    /// Monotonic time of the mark beyond the nominal time, seconds.
    excess: f64,
}

/// A line fitted to (frame, time) of one stream.
#[derive(Debug, Clone)]
pub struct ClockLine {
    /// Nominal frames a second.
    rate: SampleRate,
    /// One of the earliest marks of each of the newest seconds, at most `MEMORY` of them.
    kept: VecDeque<ClockMark>,
    /// Marks of the second that is being filled.
    open: Vec<ClockMark>,
    /// Number, on the monotonic clock, of the second that is being filled.
    second: i64,
    /// Time of the newest mark.
    last: Option<Seconds>,
    /// Number of seconds in a row whose marks came more than `STEP` later than the line says.
    late: usize,
    /// Seconds of excess that a nominal second adds.
    slope: f64,
    /// Excess at `pivot`, seconds.
    level: f64,
    /// Nominal time at which the line has the excess `level`, seconds.
    pivot: f64,
    /// Memory for what a fit sorts, taken once: memory that is taken and given back each second would become fragmented.
    sorted: Vec<f64>,
    /// How often the line was begun anew.
    #[cfg(test)]
    restarts: u32,
}

impl ClockLine {
    /// A line for a stream of nominally `rate` frames a second.
    #[must_use]
    pub fn new(rate: SampleRate) -> Self {
        Self {
            rate,
            kept: VecDeque::with_capacity(MEMORY + 1),
            open: Vec::with_capacity(MARKS),
            second: 0,
            last: None,
            late: 0,
            slope: 0.0,
            level: 0.0,
            pivot: 0.0,
            sorted: Vec::with_capacity(MEMORY * (MEMORY - 1) / 2),
            #[cfg(test)]
            restarts: 0,
        }
    }

    /// Takes a mark: `frame` passed the device at `at`, as near as is known.
    pub fn mark(&mut self, frame: u64, at: Seconds) {
        if self.last.is_some_and(|last| at - last > GAP) {
            self.begin_anew();
        }
        self.last = Some(at);
        let nominal = frame as f64 / self.rate.per_second();
        let early = ClockMark { nominal, excess: at.0 - nominal };
        let second = at.0.floor() as i64;
        if !self.open.is_empty() && second != self.second {
            let early = early_of(&mut self.open);
            self.open.clear();
            self.close(early);
        }
        self.second = second;
        if self.open.len() < MARKS {
            self.open.push(early);
        }
        if self.kept.is_empty() {
            // Before the first second is over, the line goes through the earliest mark so far.
            let early = early_of(&mut self.open);
            (self.pivot, self.level) = (early.nominal, early.excess);
        }
    }

    /// When `frame` passed the device, or will pass it; `None` before the first mark.
    #[must_use]
    pub fn time_of(&self, frame: f64) -> Option<Seconds> {
        self.last?;
        let nominal = frame / self.rate.per_second();
        Some(Seconds(nominal + self.level + self.slope * (nominal - self.pivot)))
    }

    /// The frame that passed, or will pass, the device at `time`; `None` before the first mark.
    #[must_use]
    pub fn frame_at(&self, time: Seconds) -> Option<f64> {
        self.last?;
        let nominal = (time.0 - self.level + self.slope * self.pivot) / (1.0 + self.slope);
        Some(nominal * self.rate.per_second())
    }

    /// Whether a second of the monotonic clock has ended since the line began: from then on the line is fitted.
    #[must_use]
    pub fn settled(&self) -> bool {
        !self.kept.is_empty()
    }

    /// How much slower than nominal the stream runs against the monotonic clock, in millionths.
    #[must_use]
    pub fn drift_ppm(&self) -> f64 {
        self.slope * 1e6
    }

    /// How often the line has begun anew.
    #[cfg(test)]
    pub const fn restarts(&self) -> u32 {
        self.restarts
    }

    /// Forgets where the line lay, as after a gap. The slope is kept until ten new seconds give a better one: a gap does not change
    /// the crystal.
    pub fn begin_anew(&mut self) {
        if self.last.is_some() {
            #[cfg(test)]
            {
                self.restarts += 1;
            }
        }
        self.kept.clear();
        self.open.clear();
        self.last = None;
        self.late = 0;
    }

    fn close(&mut self, early: ClockMark) {
        let step = early.excess - (self.level + self.slope * (early.nominal - self.pivot));
        self.late = if step > STEP.0 { self.late + 1 } else { 0 };
        let supervise = if self.kept.is_empty() {
            0
        } else if step < -STEP.0 {
            // No callback can be early, so all the marks before this one were late.
            0
        } else if self.late >= LATE {
            self.late = 0;
            LATE - 1
        } else {
            MEMORY - 1
        };
        while self.kept.len() > supervise {
            self.kept.pop_front();
        }
        self.kept.push_back(early);
        self.fit();
    }

    fn fit(&mut self) {
        let count = self.kept.len();
        self.pivot = self.kept.iter().map(|early| early.nominal).sum::<f64>() / count as f64;
        if count >= SLOPE_FROM {
            self.slope = self.median_slope() * believed(count);
        }
        self.sorted.clear();
        let rest = self.kept.iter().map(|early| early.excess - self.slope * (early.nominal - self.pivot));
        self.sorted.extend(rest);
        self.sorted.sort_unstable_by(f64::total_cmp);
        self.level = self.sorted[count / 4];
    }

    fn median_slope(&mut self) -> f64 {
        self.sorted.clear();
        for (index, early) in self.kept.iter().enumerate() {
            for later in self.kept.iter().skip(index + 1) {
                let run = later.nominal - early.nominal;
                if run > 0.0 {
                    self.sorted.push((later.excess - early.excess) / run);
                }
            }
        }
        self.sorted.sort_unstable_by(f64::total_cmp);
        self.sorted.get(self.sorted.len() / 2).copied().unwrap_or(0.0).clamp(-STEEPEST, STEEPEST)
    }
}

/// How far a slope over so many seconds is believed, from a half at [`SLOPE_FROM`] towards 1.
fn believed(seconds: usize) -> f64 {
    let (seconds, half) = (seconds as f64, SLOPE_FROM as f64);
    seconds * seconds / (seconds * seconds + half * half)
}

/// One of the earliest marks of a second: one in 32 is passed over, and no more, since a busy machine makes most of them late.
fn early_of(marks: &mut [ClockMark]) -> ClockMark {
    let passed_over = marks.len() / 32;
    *marks.select_nth_unstable_by(passed_over, |a, b| a.excess.total_cmp(&b.excess)).1
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A small generator for test jitter (Park and Miller 1988, "minimal standard").
    struct Noise(u64);
    impl Noise {
        fn unit(&mut self) -> f64 {
            self.0 = self.0 * 48_271 % 2_147_483_647;
            self.0 as f64 / 2_147_483_647.0
        }
    }

    /// A stream in simulated time. The sound server hands over blocks of 50 ms, so callbacks wander by up to 8.4 ms. The scheduler
    /// adds a little to each callback and now and then delays one, after which the backlog comes in a burst.
    struct Stream {
        hz: f64,
        ppm: f64,
        starts: f64,
        period: u64,
        frame: u64,
        ready: f64,
        noise: Noise,
    }
    impl Stream {
        fn true_time(&self, frame: f64) -> f64 {
            self.starts + frame / (self.hz * (1.0 + self.ppm * 1e-6))
        }
        fn next(&mut self) -> (u64, Seconds) {
            self.frame += self.period;
            let due = self.true_time(self.frame as f64);
            let saw = 0.0084 * ((due / 0.05).fract());
            let jitter = -0.0001 * self.noise.unit().max(1e-9).ln();
            let held = if self.noise.unit() < 0.002 { 0.3 * self.noise.unit() } else { 0.0 };
            self.ready = self.ready.max(due + saw + jitter + held);
            (self.frame, Seconds(self.ready))
        }
    }

    fn stream(rate: u32, ppm: f64, starts: f64, period: u64, seed: u64) -> (Stream, ClockLine) {
        let noise = Noise(seed);
        (
            Stream { hz: f64::from(rate), ppm, starts, period, frame: 0, ready: 0.0, noise },
            ClockLine::new(SampleRate::new(rate).unwrap()),
        )
    }

    /// Feeds both streams for `minutes` and gives the worst error of output frame -> input time from instant 4 s on, when both
    /// lines have settled.
    fn worst_error(input: &mut (Stream, ClockLine), output: &mut (Stream, ClockLine), minutes: f64) -> f64 {
        let (mut worst, mut asked) = (0.0f64, 4.0);
        let mut next = [input.0.next(), output.0.next()];
        while next[0].1.0.min(next[1].1.0) < minutes * 60.0 {
            let side = usize::from(next[1].1 < next[0].1);
            let (stream, line) = if side == 0 { (&mut input.0, &mut input.1) } else { (&mut output.0, &mut output.1) };
            line.mark(next[side].0, next[side].1);
            let now = next[side].1.0;
            next[side] = stream.next();
            if now > asked {
                asked += 0.37;
                let frame = output.0.frame as f64;
                let time = output.1.time_of(frame).unwrap();
                let reported = input.1.frame_at(time).unwrap();
                let truth = (output.0.true_time(frame) - input.0.starts) * input.0.hz * (1.0 + input.0.ppm * 1e-6);
                worst = worst.max((reported - truth).abs() / input.0.hz);
            }
        }
        worst
    }

    #[test]
    fn after_ten_minutes_of_two_hundred_millionths_either_way_a_cue_is_placed_within_ten_milliseconds() {
        for (input_ppm, output_ppm) in [(200.0, 0.0), (-200.0, 0.0), (100.0, -100.0), (-100.0, 100.0), (0.0, 0.0)] {
            let mut input = stream(48_000, input_ppm, 1.234, 1024, 7);
            let mut output = stream(44_100, output_ppm, 0.777, 512, 11);
            let worst = worst_error(&mut input, &mut output, 10.0);
            println!("{input_ppm:+} {output_ppm:+} ppm: worst {:.2} ms", worst * 1e3);
            assert!(worst < 0.010, "{input_ppm} {output_ppm}: {:.1} ms", worst * 1e3);
        }
    }

    #[test]
    fn the_drift_itself_is_measured_to_a_few_millionths() {
        let mut input = stream(48_000, -200.0, 0.0, 480, 3);
        let mut output = stream(48_000, 50.0, 0.0, 480, 5);
        worst_error(&mut input, &mut output, 3.0);
        assert!((input.1.drift_ppm() - 200.0).abs() < 15.0, "{}", input.1.drift_ppm());
        assert!((output.1.drift_ppm() + 50.0).abs() < 15.0, "{}", output.1.drift_ppm());
    }

    #[test]
    fn a_microphone_that_froze_for_a_while_is_lined_up_again_at_once() {
        let mut line = ClockLine::new(SampleRate::DEVICE);
        for block in 1..1000u64 {
            line.mark(block * 480, Seconds(block as f64 * 0.01));
        }
        // For two seconds nothing comes, then the frame count goes on where it stood.
        for block in 1000..1150u64 {
            line.mark(block * 480, Seconds(block as f64 * 0.01 + 2.0));
        }
        let reported = line.time_of(1150.0 * 480.0).unwrap().0;
        assert!((reported - 13.5).abs() < 1e-6, "{reported}");
        assert_eq!(line.restarts(), 1);
    }

    #[test]
    fn an_underrun_that_moves_the_count_is_followed_within_four_seconds() {
        for step in [0.014, -0.014] {
            let mut line = ClockLine::new(SampleRate::DEVICE);
            for block in 1..3000u64 {
                let moved = if block > 2500 { step } else { 0.0 };
                line.mark(block * 480, Seconds(block as f64 * 0.01 + moved));
            }
            let reported = line.time_of(3000.0 * 480.0).unwrap().0;
            assert!((reported - 30.0 - step).abs() < 0.001, "{step}: {reported}");
        }
    }

    #[test]
    fn there_is_no_line_before_the_first_callback() {
        let mut line = ClockLine::new(SampleRate::CD);
        assert!(line.time_of(0.0).is_none() && line.frame_at(Seconds(1.0)).is_none() && !line.settled());
        line.mark(441, Seconds(5.0));
        assert!((line.time_of(882.0).unwrap().0 - 5.01).abs() < 1e-9);
        assert!((line.frame_at(Seconds(5.0)).unwrap() - 441.0).abs() < 1e-6);
    }
}
