//! A trill, a mordent or a turn on an asked note: one note of the line, which begins where the ornament does.

use super::align::ScoreNote;
use super::hypothesis::Hypothesis;
use super::performed::{PerformedNote, RUN_ON_S};

/// The notes of an ornament beside the one that answers are shorter than this, seconds (trills have some seven to fourteen notes a second,
/// common practice), and than half the shortest distance between two notes asked for.
const QUICK_S: f64 = 0.15;
/// A neighbour lies nearer than this, half steps: a half step or a whole step away.
const NEIGHBOUR: f64 = 2.5;
/// Two notes nearer than this have one pitch, half steps.
const SAME: f64 = 0.5;

/// An asked note that was played with an ornament.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Ornament {
    /// The place of the note in the line, counted from 0.
    pub place: usize,
    /// Index of the heard note with which it begins.
    pub begins: usize,
}

/// Finds the asked notes that were played as main note and neighbour in quick alternation, the main note at least twice. The main note
/// answers with its first stroke, and the rest is a part of it. Such an ornament begins on the beat, with the main note or with its
/// neighbour, or leads to the beat, which its last note has then (common practice, which differs by time and style): whichever lies nearer
/// to the clock counts.
pub(super) fn ornaments(
    hypothesis: &mut Hypothesis,
    places: &[ScoreNote],
    notes: &[PerformedNote],
    shortest_s: f64,
) -> Vec<Ornament> {
    let answered: Vec<(usize, usize)> = hypothesis
        .alignment
        .answers
        .iter()
        .enumerate()
        .filter_map(|(place, answer)| Some((place, (*answer)?)))
        .collect();
    let taken: Vec<usize> = answered.iter().map(|(_, answer)| *answer).collect();
    let quick_s = QUICK_S.min(0.5 * shortest_s);
    let (lead, clock) = (hypothesis.alignment.lead, hypothesis.clock);
    let free = |j: usize| j >= lead && j < notes.len() && !taken.contains(&j);
    let quick = |j: usize| free(j) && notes[j].length_s < quick_s;
    let mut found = Vec::new();
    for (place, answer) in answered {
        let main = |j: usize| (notes[j].pitch - notes[answer].pitch).abs() < SAME;
        let Some((first, last)) = around(answer, notes, &free, &quick) else { continue };
        // A trill that ends the answer may end on the neighbour.
        let rests = last + 2 == notes.len() && quick(last + 1) && follows(&notes[last], &notes[last + 1]);
        let tail = last + usize::from(rests && alternates(&notes[answer], &notes[last + 1], &notes[last]));
        let on_beat = (first..=last).find(|j| main(*j)).unwrap_or(answer);
        let off = |j: usize| clock.map_or(0.0, |clock| (notes[j].onset_s - clock.at(places[place].beats)).abs());
        let (answers, begins) = if off(last) < off(first) { (last, last) } else { (on_beat, first) };
        hypothesis.alignment.answers[place] = Some(answers);
        (first..=tail).for_each(|j| hypothesis.alignment.pieces[j] = j != answers);
        found.push(Ornament { place, begins: notes[begins].heard });
    }
    found
}

/// The first and the last note of the alternation around the note that answers; the last is a main note. `None` where the main note
/// came once only. All that are not the one that answers are `quick`, but for the last main note, which may be held.
fn around(
    answer: usize,
    notes: &[PerformedNote],
    free: &dyn Fn(usize) -> bool,
    quick: &dyn Fn(usize) -> bool,
) -> Option<(usize, usize)> {
    let (mut first, mut last, mut mains) = (answer, answer, 1);
    while let Some(before) = first.checked_sub(1).filter(|j| quick(*j) && follows(&notes[*j], &notes[first])) {
        let turns = alternates(&notes[answer], &notes[before], &notes[first]);
        if !turns {
            break;
        }
        mains += usize::from((notes[before].pitch - notes[answer].pitch).abs() < SAME);
        first = before;
    }
    while (last == answer || quick(last)) && quick(last + 1) && free(last + 2) {
        let (beside, main) = (&notes[last + 1], &notes[last + 2]);
        let run_on = follows(&notes[last], beside) && follows(beside, main);
        if !run_on || !alternates(&notes[answer], beside, main) || !alternates(&notes[answer], main, beside) {
            break;
        }
        (last, mains) = (last + 2, mains + 1);
    }
    (mains > 1).then_some((first, last))
}

/// Whether one note runs on into the next.
fn follows(one: &PerformedNote, next: &PerformedNote) -> bool {
    next.onset_s - one.onset_s - one.length_s < RUN_ON_S
}

/// Whether of two notes side by side one is the main note, and this one the neighbour where the other is the main note.
fn alternates(main: &PerformedNote, this: &PerformedNote, other: &PerformedNote) -> bool {
    let off = |note: &PerformedNote| (note.pitch - main.pitch).abs();
    if off(other) < SAME { (SAME..NEIGHBOUR).contains(&off(this)) } else { off(this) < SAME }
}

#[cfg(test)]
mod tests {
    use crate::music::{Concert, Intonation};
    use crate::notes::HeardNote;
    use crate::pattern::{ExpectedNote, Line};
    use crate::units::{Beats, Decibels, Midi, Seconds, Tempo};
    use crate::verdict::{Expectation, Finding, PlayedLabel, TimeOrigin, Verdict, findings, judge};

    const ROW: [i32; 9] = [60, 62, 64, 65, 67, 65, 64, 62, 60];
    const EIGHTH: f64 = 0.3125;

    /// The row in eighths at a quarter = 96, free.
    fn asked() -> Expectation {
        let note = |(n, pitch): (usize, i32)| ExpectedNote {
            pitch: Concert(pitch),
            at: Beats(0.5 * n as f64),
            length: Beats(0.5),
            named: None,
        };
        Expectation {
            line: Line { notes: ROW.into_iter().enumerate().map(note).collect(), length: Beats(4.5) },
            tempo: Tempo(96.0),
            clock: TimeOrigin::Free { cue_end: Seconds(0.0) },
            delay: Some(Seconds(0.0)),
            intonation: Intonation::Unscored,
            usual: crate::verdict::UsualTuning::Unknown,
        }
    }

    /// A heard note of this pitch, from so many seconds after the first beat, for so long.
    fn note((pitch, at, length): (i32, f64, f64)) -> HeardNote {
        HeardNote {
            number: 0,
            onset: Seconds(1.0 + at),
            release: Seconds(1.0 + at + length),
            pitch: Midi(f64::from(pitch)),
            spread: None,
            loudness: Decibels(-8.0),
            confidence: 1.0,
            announced: Seconds(1.0 + at),
            announced_pitch: Midi(f64::from(pitch)),
        }
    }

    /// The row, with these notes, each as pitch, onset after the fifth beat and length, in the place of its fifth.
    fn with(fifth: &[(i32, f64, f64)]) -> Verdict {
        let plain = ROW.into_iter().enumerate().filter(|(n, _)| *n != 4);
        let plain = plain.map(|(n, pitch)| (pitch, EIGHTH * n as f64, 0.275));
        let fifth = fifth.iter().map(|(pitch, after, length)| (*pitch, 4.0 * EIGHTH + after, *length));
        judge(&asked(), &plain.chain(fifth).map(note).collect::<Vec<_>>())
    }

    fn faults(verdict: &Verdict) -> Vec<Finding> {
        findings(verdict, &asked())
            .into_iter()
            .filter(|it| !matches!(it, Finding::Reflex(_) | Finding::Pace(_)))
            .collect()
    }

    // Trills and mordents on the beat, from the main note or from the note above, and before it: common practice.
    #[test]
    fn a_note_with_a_trill_is_right_and_in_time_wherever_the_ornament_begins() {
        for (fifth, name) in [
            (&[(67, 0.0, 0.075), (69, 0.075, 0.075), (67, 0.15, 0.14)][..], "a mordent on the beat"),
            (&[(67, 0.0, 0.086), (69, 0.086, 0.05), (67, 0.136, 0.04)][..], "a quick one"),
            (&[(69, 0.0, 0.07), (67, 0.07, 0.07), (69, 0.14, 0.07), (67, 0.21, 0.08)][..], "a trill from above"),
            (
                &[(67, 0.0, 0.07), (69, 0.07, 0.07), (67, 0.14, 0.07), (69, 0.21, 0.03), (67, 0.24, 0.06)][..],
                "a long one",
            ),
            (&[(67, -0.15, 0.07), (69, -0.08, 0.08), (67, 0.0, 0.26)][..], "a mordent before the beat"),
            (&[(67, 0.0, 0.06), (69, 0.06, 0.06), (67, 0.12, 0.06), (66, 0.18, 0.06), (67, 0.24, 0.05)][..], "a turn"),
        ] {
            let verdict = with(fifth);
            assert!(verdict.whole(), "{name}: {verdict:?}");
            assert!(verdict.astray.is_none() && verdict.twice.is_empty(), "{name}: {verdict:?}");
            assert_eq!(faults(&verdict), [], "{name}");
            let late = verdict.expected[4].off_pulse.unwrap().0;
            assert!(late.abs() < 0.02, "{name}: {late}");
        }
    }

    #[test]
    fn a_trill_on_the_last_note_may_end_on_the_neighbour() {
        for strokes in [4, 6, 12] {
            let (quick, eighth) = (0.04, EIGHTH);
            let row = ROW.into_iter().enumerate().take(8).map(|(n, pitch)| (pitch, eighth * n as f64, 0.275));
            let trill = (0..strokes).map(|n| (60 + 2 * (n % 2), eighth * 8.0 + quick * f64::from(n), quick - 0.004));
            let verdict = judge(&asked(), &row.chain(trill).map(note).collect::<Vec<_>>());
            assert!(verdict.whole(), "{strokes}: {verdict:?}");
        }
        // A neighbour that is held is another last note.
        let row = ROW.into_iter().enumerate().take(8).map(|(n, pitch)| (pitch, EIGHTH * n as f64, 0.275));
        let end = [(60, EIGHTH * 8.0, 0.04), (62, EIGHTH * 8.0 + 0.04, 0.04), (60, EIGHTH * 8.0 + 0.08, 0.04)];
        let held = end.into_iter().chain([(62, EIGHTH * 8.0 + 0.12, 0.5)]);
        assert!(!judge(&asked(), &row.chain(held).map(note).collect::<Vec<_>>()).whole());
    }

    #[test]
    fn a_neighbour_that_is_no_ornament_stays_a_note_too_many_and_a_late_note_stays_late() {
        let slow = with(&[(67, 0.0, 0.16), (69, 0.16, 0.16), (67, 0.32, 0.16)]);
        assert!(!slow.whole(), "{slow:?}");
        let third = with(&[(67, 0.0, 0.09), (71, 0.09, 0.09), (67, 0.18, 0.09)]);
        assert!(third.played.contains(&PlayedLabel::Extra), "no neighbour: {third:?}");
        assert!(with(&[(67, 0.15, 0.12)]).astray.is_some(), "late without an ornament");
    }
}
