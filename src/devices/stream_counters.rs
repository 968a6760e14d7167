//! What the callbacks of one stream leave behind for others to read: atomics only.

use std::sync::atomic::{AtomicU64, Ordering::Relaxed};
use std::time::Instant;

use crate::units::Seconds;

use super::stream_health::StreamLiveness;

/// The one monotonic clock of the program's sound, counted from an origin that all streams share.
#[derive(Debug, Clone, Copy)]
pub struct MonotonicClock(Instant);

impl MonotonicClock {
    /// A clock that begins now.
    #[must_use]
    pub fn begin() -> Self {
        Self(Instant::now())
    }

    /// Nanoseconds since the origin; never 0, which stands for "never".
    #[must_use]
    pub fn nanos(self) -> u64 {
        u64::try_from(self.0.elapsed().as_nanos()).unwrap_or(u64::MAX).max(1)
    }

    /// Seconds since the origin.
    #[must_use]
    pub fn now(self) -> Seconds {
        seconds(self.nanos())
    }
}

/// Nanoseconds as seconds.
#[must_use]
pub fn seconds(nanos: u64) -> Seconds {
    Seconds(nanos as f64 * 1e-9)
}

/// What the callbacks of one stream publish: counts, and times in nanoseconds of the monotonic clock of which 0 stands for
/// "never". Others read them at any time.
#[derive(Debug, Default)]
pub struct StreamCounters {
    /// When the stream was opened.
    opened: AtomicU64,
    /// When the last callback with frames ran, silent or not.
    data: AtomicU64,
    /// When the last error came that may mean the end of the stream.
    error: AtomicU64,
    /// When the backend reported that the device is gone.
    gone: AtomicU64,
    /// When the last sample came that is not exactly zero.
    sounded: AtomicU64,
    /// Number of frames so far.
    frames: AtomicU64,
    /// Number of frames that found no room in the ring.
    dropped: AtomicU64,
    /// Number of underruns and overruns that the backend reported.
    xruns: AtomicU64,
    /// Number of errors of every kind that the backend reported.
    errors: AtomicU64,
    /// Number of texts of errors that are never freed.
    unfreed: AtomicU64,
}

impl StreamCounters {
    /// The counters of a stream that was opened at `nanos`.
    #[must_use]
    pub fn opened_at(nanos: u64) -> Self {
        let counters = Self::default();
        counters.opened.store(nanos, Relaxed);
        counters
    }

    /// A callback came at `nanos` and the stream has now counted `frames`.
    pub fn data(&self, nanos: u64, frames: u64) {
        self.frames.store(frames, Relaxed);
        self.data.store(nanos, Relaxed);
    }

    /// At `nanos` there was a sample that is not exactly zero; a real microphone is never without one for long.
    pub fn sounded(&self, nanos: u64) {
        self.sounded.store(nanos, Relaxed);
    }

    /// When the last sample came that is not exactly zero; when the stream was opened, where there was none.
    #[must_use]
    pub fn still_since(&self) -> Seconds {
        seconds(self.sounded.load(Relaxed).max(self.opened.load(Relaxed)))
    }

    /// Whether any sample was not exactly zero.
    #[must_use]
    pub fn has_sounded(&self) -> bool {
        self.sounded.load(Relaxed) > 0
    }

    /// `frames` found no room in the ring.
    pub fn dropped(&self, frames: u64) {
        self.dropped.fetch_add(frames, Relaxed);
    }

    /// The backend reported an error at `nanos`.
    pub fn error(&self, nanos: u64, kind: cpal::ErrorKind) {
        use cpal::ErrorKind as Kind;
        match kind {
            Kind::Xrun => {
                self.xruns.fetch_add(1, Relaxed);
            }
            // The stream goes on, on another device or without the priority it asked for.
            Kind::DeviceChanged | Kind::RealtimeDenied => {}
            Kind::DeviceNotAvailable | Kind::StreamInvalidated | Kind::HostUnavailable => {
                self.gone.store(nanos, Relaxed);
            }
            _ => self.error.store(nanos, Relaxed),
        }
        self.errors.fetch_add(1, Relaxed);
    }

    /// The text of an error found no room to wait in, and is never freed.
    pub fn unfreed(&self) {
        self.unfreed.fetch_add(1, Relaxed);
    }

    /// What `stream_health` needs to tell whether the stream is lost.
    #[must_use]
    pub fn liveness(&self) -> StreamLiveness {
        let at = |value: &AtomicU64| Some(value.load(Relaxed)).filter(|nanos| *nanos > 0).map(seconds);
        StreamLiveness {
            opened: at(&self.opened).unwrap_or(Seconds(0.0)),
            data: at(&self.data),
            error: at(&self.error),
            gone: at(&self.gone).is_some(),
        }
    }

    /// Number of frames that the callbacks have counted.
    #[must_use]
    pub fn frames(&self) -> u64 {
        self.frames.load(Relaxed)
    }

    /// What went wrong so far, counted.
    #[must_use]
    pub fn totals(&self) -> StreamTotals {
        StreamTotals {
            dropped: self.dropped.load(Relaxed),
            xruns: self.xruns.load(Relaxed),
            errors: self.errors.load(Relaxed),
            unfreed: self.unfreed.load(Relaxed),
        }
    }
}

/// What went wrong on a stream since it was opened, or on several, counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct StreamTotals {
    /// Number of frames that found no room in the ring.
    pub dropped: u64,
    /// Number of underruns and overruns that the backend reported.
    pub xruns: u64,
    /// Number of errors of every kind that the backend reported, xruns included.
    pub errors: u64,
    /// Number of texts of errors that found no room to wait in until they could be freed, and never are freed.
    pub unfreed: u64,
}

impl std::ops::Add for StreamTotals {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            dropped: self.dropped + other.dropped,
            xruns: self.xruns + other.xruns,
            errors: self.errors + other.errors,
            unfreed: self.unfreed + other.unfreed,
        }
    }
}
