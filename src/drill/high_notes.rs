use crate::units::Seconds;
use crate::verdict::TempoStep;

/// After this many answers running in the top third of the range that went down in tempo, that third is left out for a time.
const FAILURES: u32 = 2;
/// How long it is left out; then it is tried again, as a teacher leaves high notes and comes back to them (common practice).
const LEFT_FOR: Seconds = Seconds(300.0);

/// How the top third of the range goes in this sitting.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct HighNotes {
    /// Number of answers in a row there that went down in tempo.
    failures: u32,
    /// When the latest of them was judged.
    latest: Seconds,
}

impl HighNotes {
    /// Takes in what an answer in the top third did to its tempo.
    pub fn enter(&mut self, step: TempoStep, now: Seconds) {
        *self = match step {
            TempoStep::Down => Self { failures: self.failures + 1, latest: now },
            TempoStep::Up | TempoStep::Stay => Self::default(),
        };
    }

    /// Whether nothing is asked there now.
    pub fn are_left_out(&self, now: Seconds) -> bool {
        self.failures >= FAILURES && now.0 - self.latest.0 < LEFT_FOR.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn high_notes_that_fail_are_left_and_tried_again_later() {
        let mut high = HighNotes::default();
        high.enter(TempoStep::Down, Seconds(400.0));
        assert!(!high.are_left_out(Seconds(401.0)), "one failure is none");
        high.enter(TempoStep::Down, Seconds(420.0));
        assert!(high.are_left_out(Seconds(421.0)) && high.are_left_out(Seconds(719.0)));
        assert!(!high.are_left_out(Seconds(720.0)), "after five minutes they come back");
        let mut again = high;
        again.enter(TempoStep::Down, Seconds(730.0));
        assert!(again.are_left_out(Seconds(1000.0)), "and fail again: left again at once");
        high.enter(TempoStep::Stay, Seconds(730.0));
        high.enter(TempoStep::Down, Seconds(740.0));
        assert!(!high.are_left_out(Seconds(741.0)), "and hold: two in a row are counted anew");
    }
}
