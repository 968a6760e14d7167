use std::collections::VecDeque;

use crate::units::Seconds;

/// The messages of the last twenty seconds count: a driver's clock drifts by two milliseconds in that time at most (100 millionths).
const REMEMBERED: Seconds = Seconds(20.0);
/// No message is this long on its way to us: where one seems to be, the driver's clock was set, or begun anew.
const ANEW: Seconds = Seconds(0.5);
/// Messages of one instant arrive within this.
const AT_ONCE: Seconds = Seconds(0.003);
/// A first message whose stamp lies no further than this from the time since the port was opened was stamped by a clock that began then.
const SINCE_OPENING: Seconds = Seconds(0.03);
/// Fewer messages than this may all have been late: what was known before them counts beside them.
const FEW: usize = 8;
/// Two clocks of one machine go apart by three milliseconds in this at most (20 millionths; crystals are off by some tens: common
/// practice): what was known before is trusted for this long, or for three times as long as the clocks were compared, if that is longer.
/// Their drift is taken out only where two messages were compared that lie further apart than this.
const TRUSTED: Seconds = Seconds(150.0);
/// The most entries of `before`, one for each stretch of twenty seconds with a message; the oldest goes first.
const STRETCHES: usize = 16;

/// When a message arrived, and how much later than its stamp that was.
type Behind = (Seconds, Seconds);

/// Puts what a driver stamped on the program's own clock: the message that was least late of the last twenty seconds says how
/// the two lie. Where a driver gives no stamps, a message came when it arrived.
///
/// The first messages, and those after a rest, may all be late. So they are held against what was known before: a clock that counts from
/// the opening of the port (ALSA's queue, WinMM) is known at once, and after a rest the last twenty seconds before it, with the drift
/// that was measured. Drivers that count from elsewhere (CoreMIDI) place the very first message when it arrived.
#[derive(Debug, Clone, Default)]
pub struct PortClock {
    /// The messages of the last twenty seconds.
    seen: VecDeque<Behind>,
    /// The opening of the port, where it is known. It says nothing of drift: a driver begins to count some milliseconds before we know
    /// that the port is open.
    opened: Option<Behind>,
    /// The least late message of each stretch before the last twenty seconds.
    before: VecDeque<Behind>,
    /// Stamp and arrival of the newest message.
    newest: Option<(Seconds, Seconds)>,
    /// The latest instant that was given.
    latest: Option<Seconds>,
    /// Whether the driver's stamps stand still.
    unstamped: bool,
}

impl PortClock {
    /// A clock of a port that was opened then.
    #[must_use]
    pub fn opened(at: Seconds) -> Self {
        Self { opened: Some((at, at)), ..Self::default() }
    }

    /// The instant of a message that was stamped so (in microseconds, from wherever the driver counts) and arrived then; never
    /// before one that was given already.
    pub fn place(&mut self, stamp_us: u64, arrived: Seconds) -> Seconds {
        let stamp = Seconds(stamp_us as f64 * 1e-6);
        let behind = arrived - stamp;
        // A stamp that stands still while time goes on is none.
        let none = self.newest.is_some_and(|(last, at)| stamp <= last && arrived - at > AT_ONCE);
        let off = |from: Seconds, far: Seconds| (behind - from).abs() > far;
        let jumped = match self.newest {
            None => self.opened.is_some_and(|(_, opened)| off(opened, SINCE_OPENING)),
            Some(_) => self.least(arrived).is_some_and(|least| off(least, ANEW)),
        };
        if let Some((last, _)) = self.newest {
            self.unstamped = (none && stamp == last) || (self.unstamped && stamp <= last);
        }
        if none || jumped {
            self.seen.clear();
            self.before.clear();
            self.opened = None;
        }
        while let Some(old) = self.seen.pop_front_if(|(at, _)| arrived - *at > REMEMBERED) {
            self.remember(old);
        }
        self.seen.push_back((arrived, behind));
        self.newest = Some((stamp, arrived));
        let at = stamp + self.least(arrived).unwrap_or(behind);
        let at = self.latest.map_or(at, |latest| at.max(latest));
        self.latest = Some(at);
        at
    }

    /// How much later after its stamp the latest message of the last twenty seconds arrived than the one that was least late; `None` under
    /// eight messages.
    #[must_use]
    pub fn jitter(&self) -> Option<Seconds> {
        let least = self.least_seen().filter(|_| self.seen.len() >= FEW)?;
        self.seen.iter().map(|(_, behind)| *behind - least).reduce(Seconds::max)
    }

    /// Whether the driver gives no stamps, as far as its messages show.
    #[must_use]
    pub const fn unstamped(&self) -> bool {
        self.unstamped
    }

    fn least_seen(&self) -> Option<Seconds> {
        self.seen.iter().map(|(_, behind)| *behind).reduce(Seconds::min)
    }

    /// How far behind its stamp a message arrives at `now` if it is not late.
    fn least(&self, now: Seconds) -> Option<Seconds> {
        let known = self.known_before(now).filter(|_| self.seen.len() < FEW);
        self.least_seen().into_iter().chain(known).reduce(Seconds::min)
    }

    /// The same by what came before the last twenty seconds, as long as that can be trusted.
    fn known_before(&self, now: Seconds) -> Option<Seconds> {
        let last = self.before.back().copied().or(self.opened)?;
        let first = self.before.front().copied().unwrap_or(last);
        let compared = last.0 - first.0;
        let drift = if compared > TRUSTED { (last.1 - first.1).0 / compared.0 } else { 0.0 };
        let since = now - last.0;
        (since <= TRUSTED.max(compared * 3.0)).then_some(last.1 + since * drift)
    }

    fn remember(&mut self, (at, behind): Behind) {
        let stretch = |at: Seconds| (at.0 / REMEMBERED.0).floor();
        match self.before.back_mut().filter(|last| stretch(last.0) == stretch(at)) {
            Some(last) if last.1 <= behind => {}
            Some(last) => *last = (at, behind),
            None => self.before.push_back((at, behind)),
        }
        if self.before.len() > STRETCHES {
            self.before.pop_front();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lateness of a busy machine, in seconds: mostly about a millisecond, once in five up to twelve.
    fn late(n: u64) -> f64 {
        let drawn = n.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407) >> 33;
        0.0005 + 0.001 * (drawn % 7) as f64 / 7.0 + if drawn.is_multiple_of(5) { 0.010 } else { 0.0 }
    }

    /// The worst error of 2000 notes, a quarter of a second apart, without the first eight, by a driver whose clock goes `ppm` too
    /// fast; and the jitter.
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
    fn the_very_first_note_of_a_port_is_placed_where_its_driver_counts_from_the_opening_and_where_it_does_not_when_it_came()
     {
        for wait in [0.2, 5.0, 100.0] {
            let mut clock = PortClock::opened(Seconds(7.0));
            let stamp = ((wait - 0.0004) * 1e6) as u64;
            let placed = clock.place(stamp, Seconds(7.0 + wait + 0.012));
            assert!((placed.0 - 7.0 - wait).abs() < 0.001, "{wait}: {placed:?}");
        }
        for elsewhere in [0, 3_000_000, 900_000_000] {
            let mut clock = PortClock::opened(Seconds(7.0));
            assert_eq!(clock.place(elsewhere, Seconds(400.0)), Seconds(400.0));
            assert!((clock.place(elsewhere + 1_000_000, Seconds(401.004)).0 - 401.0).abs() < 1e-9);
        }
    }

    #[test]
    fn the_first_note_after_a_rest_is_placed_within_three_milliseconds_though_it_arrives_late() {
        // Seconds played, seconds of rest, and by how many millionths the driver's clock runs too fast.
        for (played, rest, ppm) in [
            (30.0, 25.0, 20.0),
            (30.0, 100.0, -20.0),
            (60.0, 120.0, 0.0),
            (240.0, 300.0, 100.0),
            (240.0, 400.0, -100.0),
        ] {
            let mut clock = PortClock::opened(Seconds(4.0));
            let stamp = |truth: f64| ((truth - 4.0) * (1.0 + ppm * 1e-6) * 1e6) as u64;
            let mut n = 0u32;
            while f64::from(n) * 0.25 < played {
                let truth = 5.0 + 0.25 * f64::from(n);
                clock.place(stamp(truth), Seconds(truth + late(u64::from(n))));
                n += 1;
            }
            let truth = 5.0 + played + rest;
            let placed = clock.place(stamp(truth), Seconds(truth + 0.009));
            println!("{played} s, {rest} s of rest, {ppm:+} ppm: {:.2} ms", (placed.0 - truth) * 1e3);
            assert!((placed.0 - truth).abs() < 0.003, "{played} {rest} {ppm}: {:.2} ms", (placed.0 - truth) * 1e3);
        }
    }

    #[test]
    fn a_port_that_opened_later_than_its_driver_counts_shows_no_drift() {
        // The driver counts from three milliseconds before the opening was known; its clock does not drift.
        let mut clock = PortClock::opened(Seconds(4.0));
        let stamp = |truth: f64| ((truth - 4.0 + 0.003) * 1e6) as u64;
        for n in 0..800u32 {
            let truth = 5.0 + 0.25 * f64::from(n);
            clock.place(stamp(truth), Seconds(truth + late(u64::from(n))));
        }
        let truth = 205.0 + 500.0;
        let placed = clock.place(stamp(truth), Seconds(truth + 0.009));
        assert!((placed.0 - truth).abs() < 0.003, "{:.2} ms", (placed.0 - truth) * 1e3);
    }

    #[test]
    fn without_stamps_a_note_came_when_it_arrived() {
        let mut clock = PortClock::default();
        for n in 0..20 {
            let arrived = Seconds(3.0 + 0.2 * f64::from(n));
            assert_eq!(clock.place(0, arrived), arrived);
            assert_eq!((clock.unstamped(), clock.jitter()), (n > 0, None));
        }
        // The driver began to count.
        clock.place(5_000_000, Seconds(8.0));
        assert!(!clock.unstamped());
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
