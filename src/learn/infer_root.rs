use std::collections::BTreeSet;

use crate::learn::chord::tones_are;
use crate::music::{self, Concert, PitchClass};
use crate::pattern::{Library, Line, Pattern, Quality};

/// The scales that may hold a line, the plainest first, by their names in the table of scales.
const SCALES: [&str; 6] = ["major", "natural minor", "dorian", "mixolydian", "melodic minor", "harmonic minor"];
/// Number of half steps that a line may go below its root: a fourth, as a phrase with a pick-up from the fifth does.
const BELOW: i32 = 5;

/// The root of a line, from which the degrees of the line count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InferredRoot {
    /// The pitch of degree 1.
    pub tonic: Concert,
    /// Why this pitch is degree 1.
    pub why: RootReason,
}

/// Why a root was taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RootReason {
    /// The player named the root.
    Given,
    /// The pattern of this name in the library has the same moves.
    Known(String),
    /// The root is the tonic of the file's key signature.
    Signature,
    /// All notes together are the tones of this chord.
    Chord(Quality),
    /// The line has three notes or more, begins and ends on the root, in any octave, goes no further below its first note than a half step,
    /// and does not have exactly the tones of a chord.
    Ends,
    /// The line has four notes or more, begins on the root, which is its lowest note or (in any octave) its last note too, stays in this
    /// scale, and does not have exactly the tones of a chord.
    Scale(&'static str),
}

/// Finds the root of a line: from the patterns in `library` with the same moves (those in the same rhythm alone, where there are any), if
/// all of them, or else all of the lowest level among them, count from one root. Where no pattern has these moves, from the line itself: by
/// its chord, by where it begins and ends, or by a scale from its first note.
///
/// # Errors
/// Where nothing shows the root, so that the player has to be asked: the names of the patterns with the same moves, which count from
/// different roots; no names where the line is not in the library.
pub fn infer_root(line: &Line, library: &Library) -> Result<InferredRoot, Vec<String>> {
    let alike: Vec<&Pattern> = library.patterns().iter().filter(|pattern| moves_alike(line, pattern)).collect();
    if alike.is_empty() {
        return own(line).ok_or_else(Vec::new);
    }
    let in_time: Vec<&Pattern> = alike.iter().copied().filter(|pattern| lies_alike(line, pattern)).collect();
    let nearest = if in_time.is_empty() { alike } else { in_time };
    let level = nearest.iter().map(|pattern| pattern.level).min();
    let plainest: Vec<&Pattern> = nearest.iter().copied().filter(|pattern| Some(pattern.level) == level).collect();
    for group in [&nearest, &plainest] {
        if one_root(group)
            && let Some((pattern, tonic)) = group.first().and_then(|pattern| Some((pattern, above(line, pattern)?)))
        {
            return Ok(InferredRoot { tonic, why: RootReason::Known(pattern.name.clone()) });
        }
    }
    Err(nearest.iter().map(|pattern| pattern.name.clone()).collect())
}

fn heights(pattern: &Pattern) -> Vec<i32> {
    pattern.notes().iter().map(|step| step.degree.half_steps).collect()
}

fn moves_alike(line: &Line, pattern: &Pattern) -> bool {
    let up = |heights: &[i32]| heights.iter().map(|height| height - heights[0]).collect::<Vec<i32>>();
    let pitches: Vec<i32> = line.notes.iter().map(|note| note.pitch.0).collect();
    pitches.len() == pattern.notes().len() && !pitches.is_empty() && up(&pitches) == up(&heights(pattern))
}

/// Whether the onsets of line and pattern lie alike at any tempo. They are compared from the first note on, for a rest before it
/// cannot be heard.
fn lies_alike(line: &Line, pattern: &Pattern) -> bool {
    let last = |places: &[f64]| places.last().copied().filter(|end| *end > 0.0);
    let from_first = |places: Vec<f64>| -> Vec<f64> {
        let first = places.first().copied().unwrap_or_default();
        places.into_iter().map(|at| at - first).collect()
    };
    let line = from_first(line.notes.iter().map(|note| note.at.0).collect());
    let pattern = from_first(pattern.notes().iter().map(|step| step.at.beats().0).collect());
    let (Some(one), Some(other)) = (last(&line), last(&pattern)) else { return true };
    line.iter().zip(&pattern).all(|(a, b)| (a / one - b / other).abs() < 1e-6)
}

fn one_root(patterns: &[&Pattern]) -> bool {
    let first = |pattern: &&Pattern| pattern.notes().first().map(|step| step.degree.half_steps.rem_euclid(12));
    patterns.iter().map(first).collect::<BTreeSet<_>>().len() == 1
}

/// The pitch that is degree 1 of the line where its first note is the degree on which the pattern begins.
fn above(line: &Line, pattern: &Pattern) -> Option<Concert> {
    Some(Concert(line.notes.first()?.pitch.0 - pattern.notes().first()?.degree.half_steps))
}

/// The root that the line itself shows; `None` where it shows none.
fn own(line: &Line) -> Option<InferredRoot> {
    let (first, last) = (line.notes.first()?.pitch, line.notes.last()?.pitch);
    let low = line.notes.iter().map(|note| note.pitch).min()?;
    let found = |class: PitchClass, why| Some(InferredRoot { tonic: tonic(line, class), why });
    let chords: Vec<(PitchClass, Quality)> = (0..12)
        .flat_map(|class| Quality::all().map(move |quality| (PitchClass::new(class), quality)))
        .filter(|(class, quality)| tones_are(line, *class, *quality))
        .collect();
    let roots: BTreeSet<i32> = chords.iter().map(|(class, _)| class.get()).collect();
    // Of two chords with the same notes (a sixth and a minor seventh), the one whose root is the lowest and the first note of the line.
    let stands = |class: PitchClass| roots.len() == 1 || (roots.len() == 2 && first == low && class == low.class());
    if let Some((class, quality)) = chords.iter().find(|(class, _)| stands(*class)) {
        return found(*class, RootReason::Chord(*quality));
    }
    if line.notes.len() > 2 && first.class() == last.class() && first.0 - low.0 <= 1 && chords.is_empty() {
        return found(first.class(), RootReason::Ends);
    }
    let inside = |name: &&&str| {
        music::scale(name).is_ok_and(|scale| {
            let sounds = |up: i32| scale.half_steps().iter().any(|degree| degree.0 == up.rem_euclid(12));
            line.notes.iter().all(|note| sounds(note.pitch.0 - first.0))
        })
    };
    let from_root = first == low || first.class() == last.class();
    let scale = SCALES.iter().find(inside).filter(|_| chords.is_empty() && line.notes.len() > 3 && from_root)?;
    found(first.class(), RootReason::Scale(scale))
}

/// The octave of degree 1 for a line whose tonic is `class`: the highest with no note more than a fourth below it, so that few
/// degrees need a comma and few lie beyond the octave.
#[must_use]
pub fn tonic(line: &Line, class: PitchClass) -> Concert {
    let highest = line.range().low.0 + BELOW;
    Concert(highest - (highest - class.get()).rem_euclid(12))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::ExpectedNote;
    use crate::units::Beats;

    fn line(pitches: &[i32]) -> Line {
        let note = |(n, pitch): (usize, &i32)| ExpectedNote {
            pitch: Concert(*pitch),
            at: Beats(n as f64 * 0.5),
            length: Beats(0.5),
            named: None,
        };
        Line { notes: pitches.iter().enumerate().map(note).collect(), length: Beats(pitches.len() as f64 * 0.5) }
    }
    fn given(pitches: &[i32]) -> Option<(i32, RootReason)> {
        infer_root(&line(pitches), &Library::default()).ok().map(|root| (root.tonic.0, root.why))
    }

    #[test]
    fn a_line_that_no_library_holds_says_its_own_root_or_none() {
        // Eb major seventh in its first inversion; a C minor line round its root; a run from F.
        assert_eq!(given(&[67, 70, 74, 75]), Some((63, RootReason::Chord(Quality::parse("maj7").unwrap()))));
        assert_eq!(given(&[60, 62, 63, 65, 62, 59, 60]), Some((60, RootReason::Ends)));
        assert_eq!(given(&[65, 67, 69, 70, 72, 74]), Some((65, RootReason::Scale("major"))));
        assert_eq!(given(&[65, 67, 68, 70, 72, 73]), Some((65, RootReason::Scale("natural minor"))));
        // A falling line that may end on any degree; C6 or Am7; a turn round a note that may be any degree.
        assert_eq!(given(&[72, 71, 69, 67, 65]), None);
        assert_eq!(given(&[64, 67, 69, 72]), None);
        assert_eq!(given(&[65, 63, 64]), None);
    }

    #[test]
    fn what_the_library_holds_counts_as_it_does_there() {
        let library = Library::builtin();
        let fall = infer_root(&line(&[72, 70, 69, 65]), library);
        assert!(matches!(fall, Ok(InferredRoot { tonic: Concert(65), why: RootReason::Known(_) })), "{fall:?}");
        // A whole step above a note, a half step below it, and the note: it may be the root, the fifth, the third or another degree.
        let asked = infer_root(&line(&[62, 59, 60]), library).unwrap_err();
        assert!(asked.len() >= 3, "{asked:?}");
    }

    #[test]
    fn degrees_are_counted_in_an_octave_that_is_easy_to_read() {
        let c = PitchClass::new(0);
        assert_eq!(tonic(&line(&[72, 71, 69, 67, 65, 64, 62, 60]), c), Concert(60));
        assert_eq!(tonic(&line(&[60, 59, 60]), c), Concert(60));
        assert_eq!(tonic(&line(&[60, 64, 67, 72, 76]), c), Concert(60));
        assert_eq!(tonic(&line(&[55, 57, 60, 62]), c), Concert(60));
        assert_eq!(tonic(&line(&[62, 65, 69, 80, 79]), c), Concert(60));
    }
}
