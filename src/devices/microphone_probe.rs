//! A second stream beside a microphone that gives exact zeros, to hear whether the wished-for microphone is there again.

use crate::units::Seconds;

use super::capture::CaptureReader;
use super::open_stream::Opened;

/// A second stream is opened after this much time of exact zeros.
const STILL: Seconds = Seconds(2.5);
/// Time for which the second stream is listened to: a microphone that is there gives its first sound within it.
const LISTENED: Seconds = Seconds(1.0);
/// Least time from closing a second stream, or from trying to open one, to opening the next.
const BETWEEN: Seconds = Seconds(1.5);

/// A second stream of the wished-for microphone, opened from time to time.
#[derive(Default)]
pub struct MicrophoneProbe {
    /// The second stream, and when it was opened.
    open: Option<(Opened<CaptureReader>, Seconds)>,
    /// The earliest time at which the next second stream is opened.
    next: Seconds,
}

impl MicrophoneProbe {
    /// Looks after the second stream at `now`, where the first was last heard to sound, or opened, at `still`. Hands the second
    /// over when it sounds while the first does not.
    pub fn look(
        &mut self,
        now: Seconds,
        still: Seconds,
        open: impl FnOnce() -> Option<Opened<CaptureReader>>,
    ) -> Option<Opened<CaptureReader>> {
        if now - still < STILL {
            self.leave();
            return None;
        }
        match &mut self.open {
            None if now >= self.next => {
                self.open = open().map(|opened| (opened, now));
                self.next = now + BETWEEN;
                None
            }
            None => None,
            Some((opened, _)) if opened.counters.has_sounded() => self.open.take().map(|(opened, _)| opened),
            Some((opened, began)) => {
                while opened.spent_errors.pop().is_ok() {}
                while opened.end.take(|_| {}).is_some() {}
                if now - *began > LISTENED {
                    self.leave();
                    self.next = now + BETWEEN;
                }
                None
            }
        }
    }

    /// Closes the second stream.
    pub fn leave(&mut self) {
        self.open = None;
    }
}
