//! The clauses about notes: which were wrong, displaced, left out, too many.

use super::again;
use super::places::{came_as, named, to_the_end, together};
use crate::music::{Concert, HalfSteps};
use crate::notes::HeardNote;
use crate::verdict::{self, Expectation, Finding, Slip, Verdict};
use crate::words::numbers::{count, direction, distance, ordinal};
use crate::words::reader::Reader;

/// The clauses about single notes, in the order of `found`; empty where no finding is about single notes. `heard` are the notes of the
/// answer.
pub(super) fn clauses<'a>(
    found: impl Iterator<Item = &'a Finding>,
    verdict: &Verdict,
    asked: &Expectation,
    heard: &[HeardNote],
    reader: &Reader,
) -> Vec<String> {
    found.filter_map(|finding| clause(finding, verdict, asked, heard, reader)).collect()
}

fn clause(
    finding: &Finding,
    verdict: &Verdict,
    asked: &Expectation,
    heard: &[HeardNote],
    reader: &Reader,
) -> Option<String> {
    match finding {
        Finding::Wrong(notes) => Some(wrong(notes, asked, reader)),
        Finding::Displaced(notes) => Some(displaced(notes, asked, reader)),
        Finding::Missed(notes) => Some(missed(notes, asked, reader)),
        Finding::Extra(notes) => {
            let came = |note: &HeardNote| came_as(Concert(note.pitch.nearest()), &asked.line, verdict, reader);
            Some(extra(notes, heard, &|note| reader.page.name(came(note).name())))
        }
        Finding::StruckTwice(notes) => Some(twice(notes, asked, reader)),
        Finding::TakenUp(times) => again::taken_up(times, verdict, asked, heard),
        Finding::NothingCame { .. }
        | Finding::SomethingElse
        | Finding::OtherKey(_)
        | Finding::Attempts(_)
        | Finding::BrokeOff { .. }
        | Finding::OtherOctave(_)
        | Finding::Joined(_)
        | Finding::Jumped(_)
        | Finding::Hesitations(_)
        | Finding::Rhythm(_)
        | Finding::Begun { .. }
        | Finding::OffTheBeat(_)
        | Finding::Pace(_)
        | Finding::PaceMoved(_)
        | Finding::Swung { .. }
        | Finding::Uneven { .. }
        | Finding::Astray(_)
        | Finding::OutOfTune(_)
        | Finding::Tuning(_)
        | Finding::Untimed(_)
        | Finding::Reflex(_) => None,
    }
}

fn were(notes: &[usize]) -> &'static str {
    if notes.len() == 1 { "was" } else { "were" }
}

fn wrong(notes: &[(usize, HalfSteps)], asked: &Expectation, reader: &Reader) -> String {
    if let [(note, by)] = notes {
        return format!("{} was {} {}", named(*note, asked, reader), distance(*by), direction(*by));
    }
    let places: Vec<usize> = notes.iter().map(|(note, _)| *note).collect();
    if exchanged(notes, asked) {
        return format!("{} were exchanged", together(&places));
    }
    let how = verdict::slip(notes).map(|slip| match slip {
        Slip::HalfSteps(by) => format!("{} {}", distance(by), direction(by)),
        Slip::ScaleSteps(steps) => {
            let far = if steps.abs() == 1 { "a scale step" } else { "a third" };
            format!("{far} {}", direction(HalfSteps(steps)))
        }
    });
    let (moved, how) = (how.is_some(), how.unwrap_or_else(|| "wrong".to_owned()));
    match to_the_end(&places, asked) {
        Some(from) if moved => format!("from the {from} note on you were {how}"),
        _ => format!("{} were {how}", together(&places)),
    }
}

/// Whether two notes came, each in place of the other.
fn exchanged(notes: &[(usize, HalfSteps)], asked: &Expectation) -> bool {
    let pitch = |place: usize| asked.line.notes.get(place).map(|note| note.pitch);
    match notes {
        [(one, by), (other, back)] => {
            pitch(*one).map(|it| it + *by) == pitch(*other) && pitch(*other).map(|it| it + *back) == pitch(*one)
        }
        _ => false,
    }
}

fn displaced(notes: &[(usize, HalfSteps)], asked: &Expectation, reader: &Reader) -> String {
    if let [(note, by)] = notes {
        return format!("{} came {} {}", named(*note, asked, reader), distance(*by), direction(*by));
    }
    let places: Vec<usize> = notes.iter().map(|(note, _)| *note).collect();
    if notes.iter().any(|(_, by)| *by != notes[0].1) {
        return format!("{} came in another octave", together(&places));
    }
    let how = format!("{} {}", distance(notes[0].1), direction(notes[0].1));
    match to_the_end(&places, asked) {
        Some(from) => format!("from the {from} note on you were {how}"),
        None => format!("{} came {how}", together(&places)),
    }
}

fn missed(notes: &[usize], asked: &Expectation, reader: &Reader) -> String {
    match notes {
        [one] => format!("{} was left out", named(*one, asked, reader)),
        _ => format!("{} {} left out", together(notes), were(notes)),
    }
}

fn twice(notes: &[usize], asked: &Expectation, reader: &Reader) -> String {
    let mut places = notes.to_vec();
    places.dedup();
    match &places[..] {
        [one] if notes.len() == 1 => format!("{} came twice", named(*one, asked, reader)),
        [one] => format!("{} came {} times", named(*one, asked, reader), count(notes.len() + 1)),
        _ if notes.len() == places.len() => format!("{} came twice each", together(&places)),
        _ => format!("{} came more than once each", together(&places)),
    }
}

fn extra(notes: &[(usize, usize)], heard: &[HeardNote], name: &dyn Fn(&HeardNote) -> String) -> String {
    let (after, index) = notes.first().copied().unwrap_or_default();
    let at = match after {
        0 => "before the first".to_owned(),
        after => format!("after the {}", ordinal(after - 1)),
    };
    let name = heard.get(index).map(name);
    match (notes.len(), name) {
        (1, Some(name)) => format!("one note too many, {name}, came {at}"),
        (1, None) => format!("one note too many came {at}"),
        (many, Some(name)) => format!("{} notes too many came, the first of them, {name}, {at}", count(many)),
        (many, None) => format!("{} notes too many came, the first of them {at}", count(many)),
    }
}
