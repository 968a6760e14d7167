use crate::cue::Timing;
use crate::pattern::Line;
use crate::units::{Seconds, Tempo};
use crate::verdict::{Expectation, Finding, TimeOrigin, Untimed, Verdict, findings, is_slower, late_at_both_ends};

/// An answer within this of its beats is on the beat: nobody hears less in an even row (Friberg and Sundberg 1995, from memory).
const ON_THE_BEAT: Seconds = Seconds(0.01);

/// An answer whose lateness at the end differs from that at its beginning by more than this dragged or rushed, and both are said.
const MOVED: Seconds = Seconds(0.09);
/// What dragged or rushed came in on the beat within this (Repp 2005, from memory).
const IN_TIME: Seconds = Seconds(0.03);

/// How early or late an answer in tempo was, or why that was not measured: "30 ms late", "on the beat", "came in on the beat, 440 ms late by
/// the end", "not measured: the sound had holes". The line is the one asked, at this tempo. `None` for free answers and for an answer that
/// was another line.
#[must_use]
pub fn time(verdict: &Verdict, timing: Timing, line: &Line, tempo: Tempo) -> Option<String> {
    if timing != Timing::InTempo || !verdict.related {
        return None;
    }
    if let Some((begun, ended)) = both_ends(verdict, line, tempo) {
        return Some(format!("came in {begun}, {ended} by the end"));
    }
    let why = match (verdict.untimed, verdict.late) {
        (None, Some(late)) => return Some(off(late, ON_THE_BEAT)),
        (Some(Untimed::NotCalibrated), _) => "earfirst calibrate measures the delay of your devices",
        (Some(Untimed::SecondAttempt), _) => "the first attempt was broken off",
        (Some(Untimed::NoneRight), _) => "no note was right",
        (Some(Untimed::Xrun) | None, _) => "the sound had holes",
    };
    Some(format!("not measured: {why}"))
}

/// How an answer in tempo that dragged or rushed came in and how it ended, each as early, late or on the beat; `None` for any other.
pub(super) fn both_ends(verdict: &Verdict, line: &Line, tempo: Tempo) -> Option<(String, String)> {
    apart(verdict, line, tempo).map(|(begun, ended)| (off(begun, IN_TIME), off(ended, IN_TIME)))
}

/// How late an answer in tempo that dragged or rushed came in and how late it ended; `None` for any other.
pub(super) fn apart(verdict: &Verdict, line: &Line, tempo: Tempo) -> Option<(Seconds, Seconds)> {
    late_at_both_ends(verdict, line, tempo).filter(|(begun, ended)| (*ended - *begun).abs() > MOVED)
}

/// What is said of a free answer whose pace was slower than asked by too little to be a fault: "slower than asked, quarter = 108 where
/// 120 was asked". `None` where it was not slower by what an answer in tempo may be, or where its time is a fault of another kind.
#[must_use]
pub fn slower(verdict: &Verdict, asked: &Expectation) -> Option<String> {
    let of_time = |found: &Finding| {
        matches!(found, Finding::Pace(_) | Finding::PaceMoved(_) | Finding::Rhythm(_) | Finding::Hesitations(_))
    };
    let pace = verdict.pace.filter(|_| verdict.related && matches!(asked.clock, TimeOrigin::Free { .. }))?;
    let slower = is_slower(pace, asked) && !findings(verdict, asked).iter().any(of_time);
    slower.then(|| format!("slower than asked, quarter = {:.0} where {:.0} was asked", pace.0, asked.tempo.0))
}

/// "30 ms late", "1.2 s early", or "on the beat" within `near` of it.
fn off(late: Seconds, near: Seconds) -> String {
    let (side, ms) = (if late.0 < 0.0 { "early" } else { "late" }, late.abs().ms());
    match ms {
        _ if late.abs() <= near => "on the beat".to_owned(),
        ms if ms < 950.0 => format!("{ms:.0} ms {side}"),
        ms => format!("{:.1} s {side}", ms / 1000.0),
    }
}

#[cfg(test)]
mod tests {
    use super::time;
    use crate::cue::Timing;
    use crate::units::{Seconds, Tempo};
    use crate::verdict::{Expectation, Untimed, Verdict, judge};
    use crate::words::verdict::tests::{EIGHTH, LINE, but, in_tempo, plays};

    fn said(verdict: &Verdict) -> String {
        time(verdict, Timing::InTempo, &in_tempo(&LINE).line, Tempo(120.0)).unwrap_or_default()
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
        assert_eq!(time(&verdict(2.5), Timing::Free, &asked.line, Tempo(120.0)), None);
        assert!(verdict(2.5).late.is_some_and(|late| late < Seconds(0.001)));
    }

    #[test]
    fn who_comes_in_on_the_beat_and_drags_is_not_told_to_have_come_in_late() {
        // Eight eighths at quarter = 100 where 120 was asked: 3.5 beats last .35 s longer.
        let dragged = judge(&in_tempo(&LINE), &plays(&but(&[]), 2.5, 0.3));
        assert_eq!(said(&dragged), "came in on the beat, 350 ms late by the end");
        let rushed = judge(&in_tempo(&LINE), &plays(&but(&[]), 2.6, 0.22));
        assert_eq!(said(&rushed), "came in 100 ms late, 110 ms early by the end");
    }
}
