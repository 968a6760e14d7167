//! The error callback, and what the sound library's errors mean.

use std::sync::Arc;

use rtrb::{Consumer, Producer, RingBuffer};

use crate::room::{DeviceError, Side};

use super::stream_counters::{MonotonicClock, StreamCounters};

/// Number of error reports that can wait to be freed: an underrun brings ten thousand within a tenth of a second.
const WAITING: usize = 1 << 14;
/// Most error texts of a stream that are never freed because no more can wait: some six megabytes.
const UNFREED: u64 = 1 << 16;

/// What `error` means for the device called `name`.
#[must_use]
pub fn device_error(error: &cpal::Error, side: Side, name: &str) -> DeviceError {
    use cpal::ErrorKind as Kind;
    let name = name.to_owned();
    match error.kind() {
        Kind::DeviceNotAvailable | Kind::HostUnavailable | Kind::StreamInvalidated => DeviceError::Gone { side, name },
        Kind::DeviceBusy => DeviceError::Busy { side, name },
        Kind::PermissionDenied => DeviceError::Forbidden { side, name },
        Kind::UnsupportedConfig | Kind::UnsupportedOperation | Kind::InvalidInput => {
            DeviceError::Unusable { side, name }
        }
        _ => DeviceError::Other { side, name, reported: error.to_string() },
    }
}

/// The error callback's end.
#[derive(Debug)]
pub struct ErrorReporter {
    /// Where errors are counted.
    counters: Arc<StreamCounters>,
    /// The clock by which errors are dated.
    clock: MonotonicClock,
    /// The ring by which errors leave, to be freed elsewhere.
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
    /// Adds the errors of one more stream.
    pub fn add(&mut self, spent: Consumer<cpal::Error>) {
        self.0.push(spent);
    }

    /// Frees the errors that came, and forgets a stream that is closed.
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
    /// Notes an error in atomics. Its text, if it has one of its own, is sent away to be freed elsewhere. Where 16384 texts wait,
    /// the next 65536 of the stream are counted and never freed: freeing them here could wait for a lock, and a few megabytes do
    /// less harm. A stream of which even more find no room is dead. No sound is due on its thread, so further texts that find no room
    /// are freed here, and the memory does not fill.
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
