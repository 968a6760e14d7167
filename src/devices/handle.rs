//! The hearing thread's handle on microphone and loudspeaker.

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::Duration;

use crate::room::{DeviceError, Side, SoundFault};
use crate::sound::{Clip, Placement, SoundBlock};
use crate::units::{SampleRate, Seconds};

use super::clock_line::ClockLine;
use super::device_error::SpentErrors;
use super::input_checks::InputChecks;
use super::input_reader::InputReader;
use super::monitor::MonitorWatch;
use super::open_stream::{DeviceChoice, DeviceRequest, StreamInfo};
use super::output_feeder::{OutputFeeder, REMEMBERED, SoundingClip};
use super::playback::PlayId;
use super::stream_counters::{MonotonicClock, StreamCounters, StreamTotals, seconds};
use super::stream_health::{Health, PATIENCE, health};
use super::stream_supervisor::{BusySince, ReopenRequest, SupervisorEvent, supervise};
use super::wait_monitor::WaitMonitor;

/// A stream that has given this much sound is alive even if xruns kept its clock line from settling.
const UNSETTLED: Seconds = Seconds(3.0);

/// Microphone and loudspeaker. Everything that can block happens on a thread of its own, which ends when this is dropped.
#[derive(Debug)]
pub struct Devices {
    /// The clock that all streams share.
    clock: MonotonicClock,
    /// What the supervisor reports.
    events: Receiver<SupervisorEvent>,
    /// Asks the supervisor to open both sides anew.
    reopen: Sender<ReopenRequest>,
    /// When the supervisor entered a call that may block.
    busy: BusySince,
    /// Microphone streams, the oldest first; all but the last are closed and read to their end.
    readers: VecDeque<InputReader>,
    /// Instant up to which the input was read, and when that was on the monotonic clock.
    heard_to: Option<(Seconds, Seconds)>,
    /// The loudspeaker stream; `None` while none is open.
    feeder: Option<OutputFeeder>,
    /// What the microphone stream that is read shows of itself; `None` before the stream's first samples.
    checks: Option<InputChecks>,
    /// Whether the microphone stream that is read is the loudspeaker's monitor.
    pub(super) monitor: MonitorWatch,
    /// Whether input and output are lost, in this order, as in all pairs below.
    lost: [bool; 2],
    /// Whether a microphone was opened and not heard yet.
    opened_again: bool,
    /// Sides that were closed to be opened anew.
    reopening: [bool; 2],
    /// Why input and output do not open.
    failures: [Option<DeviceError>; 2],
    /// Errors that the callbacks have counted. This thread frees them, since it looks most often of all.
    spent_errors: SpentErrors,
    /// Totals of the streams that are closed.
    past: StreamTotals,
    /// Number of clips that were ordered.
    plays: u64,
    /// Clips that were ordered, with the number of overruns of the microphone at that time.
    ordered: BTreeMap<PlayId, u64>,
    /// Whether input and output were asked for.
    wanted: [bool; 2],
    /// The delay from callback to sound that calibration kept for the loudspeaker; `None` where it kept none.
    pub(super) held: Option<Seconds>,
    /// Whether this thread overslept while it waited for sound.
    pub(super) late: WaitMonitor,
}

impl Devices {
    /// Begins to open what is wanted, and returns at once. Sound comes later; see [`Devices::wait`].
    #[must_use]
    pub fn open(wanted: &DeviceRequest) -> Self {
        let clock = MonotonicClock::begin();
        let ((tell, events), (reopen, asked)) = (channel(), channel());
        let busy = BusySince::default();
        let sides = [wanted.input != DeviceChoice::Nothing, wanted.output != DeviceChoice::Nothing];
        let (wanted, busy_there) = (wanted.clone(), Arc::clone(&busy));
        let lost = thread::Builder::new()
            .name("devices".to_owned())
            .spawn(move || supervise(&wanted, clock, &tell, &busy_there, &asked))
            .is_err();
        Self {
            clock,
            events,
            reopen,
            busy,
            readers: VecDeque::new(),
            heard_to: None,
            feeder: None,
            checks: None,
            monitor: MonitorWatch::new(SampleRate::DEVICE),
            lost: [lost; 2],
            opened_again: false,
            reopening: [false; 2],
            failures: [None, None],
            spent_errors: SpentErrors::default(),
            past: StreamTotals::default(),
            plays: 0,
            ordered: BTreeMap::new(),
            wanted: sides,
            held: None,
            late: WaitMonitor::default(),
        }
    }

    /// Waits until each wanted side is open, also where it is opened anew, and has a clock line or has given three seconds of sound.
    ///
    /// # Errors
    /// The first failure to open, or [`DeviceError::Silent`] after `limit`.
    pub fn wait(&mut self, limit: Duration) -> Result<(), DeviceError> {
        let until = self.clock.now() + Seconds(limit.as_secs_f64());
        let mut sound = Vec::new();
        loop {
            self.poll();
            while self.read(&mut sound).is_some() {}
            if let Some(failure) = self.failures.iter().flatten().next() {
                return Err(failure.clone());
            }
            let missing = [Side::Input, Side::Output].into_iter().find(|side| !self.alive(*side));
            match missing {
                None => return Ok(()),
                Some(side) if self.clock.now() >= until => return Err(DeviceError::Silent(side)),
                Some(_) => self.late.nap(),
            }
        }
    }

    fn alive(&self, side: Side) -> bool {
        // Where xruns come again and again, no clock line settles though there is sound.
        let well = |line: &ClockLine, counters: &StreamCounters, rate: SampleRate| {
            line.settled() || counters.frames() as f64 > UNSETTLED.0 * rate.per_second()
        };
        !self.wanted[side as usize]
            || match side {
                _ if self.reopening[side as usize] => false,
                Side::Input => self.readers.back().is_some_and(|it| well(it.line(), it.counters(), it.about().rate)),
                Side::Output => self.feeder.as_ref().is_some_and(|it| well(it.line(), it.counters(), it.about().rate)),
            }
    }

    /// Replaces what is in `into` by the sound that came since the last call, up to the next hole in it, or some 12,000
    /// samples of it. `None` when there is nothing new; call again until then. Never blocks.
    pub fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        self.poll();
        into.clear();
        loop {
            let end = self.heard_to;
            let reader = self.readers.front_mut()?;
            if let Some(stretch) = reader.read(end, into) {
                self.heard_to = reader.end();
                let (rate, at, gap) = (reader.about().rate, stretch.at, stretch.gap);
                let (reader, feeder) = (&*reader, self.feeder.as_ref());
                let ends = |id| {
                    let clip = feeder?.frames(id)?;
                    reader.at(feeder?.time_of((clip.first + clip.frames as u64) as f64)?)
                };
                let back = self.lost[Side::Input as usize] && !self.reopening[Side::Input as usize];
                let checks = self.checks.get_or_insert_with(|| {
                    self.monitor.begin(rate);
                    if back { InputChecks::again(rate) } else { InputChecks::new(rate) }
                });
                checks.take(into);
                let heard = SoundBlock { at, rate, gap };
                self.monitor.heard(heard, into, ends);
                if self.readers.len() == 1 && std::mem::take(&mut self.opened_again) {
                    self.opened(Side::Input);
                }
                return Some(heard);
            }
            if self.readers.len() == 1 {
                return None;
            }
            // A newer stream waits, and the old one was read to its end.
            let old = self.readers.pop_front()?;
            self.past = self.past + old.counters().totals();
            self.checks = None;
        }
    }

    /// Chooses the loudest channel for the next answer, by what was heard since the last choice; `None` while no microphone is open.
    pub fn choose_channel(&mut self) -> Option<usize> {
        self.readers.front_mut().map(InputReader::choose_channel)
    }

    /// Plays a clip as soon as possible. `None` when no loudspeaker is open, when too much is waiting, or when the clip's rate
    /// is not [`Devices::output_rate`].
    pub fn play(&mut self, clip: &Arc<Clip>) -> Option<PlayId> {
        self.play_from(clip, None)
    }

    /// Plays a clip from output frame `frame` on, as [`Devices::play`].
    pub fn play_from(&mut self, clip: &Arc<Clip>, frame: Option<u64>) -> Option<PlayId> {
        self.poll();
        let xruns = self.xruns_on(Side::Input);
        let feeder = self.feeder.as_mut().filter(|feeder| feeder.about().rate == clip.rate)?;
        self.plays += 1;
        let id = PlayId(self.plays);
        self.ordered.insert(id, xruns);
        while self.ordered.len() > REMEMBERED {
            self.ordered.pop_first();
        }
        let taken = feeder.play(id, Arc::clone(clip), frame);
        if taken && self.checks.is_some() {
            self.monitor.played(id, clip);
        }
        taken.then_some(id)
    }

    /// Closes what is open and opens it anew. Until then [`Devices::faults`] says so.
    pub fn reopen(&mut self) {
        // Where the supervisor is gone, both sides are lost. A side that was lost before is still lost; the others are only closed.
        if self.reopen.send(ReopenRequest).is_ok() {
            self.reopening = [0, 1].map(|side| self.wanted[side] && !self.lost[side]);
        }
    }

    /// The loudspeaker, for keys that sound as they are played; `None` while none is open.
    pub const fn loudspeaker(&mut self) -> Option<&mut OutputFeeder> {
        self.feeder.as_mut()
    }

    /// Fades out whatever sounds, within 10 ms.
    pub fn hush(&mut self) {
        if let Some(feeder) = &mut self.feeder {
            feeder.hush();
        }
    }

    /// Where a clip lies on the input clock. `None` until the callback took the clip (the next one or two) and before the clocks
    /// are lined up; `None` for good when the loudspeaker was lost meanwhile, or 256 later clips were taken.
    pub fn sounding(&mut self, id: PlayId) -> Option<SoundingClip> {
        self.poll();
        let feeder = self.feeder.as_ref()?;
        let clip = feeder.frames(id)?;
        let from = self.on_input(feeder.began(clip)?)?;
        let until = self.input_time((clip.first + clip.frames as u64) as f64)?;
        let xrun = feeder.had_xrun(clip) || self.ordered.get(&id) != Some(&self.xruns_on(Side::Input));
        let length = feeder.about().rate.seconds(clip.frames);
        let faster = if xrun || clip.frames == 0 { 1.0 } else { length.0 / (until - from).0 };
        Some(SoundingClip { place: Placement { from, faster }, until, xrun })
    }

    /// Whether a clip waits or sounds in the stream that is open; `false` too when the clip's stream was lost.
    #[must_use]
    pub fn waits_or_sounds(&self, id: PlayId) -> bool {
        self.feeder.as_ref().is_some_and(|feeder| match feeder.frames(id) {
            Some(clip) => feeder.counters().frames() < clip.first + clip.frames as u64,
            None => feeder.waits(id),
        })
    }

    /// The instant on the input clock at which an output frame passes, by the clock lines.
    #[must_use]
    pub fn input_time(&self, output_frame: f64) -> Option<Seconds> {
        self.on_input(self.feeder.as_ref()?.time_of(output_frame)?)
    }

    /// An instant of the monotonic clock on the input clock; where no microphone was asked for, the two are one.
    fn on_input(&self, at: Seconds) -> Option<Seconds> {
        if self.wanted[Side::Input as usize] { self.readers.back()?.at(at) } else { Some(at) }
    }

    /// The clock that all streams share.
    #[must_use]
    pub fn clock(&self) -> MonotonicClock {
        self.clock
    }

    /// The present instant on the input clock; sound that arrives now was captured before it.
    #[must_use]
    pub fn now(&self) -> Option<Seconds> {
        self.on_input(self.clock.now())
    }

    /// What is known of the device that is open on a side; `None` while none is.
    #[must_use]
    pub fn about(&self, side: Side) -> Option<&StreamInfo> {
        match side {
            Side::Input => self.readers.back().map(InputReader::about),
            Side::Output => self.feeder.as_ref().map(OutputFeeder::about),
        }
    }

    /// Samples a second of the loudspeaker, once it is open.
    #[must_use]
    pub fn output_rate(&self) -> Option<SampleRate> {
        self.about(Side::Output).map(|about| about.rate)
    }

    /// How much slower than nominal input and output run against the monotonic clock, in millionths.
    #[must_use]
    pub fn drift_ppm(&self) -> (f64, f64) {
        let input = self.readers.back().map_or(0.0, |reader| reader.line().drift_ppm());
        (input, self.feeder.as_ref().map_or(0.0, |feeder| feeder.line().drift_ppm()))
    }

    /// Dropped frames, reported xruns, errors and texts that are never freed, since the beginning, over all streams.
    #[must_use]
    pub fn totals(&self) -> StreamTotals {
        let open = self.readers.iter().map(|reader| reader.counters().totals());
        let open = open.chain(self.feeder.iter().map(|feeder| feeder.counters().totals()));
        open.fold(self.past, |sum, counters| sum + counters)
    }

    /// Number of xruns of both sides, each since it was opened; after an xrun the delay measured before may have changed.
    #[must_use]
    pub fn xruns(&self) -> u64 {
        self.xruns_on(Side::Input) + self.xruns_on(Side::Output)
    }

    /// Number of xruns of one side since it was opened.
    #[must_use]
    pub fn xruns_on(&self, side: Side) -> u64 {
        match side {
            Side::Input => self.readers.back().map_or(0, |reader| reader.counters().totals().xruns),
            Side::Output => self.feeder.as_ref().map_or(0, OutputFeeder::underruns),
        }
    }

    /// Why a side does not open, as data; `None` while it is open or no attempt has failed.
    #[must_use]
    pub fn failure(&self, side: Side) -> Option<&DeviceError> {
        self.failures[side as usize].as_ref()
    }

    /// Everything that is wrong now, the gravest first. Empty when all is well.
    pub fn faults(&mut self) -> Vec<SoundFault> {
        self.poll();
        let (now, busy) = (self.clock.now(), self.busy.load(Relaxed));
        let mut faults = Vec::new();
        if busy > 0 && now - seconds(busy) > PATIENCE {
            faults.push(SoundFault::Opening);
        }
        // The supervisor may itself be blocked, so the counters are read here as well.
        let input = self.readers.back().map(|reader| health(now, reader.counters().liveness()));
        let output = self.feeder.as_ref().map(|feeder| health(now, feeder.counters().liveness()));
        for (side, health) in [(Side::Input, input), (Side::Output, output)] {
            if self.wanted[side as usize] && (self.lost[side as usize] || health == Some(Health::Lost)) {
                let fault = if self.reopening[side as usize] { SoundFault::Xruns } else { SoundFault::Lost(side) };
                if !faults.contains(&fault) {
                    faults.push(fault);
                }
            }
        }
        if let Some(checks) = &self.checks {
            // Between cues a monitor gives exact zeros, as a gate does: the fault `Monitor` explains them.
            faults.extend(self.monitor.dry().then_some(SoundFault::Monitor));
            faults.extend(checks.faults());
        }
        faults
    }

    /// Takes in what the supervisor and the output callback have reported.
    fn poll(&mut self) {
        while let Ok(events) = self.events.try_recv() {
            match events {
                SupervisorEvent::Input(captured, about, counters, spent) => {
                    self.spent_errors.add(spent);
                    // The side counts as lost until this stream is heard: only then is anything known of it.
                    self.opened_again = true;
                    self.failures[Side::Input as usize] = None;
                    self.readers.push_back(InputReader::new(captured, about, counters));
                }
                SupervisorEvent::Output(orders, about, counters, spent) => {
                    self.spent_errors.add(spent);
                    self.opened(Side::Output);
                    self.monitor.output_opened_again();
                    if let Some(old) = self.feeder.replace(OutputFeeder::new(orders, about, counters, self.held)) {
                        self.past = self.past + old.counters().totals();
                    }
                }
                SupervisorEvent::Lost(side) => {
                    self.lost[side as usize] = true;
                    self.opened_again &= side != Side::Input;
                }
                SupervisorEvent::Failed(side, failure) => {
                    self.lost[side as usize] = true;
                    self.reopening[side as usize] = false;
                    self.failures[side as usize] = Some(failure);
                }
            }
        }
        if let Some(feeder) = &mut self.feeder {
            feeder.poll();
        }
        self.spent_errors.free();
    }

    fn opened(&mut self, side: Side) {
        self.failures[side as usize] = None;
        self.lost[side as usize] = false;
        self.reopening[side as usize] = false;
    }
}
