//! The clauses about what was played more than once: the line begun anew, or taken up again from within.

use super::places;
use crate::music::{Concert, HalfSteps};
use crate::notes::HeardNote;
use crate::units::{Midi, Seconds};
use crate::verdict::{self, Expectation, PlayedLabel, TakenUp, Verdict};
use crate::words::numbers::{count, direction, distance, ordinal};
use crate::words::reader::Reader;

/// At which attempt the answer came, where the player began the line more than once.
pub(super) fn attempts(verdict: &Verdict) -> String {
    if verdict.begun_anew() {
        return format!(", at the {} attempt", ordinal((verdict.attempts as usize).saturating_sub(1)));
    }
    String::new()
}

/// What went otherwise than asked at the first of two attempts: "the first broke off after the fourth note". Empty for any other answer.
pub(super) fn first_time(verdict: &Verdict, asked: &Expectation, heard: &[HeardNote], reader: &Reader) -> String {
    let begun = verdict.expected.iter().filter_map(|note| note.heard).min().unwrap_or(0);
    let first: Vec<usize> = (0..begun).filter(|n| verdict.played.get(*n) == Some(&PlayedLabel::Earlier)).collect();
    let once = verdict.attempts == 2 && verdict.begun_anew() && verdict.in_key();
    if !once || first.is_empty() || first.len() > asked.line.notes.len() {
        return String::new();
    }
    let part = PlayedBefore::of(&first, 0, verdict, asked, heard);
    match part.wrong.first() {
        None if first.len() < asked.line.notes.len() => {
            format!("; the first broke off after the {} note", ordinal(first.len() - 1))
        }
        None => String::new(),
        // What follows a note too many or one left out stands at no place of the line.
        Some((place, _)) if 2 * part.wrong.len() > first.len() - place => {
            format!("; the first went astray at {}", places::named(*place, asked, reader).trim_end_matches(','))
        }
        Some((place, by)) => {
            format!("; the first time {} {}", places::named(*place, asked, reader), was(*by))
        }
    }
}

/// Where the player went back within the line: "you stopped after the fifth note and took it up again from the fourth".
pub(super) fn taken_up(
    times: &[TakenUp],
    verdict: &Verdict,
    asked: &Expectation,
    heard: &[HeardNote],
) -> Option<String> {
    let first = times.first()?;
    let parts = parts(first, verdict, asked, heard);
    let part = parts.first()?;
    let after = ordinal(part.after.saturating_sub(1));
    let wrong = match part.wrong.last() {
        None => String::new(),
        Some((place, by)) if place + 1 == part.after => format!(", which {},", was(*by)),
        Some((place, by)) => format!(", of which the {} {},", ordinal(*place), was(*by)),
    };
    let place =
        if first.from + 1 == part.after { "that note".to_owned() } else { format!("the {}", ordinal(first.from)) };
    let said = match part.stopped {
        true => format!("you stopped after the {after} note{wrong} and took it up again from {place}"),
        false => format!("after the {after} note{wrong} you went back to {place}"),
    };
    let more = times.iter().map(|it| self::parts(it, verdict, asked, heard).len()).sum::<usize>().saturating_sub(1);
    Some(match more {
        0 => said,
        1 => format!("{said}, and went back once more"),
        more => format!("{said}, and went back {} times more", count(more)),
    })
}

fn was(by: HalfSteps) -> String {
    format!("was {} {}", distance(by), direction(by))
}

/// Notes that were played at places of the line and do not count there, since they were played again.
struct PlayedBefore {
    /// Number of the notes of the line up to the last of these.
    after: usize,
    /// Those that were not right: place in the line, and half steps from the asked pitch.
    wrong: Vec<(usize, HalfSteps)>,
    /// Whether the player stopped behind the last of them.
    stopped: bool,
}

impl PlayedBefore {
    /// Heard notes, held to the line from a place on.
    fn of(notes: &[usize], from: usize, verdict: &Verdict, asked: &Expectation, heard: &[HeardNote]) -> Self {
        let off = |place: usize, n: usize| {
            let note = asked.line.notes.get(place)?;
            Some(pitch(heard.get(n)?, verdict) - (note.pitch + verdict.shift))
        };
        let one = |(n, note): (usize, &usize)| Some((from + n, off(from + n, *note)?)).filter(|(_, by)| by.0 != 0);
        let wrong = notes.iter().enumerate().filter_map(one).collect();
        let after = from + notes.len();
        Self { after, wrong, stopped: notes.last().is_some_and(|last| stopped(*last, after, verdict, asked, heard)) }
    }
}

/// Whether the player stopped behind this heard note, the one before the note `next` of the line, at the pace of the answer.
fn stopped(last: usize, next: usize, verdict: &Verdict, asked: &Expectation, heard: &[HeardNote]) -> bool {
    let (Some(last), Some(on)) = (heard.get(last), heard.get(last + 1)) else { return false };
    let at = |place: usize| asked.line.notes.get(place).map(|note| note.at);
    let pace = verdict.pace.unwrap_or(asked.tempo);
    let asks = at(next).zip(at(next - 1)).map_or(Seconds(0.0), |(to, from)| pace.lasting(to - from));
    verdict::stopped(on.onset - last.release, on.onset - last.onset - asks)
}

/// What was played from one note of the line on before it was taken up there for good: more than one part where the player went back to it more
/// than once.
fn parts(times: &TakenUp, verdict: &Verdict, asked: &Expectation, heard: &[HeardNote]) -> Vec<PlayedBefore> {
    let fits = |place: usize, n: usize| {
        let note = asked.line.notes.get(place).map(|note| note.pitch + verdict.shift);
        note.is_some() && note == heard.get(n).map(|note| pitch(note, verdict))
    };
    let behind =
        |part: &[usize]| part.last().is_some_and(|last| stopped(*last, times.from + part.len(), verdict, asked, heard));
    let mut split: Vec<Vec<usize>> = Vec::new();
    for n in times.notes.iter().copied() {
        match split.last_mut() {
            Some(part) if !(fits(times.from, n) && behind(part)) => part.push(n),
            _ => split.push(vec![n]),
        }
    }
    split.iter().map(|part| PlayedBefore::of(part, times.from, verdict, asked, heard)).collect()
}

/// The pitch of a heard note, the general tuning of the answer out.
fn pitch(note: &HeardNote, verdict: &Verdict) -> Concert {
    let tuning = verdict.centre.map_or(0.0, |centre| centre.0 / 100.0);
    Concert(Midi(note.pitch.0 - tuning).nearest())
}
