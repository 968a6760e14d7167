use std::collections::VecDeque;

use crate::units::Seconds;

/// Messages of so long count: a driver's clock drifts by two milliseconds in it at most (100 millionths).
const REMEMBERED: Seconds = Seconds(20.0);
/// Nothing on the way to us takes so long: the driver's clock was set, or begun anew.
const ANEW: Seconds = Seconds(0.5);
/// Messages of one instant arrive within this.
const AT_ONCE: Seconds = Seconds(0.003);

/// Puts what a driver stamped on the program's own clock: the message that was least late of the last twenty seconds says how
/// the two lie. Where a driver gives no stamps, a message came when it arrived.
#[derive(Debug, Clone, Default)]
pub struct PortClock {
    /// For each message: when it arrived, and how much later than its stamp that was.
    seen: VecDeque<(Seconds, Seconds)>,
    /// Stamp and arrival of the newest.
    newest: Option<(Seconds, Seconds)>,
    /// The latest instant that was given.
    latest: Option<Seconds>,
}

impl PortClock {
    /// The instant of a message that was stamped so (in microseconds, from wherever the driver counts) and arrived then.
    pub fn place(&mut self, stamp_us: u64, arrived: Seconds) -> Seconds {
        let stamp = Seconds(stamp_us as f64 * 1e-6);
        let behind = arrived - stamp;
        // A stamp that stands still while time goes on is none.
        let none = self.newest.is_some_and(|(last, at)| stamp <= last && arrived - at > AT_ONCE);
        let jumped = self.least().is_some_and(|least| (behind - least).abs() > ANEW);
        if none || jumped {
            self.seen.clear();
        }
        while self.seen.pop_front_if(|(at, _)| arrived - *at > REMEMBERED).is_some() {}
        self.seen.push_back((arrived, behind));
        self.newest = Some((stamp, arrived));
        let at = stamp + self.least().unwrap_or(behind);
        let at = self.latest.map_or(at, |latest| at.max(latest));
        self.latest = Some(at);
        at
    }

    /// How much later than the other messages the latest one of the last twenty seconds arrived; `None` under eight messages.
    #[must_use]
    pub fn jitter(&self) -> Option<Seconds> {
        let least = self.least().filter(|_| self.seen.len() >= 8)?;
        self.seen.iter().map(|(_, behind)| *behind - least).reduce(Seconds::max)
    }

    fn least(&self) -> Option<Seconds> {
        self.seen.iter().map(|(_, behind)| *behind).reduce(Seconds::min)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lateness of a busy machine, in seconds: mostly a millisecond, now and then up to twelve.
    fn late(n: u64) -> f64 {
        let drawn = n.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407) >> 33;
        0.0005 + 0.001 * (drawn % 7) as f64 / 7.0 + if drawn.is_multiple_of(5) { 0.010 } else { 0.0 }
    }

    /// The worst error of 2000 notes, a quarter of a second apart, by a driver whose clock goes `ppm` too fast.
    fn worst(ppm: f64) -> (Seconds, Seconds) {
        let (mut clock, mut worst) = (PortClock::default(), Seconds(0.0));
        for n in 0..2000 {
            let truth = 5.0 + 0.25 * n as f64;
            let stamp = (truth * (1.0 + ppm * 1e-6) * 1e6 + 777_000.0) as u64;
            let placed = clock.place(stamp, Seconds(truth + late(n)));
            if n >= 8 {
                worst = worst.max((placed - Seconds(truth)).abs());
            }
        }
        (worst, clock.jitter().unwrap())
    }

    #[test]
    fn a_note_is_placed_within_three_milliseconds_however_late_it_arrives() {
        for ppm in [0.0, 100.0, -100.0] {
            let (worst, jitter) = worst(ppm);
            println!("{ppm:+} ppm: worst {:.2} ms, jitter {:.2} ms", worst.ms(), jitter.ms());
            assert!(worst.0 < 0.003, "{ppm}: {worst:?}");
            assert!((0.009..0.014).contains(&jitter.0), "{jitter:?}");
        }
    }

    #[test]
    fn without_stamps_a_note_came_when_it_arrived() {
        let mut clock = PortClock::default();
        for n in 0..20 {
            let arrived = Seconds(3.0 + 0.2 * f64::from(n));
            assert_eq!(clock.place(0, arrived), arrived);
        }
    }

    #[test]
    fn a_clock_that_begins_anew_is_followed_at_once() {
        let mut clock = PortClock::default();
        for n in 0..20u32 {
            clock.place(u64::from(n) * 100_000, Seconds(10.0 + 0.1 * f64::from(n)));
        }
        assert_eq!(clock.place(50_000, Seconds(20.0)), Seconds(20.0));
        assert!((clock.place(150_000, Seconds(20.104)).0 - 20.1).abs() < 1e-9);
    }

    #[test]
    fn the_keys_of_a_chord_keep_their_order() {
        let mut clock = PortClock::default();
        let placed = [(1_000_000, 2.0), (1_000_000, 2.0005), (1_000_300, 2.0006)];
        let placed: Vec<Seconds> = placed.iter().map(|&(us, at)| clock.place(us, Seconds(at))).collect();
        assert!(placed.windows(2).all(|pair| pair[0] <= pair[1]), "{placed:?}");
    }
}
