use super::places::came_as;
use super::{beside, rhythm, time};
use crate::notes::HeardNote;
use crate::verdict::{self, Expectation, Finding, Verdict, findings};
use crate::words::numbers::{direction, distance};
use crate::words::reader::Reader;

/// The headline of an answer at the first attempt without a fault.
pub const ALL_RIGHT: &str = "all right";
/// So many letters have room in the narrowest window.
const ROOM: usize = 14;

/// The one thing that matters about an answer, in few letters ("second attempt" has the most but for long names of notes), to be read from
/// two metres: "all right", "F# was F", "7 of 9", "wrong key", "late". The sentence says the rest. The verdict was made of the notes `heard`.
#[must_use]
pub fn headline(verdict: &Verdict, asked: &Expectation, heard: &[HeardNote], reader: &Reader) -> String {
    let found = findings(verdict, asked);
    match found.first() {
        Some(Finding::NothingCame { .. }) => return "no note heard".to_owned(),
        Some(Finding::SomethingElse) => return "another line".to_owned(),
        Some(Finding::OtherKey(_)) => return "wrong key".to_owned(),
        _ => {}
    }
    if verdict.right < verdict.of {
        let one = one_note(verdict, &found, asked, reader).filter(|said| said.chars().count() <= ROOM);
        return one.unwrap_or_else(|| format!("{} of {}", verdict.right, verdict.of));
    }
    let mut gravest = verdict::gravest_faults(&found);
    // A listener notices a stop before a note too many.
    gravest.sort_by_key(|it| !matches!(it, Finding::Hesitations(_)) || found.iter().any(outweighs_a_stop));
    gravest.into_iter().find_map(|finding| of(finding, verdict, asked, heard, reader)).unwrap_or_else(|| match verdict
        .attempts
    {
        0 | 1 => ALL_RIGHT.to_owned(),
        2 => "second attempt".to_owned(),
        more => format!("attempt {more}"),
    })
}

/// Whether a fact matters more than that the player stopped.
const fn outweighs_a_stop(found: &Finding) -> bool {
    matches!(found, Finding::Begun { .. } | Finding::Jumped(_) | Finding::Rhythm(_))
}

/// What became of the one note that was not right: "F# was F", "F# left out", "F# octave low"; `None` where more than one was not.
fn one_note(verdict: &Verdict, found: &[Finding], asked: &Expectation, reader: &Reader) -> Option<String> {
    if verdict.of - verdict.right != 1 {
        return None;
    }
    let line = &asked.line;
    let note = |place: usize| line.notes.get(place);
    found.iter().find_map(|finding| match finding {
        Finding::Wrong(notes) => {
            let (note, by) = notes.first().and_then(|(place, by)| Some((note(*place)?, *by)))?;
            let came = reader.page.name(came_as(note.pitch + by, line, verdict, reader).name());
            Some(format!("{} was {came}", reader.asked(note)))
        }
        Finding::Displaced(notes) => {
            let (asked, by) = notes.first().and_then(|(place, by)| Some((note(*place)?, *by)))?;
            let octave = if distance(by) == "an octave" { "octave " } else { "" };
            Some(format!("{} {octave}{}", reader.asked(asked), direction(by)))
        }
        Finding::Missed(places) => Some(format!("{} left out", reader.asked(note(*places.first()?)?))),
        _ => None,
    })
}

/// The headline of one fault of an answer whose notes were all right; `None` for a fault that has none.
fn of(
    finding: &Finding,
    verdict: &Verdict,
    asked: &Expectation,
    heard: &[HeardNote],
    reader: &Reader,
) -> Option<String> {
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
        Finding::TakenUp(_) => "went back".to_owned(),
        Finding::Jumped(_) => "too soon".to_owned(),
        Finding::Begun { beats } => side(*beats < 0.0, "early", "late"),
        Finding::Joined(_) => "run together".to_owned(),
        Finding::Hesitations(stood) => {
            let held = stood.iter().all(|one| beside::sounds_on(heard, verdict, one.before).is_some());
            side(held, "held too long", "stood still")
        }
        Finding::Pace(pace) => side(pace.0 < asked.tempo.0, "slower", "faster"),
        Finding::PaceMoved(moved) => side(moved.to.0 < moved.from.0, "slowed down", "sped up"),
        Finding::OffTheBeat(late) => match time::apart(verdict, &asked.line, asked.tempo) {
            Some((begun, ended)) => side(ended < begun, "rushed", "dragged"),
            None => side(late.0 < 0.0, "early", "late"),
        },
        Finding::Rhythm(played) => match rhythm::one_note(played, asked) {
            // It may be a rest that was too long, and then the note was not.
            Some((note, true)) => format!("{} late", name(note + 1)),
            Some((note, false)) => format!("{} short", name(note)),
            None => "other rhythm".to_owned(),
        },
        // More swing than was asked is no fault.
        Finding::Swung { played, asked } if *played < 1.0 && *asked < 1.05 => "short-long".to_owned(),
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
        | Finding::Displaced(_)
        | Finding::Missed(_)
        | Finding::OtherOctave(_)
        | Finding::Untimed(_)
        | Finding::Reflex(_) => return None,
    })
}
