//! The error callback, and what opening a device can run into.

use std::sync::Arc;

use rtrb::{Consumer, Producer, RingBuffer};

use super::midi_error::MidiError;
use super::stream_counters::{MonotonicClock, StreamCounters};

/// Error reports that can wait to be freed: those of an underrun come by ten thousand, within a tenth of a second.
const WAITING: usize = 1 << 14;
/// Texts of a stream that are never freed where those waiting fill the room: some six megabytes of them.
const UNFREED: u64 = 1 << 16;

/// Which way the sound goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// The microphone.
    Input,
    /// The loudspeaker.
    Output,
}

impl std::fmt::Display for Side {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str(match self {
            Self::Input => "microphone",
            Self::Output => "loudspeaker",
        })
    }
}

/// Why a device gives no sound: what is wrong, of which device, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DeviceError {
    /// No device of that name.
    #[error("there is no {side} called \"{name}\"; `earfirst devices` lists what there is")]
    Unknown {
        /// Microphone or loudspeaker.
        side: Side,
        /// The name asked for.
        name: String,
    },
    /// The machine has no device of this side at all.
    #[error("this machine has no {0}; plug one in, or try `earfirst demo`, which needs none")]
    None(Side),
    /// The device is there, or was, but cannot be reached.
    #[error("the {side} \"{name}\" cannot be reached; is it plugged in and switched on?")]
    Gone {
        /// Microphone or loudspeaker.
        side: Side,
        /// Name of the device.
        name: String,
    },
    /// Another program uses the device.
    #[error("the {side} \"{name}\" is in use by another program; close that one and try again")]
    Busy {
        /// Microphone or loudspeaker.
        side: Side,
        /// Name of the device.
        name: String,
    },
    /// The system does not let this program use the device.
    #[error("the system does not let this program use the {side} \"{name}\"; allow it in the privacy settings")]
    Forbidden {
        /// Microphone or loudspeaker.
        side: Side,
        /// Name of the device.
        name: String,
    },
    /// The device offers no format that this program can use.
    #[error("the {side} \"{name}\" offers no sound format that can be used here; choose another device")]
    Unusable {
        /// Microphone or loudspeaker.
        side: Side,
        /// Name of the device.
        name: String,
    },
    /// Another error, in the words of the system.
    #[error("the {side} \"{name}\" does not open ({reported}); choose another device with --{flag}", flag = flag(*side))]
    Other {
        /// Microphone or loudspeaker.
        side: Side,
        /// Name of the device.
        name: String,
        /// What the system said.
        reported: String,
    },
    /// The device gave no sign in time.
    #[error("the {0} does not answer; unplug it and plug it in again, or choose another device")]
    Silent(Side),
    /// The instrument that answers over a cable.
    #[error(transparent)]
    Midi(#[from] MidiError),
}

fn flag(side: Side) -> &'static str {
    match side {
        Side::Input => "input",
        Side::Output => "output",
    }
}

impl DeviceError {
    /// What `error` means for the device called `name`.
    #[must_use]
    pub fn of(error: &cpal::Error, side: Side, name: &str) -> Self {
        use cpal::ErrorKind as Kind;
        let name = name.to_owned();
        match error.kind() {
            Kind::DeviceNotAvailable | Kind::HostUnavailable | Kind::StreamInvalidated => Self::Gone { side, name },
            Kind::DeviceBusy => Self::Busy { side, name },
            Kind::PermissionDenied => Self::Forbidden { side, name },
            Kind::UnsupportedConfig | Kind::UnsupportedOperation | Kind::InvalidInput => Self::Unusable { side, name },
            _ => Self::Other { side, name, reported: error.to_string() },
        }
    }
}

/// The error callback's end.
#[derive(Debug)]
pub struct ErrorReporter {
    /// Where errors are counted.
    counters: Arc<StreamCounters>,
    /// The clock by which they are dated.
    clock: MonotonicClock,
    /// The way by which errors leave to be freed.
    spent_errors: Producer<cpal::Error>,
}

/// The error callback's state, and where its reports go to be freed.
#[must_use]
pub fn errors(counters: Arc<StreamCounters>, clock: MonotonicClock) -> (ErrorReporter, Consumer<cpal::Error>) {
    let (spent_errors, waste_out) = RingBuffer::new(WAITING);
    (ErrorReporter { counters, clock, spent_errors }, waste_out)
}

/// The errors of every stream that were counted, to be freed where no callback runs.
#[derive(Debug, Default)]
pub struct SpentErrors(Vec<Consumer<cpal::Error>>);

impl SpentErrors {
    /// Those of one more stream.
    pub fn add(&mut self, spent: Consumer<cpal::Error>) {
        self.0.push(spent);
    }

    /// Frees what came; a stream that is closed needs no more.
    pub fn free(&mut self) {
        self.0.retain_mut(|spent| {
            let closed = spent.is_abandoned();
            while spent.pop().is_ok() {}
            !closed
        });
    }
}

/// The error callback, the same for both streams.
pub fn error_callback(mut errors: ErrorReporter) -> impl FnMut(cpal::Error) + Send + 'static {
    move |error| errors.note(error)
}

impl ErrorReporter {
    /// Notes an error in atomics. Its text, if it has one of its own, is sent away to be freed elsewhere. Where 16384 wait, the
    /// next 65536 are counted and never freed: here freeing could wait for a lock, and a few megabytes do less harm. A stream
    /// of which even more come before the hearing thread has looked once is dead, no sound is due on its thread, and the text
    /// is freed here, so that the memory does not fill.
    pub fn note(&mut self, error: cpal::Error) {
        self.counters.error(self.clock.nanos(), error.kind());
        if error.message().is_none() {
            return;
        }
        if let Err(rtrb::PushError::Full(error)) = self.spent_errors.push(error)
            && self.counters.totals().unfreed < UNFREED
        {
            self.counters.unfreed();
            std::mem::forget(error);
        }
    }
}
