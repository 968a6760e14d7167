//! The thread that owns host, devices and streams.
//!
//! Opening and dropping a stream can block for as long as the sound system hangs, so only this thread does either. It sends the
//! streams that it opens to the hearing thread. It drops a stream that is lost and opens it again, with pauses between attempts,
//! until the handle is dropped.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering::Relaxed};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::Duration;

use rtrb::Consumer;

use crate::room::{DeviceError, Side};
use crate::units::Seconds;

use super::capture::CaptureReader;
use super::microphone_probe::MicrophoneProbe;
use super::open_stream::{DeviceChoice, DeviceRequest, Opened, StreamInfo, StreamPreferences, open_input, open_output};
use super::playback::OrderSender;
use super::stream_counters::{MonotonicClock, StreamCounters};
use super::stream_health::{Health, health};

/// How often the streams are looked after.
const ROUND: Duration = Duration::from_millis(40);
/// Pauses between attempts to open: the first, and the longest.
const PAUSE: (Seconds, Seconds) = (Seconds(0.25), Seconds(2.0));

/// What the supervisor reports to the hearing thread.
pub enum SupervisorEvent {
    /// The microphone is open; its errors are to be freed.
    Input(CaptureReader, StreamInfo, Arc<StreamCounters>, Consumer<cpal::Error>),
    /// The loudspeaker is open; its errors are to be freed.
    Output(OrderSender, StreamInfo, Arc<StreamCounters>, Consumer<cpal::Error>),
    /// A side has no stream: it was lost, or is dropped to be opened anew.
    Lost(Side),
    /// Opening failed; it will be tried again.
    Failed(Side, DeviceError),
}

/// Asks the supervisor to close every stream and to open it anew.
#[derive(Debug)]
pub struct ReopenRequest;

/// When the supervisor entered a call that may block, in nanoseconds of the clock; 0 when it is in none.
pub type BusySince = Arc<AtomicU64>;

/// One side: its stream while that is open, and when opening is tried next.
struct StreamSlot {
    /// Microphone or loudspeaker.
    side: Side,
    /// The device that is asked for.
    choice: DeviceChoice,
    /// What is asked of the device beyond its defaults.
    preferences: StreamPreferences,
    /// The open stream, and what its callbacks publish.
    open: Option<(cpal::Stream, Arc<StreamCounters>)>,
    /// When opening is tried next.
    next_try: Seconds,
    /// Pause before the next attempt.
    pause: Seconds,
    /// The error that was reported last; `None` after the stream opened.
    reported: Option<DeviceError>,
    /// A second stream of a microphone that gives exact zeros.
    probing: MicrophoneProbe,
}

/// Looks after both sides until the other end of `asked` is dropped.
pub fn supervise(
    wanted: &DeviceRequest,
    clock: MonotonicClock,
    events: &Sender<SupervisorEvent>,
    busy: &BusySince,
    asked: &Receiver<ReopenRequest>,
) {
    busy.store(clock.nanos(), Relaxed);
    let host = cpal::default_host();
    let mut slots: Vec<StreamSlot> = [(Side::Input, &wanted.input), (Side::Output, &wanted.output)]
        .into_iter()
        .filter(|(_, choice)| **choice != DeviceChoice::Nothing)
        .map(|(side, choice)| StreamSlot {
            side,
            choice: choice.clone(),
            preferences: StreamPreferences { period: wanted.period, rate: None },
            open: None,
            next_try: Seconds(0.0),
            pause: PAUSE.0,
            reported: None,
            probing: MicrophoneProbe::default(),
        })
        .collect();
    loop {
        for slot in &mut slots {
            busy.store(clock.nanos(), Relaxed);
            slot.look(&host, clock, events);
        }
        busy.store(0, Relaxed);
        match asked.recv_timeout(ROUND) {
            Err(RecvTimeoutError::Timeout) => {}
            Ok(ReopenRequest) => slots.iter_mut().for_each(|slot| slot.close(events)),
            Err(RecvTimeoutError::Disconnected) => return,
        }
    }
}

impl StreamSlot {
    fn look(&mut self, host: &cpal::Host, clock: MonotonicClock, events: &Sender<SupervisorEvent>) {
        let Some((_, counters)) = &self.open else {
            if clock.now() >= self.next_try {
                self.try_open(host, clock, events);
            }
            return;
        };
        match health(clock.now(), counters.liveness()) {
            Health::Opening => {}
            // The pauses between attempts grow until a stream lives.
            Health::Well => {
                self.pause = PAUSE.0;
                self.probe(host, clock, events);
            }
            Health::Lost => {
                self.close(events);
                self.wait(clock);
            }
        }
    }

    /// Drops the stream, which may block; the stream is opened again when its time has come.
    fn close(&mut self, events: &Sender<SupervisorEvent>) {
        self.open = None;
        self.probing.leave();
        // The hearing thread may be gone already; then nobody needs to be told.
        let _ = events.send(SupervisorEvent::Lost(self.side));
    }

    /// Looks for the true microphone beside one that gives exact zeros. When a microphone is pulled out, a sound server moves its
    /// stream to what is left, such as the loudspeaker's monitor. So the wished-for microphone is opened in a second stream again
    /// and again, which replaces the first as soon as it sounds. A microphone that is only muted, or gated between notes, is never
    /// interrupted.
    fn probe(&mut self, host: &cpal::Host, clock: MonotonicClock, events: &Sender<SupervisorEvent>) {
        let Some((_, counters)) = self.open.as_ref().filter(|_| self.side == Side::Input) else { return };
        let (choice, preferences) = (&self.choice, self.preferences);
        let open = || open_input(host, choice, preferences, clock).ok();
        if let Some(opened) = self.probing.look(clock.now(), counters.still_since(), open) {
            let mut opened = opened;
            // Sound of the second stream up to now is thrown away: the first stream covered that time.
            while opened.end.take(|_| {}).is_some() {}
            let _ = events.send(self.keep_open(opened, SupervisorEvent::Input));
        }
    }

    fn wait(&mut self, clock: MonotonicClock) {
        self.next_try = clock.now() + self.pause;
        self.pause = (self.pause * 2.0).min(PAUSE.1);
    }

    fn try_open(&mut self, host: &cpal::Host, clock: MonotonicClock, events: &Sender<SupervisorEvent>) {
        let tried = match self.side {
            Side::Input => open_input(host, &self.choice, self.preferences, clock)
                .map(|opened| self.keep_open(opened, SupervisorEvent::Input)),
            Side::Output => open_output(host, &self.choice, self.preferences, clock)
                .map(|opened| self.keep_open(opened, SupervisorEvent::Output)),
        };
        match tried {
            Ok(opened) => {
                self.reported = None;
                let _ = events.send(opened);
            }
            Err(failure) => {
                self.wait(clock);
                // The same error is reported once, however often opening is tried.
                if self.reported.as_ref() != Some(&failure) {
                    self.reported = Some(failure.clone());
                    let _ = events.send(SupervisorEvent::Failed(self.side, failure));
                }
            }
        }
    }

    fn keep_open<End>(
        &mut self,
        opened: Opened<End>,
        tell: impl Fn(End, StreamInfo, Arc<StreamCounters>, Consumer<cpal::Error>) -> SupervisorEvent,
    ) -> SupervisorEvent {
        self.preferences.rate = Some(opened.about.rate.hz());
        self.open = Some((opened.stream, Arc::clone(&opened.counters)));
        tell(opened.end, opened.about, opened.counters, opened.spent_errors)
    }
}
