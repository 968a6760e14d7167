use crate::coach::{Plan, SittingPhase};
use crate::pattern::Register;
use crate::units::{Seconds, rank};

/// The easy beginning: a tenth of the sitting, at most two minutes.
const EASY: (f64, Seconds) = (0.1, Seconds(120.0));
/// The end: a tenth of the sitting, from one to three minutes, but at most half of it.
const CLOSING: (f64, Seconds, Seconds) = (0.1, Seconds(60.0), Seconds(180.0));
/// How long the early rest lasts, and how long the later ones last.
const EARLY: Seconds = Seconds(60.0);
const LATER: Seconds = Seconds(300.0);
/// A rest that would end nearer than this to the end of the sitting is left out, since the player rests then anyway.
const NEAR_THE_END: Seconds = Seconds(180.0);
/// Length for which a sitting of unknown length is planned, and longest sitting: as many minutes as a lesson may set.
const LONGEST: Seconds = Seconds(600.0 * 60.0);

/// How lips, voice and hands are spared by the clock. The settings hold these times, and a teacher may change them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spared {
    /// Time from the beginning of the sitting to the first, short rest; `None` for no such rest.
    pub first: Option<Seconds>,
    /// Time from the beginning to the first later rest, and from each later rest to the next; `None` for none.
    pub between: Option<Seconds>,
    /// Time from the beginning in which nothing in the top third of the range is asked, while lips and voice are cold.
    pub low: Seconds,
}

impl Spared {
    /// The usual rests. The first comes after five minutes: an early rest helps what is learnt overnight more than a late one does
    /// (Cash 2009, from memory). The later ones follow the usual rule of music schools: about five minutes' rest every twenty-five
    /// to thirty.
    pub const USUAL: Self = Self { first: Some(Seconds(300.0)), between: Some(Seconds(1500.0)), low: Seconds(300.0) };
}

/// One planned rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// When the rest begins, in seconds since the beginning of the sitting.
    pub at: Seconds,
    /// How long the rest lasts.
    pub length: Seconds,
}

/// The plan of one sitting: easy and low first, the day's first tries early, rests before they are needed, and something that goes
/// well at the end. The player and the teacher may overrule the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SittingPlan {
    length: Option<Seconds>,
    spared: Spared,
}

impl SittingPlan {
    /// The plan of a sitting of this length, rests included; without a length, of one that goes on until it is ended.
    #[must_use]
    pub fn new(length: Option<Seconds>, spared: Spared) -> Self {
        let length = length.filter(|length| length.0.is_finite() && length.0 > 0.0);
        Self { length: length.map(|length| length.min(LONGEST)), spared }
    }

    /// What the instant `at`, since the beginning of the sitting, is for. The opening round, with the day's first tries, begins in the
    /// easy part.
    #[must_use]
    pub fn phase(&self, at: Seconds) -> SittingPhase {
        if at < self.easy_until() {
            SittingPhase::Easy
        } else if self.closing_from().is_some_and(|from| at >= from) {
            SittingPhase::Closing
        } else {
            SittingPhase::Work
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
        let warm = at >= self.spared.low || wanted.iter().all(|register| *register == Register::High);
        wanted.iter().copied().filter(|register| warm || *register != Register::High).collect()
    }

    /// What may be asked at `at`: the plan with the phase and the registers of that time.
    #[must_use]
    pub fn plan(&self, at: Seconds, plan: &Plan) -> Plan {
        Plan { phase: self.phase(at), registers: self.registers(at, &plan.registers), ..plan.clone() }
    }

    /// The planned rests in order: a short one early, later ones about every twenty-five minutes, or as the settings have it.
    #[must_use]
    pub fn rests(&self) -> Vec<Rest> {
        let end = self.length.unwrap_or(LONGEST);
        let early = self.spared.first.map(|at| Rest { at, length: EARLY });
        let later = self.spared.between.into_iter().flat_map(|apart| {
            let one = move |n: u32| Rest { at: apart * f64::from(n), length: LATER };
            (1..).map(one).take_while(|rest| rest.at < end)
        });
        let mut rests: Vec<Rest> = early.into_iter().chain(later).filter(|rest| self.fits(*rest)).collect();
        rests.sort_by_cached_key(|rest| rank(rest.at.0));
        rests
    }

    fn fits(&self, rest: Rest) -> bool {
        self.length.is_none_or(|end| rest.at + rest.length + NEAR_THE_END <= end)
    }

    /// When the easy part is over, and when the last minutes begin: `LONGEST` where the sitting has no end.
    pub(super) fn bounds(&self) -> [Seconds; 2] {
        [self.easy_until(), self.closing_from().unwrap_or(LONGEST)]
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

    fn minutes(length: f64) -> SittingPlan {
        SittingPlan::new(Some(Seconds(length * MINUTE)), Spared::USUAL)
    }

    #[test]
    fn twenty_minutes_are_easy_at_first_and_end_with_something_that_goes_well() {
        let sitting = minutes(20.0);
        let phase = |at: f64| sitting.phase(Seconds(at * MINUTE));
        assert_eq!([phase(0.0), phase(1.9)], [SittingPhase::Easy; 2]);
        assert_eq!([phase(2.0), phase(17.9)], [SittingPhase::Work; 2]);
        assert_eq!([phase(18.0), phase(19.9)], [SittingPhase::Closing; 2]);
        assert!(!sitting.over(Seconds(19.9 * MINUTE)) && sitting.over(Seconds(20.0 * MINUTE)));
    }

    #[test]
    fn the_first_rest_comes_after_five_minutes_and_the_next_after_twenty_five() {
        let at = |length: Option<f64>| -> Vec<f64> {
            let rests = SittingPlan::new(length.map(|l| Seconds(l * MINUTE)), Spared::USUAL).rests();
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
                assert!(
                    !sitting.over(rest.at + rest.length) && sitting.phase(rest.at) == SittingPhase::Work,
                    "{length}"
                );
            }
        }
    }

    #[test]
    fn nothing_high_is_asked_of_cold_lips() {
        let all = Register::ALL;
        assert_eq!(minutes(20.0).registers(Seconds(119.0), &all), [Register::Low], "low first");
        assert_eq!(minutes(20.0).registers(Seconds(299.0), &all), [Register::Low, Register::Middle]);
        assert_eq!(minutes(20.0).registers(Seconds(300.0), &all), all);
        assert_eq!(minutes(20.0).registers(Seconds(0.0), &[Register::High]), [Register::High]);
    }

    #[test]
    fn a_teacher_may_ask_for_other_rests_or_none() {
        let at = |first: Option<f64>, between: Option<f64>| -> Vec<f64> {
            let minutes = |wanted: Option<f64>| wanted.map(|minutes| Seconds(minutes * MINUTE));
            let spared = Spared { first: minutes(first), between: minutes(between), ..Spared::USUAL };
            SittingPlan::new(minutes(Some(60.0)), spared).rests().iter().map(|rest| rest.at.0 / MINUTE).collect()
        };
        assert_eq!(at(Some(10.0), Some(20.0)), [10.0, 20.0, 40.0]);
        assert_eq!(at(Some(30.0), Some(20.0)), [20.0, 30.0, 40.0], "in order");
        assert_eq!(at(None, Some(30.0)), [30.0]);
        assert_eq!(at(None, None), [0.0; 0]);
        let spared = Spared { low: Seconds(0.0), ..Spared::USUAL };
        let both = [Register::Low, Register::High];
        assert_eq!(SittingPlan::new(None, spared).registers(Seconds(120.0), &both), both, "warmed up before");
    }

    #[test]
    fn without_a_length_it_goes_on() {
        let sitting = SittingPlan::new(None, Spared::USUAL);
        assert_eq!(sitting.phase(Seconds(7200.0)), SittingPhase::Work);
        assert!(!sitting.over(Seconds(1e6)));
    }
}
