//! How much later a frame sounds than its callback runs, out of what the backend reports.
//!
//! The callbacks of a loudspeaker lie on a line within a millisecond, as those of a microphone do. What a sound server reports of its
//! delay does not: for some seconds after it was opened or ran dry, and on a busy machine at any time, the report is off by 5 to
//! 60 ms, though the delay itself stays what it is (benches/FIGURES.md, "Live"). So the lower quartile of a minute is believed: most
//! of these reports are too long. Where `calibrate` kept the delay of these devices, that one is held until reports that agree with
//! each other say otherwise.

use std::collections::VecDeque;

use crate::units::{Seconds, median, spread};

/// Number of seconds whose reports are kept.
const MEMORY: usize = 60;
/// Most reports of one second that are looked at.
const MARKS: usize = 512;
/// From so many seconds on, the reports can outweigh the delay that is held: right after the opening they are at their worst.
const SURE: usize = 5;
/// The delay that is held gives way to reports whose lower quartile lies further away than this, and than so many times their spread.
const LEEWAY: (Seconds, f64) = (Seconds(0.03), 4.0);

/// The delay of one stream from callback to sound.
#[derive(Debug, Clone)]
pub struct ReportedDelay {
    /// The delay that calibration kept for these devices; `None` where it kept none.
    held: Option<Seconds>,
    /// Number, on the monotonic clock, of the second that is being filled.
    second: i64,
    /// Reports of that second.
    open: Vec<f64>,
    /// Median report of each of the newest seconds.
    kept: VecDeque<f64>,
    /// What is believed now.
    now: Seconds,
}

impl ReportedDelay {
    /// The delay of a stream of which nothing was reported yet.
    #[must_use]
    pub fn new(held: Option<Seconds>) -> Self {
        let (open, kept) = (Vec::with_capacity(MARKS), VecDeque::with_capacity(MEMORY + 1));
        Self { held, second: 0, open, kept, now: Seconds(0.0) }
    }

    /// Takes what was reported at instant `at` of the monotonic clock.
    pub fn mark(&mut self, at: Seconds, reported: Seconds) {
        let second = at.0.floor() as i64;
        if second != self.second && !self.open.is_empty() {
            self.kept.extend(median(&self.open));
            if self.kept.len() > MEMORY {
                self.kept.pop_front();
            }
            self.open.clear();
            self.believe();
        }
        self.second = second;
        if self.open.len() < MARKS {
            self.open.push(reported.0);
        }
        if self.kept.is_empty() {
            self.believe();
        }
    }

    /// Holds a delay that calibration kept.
    pub fn hold(&mut self, held: Option<Seconds>) {
        self.held = held;
        self.believe();
    }

    /// The delay that is believed now; 0 where nothing was reported.
    #[must_use]
    pub const fn now(&self) -> Seconds {
        self.now
    }

    fn believe(&mut self) {
        let said = if self.kept.is_empty() { &self.open[..] } else { self.kept.make_contiguous() };
        let mut sorted = said.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        let Some(low) = sorted.get(sorted.len() / 4).copied() else { return };
        let leeway = LEEWAY.0.0.max(LEEWAY.1 * spread(said).unwrap_or(0.0));
        self.now = match self.held {
            Some(held) if said.len() < SURE || self.kept.is_empty() || (low - held.0).abs() <= leeway => held,
            _ => Seconds(low),
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is believed after a report of each of these delays, in milliseconds, one a second.
    fn after(held_ms: Option<f64>, reported_ms: &[f64]) -> f64 {
        let mut delay = ReportedDelay::new(held_ms.map(|ms| Seconds(ms / 1000.0)));
        for (second, ms) in reported_ms.iter().enumerate() {
            delay.mark(Seconds(second as f64 + 0.5), Seconds(ms / 1000.0));
        }
        delay.now().ms()
    }

    #[test]
    fn a_delay_that_was_calibrated_is_held_while_the_reports_of_a_busy_sound_server_wander() {
        // Medians of seconds after an opening on a busy machine, as measured; the true delay was 21 ms.
        let busy = [18.1, 30.2, 38.5, 43.1, 46.9, 35.0, 30.6, 32.4, 27.7, 24.0, 21.5];
        assert!((after(Some(21.0), &busy) - 21.0).abs() < 1e-9);
        assert!((after(None, &busy[..1]) - 18.1).abs() < 1e-9, "the first report is better than none");
        assert!((after(None, &busy) - 27.7).abs() < 1e-9, "the last second is not over");
    }

    #[test]
    fn reports_that_agree_that_the_buffer_is_another_one_are_followed() {
        assert!((after(Some(21.0), &[61.0; 4]) - 21.0).abs() < 1e-9, "too early to say");
        assert!((after(Some(21.0), &[61.0; 8]) - 61.0).abs() < 1e-9);
    }
}
