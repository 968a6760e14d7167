//! Answers to lines whose rhythm is not even. The judge expects the rhythm of the line; where the notes are right and the rhythm is not,
//! it says so.

use super::made::{asked_at, note};
use earfirst::outside::cue::Cue;
use earfirst::outside::music::{Concert, ConcertKey, Range};
use earfirst::outside::notes::HeardNote;
use earfirst::outside::pattern::{self, Library, Pattern, Register, RhythmFeature};
use earfirst::outside::units::Tempo;
use earfirst::outside::verdict::{Expectation, Finding, NoteLabel, findings, judge};

const TEMPO: Tempo = Tempo(96.0);

/// The pattern in C, to be answered freely; the cue ends at 2 s.
fn asked(pattern: &Pattern) -> Expectation {
    let key = ConcertKey::FIFTHS[0];
    let range = Range { low: Concert(36), high: Concert(96) };
    let line = pattern::realise(pattern, key, None, range, Register::Middle).unwrap();
    let line = Cue::new(pattern, key, Register::Middle, TEMPO, line).line;
    Expectation { line, ..asked_at(&[60], &[0.0], TEMPO.0) }
}

/// The right pitches, with onsets at these places in quarter notes from the first note.
fn played(asked: &Expectation, places: &[f64]) -> Vec<HeardNote> {
    let beat = asked.tempo.beat().0;
    let pitches = asked.line.notes.iter().map(|expected| f64::from(expected.pitch.0));
    let lengths = places.windows(2).map(|pair| pair[1] - pair[0]).chain([1.0]);
    let notes = pitches.zip(places).zip(lengths);
    notes.map(|((pitch, at), length)| note(pitch, 2.5 + beat * at, 0.85 * beat * length)).collect()
}

fn told(found: &[Finding]) -> bool {
    found.iter().any(|f| {
        matches!(f, Finding::Uneven { .. } | Finding::Astray(_) | Finding::Hesitations(_) | Finding::Swung { .. })
            || matches!(f, Finding::Rhythm(_))
    })
}

/// Patterns whose rhythm is more than even notes, and where their notes begin.
fn with_rhythm() -> Vec<(&'static Pattern, Expectation, Vec<f64>)> {
    let rhythmic = Library::builtin().patterns().iter().filter(|pattern| {
        let rhythm = pattern.rhythm();
        [RhythmFeature::OffBeats, RhythmFeature::Rests, RhythmFeature::OverTheBar]
            .iter()
            .any(|own| rhythm.contains(own))
    });
    let placed = rhythmic.map(|pattern| {
        let asked = asked(pattern);
        let first = asked.line.notes[0].at;
        let places = asked.line.notes.iter().map(|note| (note.at - first).0).collect();
        (pattern, asked, places)
    });
    placed.collect()
}

#[test]
fn a_line_played_in_its_own_rhythm_is_whole_and_in_time() {
    let all = with_rhythm();
    assert!(all.len() >= 60, "{} patterns", all.len());
    for (pattern, asked, places) in &all {
        let verdict = judge(asked, &played(asked, places));
        assert!(verdict.whole(), "{}: {verdict:?}", pattern.id);
        let found = findings(&verdict, asked);
        assert!(!told(&found), "{}: {found:?}", pattern.id);
    }
}

#[test]
fn a_free_answer_in_its_own_rhythm_is_at_another_pace_and_in_no_other_rhythm() {
    for (pattern, asked, places) in &with_rhythm() {
        for pace in [0.62, 0.75, 0.87, 1.15, 1.3, 1.5] {
            let paced: Vec<f64> = places.iter().map(|at| at / pace).collect();
            let found = findings(&judge(asked, &played(asked, &paced)), asked);
            let rhythm = found.iter().any(|it| matches!(it, Finding::Rhythm(_)));
            assert!(!rhythm, "{} at {pace} of the pace: {found:?}", pattern.id);
        }
    }
}

#[test]
fn right_notes_as_even_eighths_are_right_notes_and_late_or_early_by_the_beats_of_the_line() {
    let (mut lost, mut tried, mut said) = (Vec::new(), 0, 0);
    let all = with_rhythm();
    for (pattern, asked, places) in &all {
        let even: Vec<f64> = (0..places.len()).map(|n| 0.5 * n as f64).collect();
        // Left out are lines that are nearly even, because played evenly they only have another pace, and lines of fewer than six notes,
        // because these show no pulse.
        let steps = pattern.notes();
        let mut apart: Vec<i64> = steps.windows(2).map(|pair| pair[1].at.0 - pair[0].at.0).collect();
        apart.sort_unstable();
        let middle = apart[apart.len() / 2];
        let uneven = apart.iter().filter(|own| 10 * **own > 13 * middle || 13 * **own < 10 * middle).count();
        if steps.len() < 6 || 3 * uneven < apart.len() {
            continue;
        }
        let verdict = judge(asked, &played(asked, &even));
        let late: Vec<f64> = verdict.expected.iter().filter_map(|note| Some(note.off_pulse?.0.abs())).collect();
        if late.is_empty() {
            continue;
        }
        tried += 1;
        let found = findings(&verdict, asked);
        let rhythm = told(&found);
        said += u32::from(found.iter().any(|f| matches!(f, Finding::Rhythm(_))));
        let right = verdict.expected.iter().all(|note| note.label == NoteLabel::Right);
        let furthest = late.iter().copied().fold(0.0, f64::max);
        // Where a line goes by three, three and two eighths, the even notes lie within .04 s of the same line at nearly twice the pace, so
        // the judge tells of the pace alone.
        let paced = findings(&verdict, asked).iter().any(|found| matches!(found, Finding::Pace(_)));
        if !right || (!rhythm && !paced && furthest < 0.1) {
            lost.push(format!("{}: {furthest:.3} s, {:?}", pattern.id, findings(&verdict, asked)));
        }
    }
    assert!(tried >= 20 && 20 * said >= 19 * tried, "{tried} tried, of {said} the rhythm said");
    assert!(lost.is_empty(), "{} of {tried} not seen:\n{}", lost.len(), lost.join("\n"));
}

#[test]
fn a_charleston_played_as_even_eighths_is_told_as_another_rhythm() {
    for id in [
        "charleston-on-a-major-triad",
        "charleston-on-a-minor-triad",
        "charleston-down-the-scale",
        "charleston-turned-round-on-a-seventh-chord-maj7",
        "ii-v-i-charleston-on-guide-tones",
    ] {
        let asked = asked(Library::builtin().find(id).unwrap());
        let places: Vec<f64> = (0..asked.line.notes.len()).map(|n| 0.5 * n as f64).collect();
        let verdict = judge(&asked, &played(&asked, &places));
        assert!(verdict.expected.iter().all(|note| note.label == NoteLabel::Right), "{id}");
        let found = findings(&verdict, &asked);
        assert!(found.iter().any(|f| matches!(f, Finding::Rhythm(_))), "{id}: {found:?}");
        // Who plays the same rhythm four times as fast has hurried, and plays no other one.
        let first = asked.line.notes[0].at;
        let hurried: Vec<f64> = asked.line.notes.iter().map(|note| (note.at - first).0 / 4.0).collect();
        let found = findings(&judge(&asked, &played(&asked, &hurried)), &asked);
        assert!(!found.iter().any(|f| matches!(f, Finding::Rhythm(_))), "{id}: {found:?}");
    }
}

#[test]
fn one_note_that_comes_late_takes_no_other_value_and_its_neighbours_are_on_time() {
    let places = [0.0, 0.5, 1.0, 2.0, 3.0, 3.5, 4.0, 5.0, 6.0, 6.5, 7.0];
    let asked = asked_at(&[62, 59, 61, 65, 66, 63, 65, 68, 70, 67, 68], &places, 119.0);
    for late in [0.09, 0.13, 0.15, 0.18] {
        let mut heard = played(&asked, &places);
        heard[6].onset.0 += late;
        let found = findings(&judge(&asked, &heard), &asked);
        let Some(Finding::Astray(notes)) = found.iter().find(|it| it.is_fault()) else { panic!("{late}: {found:?}") };
        assert!(notes.len() == 1 && notes[0].note == 6 && (notes[0].by.0 - late).abs() < 0.02, "{late}: {found:?}");
    }
    let mut quarter = places;
    quarter[6] += 0.5;
    let found = findings(&judge(&asked, &played(&asked, &quarter)), &asked);
    assert!(found.iter().any(|it| matches!(it, Finding::Rhythm(_))), "half a beat is a note value: {found:?}");
}
