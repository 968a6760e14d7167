use super::rhythm;
use crate::music::HalfSteps;
use crate::verdict::{self, Expectation, Finding, Verdict, findings};
use crate::words::reader::Reader;

/// The headline of an answer at the first attempt without a fault.
pub const ALL_RIGHT: &str = "all right";

/// The one thing that matters about an answer, in few letters ("second attempt" has the most but for long names of notes), to be read from
/// two metres: "all right", "8 of 9", "wrong key", "late". The sentence says the rest.
#[must_use]
pub fn headline(verdict: &Verdict, asked: &Expectation, reader: &Reader) -> String {
    let found = findings(verdict, asked);
    match found.first() {
        Some(Finding::NothingCame { .. }) => return "no note heard".to_owned(),
        Some(Finding::SomethingElse) => return "another line".to_owned(),
        Some(Finding::OtherKey(_)) => return "wrong key".to_owned(),
        _ => {}
    }
    if verdict.right < verdict.of {
        return format!("{} of {}", verdict.right, verdict.of);
    }
    let gravest = verdict::gravest_faults(&found);
    gravest.into_iter().find_map(|finding| of(finding, asked, reader)).unwrap_or_else(|| match verdict.attempts {
        0 | 1 => ALL_RIGHT.to_owned(),
        2 => "second attempt".to_owned(),
        more => format!("attempt {more}"),
    })
}

/// The headline of one fault of an answer whose notes were all right; `None` for a fault that has none.
fn of(finding: &Finding, asked: &Expectation, reader: &Reader) -> Option<String> {
    let side = |below: bool, one: &str, other: &str| if below { one.to_owned() } else { other.to_owned() };
    let name = |note: usize| asked.line.notes.get(note).map(|note| reader.asked(note)).unwrap_or_default();
    Some(match finding {
        Finding::Extra(notes) => format!("{} too many", notes.len()),
        Finding::StruckTwice(notes) => {
            let first = *notes.first()?;
            match notes.iter().filter(|note| **note == first).count() {
                1 => format!("{} twice", name(first)),
                more => format!("{} {} times", name(first), more + 1),
            }
        }
        Finding::Displaced(notes) => notes
            .first()
            .map(|(note, HalfSteps(by))| format!("{} {}", name(*note), if *by < 0 { "low" } else { "high" }))?,
        Finding::Jumped(_) => "too soon".to_owned(),
        Finding::Begun { beats } => side(*beats < 0.0, "early", "late"),
        Finding::Joined(_) => "run together".to_owned(),
        Finding::Hesitations(_) => "stood still".to_owned(),
        Finding::Pace(pace) => side(pace.0 < asked.tempo.0, "slower", "faster"),
        Finding::PaceMoved { from, to } => side(to.0 < from.0, "slowed down", "sped up"),
        Finding::OffTheBeat(late) => side(late.0 < 0.0, "early", "late"),
        Finding::Rhythm(played) => match rhythm::one_note(played, asked) {
            Some((note, long)) => format!("{} {}", name(note), if long { "long" } else { "short" }),
            None => "other rhythm".to_owned(),
        },
        // More swing than was asked is no fault.
        Finding::Swung { .. } => "too even".to_owned(),
        Finding::Uneven { .. } => "uneven".to_owned(),
        Finding::Astray(notes) => {
            let astray = notes.first()?;
            format!("{} {}", name(astray.note), if astray.by.0 < 0.0 { "early" } else { "late" })
        }
        Finding::OutOfTune(notes) => {
            let (note, cents) = notes.first()?;
            format!("{} {}", name(*note), if cents.0 < 0.0 { "flat" } else { "sharp" })
        }
        Finding::Tuning(cents) => side(cents.0 < 0.0, "flat", "sharp"),
        Finding::NothingCame { .. }
        | Finding::SomethingElse
        | Finding::OtherKey(_)
        | Finding::Attempts(_)
        | Finding::BrokeOff { .. }
        | Finding::Wrong(_)
        | Finding::Missed(_)
        | Finding::OtherOctave(_)
        | Finding::Untimed(_)
        | Finding::Reflex(_) => return None,
    })
}
