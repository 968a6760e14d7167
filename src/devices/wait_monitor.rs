//! Tells a machine that is too busy from a device that is gone: both keep the sound away.

use std::thread;
use std::time::{Duration, Instant};

/// How long a waiting thread sleeps.
const NAP: Duration = Duration::from_millis(5);
/// A sleep of five milliseconds that lasts longer than this shows a machine that has too much to do.
const OVERSLEPT: Duration = Duration::from_millis(100);

/// Whether a thread was ever left waiting for so long that its sound must have had holes.
#[derive(Debug, Clone, Copy, Default)]
pub struct WaitMonitor(bool);

impl WaitMonitor {
    /// Sleeps for 5 ms.
    pub fn nap(&mut self) {
        let asleep = Instant::now();
        thread::sleep(NAP);
        self.0 |= asleep.elapsed() > OVERSLEPT;
    }

    /// Whether a sleep ever lasted so long that sound must have been lost.
    #[must_use]
    pub const fn was(self) -> bool {
        self.0
    }
}
