//! A trill, a mordent, a turn or a grace note on an asked note: one note of the line, which begins where the ornament does.

use super::align::ScoreNote;
use super::clock::PulseFit;
use super::hypothesis::Hypothesis;
use super::performed::{PerformedNote, RUN_ON_S};

/// The notes of an ornament beside the one that answers are shorter than this, seconds (trills have some seven to fourteen notes a second,
/// common practice), and than half the shortest distance between two notes asked for.
const QUICK_S: f64 = 0.15;
/// A neighbour lies nearer than this, half steps: a half step or a whole step away.
const NEIGHBOUR: f64 = 2.5;
/// Two notes nearer than this have one pitch, half steps.
const SAME: f64 = 0.5;

/// The strokes of an alternation leave no more than this between them, seconds: fingers let go a little before the next one comes.
const BETWEEN_S: f64 = 0.045;
/// A grace note stands so many times nearer to the note it leads to than to the note before.
const NEARER: f64 = 2.5;

/// An asked note that was played with an ornament.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Ornament {
    /// The place of the note in the line, counted from 0.
    pub place: usize,
    /// Index of the heard note with which it begins.
    pub begins: usize,
    /// Its first and its last stroke, counted in order of onsets.
    strokes: (usize, usize),
}

impl Ornament {
    /// Whether a note, counted in order of onsets, is a stroke of this ornament and the ornament stands on another place.
    pub fn is_elsewhere(&self, note: usize, place: usize) -> bool {
        self.place != place && (self.strokes.0..=self.strokes.1).contains(&note)
    }
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
    let late_s = |j: usize, place: usize| {
        clock.map_or(0.0, |clock: PulseFit| (notes[j].onset_s - clock.at(places[place].beats)).abs())
    };
    let mut found = Vec::new();
    for (place, answer) in answered {
        let main = |j: usize| (notes[j].pitch - notes[answer].pitch).abs() < SAME;
        let Some((first, last)) = around(answer, notes, &free, &quick) else {
            if let Some(grace) = answer.checked_sub(1).filter(|j| quick(*j) && leads_on(*j, notes, &taken)) {
                hypothesis.alignment.pieces[grace] = true;
                let begins = if late_s(grace, place) < late_s(answer, place) { grace } else { answer };
                found.push(Ornament { place, begins: notes[begins].heard, strokes: (grace, answer) });
            }
            continue;
        };
        // A trill may end on the neighbour.
        let rests = quick(last + 1) && follows(&notes[last], &notes[last + 1]);
        let tail = last + usize::from(rests && alternates(&notes[answer], &notes[last + 1], &notes[last]));
        let on_beat = (first..=last).find(|j| main(*j)).unwrap_or(answer);
        let ends_on_the_beat = late_s(last, place) < late_s(first, place);
        let (answers, begins) = if ends_on_the_beat { (last, last) } else { (on_beat, first) };
        hypothesis.alignment.answers[place] = Some(answers);
        (first..=tail).for_each(|j| hypothesis.alignment.pieces[j] = j != answers);
        found.push(Ornament { place, begins: notes[begins].heard, strokes: (first, tail) });
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
    while let Some(before) = first.checked_sub(1).filter(|j| quick(*j) && goes_on(&notes[*j], &notes[first])) {
        let turns = alternates(&notes[answer], &notes[before], &notes[first]);
        if !turns {
            break;
        }
        mains += usize::from((notes[before].pitch - notes[answer].pitch).abs() < SAME);
        first = before;
    }
    while (last == answer || quick(last)) && quick(last + 1) && free(last + 2) {
        let (beside, main) = (&notes[last + 1], &notes[last + 2]);
        let run_on = goes_on(&notes[last], beside) && goes_on(beside, main);
        if !run_on || !alternates(&notes[answer], beside, main) || !alternates(&notes[answer], main, beside) {
            break;
        }
        (last, mains) = (last + 2, mains + 1);
    }
    (mains > 1).then_some((first, last))
}

/// Whether a quick note that repeats the note before it leads on into the next one, a step away, and stands much nearer to that: where a line
/// moves by step, a grace note from the side it comes from is the note it leaves, once more. Of two strokes by mistake the second does not.
fn leads_on(grace: usize, notes: &[PerformedNote], taken: &[usize]) -> bool {
    let (Some(before), Some(main)) = (grace.checked_sub(1), notes.get(grace + 1)) else { return false };
    let (left, this) = (&notes[before], &notes[grace]);
    let repeats = taken.contains(&before) && (left.pitch - this.pitch).abs() < SAME;
    let nearer = this.onset_s - left.onset_s > NEARER * (main.onset_s - this.onset_s);
    repeats && nearer && follows(this, main) && alternates(main, this, main)
}

/// Whether a stroke of an alternation comes soon enough after the one before.
fn goes_on(one: &PerformedNote, next: &PerformedNote) -> bool {
    next.onset_s - one.onset_s - one.length_s < BETWEEN_S
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
        at(4, fifth)
    }

    /// The row, with these notes in the place of another one, counted from 0.
    fn at(place: usize, these: &[(i32, f64, f64)]) -> Verdict {
        let plain = ROW.into_iter().enumerate().filter(|(n, _)| *n != place);
        let plain = plain.map(|(n, pitch)| (pitch, EIGHTH * n as f64, 0.275));
        let these = these.iter().map(|(pitch, after, length)| (*pitch, EIGHTH * place as f64 + after, *length));
        judge(&asked(), &plain.chain(these).map(note).collect::<Vec<_>>())
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
            (
                &[
                    (69, 0.0, 0.05),
                    (67, 0.06, 0.05),
                    (69, 0.12, 0.02),
                    (67, 0.18, 0.03),
                    (66, 0.23, 0.03),
                    (67, 0.27, 0.03),
                ][..],
                "a detached trill from above with a turn at its end",
            ),
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

    // The sixth note comes down by step from the fifth, the note above it. Trill, turn and short grace note from the note above: common practice.
    #[test]
    fn where_a_line_comes_down_by_step_an_ornament_from_the_note_above_does_not_strike_the_note_before_twice() {
        for (sixth, name) in [
            (&[(67, 0.0, 0.06), (65, 0.06, 0.06), (67, 0.12, 0.06), (65, 0.18, 0.08)][..], "a trill"),
            (&[(67, 0.0, 0.06), (65, 0.06, 0.06), (64, 0.12, 0.06), (65, 0.18, 0.08)][..], "a turn"),
            (&[(67, -0.06, 0.055), (65, 0.0, 0.275)][..], "a grace note before the beat"),
            (&[(67, 0.0, 0.065), (65, 0.07, 0.2)][..], "a grace note on the beat"),
        ] {
            let verdict = at(5, sixth);
            assert!(verdict.whole() && verdict.twice.is_empty(), "{name}: {verdict:?}");
            assert_eq!(faults(&verdict), [], "{name}");
        }
        let twice = at(4, &[(67, 0.0, 0.12), (67, 0.15, 0.12)]);
        assert_eq!(twice.twice, [4], "the second of two equal strokes leads nowhere: {twice:?}");
        assert!(!at(5, &[(67, 0.0, 0.15), (65, 0.16, 0.12)]).whole(), "half of the note is no grace note");
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
