//! The intonation of a line that was judged, told as that of a run is (`run_text.rs`): by the same rules and the same bound.

use crate::cue::Cue;
use crate::music::{Concert, Intonation};
use crate::notes::HeardNote;
use crate::report::moved::NoteMoved;
use crate::report::run::RunIntonation;
use crate::report::run_text::{drift_words, habit, moved_words, off, way_down};
use crate::report::trend::{Doubt, Drift};
use crate::report::tuning::{PitchRow, alike, to_work_on};
use crate::verdict::Verdict;
use crate::words::Page;
use crate::words::numbers::capital;

/// Smallest number of pitches whose notes are held against each other.
const PITCHES: usize = 3;
/// Largest number of notes of which it is told how they moved.
const MOVED: usize = 3;

/// What is to be said of the intonation of a judged line beside its verdict, a sentence each: how the whole line moved, the notes that are
/// out of tune by the verdict's rule, those beyond the narrowest band that are no fault by that rule, and the notes that sagged or rose
/// while they sounded. Where the line as a whole is off, a note that was in tune is none of these. Only notes count whose tuning the
/// verdict measured; `moved` is how the heard notes moved.
#[must_use]
pub fn line_tuning(page: &Page, cue: &Cue, heard: &[HeardNote], moved: &[NoteMoved], verdict: &Verdict) -> Vec<String> {
    let Intonation::Scored { in_tune, acceptable, .. } = page.instrument.intonation else { return Vec::new() };
    let places = cue.line.notes.iter().zip(&verdict.expected).filter(|(_, judged)| judged.cents.is_some());
    let notes: Vec<(Concert, HeardNote)> =
        places.filter_map(|(asked, judged)| Some((asked.pitch + verdict.shift, *heard.get(judged.heard?)?))).collect();
    let (names, sounded): (Vec<Concert>, Vec<HeardNote>) = notes.into_iter().unzip();
    let run = RunIntonation::of_named(&sounded, moved, &names);
    // In the key asked a note has the name it was asked by.
    let name = |pitch: Concert| {
        let asked = cue.line.notes.iter().find(|note| note.pitch == pitch && verdict.shift.0 == 0);
        asked.map_or_else(|| page.pitch(pitch), |note| page.asked(note, cue.key, cue.spelling))
    };
    let mut said: Vec<String> = run.drift.iter().filter_map(drifted).collect();
    said.extend(run.way_down.map(|by| capital(&way_down(by)) + "."));
    if run.rows.len() >= PITCHES {
        let alike = alike(&run.own);
        let cents = |pitch: Concert| {
            let judged = cue.line.notes.iter().zip(&verdict.expected);
            judged.filter(move |(asked, _)| asked.pitch + verdict.shift == pitch).filter_map(|(_, judged)| judged.cents)
        };
        let whole = verdict.centre.filter(|whole| whole.abs() > acceptable);
        let in_tune_itself =
            |pitch: Concert| whole.is_some_and(|whole| cents(pitch).all(|by| (by + whole).abs() <= acceptable));
        let far = to_work_on(&run.own, in_tune).into_iter().filter(|row| !in_tune_itself(row.pitch));
        let (faults, others): (Vec<&PitchRow>, Vec<&PitchRow>) =
            far.partition(|row| cents(row.pitch).any(|by| by.abs() > acceptable));
        let named = |rows: &[&PitchRow]| {
            let named = rows.iter().map(|row| format!("{}, {}", name(row.pitch), off(row, in_tune, alike)));
            (!rows.is_empty()).then(|| named.collect::<Vec<_>>().join("; "))
        };
        let (from, until) = (in_tune.0, acceptable.0);
        said.extend(named(&faults).map(|notes| format!("Out of tune (the bound is {until:.0} cents): {notes}.")));
        let near = named(&others);
        said.extend(near.map(|notes| format!("Off by more than {from:.0} cents, no fault up to {until:.0}: {notes}.")));
    }
    said.extend(habit(run.notes_move).map(|said| capital(&said) + "."));
    said.extend(run.moved.iter().take(MOVED).map(|row| moved_words(row, &name(row.pitch))));
    said
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
