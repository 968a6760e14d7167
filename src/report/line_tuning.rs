//! The intonation of a line that was judged, told as that of a run is (`run_text.rs`): by the same rules and the same bound.

use crate::cue::Cue;
use crate::music::{Concert, Intonation};
use crate::notes::HeardNote;
use crate::report::moved::NoteMoved;
use crate::report::run::RunIntonation;
use crate::report::run_text::{drift_words, habit, moved_words, off, way_down};
use crate::report::trend::{Doubt, Drift};
use crate::report::tuning::{alike, to_work_on};
use crate::verdict::Verdict;
use crate::words::Page;
use crate::words::numbers::capital;

/// Smallest number of pitches whose notes are held against each other.
const PITCHES: usize = 3;
/// Largest number of notes of which it is told how they moved.
const MOVED: usize = 3;

/// What is to be said of the intonation of a judged line beside its verdict, a sentence each: how the whole line moved, the notes beyond the
/// narrowest band (which is no fault of an answer up to the next one), and the notes that sagged or rose while they sounded. Only notes
/// count whose tuning the verdict measured; `moved` is how the heard notes moved.
#[must_use]
pub fn line_tuning(page: &Page, cue: &Cue, heard: &[HeardNote], moved: &[NoteMoved], verdict: &Verdict) -> Vec<String> {
    let Intonation::Scored { in_tune, acceptable, .. } = page.instrument.intonation else { return Vec::new() };
    let places = cue.line.notes.iter().zip(&verdict.expected).filter(|(_, judged)| judged.cents.is_some());
    let notes: Vec<(Concert, HeardNote)> =
        places.filter_map(|(asked, judged)| Some((asked.pitch + verdict.shift, *heard.get(judged.heard?)?))).collect();
    let Some(first) = notes.first().map(|note| note.0) else { return Vec::new() };
    let sounded: Vec<HeardNote> = notes.iter().map(|note| note.1).collect();
    let run = RunIntonation::begun_on(&sounded, &[], moved, first);
    let run = run.unwrap_or_else(|| RunIntonation::of(&sounded, &[], moved));
    // In the key asked a note has the name it was asked by.
    let name = |pitch: Concert| {
        let asked = cue.line.notes.iter().find(|note| note.pitch == pitch && verdict.shift.0 == 0);
        asked.map_or_else(|| page.pitch(pitch), |note| page.asked(note, cue.key, cue.spelling))
    };
    let mut said: Vec<String> = run.drift.iter().filter_map(drifted).collect();
    said.extend(run.way_down.map(|by| capital(&way_down(by)) + "."));
    if run.rows.len() >= PITCHES {
        let alike = alike(&run.own);
        let far = to_work_on(&run.own, in_tune).into_iter();
        let far: Vec<String> = far.map(|row| format!("{}, {}", name(row.pitch), off(row, in_tune, alike))).collect();
        if !far.is_empty() {
            let (from, until) = (in_tune.0, acceptable.0);
            said.push(format!(
                "More than {from:.0} cents off the rest (beyond {until:.0} it is a fault): {}.",
                far.join("; ")
            ));
        }
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
