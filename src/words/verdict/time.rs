use crate::cue::Timing;
use crate::units::Seconds;
use crate::verdict::{Untimed, Verdict};

/// An answer within this of its beats is on the beat: nobody hears less in an even row (Friberg and Sundberg 1995, from memory).
const ON_THE_BEAT: Seconds = Seconds(0.01);

/// How early or late an answer in tempo was, or why that was not measured: "30 ms late", "on the beat", "not measured: the sound had
/// holes". `None` for free answers and for an answer that was another line.
#[must_use]
pub fn time(verdict: &Verdict, timing: Timing) -> Option<String> {
    if timing != Timing::InTempo || !verdict.related {
        return None;
    }
    let why = match (verdict.untimed, verdict.late) {
        (None, Some(late)) if late.abs() <= ON_THE_BEAT => return Some("on the beat".to_owned()),
        (None, Some(late)) => {
            let (side, ms) = (if late.0 < 0.0 { "early" } else { "late" }, late.abs().ms());
            return Some(if ms < 950.0 {
                format!("{ms:.0} ms {side}")
            } else {
                format!("{:.1} s {side}", ms / 1000.0)
            });
        }
        (Some(Untimed::NotCalibrated), _) => "earfirst calibrate measures the delay of your devices",
        (Some(Untimed::SecondAttempt), _) => "the first attempt was broken off",
        (Some(Untimed::NoneRight), _) => "no note was right",
        (Some(Untimed::Xrun) | None, _) => "the sound had holes",
    };
    Some(format!("not measured: {why}"))
}

#[cfg(test)]
mod tests {
    use super::time;
    use crate::cue::Timing;
    use crate::units::Seconds;
    use crate::verdict::{Expectation, Untimed, Verdict, judge};
    use crate::words::verdict::tests::{EIGHTH, LINE, but, in_tempo, plays};

    fn said(verdict: &Verdict) -> String {
        time(verdict, Timing::InTempo).unwrap_or_default()
    }

    #[test]
    fn early_and_late_are_told_and_where_they_are_not_known_why() {
        let asked = in_tempo(&LINE);
        let verdict = |start: f64| judge(&asked, &plays(&but(&[]), start, EIGHTH));
        assert_eq!(
            [2.53, 2.46, 2.505].map(|start| said(&verdict(start))),
            ["30 ms late", "40 ms early", "on the beat"]
        );
        let unknown = Expectation { delay: None, ..asked.clone() };
        let uncalibrated = judge(&unknown, &plays(&but(&[]), 2.7, EIGHTH));
        assert_eq!(said(&uncalibrated), "not measured: earfirst calibrate measures the delay of your devices");
        let holes = Verdict { late: None, untimed: Some(Untimed::Xrun), ..verdict(2.5) };
        assert_eq!(said(&holes), "not measured: the sound had holes");
        assert_eq!(time(&verdict(2.5), Timing::Free), None);
        assert!(verdict(2.5).late.is_some_and(|late| late < Seconds(0.001)));
    }
}
