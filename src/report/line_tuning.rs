//! The intonation of a line that was judged: what its notes have in common as in a run (`run_words.rs`), and its notes one by one, by the
//! figures of the verdict.

use crate::cue::Cue;
use crate::music::{Concert, Intonation};
use crate::notes::HeardNote;
use crate::report::moved::NoteMoved;
use crate::report::run::RunIntonation;
use crate::report::run_moves::MovedRow;
use crate::report::run_words::{drift_words, habit, in_common, moved_words};
use crate::report::trend::{Doubt, Drift};
use crate::units::{Cents, rank};
use crate::verdict::Verdict;
use crate::words::Page;
use crate::words::numbers::{capital, count, list, ordinal};
use crate::words::tuned::advice;

/// Smallest number of notes that are held against each other.
const NOTES: usize = 3;
/// Largest number of notes of which it is told how they moved; the others are only named.
const MOVED: usize = 3;
/// Largest number of notes of one list that are named; of the others the number is told.
const NAMED: usize = 8;
/// Two notes of one pitch that lie no farther apart than this are told as one, in cents.
const ALIKE: f64 = 5.0;

/// Whether the sentence of a verdict names the notes that are out of tune by its rule, so that they are not told once more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TuningFaults {
    /// The sentence names them.
    Told,
    /// The sentence does not.
    Untold,
}

/// What is to be said of the intonation of a judged line beside its verdict, a sentence each: how the whole line moved, what several notes
/// have in common, the notes that are out of tune by the verdict's rule, all of them, those beyond the narrowest band that are no fault by
/// that rule and that nothing said before explains, and the notes that sagged or rose while they sounded. Where the line as a whole is
/// off, a note that was in tune is none of these. Only notes count whose tuning the verdict measured; `moved` is how the heard notes
/// moved.
#[must_use]
pub fn line_tuning(
    page: &Page,
    cue: &Cue,
    heard: &[HeardNote],
    moved: &[NoteMoved],
    verdict: &Verdict,
    faults: TuningFaults,
) -> Vec<String> {
    let Intonation::Scored { in_tune, acceptable, .. } = page.instrument.intonation else { return Vec::new() };
    let line = TunedLine::of(page, cue, heard, verdict);
    let run = RunIntonation::of_named(&line.sounded, moved, &line.names);
    let mut said: Vec<String> = run.drift.iter().filter_map(drifted).collect();
    let shared = in_common(&run, &|n, _| line.numbered(n), &|pitch| line.name(pitch));
    said.extend(shared.iter().map(|said| capital(said) + "."));
    let alone = shared.is_empty() && run.notes_move.is_none() && !run.drift.is_some_and(|drift| drift.taken_out);
    let whole = verdict.centre.filter(|by| alone && by.abs() > in_tune && by.abs() <= acceptable);
    said.extend(whole.map(|by| as_a_whole(by, page)));
    if line.sounded.len() >= NOTES {
        let whole = verdict.centre.filter(|whole| whole.abs() > acceptable);
        let in_tune_itself = |by: Cents| whole.is_some_and(|whole| (by + whole).abs() <= acceptable);
        let far = |by: Cents| by.abs().0.round() > in_tune.0;
        let off = line.cents.iter().copied().enumerate().filter(|(_, by)| !in_tune_itself(*by));
        let (far_off, others): (Vec<_>, Vec<_>) = off.partition(|(_, by)| by.abs() > acceptable);
        let own = |n: usize| run.own_notes.iter().find(|own| own.0 == n).is_some_and(|own| far(own.1));
        let others: Vec<_> = others.into_iter().filter(|(n, by)| far(*by) && own(*n)).collect();
        let (from, until) = (in_tune.0, acceptable.0);
        said.extend(
            line.named(&far_off)
                .filter(|_| faults == TuningFaults::Untold)
                .map(|notes| format!("Out of tune (the bound is {until:.0} cents): {notes}.")),
        );
        let near = line.named(&others);
        said.extend(near.map(|notes| format!("Off by more than {from:.0} cents, no fault up to {until:.0}: {notes}.")));
    }
    said.extend(habit(run.notes_move).map(|said| capital(&said) + "."));
    said.extend(run.moved.iter().take(MOVED).map(|row| line.moved(row)));
    let others: Vec<String> = run.moved.iter().skip(MOVED).map(|row| line.name(row.pitch)).collect();
    said.extend((!others.is_empty()).then(|| format!("So, by less, {}.", list(&others))));
    said
}

/// The notes of a judged line whose tuning was measured, in the order of the line.
struct TunedLine<'a> {
    page: &'a Page,
    cue: &'a Cue,
    verdict: &'a Verdict,
    /// The places in the line.
    places: Vec<usize>,
    /// The pitches that were right there.
    names: Vec<Concert>,
    /// The notes as they were heard.
    sounded: Vec<HeardNote>,
    /// Their cents by the verdict.
    cents: Vec<Cents>,
}

impl<'a> TunedLine<'a> {
    fn of(page: &'a Page, cue: &'a Cue, heard: &[HeardNote], verdict: &'a Verdict) -> Self {
        let (places, names, sounded, cents) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let mut line = Self { page, cue, verdict, places, names, sounded, cents };
        for (place, (asked, judged)) in cue.line.notes.iter().zip(&verdict.expected).enumerate() {
            let note = judged.heard.and_then(|index| heard.get(index));
            if let (Some(cents), Some(note)) = (judged.cents, note) {
                line.places.push(place);
                line.names.push(asked.pitch + verdict.shift);
                line.sounded.push(*note);
                line.cents.push(cents);
            }
        }
        line
    }

    /// The name of a pitch: in the key asked a note has the name it was asked by.
    fn name(&self, pitch: Concert) -> String {
        let asked = self.cue.line.notes.iter().find(|note| note.pitch == pitch && self.verdict.shift.0 == 0);
        asked.map_or_else(|| self.page.pitch(pitch), |note| self.page.asked(note, self.cue.key, self.cue.spelling))
    }

    /// A note by its place in the line and its name: "the ninth note, Eb,".
    fn numbered(&self, n: usize) -> String {
        let place = self.places.get(n).copied().unwrap_or(n);
        let name = self.names.get(n).map_or_else(String::new, |pitch| self.name(*pitch));
        format!("the {} note, {name},", ordinal(place))
    }

    /// Notes with how far each lies off, the farthest first. A pitch that comes once in the line is named alone, and one that lies off alike
    /// each time is named once; any other by its place. `None` where there are no notes.
    fn named(&self, off: &[(usize, Cents)]) -> Option<String> {
        let side = |by: Cents| format!("{:.0} {}", by.abs().0, if by.0 < 0.0 { "flat" } else { "sharp" });
        let mut sorted = off.to_vec();
        sorted.sort_by_cached_key(|(_, by)| rank(-by.abs().0));
        let mut named: Vec<String> = Vec::new();
        let mut told: Vec<Concert> = Vec::new();
        for (n, by) in sorted {
            let pitch = self.names[n];
            if told.contains(&pitch) {
                continue;
            }
            let times = self.cue.line.notes.iter().filter(|note| note.pitch + self.verdict.shift == pitch).count();
            let alike = off.iter().filter(|other| self.names[other.0] == pitch && (other.1 - by).abs().0 <= ALIKE);
            if times == 1 && !self.octaves(pitch) {
                named.push(format!("{}, {}", self.name(pitch), side(by)));
            } else if times > 1 && alike.count() == times {
                told.push(pitch);
                named.push(format!("{}, {} each time", self.name(pitch), side(by)));
            } else {
                named.push(format!("{} {}", self.numbered(n), side(by)));
            }
        }
        let more = named.len().saturating_sub(NAMED);
        named.truncate(NAMED);
        let more = if more > 0 { format!("; and {} more", count(more)) } else { String::new() };
        (!named.is_empty()).then(|| named.join("; ") + &more)
    }

    /// Whether the line has the note of this name in another octave too, so that the name alone does not tell which of them is meant.
    fn octaves(&self, pitch: Concert) -> bool {
        let mut notes = self.cue.line.notes.iter().map(|note| note.pitch + self.verdict.shift);
        notes.any(|other| other != pitch && other.class() == pitch.class())
    }

    /// How notes of one pitch moved, in a sentence: a single one of several, or of two an octave apart, is named by its place.
    fn moved(&self, row: &MovedRow) -> String {
        match row.places[..] {
            [n] if row.times.1 > 1 || self.octaves(row.pitch) => {
                let alone = MovedRow { times: (1, 1), ..row.clone() };
                capital(&moved_words(&alone, &self.numbered(n)))
            }
            _ => moved_words(row, &self.name(row.pitch)),
        }
    }
}

/// That the whole line lies off, and what to do about it.
fn as_a_whole(by: Cents, page: &Page) -> String {
    let side = if by.0 < 0.0 { "flat" } else { "sharp" };
    let what = format!("The whole line lies {:.0} cents {side}", by.0.abs());
    match advice(&page.instrument, by) {
        Some(advice) => format!("{what}: once warm, {advice}."),
        None => format!("{what}."),
    }
}

/// A drift that is sure, in a sentence.
fn drifted(drift: &Drift) -> Option<String> {
    let doubt = match drift.doubt {
        None if !drift.taken_out => return None,
        None => "",
        Some(Doubt::OneWay) => "; as the line goes one way only, this may as well be how high and low notes lie",
        Some(Doubt::WayDown) => "; this may as well be how the way down lies",
    };
    Some(format!("{}{doubt}.", capital(&drift_words(drift))))
}

#[cfg(test)]
#[path = "line_tuning_tests.rs"]
mod tests;
