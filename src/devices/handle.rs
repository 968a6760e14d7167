//! The hearing thread's handle on microphone and loudspeaker.

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::Duration;

use crate::sound::Clip;
use crate::units::{SampleRate, Seconds};

use super::checks::{Checks, Fault};
use super::failing::{Failure, Side};
use super::intake::Intake;
use super::keeper::{Anew, BusySince, News, keep};
use super::late::Late;
use super::line::ClockLine;
use super::monitor::MonitorWatch;
use super::open::{About, Want};
use super::outlet::{Outlet, REMEMBERED};
use super::playback::PlayId;
use super::signs::{Clock, Counters, Signs, seconds};
use super::watch::{Health, PATIENCE, health};

/// After so much sound a stream is alive even if its clock line never settled.
const FALTERING: Seconds = Seconds(3.0);

/// Which devices to open.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wanted {
    /// The microphone.
    pub input: Want,
    /// The loudspeaker.
    pub output: Want,
    /// Frames of a callback; `None` leaves it to the device. A wish in any case.
    pub period: Option<u32>,
}

/// A stretch of sound without a hole in it, as it was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heard {
    /// Instant of the first sample on the input clock. The clock goes on over gaps and over lost and reopened devices.
    pub at: Seconds,
    /// Samples a second; a device that was opened again may have another rate than before.
    pub rate: SampleRate,
    /// How many samples.
    pub samples: usize,
    /// Sound that is missing just before: dropped, or while no device was there. Usually 0.
    pub gap: Seconds,
    /// The channel that was heard.
    pub channel: usize,
}

/// A clip's place on the input clock, by the two clock lines alone; what calibration found is to be added.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sounding {
    /// Instant of the clip's first sample.
    pub from: Seconds,
    /// Instant after its last.
    pub until: Seconds,
    /// Output frames in a second of the input clock, for instants inside the clip: sample `n` lies at `from + n / pace`.
    pub pace: f64,
    /// A stream ran dry or over since the clip began: it was heard with holes, and nothing timed by it is to be trusted.
    pub faltered: bool,
}

/// Microphone and loudspeaker. Everything that can block happens on a thread of its own, which ends when this is dropped.
#[derive(Debug)]
pub struct Devices {
    clock: Clock,
    news: Receiver<News>,
    anew: Sender<Anew>,
    busy: BusySince,
    intakes: VecDeque<Intake>,
    heard_to: Option<(Seconds, Seconds)>,
    outlet: Option<Outlet>,
    checks: Option<(Checks, MonitorWatch)>,
    lost: [bool; 2],
    /// A microphone was opened and not heard yet.
    opened_again: bool,
    /// Sides that were closed to be opened anew.
    renewed: [bool; 2],
    failures: [Option<Failure>; 2],
    past: Counters,
    plays: u64,
    ordered: BTreeMap<PlayId, u64>,
    wanted: [bool; 2],
    /// How this side's own waiting went.
    pub(super) late: Late,
}

impl Devices {
    /// Begins to open what is wanted, and returns at once. Sound comes when it comes; see [`Devices::wait`].
    #[must_use]
    pub fn open(wanted: &Wanted) -> Self {
        let clock = Clock::begin();
        let (tell, news) = channel();
        let (anew, asked) = channel();
        let busy = BusySince::default();
        let sides = [wanted.input != Want::Nothing, wanted.output != Want::Nothing];
        let (wanted, busy_there) = (wanted.clone(), Arc::clone(&busy));
        let lost = thread::Builder::new()
            .name("devices".to_owned())
            .spawn(move || keep(&wanted, clock, &tell, &busy_there, &asked))
            .is_err();
        Self {
            clock,
            news,
            anew,
            busy,
            intakes: VecDeque::new(),
            heard_to: None,
            outlet: None,
            checks: None,
            lost: [lost; 2],
            opened_again: false,
            renewed: [false; 2],
            failures: [None, None],
            past: Counters::default(),
            plays: 0,
            ordered: BTreeMap::new(),
            wanted: sides,
            late: Late::default(),
        }
    }

    /// Waits until every wanted side is alive and the two clocks can be lined up. For commands that need sound to begin at all.
    ///
    /// # Errors
    /// The first failure to open, or [`Failure::Silent`] after `limit`.
    pub fn wait(&mut self, limit: Duration) -> Result<(), Failure> {
        let until = self.clock.now() + Seconds(limit.as_secs_f64());
        let mut waste = Vec::new();
        loop {
            self.tend();
            while self.read(&mut waste).is_some() {}
            if let Some(failure) = self.failures.iter().flatten().next() {
                return Err(failure.clone());
            }
            let missing = [Side::Input, Side::Output].into_iter().find(|side| !self.alive(*side));
            match missing {
                None => return Ok(()),
                Some(side) if self.clock.now() >= until => return Err(Failure::Silent(side)),
                Some(_) => self.late.nap(),
            }
        }
    }

    fn alive(&self, side: Side) -> bool {
        // Where the sound falters again and again no line settles, and yet there is sound.
        let well = |line: &ClockLine, signs: &Signs, rate: SampleRate| {
            line.settled() || signs.frames() as f64 > FALTERING.0 * rate.per_second()
        };
        !self.wanted[side as usize]
            || match side {
                Side::Input => self.intakes.back().is_some_and(|one| well(one.line(), one.signs(), one.about().rate)),
                Side::Output => self.outlet.as_ref().is_some_and(|one| well(one.line(), one.signs(), one.about().rate)),
            }
    }

    /// Replaces what is in `into` by the sound that came since the last call, up to the next hole in it. `None` when there is
    /// nothing new; call again until then. Never blocks.
    pub fn read(&mut self, into: &mut Vec<f32>) -> Option<Heard> {
        self.tend();
        into.clear();
        loop {
            let end = self.heard_to;
            let intake = self.intakes.front_mut()?;
            if let Some(stretch) = intake.read(end, into) {
                self.heard_to = intake.end();
                let rate = intake.about().rate;
                let (at, gap, samples) = (stretch.at, stretch.gap, stretch.samples);
                let (intake, outlet) = (&*intake, self.outlet.as_ref());
                let ends = |id| {
                    let place = outlet?.place(id)?;
                    intake.at(outlet?.time_of((place.first + place.frames as u64) as f64)?)
                };
                let back = self.lost[Side::Input as usize] && !self.renewed[Side::Input as usize];
                let checks = || if back { Checks::again(rate) } else { Checks::new(rate) };
                let (checks, monitor) = self.checks.get_or_insert_with(|| (checks(), MonitorWatch::new(rate)));
                checks.take(into);
                monitor.heard(at, into, ends);
                let heard = Heard { at, rate, samples, gap, channel: intake.channel() };
                if self.intakes.len() == 1 && std::mem::take(&mut self.opened_again) {
                    self.opened(Side::Input);
                }
                return Some(heard);
            }
            if self.intakes.len() == 1 {
                return None;
            }
            // A newer stream waits, and the old one has nothing left.
            let old = self.intakes.pop_front()?;
            self.past = self.past + old.signs().counters();
            self.checks = None;
        }
    }

    /// Chooses the louder channel for the next answer, by what was heard since the last choice.
    pub fn choose_channel(&mut self) -> Option<usize> {
        self.intakes.front_mut().map(Intake::choose_channel)
    }

    /// Plays a clip as soon as possible. `None` when no loudspeaker is open, when too much is waiting, or when the clip's rate
    /// is not [`Devices::output_rate`].
    pub fn play(&mut self, clip: &Clip) -> Option<PlayId> {
        self.play_from(clip, None)
    }

    /// Plays a clip from output frame `frame` on, as [`Devices::play`].
    pub fn play_from(&mut self, clip: &Clip, frame: Option<u64>) -> Option<PlayId> {
        self.tend();
        let outlet = self.outlet.as_mut().filter(|outlet| outlet.about().rate == clip.rate)?;
        self.plays += 1;
        let id = PlayId(self.plays);
        let samples: Arc<[f32]> = Arc::from(clip.samples.as_slice());
        if let Some((_, monitor)) = &mut self.checks {
            monitor.played(id, &samples, clip.rate);
        }
        let xruns = self.intakes.back().map_or(0, |intake| intake.signs().counters().xruns);
        self.ordered.insert(id, xruns);
        while self.ordered.len() > REMEMBERED {
            self.ordered.pop_first();
        }
        outlet.play(id, samples, frame).then_some(id)
    }

    /// Closes what is open and opens it anew. Until then [`Devices::faults`] says so.
    pub fn renew(&mut self) {
        // Where the keeper is gone, both sides are known to be lost.
        if self.anew.send(Anew).is_ok() {
            // What was lost already is lost, not closed.
            self.renewed = [0, 1].map(|side| self.wanted[side] && !self.lost[side]);
        }
    }

    /// Fades out whatever sounds, within 10 ms.
    pub fn hush(&mut self) {
        if let Some(outlet) = &mut self.outlet {
            outlet.hush();
        }
    }

    /// Where a clip lies on the input clock: `None` until it began (a callback or two after [`Devices::play`]), before the
    /// clocks are lined up, and for good when the loudspeaker was lost meanwhile.
    pub fn sounding(&mut self, id: PlayId) -> Option<Sounding> {
        self.tend();
        let (intake, outlet) = (self.intakes.back()?, self.outlet.as_ref()?);
        let place = outlet.place(id)?;
        let from = intake.at(outlet.began(place)?)?;
        let until = self.input_time((place.first + place.frames as u64) as f64)?;
        let faltered = outlet.faltered(place) || self.ordered.get(&id) != Some(&intake.signs().counters().xruns);
        let rate = outlet.about().rate;
        let pace =
            if faltered || place.frames == 0 { rate.per_second() } else { place.frames as f64 / (until - from).0 };
        Some(Sounding { from, until, pace, faltered })
    }

    /// Whether a clip is still to come in the stream that is open; `false` also when that was lost.
    #[must_use]
    pub fn waits_or_sounds(&self, id: PlayId) -> bool {
        self.outlet.as_ref().is_some_and(|outlet| match outlet.place(id) {
            Some(place) => outlet.signs().frames() < place.first + place.frames as u64,
            None => outlet.waits(id),
        })
    }

    /// The instant on the input clock at which an output frame passes, by the clock lines.
    #[must_use]
    pub fn input_time(&self, output_frame: f64) -> Option<Seconds> {
        self.intakes.back()?.at(self.outlet.as_ref()?.time_of(output_frame)?)
    }

    /// The instant on the input clock of this very moment; runs ahead of what was read by the time it takes to arrive.
    #[must_use]
    pub fn now(&self) -> Option<Seconds> {
        self.intakes.back()?.at(self.clock.now())
    }

    /// What is open, and what is known of it.
    #[must_use]
    pub fn about(&self, side: Side) -> Option<&About> {
        match side {
            Side::Input => self.intakes.back().map(Intake::about),
            Side::Output => self.outlet.as_ref().map(Outlet::about),
        }
    }

    /// Samples a second of the loudspeaker, once it is open.
    #[must_use]
    pub fn output_rate(&self) -> Option<SampleRate> {
        self.about(Side::Output).map(|about| about.rate)
    }

    /// How far both streams run from their nominal rate against the monotonic clock, in millionths: input, output.
    #[must_use]
    pub fn drift_ppm(&self) -> (f64, f64) {
        let input = self.intakes.back().map_or(0.0, |intake| intake.line().drift_ppm());
        (input, self.outlet.as_ref().map_or(0.0, |outlet| outlet.line().drift_ppm()))
    }

    /// Dropped frames, underruns and errors since the beginning, over all streams.
    #[must_use]
    pub fn counters(&self) -> Counters {
        let open = self.intakes.iter().map(|intake| intake.signs().counters());
        let open = open.chain(self.outlet.iter().map(|outlet| outlet.signs().counters()));
        open.fold(self.past, |sum, counters| sum + counters)
    }

    /// How often a stream ran dry or over since the devices that are open now were opened; after each time a delay measured
    /// before may no longer hold.
    #[must_use]
    pub fn faltered(&self) -> u64 {
        self.faltered_on(Side::Input) + self.faltered_on(Side::Output)
    }

    /// The same of one side alone.
    #[must_use]
    pub fn faltered_on(&self, side: Side) -> u64 {
        match side {
            Side::Input => self.intakes.back().map_or(0, |intake| intake.signs().counters().xruns),
            Side::Output => self.outlet.as_ref().map_or(0, Outlet::ran_dry),
        }
    }

    /// Why a side does not open, in a sentence; `None` while it is open or on its way.
    #[must_use]
    pub fn failure(&self, side: Side) -> Option<&Failure> {
        self.failures[side as usize].as_ref()
    }

    /// Everything that is wrong now, the gravest first. Empty when all is well.
    pub fn faults(&mut self) -> Vec<Fault> {
        self.tend();
        let now = self.clock.now();
        let mut faults = Vec::new();
        let busy = self.busy.load(Relaxed);
        if busy > 0 && now - seconds(busy) > PATIENCE {
            faults.push(Fault::Opening);
        }
        // The keeper may itself be blocked, so the signs are read here as well.
        let input = self.intakes.back().map(|intake| health(now, intake.signs().seen()));
        let output = self.outlet.as_ref().map(|outlet| health(now, outlet.signs().seen()));
        for (side, health) in [(Side::Input, input), (Side::Output, output)] {
            if self.wanted[side as usize] && (self.lost[side as usize] || health == Some(Health::Lost)) {
                let fault = if self.renewed[side as usize] { Fault::Faltering } else { Fault::Lost(side) };
                if !faults.contains(&fault) {
                    faults.push(fault);
                }
            }
        }
        if let Some((checks, monitor)) = &self.checks {
            // Between cues a monitor gives exact zeros, like a gate; what it is explains both.
            faults.extend(monitor.dry().then_some(Fault::Monitor));
            faults.extend(checks.faults());
        }
        faults
    }

    /// Takes the keeper's news and the output callback's.
    fn tend(&mut self) {
        while let Ok(news) = self.news.try_recv() {
            match news {
                News::Input(captured, about, signs) => {
                    // Lost until it is heard: only then is anything known of it.
                    self.opened_again = true;
                    self.failures[Side::Input as usize] = None;
                    self.intakes.push_back(Intake::new(captured, about, signs));
                }
                News::Output(orders, about, signs) => {
                    self.opened(Side::Output);
                    if let Some(old) = self.outlet.replace(Outlet::new(orders, about, signs)) {
                        self.past = self.past + old.signs().counters();
                    }
                }
                News::Lost(side) => {
                    self.lost[side as usize] = true;
                    self.opened_again &= side != Side::Input;
                }
                News::Failed(side, failure) => {
                    self.lost[side as usize] = true;
                    self.renewed[side as usize] = false;
                    self.failures[side as usize] = Some(failure);
                }
            }
        }
        if let Some(outlet) = &mut self.outlet {
            outlet.tend();
        }
    }

    fn opened(&mut self, side: Side) {
        self.failures[side as usize] = None;
        self.lost[side as usize] = false;
        self.renewed[side as usize] = false;
    }
}
