use crate::coach::Phase;
use crate::pattern::Register;
use crate::units::Seconds;

/// The easy beginning: a tenth of the sitting, at most two minutes.
const EASY: (f64, Seconds) = (0.1, Seconds(120.0));
/// The end: a tenth of the sitting, from one to three minutes.
const CLOSING: (f64, Seconds, Seconds) = (0.1, Seconds(60.0), Seconds(180.0));
/// An early rest helps what is learnt overnight, more than a late one does (Cash 2009, from memory): after five minutes.
const EARLY: Rest = Rest { at: Seconds(300.0), length: Seconds(60.0) };
/// The usual rule of music schools: about five minutes' rest every twenty-five to thirty.
const LATER: Rest = Rest { at: Seconds(1500.0), length: Seconds(300.0) };
/// No rest begins so near the end: the end is the rest.
const NEAR_THE_END: Seconds = Seconds(180.0);
/// Nothing in the top third of the range before lips and voice are warm.
const WARM: Seconds = Seconds(300.0);
/// A sitting of unknown length is planned for so long.
const LONGEST: Seconds = Seconds(6.0 * 3600.0);

/// One planned rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// When it begins, since the beginning of the sitting.
    pub at: Seconds,
    /// How long it lasts.
    pub length: Seconds,
}

/// The plan of one sitting: easy and low first, the day's first tries early, rests before they are needed, and something
/// that goes well at the end. Only a plan: the player and the teacher overrule it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sitting {
    length: Option<Seconds>,
}

impl Sitting {
    /// A sitting of this length, rests included, or one that goes on until it is ended.
    #[must_use]
    pub fn new(length: Option<Seconds>) -> Self {
        Self {
            length: length.filter(|length| length.0.is_finite() && length.0 > 0.0).map(|length| length.min(LONGEST)),
        }
    }

    /// What the time at `at` is for. The opening round, with the day's first tries, begins in the easy part.
    #[must_use]
    pub fn phase(&self, at: Seconds) -> Phase {
        if at < self.easy_until() {
            Phase::Easy
        } else if self.closing_from().is_some_and(|from| at >= from) {
            Phase::Closing
        } else {
            Phase::Work
        }
    }

    /// Whether the planned time is over.
    #[must_use]
    pub fn over(&self, at: Seconds) -> bool {
        self.length.is_some_and(|length| at >= length)
    }

    /// The registers that may be asked at `at`: the lowest in the easy part, and nothing high until lips and voice are warm,
    /// unless nothing else is asked for.
    #[must_use]
    pub fn registers(&self, at: Seconds, wanted: &[Register]) -> Vec<Register> {
        if at < self.easy_until() {
            return wanted.iter().min().copied().into_iter().collect();
        }
        let warm = at >= WARM || wanted.iter().all(|register| *register == Register::High);
        wanted.iter().copied().filter(|register| warm || *register != Register::High).collect()
    }

    /// The planned rests in order: a short one early, later ones about every twenty-five minutes.
    #[must_use]
    pub fn rests(&self) -> Vec<Rest> {
        let end = self.length.unwrap_or(LONGEST);
        let later = (1..).map(|n| Rest { at: LATER.at * f64::from(n), ..LATER });
        std::iter::once(EARLY).chain(later.take_while(|rest| rest.at < end)).filter(|rest| self.fits(*rest)).collect()
    }

    fn fits(&self, rest: Rest) -> bool {
        self.length.is_none_or(|end| rest.at + rest.length + NEAR_THE_END <= end)
    }

    fn easy_until(&self) -> Seconds {
        self.length.map_or(EASY.1, |length| EASY.1.min(length * EASY.0))
    }

    /// When the last minutes begin; a sitting without an end has none.
    fn closing_from(&self) -> Option<Seconds> {
        self.length.map(|length| length - (length * CLOSING.0).max(CLOSING.1).min(CLOSING.2).min(length * 0.5))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MINUTE: f64 = 60.0;

    fn minutes(length: f64) -> Sitting {
        Sitting::new(Some(Seconds(length * MINUTE)))
    }

    #[test]
    fn twenty_minutes_are_easy_at_first_and_end_with_something_that_goes_well() {
        let sitting = minutes(20.0);
        let phase = |at: f64| sitting.phase(Seconds(at * MINUTE));
        assert_eq!([phase(0.0), phase(1.9)], [Phase::Easy; 2]);
        assert_eq!([phase(2.0), phase(17.9)], [Phase::Work; 2]);
        assert_eq!([phase(18.0), phase(19.9)], [Phase::Closing; 2]);
        assert!(!sitting.over(Seconds(19.9 * MINUTE)) && sitting.over(Seconds(20.0 * MINUTE)));
    }

    #[test]
    fn the_first_rest_comes_after_five_minutes_and_the_next_after_twenty_five() {
        let at = |length: Option<f64>| -> Vec<f64> {
            let rests = Sitting::new(length.map(|l| Seconds(l * MINUTE))).rests();
            rests.iter().map(|rest| rest.at.0 / MINUTE).collect()
        };
        assert_eq!(at(Some(20.0)), [5.0]);
        assert_eq!(at(Some(60.0)), [5.0, 25.0, 50.0]);
        assert_eq!(at(Some(5.0)), [0.0; 0]);
        assert_eq!(at(None)[..3], [5.0, 25.0, 50.0]);
    }

    #[test]
    fn no_rest_of_an_hour_runs_into_its_last_minutes() {
        for length in 1..=180 {
            let sitting = minutes(f64::from(length));
            for rest in sitting.rests() {
                assert!(!sitting.over(rest.at + rest.length) && sitting.phase(rest.at) == Phase::Work, "{length}");
            }
        }
    }

    #[test]
    fn nothing_high_is_asked_of_cold_lips() {
        let all = [Register::Low, Register::Middle, Register::High];
        assert_eq!(minutes(20.0).registers(Seconds(119.0), &all), [Register::Low], "low first");
        assert_eq!(minutes(20.0).registers(Seconds(299.0), &all), [Register::Low, Register::Middle]);
        assert_eq!(minutes(20.0).registers(Seconds(300.0), &all), all);
        assert_eq!(minutes(20.0).registers(Seconds(0.0), &[Register::High]), [Register::High]);
    }

    #[test]
    fn without_a_length_it_goes_on() {
        let sitting = Sitting::new(None);
        assert_eq!(sitting.phase(Seconds(7200.0)), Phase::Work);
        assert!(!sitting.over(Seconds(1e6)));
    }
}
