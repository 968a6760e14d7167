//! Decides when a stream is lost, from times alone, so that it can be tested without a device.
//!
//! Backends differ: a frozen microphone gives no error at all, a dead sound server gives hundreds of thousands a second, and an
//! underrun gives a few thousand in some milliseconds and then plays on. Only time tells them apart.

use crate::units::Seconds;

/// A stream that has played or captured before is lost after this long without a callback.
pub const QUIET: Seconds = Seconds(0.5);
/// A stream just opened is lost after this long without its first callback.
pub const FIRST: Seconds = Seconds(3.0);
/// After an error, a stream is lost after this long without a callback.
pub const STORM: Seconds = Seconds(0.3);
/// Opening or closing a device that takes longer than this is worth a word to the player.
pub const PATIENCE: Seconds = Seconds(15.0);

/// What was seen of a stream, on the clock that all streams share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StreamLiveness {
    /// When the stream was opened.
    pub opened: Seconds,
    /// When the last callback with frames came, silent or not.
    pub data: Option<Seconds>,
    /// When the last error came that may mean the end of the stream.
    pub error: Option<Seconds>,
    /// Whether the backend said that the device is gone.
    pub gone: bool,
}

/// The state of one stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Health {
    /// The stream was opened, and no callback has come yet.
    Opening,
    /// Callbacks come.
    Well,
    /// The stream is lost: it is to be dropped and opened again.
    Lost,
}

/// The health of a stream at `now`.
#[must_use]
pub fn health(now: Seconds, seen: StreamLiveness) -> Health {
    if seen.gone {
        return Health::Lost;
    }
    let since = seen.data.unwrap_or(seen.opened);
    let silent = now - since;
    let stormy = seen.error.is_some_and(|error| error > since) && silent >= STORM;
    let patience = if seen.data.is_some() { QUIET } else { FIRST };
    if stormy || silent >= patience {
        Health::Lost
    } else if seen.data.is_some() {
        Health::Well
    } else {
        Health::Opening
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(data: Option<f64>, error: Option<f64>) -> StreamLiveness {
        StreamLiveness { opened: Seconds(10.0), data: data.map(Seconds), error: error.map(Seconds), gone: false }
    }

    #[test]
    fn a_new_stream_has_three_seconds_for_its_first_callback() {
        assert_eq!(health(Seconds(12.9), seen(None, None)), Health::Opening);
        assert_eq!(health(Seconds(13.0), seen(None, None)), Health::Lost);
    }

    #[test]
    fn a_microphone_that_freezes_without_a_word_is_lost_after_half_a_second() {
        assert_eq!(health(Seconds(20.49), seen(Some(20.0), None)), Health::Well);
        assert_eq!(health(Seconds(20.5), seen(Some(20.0), None)), Health::Lost);
    }

    #[test]
    fn errors_without_sound_for_three_tenths_mean_the_end() {
        assert_eq!(health(Seconds(20.29), seen(Some(20.0), Some(20.01))), Health::Well);
        assert_eq!(health(Seconds(20.31), seen(Some(20.0), Some(20.3))), Health::Lost);
        assert_eq!(health(Seconds(10.31), seen(None, Some(10.1))), Health::Lost);
    }

    #[test]
    fn errors_followed_by_sound_are_forgiven() {
        assert_eq!(health(Seconds(20.4), seen(Some(20.1), Some(20.05))), Health::Well);
    }

    #[test]
    fn a_device_that_says_it_is_gone_is_believed_at_once() {
        assert_eq!(health(Seconds(20.0), StreamLiveness { gone: true, ..seen(Some(20.0), None) }), Health::Lost);
    }
}
