//! What was played beside the notes that answer: notes too many, ornaments, other attempts.

use crate::notes::HeardNote;
use crate::verdict::{PlayedLabel, Verdict};
use crate::words::numbers::ordinal;

/// A note gives way to the one that begins within this of its end, in seconds.
const AT_ONCE: f64 = 0.001;
/// The notes of an ornament run on into each other with no longer silence than this, seconds.
const RUN_ON_S: f64 = 0.05;
/// They lie nearer to the note that they adorn than this, half steps.
const NEIGHBOUR: f64 = 2.5;
/// A stroke of the same key comes after no longer silence than this, seconds (`twice` in `verdict/judge.rs`).
const STRUCK_GAP_S: f64 = 0.15;
/// Shorter sounds after an answer are no notes of another one, seconds.
const CRUMB_S: f64 = 0.085;

/// How a note that answers nothing belongs to the note beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Beside {
    /// Another stroke of that note.
    Stroke,
    /// A stroke of a trill, a mordent or a turn on the note of this place in the line.
    Ornament(usize),
}

/// For each heard note, how it belongs to a note that answers.
fn belongs(heard: &[HeardNote], verdict: &Verdict) -> Vec<Option<Beside>> {
    let mut order: Vec<usize> = (0..heard.len()).collect();
    order.sort_by(|one, other| heard[*one].onset.0.total_cmp(&heard[*other].onset.0));
    let mut found = vec![None; heard.len()];
    let apart = |one: usize, other: usize| (heard[one].pitch.0 - heard[other].pitch.0).abs();
    let silence = |one: usize, other: usize| {
        let (first, second) = if heard[one].onset < heard[other].onset { (one, other) } else { (other, one) };
        (heard[second].onset - heard[first].release).0
    };
    let unasked = |j: usize| matches!(verdict.played.get(j), Some(PlayedLabel::Artefact | PlayedLabel::Extra));
    for (place, answer) in verdict.expected.iter().enumerate().filter_map(|(n, it)| Some((n, it.heard?))) {
        let Some(at) = order.iter().position(|j| *j == answer) else { continue };
        let ways: [Vec<usize>; 2] = [order[at + 1..].to_vec(), order[..at].iter().rev().copied().collect()];
        if verdict.twice.contains(&place) {
            for way in &ways {
                let mut before = answer;
                for j in way.iter().copied().take_while(|j| unasked(*j) && apart(*j, answer) < 0.5) {
                    if silence(before, j) > STRUCK_GAP_S {
                        break;
                    }
                    (before, found[j]) = (j, Some(Beside::Stroke));
                }
            }
            continue;
        }
        let mut with = Vec::new();
        for way in &ways {
            let mut before = answer;
            let runs_on =
                |j: &usize| verdict.played.get(*j) == Some(&PlayedLabel::Artefact) && apart(*j, answer) < NEIGHBOUR;
            for j in way.iter().copied().take_while(runs_on) {
                if silence(before, j) > RUN_ON_S {
                    break;
                }
                before = j;
                with.push(j);
            }
        }
        let main = with.iter().any(|j| apart(*j, answer) < 0.5);
        let neighbour = with.iter().any(|j| apart(*j, answer) >= 0.5);
        if main && neighbour {
            with.into_iter().for_each(|j| found[j] = Some(Beside::Ornament(place)));
        }
    }
    found
}

/// The notes that answer nothing, a line each: those too many, those that belong to a note beside them, those not counted, those of an
/// earlier attempt; a second playing of the whole, from the note of index `again` on, is one line. `name` names a heard note.
pub(super) fn lines(
    name: &dyn Fn(&HeardNote) -> String,
    again: Option<usize>,
    heard: &[HeardNote],
    verdict: &Verdict,
) -> Vec<String> {
    let belongs = belongs(heard, verdict);
    let taken_up = verdict.taken_up();
    let one = |(n, (note, label)): (usize, (&HeardNote, &PlayedLabel))| {
        let what = match (label, belongs[n]) {
            (PlayedLabel::Note, _) => return None,
            (PlayedLabel::Artefact, _) if again.is_some_and(|from| n >= from) => return None,
            (_, Some(Beside::Stroke)) => "struck twice",
            (_, Some(Beside::Ornament(_))) => "ornament",
            (PlayedLabel::Extra, None) => "too many",
            (PlayedLabel::Artefact, None) => "not counted",
            (PlayedLabel::Earlier, None) if taken_up.iter().any(|it| it.notes.contains(&n)) => "the first time",
            (PlayedLabel::Earlier, None) if verdict.attempts > 2 => "earlier attempt",
            (PlayedLabel::Earlier, None) => "first attempt",
        };
        let length = note.length().0;
        // Of a note that gave way to another it is not known how long it was held.
        let gave_way =
            heard.iter().any(|next| next.onset > note.onset && (next.onset - note.release).abs().0 < AT_ONCE);
        let long = if gave_way { "s until the next note" } else { "s long" };
        let crumb = what == "not counted" && length < CRUMB_S;
        let why = if crumb { ", too short for a note of its own" } else { "" };
        Some(format!("{what}: {} at {:.2} s, {length:.2} {long}{why}", name(note), note.onset.0))
    };
    let mut lines: Vec<String> = heard.iter().zip(&verdict.played).enumerate().filter_map(one).collect();
    let more = again.and_then(|from| heard.get(from));
    lines.extend(more.map(|note| format!("played once more from {:.2} s on", note.onset.0)));
    lines
}

/// Which attempt is judged, where there are several or where more was played after a right one.
pub(super) fn which_attempt(heard: &[HeardNote], verdict: &Verdict) -> Option<String> {
    let last = verdict
        .expected
        .iter()
        .filter_map(|note| note.heard)
        .filter_map(|n| heard.get(n))
        .map(|note| note.onset.0)
        .fold(0.0, f64::max);
    let belongs = belongs(heard, verdict);
    let after = |n: &usize| {
        let note = &heard[*n];
        let artefact = verdict.played.get(*n) == Some(&PlayedLabel::Artefact) && belongs[*n].is_none();
        artefact && note.onset.0 > last && note.length().0 >= CRUMB_S
    };
    let more = (0..heard.len()).filter(after).count() > 1;
    let attempts = if verdict.begun_anew() { verdict.attempts as usize } else { 1 };
    match (attempts, more) {
        (0 | 1, false) => None,
        (attempts, true) => Some(format!(
            "the {} attempt is judged, which was right; what came after it is not counted",
            ordinal(attempts.max(1) - 1)
        )),
        (attempts, false) => Some(format!("the {} attempt is judged, the last", ordinal(attempts - 1))),
    }
}

/// The place of the note before `before` where it sounds up to that note, and whether it was held; else its ornament went on. Whoever holds
/// a note or goes on with a trill does not stand still.
pub(super) fn sounds_on(heard: &[HeardNote], verdict: &Verdict, before: usize) -> Option<(usize, bool)> {
    let place = before.checked_sub(1)?;
    let next = heard.get(verdict.expected.get(before)?.heard?)?;
    let last =
        heard.iter().filter(|note| note.onset < next.onset).max_by(|a, b| a.release.0.total_cmp(&b.release.0))?;
    let held = verdict.expected[place].heard.and_then(|n| heard.get(n)) == Some(last);
    let belongs = belongs(heard, verdict);
    let ornament = heard.iter().zip(&belongs).any(|(note, it)| note == last && *it == Some(Beside::Ornament(place)));
    (next.onset.0 - last.release.0 < STRUCK_GAP_S && (held || ornament)).then_some((place, held))
}

/// That a note was held, or its ornament went on, for so much longer than asked.
pub(super) fn too_long(held: bool, note: &str, by: &str) -> String {
    if held { format!("held {note} {by} too long") } else { format!("went on with {note} for {by} more") }
}
