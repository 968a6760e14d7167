use super::{Recurring, faults};
use crate::music::{ConcertKey, HalfSteps, PitchClass};
use crate::units::{Cents, Seconds};
use crate::verdict::{Asked, Clock, Finding, Stood, Verdict, findings};
use crate::words::names::Reader;
use crate::words::numbers::{capital, count, distance, list, ordinal};

/// A reflex up to this is quick, seconds.
const QUICK_S: f64 = 0.6;
/// A reflex beyond this is slow, seconds.
const SLOW_S: f64 = 1.5;
/// From here on nobody thinks in milliseconds, seconds.
const LONG_S: f64 = 0.95;

/// One plain sentence about an answer: what came out, the most useful fault, and at most one thing more.
///
/// Computed from the verdict (by [`findings`]) and from the faults of this pattern that were `named` in this sitting because
/// they came back, so the same facts never give two different sentences. A note that such a fault has out of tune is not held
/// against every answer again: the next remark has its turn. A note wrong or left out is always told, or the count would not
/// be explained.
#[must_use]
pub fn sentence(verdict: &Verdict, asked: &Asked, reader: &Reader, named: &[Recurring]) -> String {
    let mut found = findings(verdict, asked);
    for finding in &mut found {
        if let Finding::OutOfTune(notes) = finding {
            notes.retain(|(note, cents)| !named.iter().any(|fault| fault.out_of_tune(*note, *cents)));
        }
    }
    let told = match found.first() {
        Some(Finding::NothingCame { strays: false }) => "nothing was heard, so nothing is scored".to_owned(),
        Some(Finding::NothingCame { strays: true }) => {
            "only stray sounds were heard, no note; nothing is scored".to_owned()
        }
        Some(Finding::SomethingElse) => "that was something else, so nothing is scored".to_owned(),
        Some(Finding::OtherKey(by)) => other_key(*by, verdict, &found, asked, reader),
        _ => in_key(verdict, &found, asked, reader),
    };
    capital(&told) + "."
}

fn other_key(by: HalfSteps, verdict: &Verdict, found: &[Finding], asked: &Asked, reader: &Reader) -> String {
    let played = ConcertKey(PitchClass::new(reader.key.0.get() + by.0));
    let keys = format!(
        "you played in {}, the cue asked for {}{}",
        reader.key(played),
        reader.key(reader.key),
        attempts(verdict.attempts)
    );
    match faults::clauses(found, asked, reader).first() {
        None if verdict.right == verdict.of => format!("right shape, wrong key: {keys}"),
        Some(fault) => format!("wrong key: {keys}; in that key {fault}"),
        None => format!("wrong key: {keys}; {}", broke_off(verdict, found).unwrap_or_else(|| tally(verdict))),
    }
}

fn in_key(verdict: &Verdict, found: &[Finding], asked: &Asked, reader: &Reader) -> String {
    let faults = faults::clauses(found, asked, reader);
    let extras_only = verdict.right == verdict.of && verdict.extra > 0;
    let mut told = match (broke_off(verdict, found), faults.first()) {
        (Some(broke), None) => broke,
        (Some(broke), Some(fault)) => format!("{broke}, and {fault}"),
        (None, None) => tally(verdict),
        (None, Some(fault)) if extras_only => format!("{}, but {fault}", tally(verdict)),
        (None, Some(fault)) => match faults.get(1) {
            Some(second) => format!("{}: {fault}, and {second}", tally(verdict)),
            None => format!("{}: {fault}", tally(verdict)),
        },
    };
    let clean = faults.is_empty() && broke_off(verdict, found).is_none();
    told += &attempts(verdict.attempts);
    for finding in found {
        if let Finding::OtherOctave(by) = finding {
            told += &octave(*by);
        }
    }
    // Where the sound faltered, nothing is known of early or late.
    let in_time = verdict.attempts == 1 && verdict.late.is_some();
    told + &remark(found, asked, reader, clean, in_time)
}

/// How often the player began, where that was more than once.
fn attempts(attempts: u32) -> String {
    match attempts {
        0 | 1 => String::new(),
        2 => ", at the second attempt".to_owned(),
        more => format!(", at attempt {more}"),
    }
}

fn octave(by: HalfSteps) -> String {
    format!(", {} {} than asked", distance(by), if by.0 < 0 { "lower" } else { "higher" })
}

/// "seven of eight", "all eight right", "right" for a single note.
fn tally(verdict: &Verdict) -> String {
    match (verdict.right, verdict.of) {
        (1, 1) => "right".to_owned(),
        (right, of) if right == of => format!("all {} right", count(of as usize)),
        (right, of) => format!("{} of {}", count(right as usize), count(of as usize)),
    }
}

fn broke_off(verdict: &Verdict, found: &[Finding]) -> Option<String> {
    let after =
        found.iter().find_map(|finding| if let Finding::BrokeOff { after } = finding { Some(*after) } else { None })?;
    let right = verdict.right as usize;
    let how = match right {
        _ if right == after && after == 1 => "it was right".to_owned(),
        _ if right == after => format!("those {} were right", count(after)),
        _ => format!("{} of those {} right", count(right), count(after)),
    };
    Some(format!("broke off after the {} note, {how}", ordinal(after.saturating_sub(1))))
}

/// The one thing more: time or tuning where the notes were clean, and the reflex.
fn remark(found: &[Finding], asked: &Asked, reader: &Reader, clean: bool, in_time: bool) -> String {
    let reflex = found.iter().find_map(|finding| if let Finding::Reflex(time) = finding { Some(*time) } else { None });
    let fault = found.iter().find_map(|finding| time_or_tuning(finding, asked, reader, clean));
    match (fault, reflex) {
        (Some(fault), Some(time)) if clean => format!(", {}; {fault}", begun(time, reader)),
        (Some(fault), _) => format!("; {fault}"),
        (None, Some(time)) if clean && time.0 <= QUICK_S => format!(", and {}", begun(time, reader)),
        (None, Some(time)) if clean && time.0 > SLOW_S => format!(", but {}", begun(time, reader)),
        (None, Some(time)) if clean => format!(", {}", begun(time, reader)),
        (None, Some(time)) => format!("; {}", begun(time, reader)),
        (None, None) if clean && in_time => " and in time".to_owned(),
        (None, None) => String::new(),
    }
}

fn in_tempo(asked: &Asked) -> bool {
    matches!(asked.clock, Clock::InTempo { .. })
}

fn time_or_tuning(finding: &Finding, asked: &Asked, reader: &Reader, clean: bool) -> Option<String> {
    match finding {
        Finding::Jumped(time) if time.0 < 0.0 => {
            Some("you jumped the cue, before it had ended, so the time is not counted".to_owned())
        }
        Finding::Jumped(_) => {
            Some("you jumped the cue, too soon to have heard it out, so the time is not counted".to_owned())
        }
        _ if !clean => None,
        Finding::Joined(notes) => Some(joined(notes)),
        Finding::Stood(stood) => Some(stood_still(stood, asked, reader)),
        Finding::Pace(pace) => {
            let word = match (in_tempo(asked), pace.0 > asked.tempo.0) {
                (true, true) => "rushed to",
                (true, false) => "dragged to",
                (false, true) => "faster than asked,",
                (false, false) => "slower than asked,",
            };
            Some(format!("{word} quarter = {:.0} where {:.0} was asked", pace.0, asked.tempo.0))
        }
        Finding::OffTheBeat(late) => {
            let side = if late.0 < 0.0 { "early" } else { "late" };
            Some(format!("about {} {side} throughout", about(late.abs())))
        }
        Finding::Swung { played, asked } => Some(swung(*played, *asked)),
        Finding::Uneven { beats, .. } => {
            Some(format!("uneven, notes some {:.0} % of a beat from the pulse", 100.0 * beats))
        }
        Finding::OutOfTune(notes) => {
            let (note, cents) = notes.first()?;
            Some(format!("{} was {} against the rest", faults::named(*note, asked, reader), sharp(*cents)))
        }
        Finding::Tuning(cents) => Some(format!("as a whole {}", sharp(*cents))),
        _ => None,
    }
}

fn stood_still(stood: &[Stood], asked: &Asked, reader: &Reader) -> String {
    let longest = stood.iter().map(|one| one.by.0).fold(0.0, f64::max);
    match stood {
        [one] => format!("you stood still before {} for {longest:.1} s", faults::named(one.before, asked, reader)),
        more => {
            let places: Vec<usize> = more.iter().map(|one| one.before).collect();
            format!("you stood still before {}, {longest:.1} s at the longest", faults::together(&places))
        }
    }
}

/// Long to short eighth against what was asked.
fn swung(played: f64, asked: f64) -> String {
    if asked < 1.05 {
        format!("swung, long to short {played:.1} to 1")
    } else if played < 1.15 {
        format!("played straight where long to short {asked:.1} to 1 was asked")
    } else {
        format!("swung {played:.1} to 1 where {asked:.1} to 1 was asked")
    }
}

/// Nobody hears less than ten milliseconds in an even row (Friberg and Sundberg 1995, from memory): say tens.
fn about(time: Seconds) -> String {
    if time.0 > LONG_S { format!("{:.1} s", time.0) } else { format!("{:.0} ms", (time.ms() / 10.0).round() * 10.0) }
}

fn sharp(cents: Cents) -> String {
    format!("{:.0} cents {}", cents.abs().0, if cents.0 < 0.0 { "flat" } else { "sharp" })
}

fn joined(notes: &[usize]) -> String {
    match notes {
        [one] => format!("the {} and {} were held as one", ordinal(one.saturating_sub(1)), ordinal(*one)),
        many => format!(
            "the {} were joined to the notes before",
            list(&many.iter().map(|n| ordinal(*n)).collect::<Vec<_>>())
        ),
    }
}

/// How soon it was begun, in the same words wherever it stands.
fn begun(time: Seconds, reader: &Reader) -> String {
    let told = format!("{:.1} s{}", time.0, if reader.calibrated { "" } else { " uncalibrated" });
    match time.0 {
        quick if quick <= QUICK_S => format!("quick to begin: {told}"),
        slow if slow > SLOW_S => format!("slow to begin: {told}"),
        _ => format!("{told} to begin"),
    }
}
