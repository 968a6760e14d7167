//! How often the player began the line.

use super::NoteLabel;
use super::align::ScoreNote;
use super::cost::Distance;
use super::hypothesis::Hypothesis;
use super::performed::PerformedNote;

/// Least number of true notes that make an earlier attempt; fewer notes before a new start are noise.
pub(super) const ATTEMPT: usize = 2;
/// Who goes on without a silence has begun anew only where so many notes, or more, are a try at the line.
const LOOPED: usize = 3;
/// After a silence of more than this the first note of the line begins it anew, seconds.
const ANEW_S: f64 = 0.3;

/// The note with which the player began the line anew, after a silence or with three notes or more that are another try at it, where it had come
/// all right before; `None` where nothing was begun anew, two notes at least.
pub(super) fn begun_again(
    hypothesis: &Hypothesis,
    places: &[ScoreNote],
    notes: &[PerformedNote],
    labels: &[NoteLabel],
) -> Option<usize> {
    let whole = labels.iter().all(|label| matches!(label, NoteLabel::Right | NoteLabel::Merged));
    let true_notes: Vec<usize> = (0..notes.len()).filter(|j| !notes[*j].stray).collect();
    let right = |n: usize| hypothesis.kind(&places[n], &notes[true_notes[n]]) == Distance::Right;
    let first_line = true_notes.len() >= places.len() && (0..places.len()).all(right);
    let last = match first_line {
        true => true_notes[places.len() - 1],
        false => *hypothesis.alignment.answers.iter().flatten().max().filter(|_| whole)?,
    };
    let (ended, after) = (notes[last].onset_s + notes[last].length_s, &notes[last + 1..]);
    let first = after.iter().find(|note| !note.stray)?;
    let own: Vec<&PerformedNote> = after.iter().filter(|note| !note.stray).collect();
    let silence = first.onset_s - ended > ANEW_S && hypothesis.kind(places.first()?, first) == Distance::Right;
    let anew = silence || own.len() >= LOOPED && is_try(hypothesis, places, &own[..own.len().min(places.len())]);
    (anew && own.len() >= ATTEMPT).then_some(last + 1)
}

/// Number of notes that came before the graded attempt and are another one, although no silence parts them: notes that nobody asked for,
/// three at least and half of the line, which begin as it does and of which two in three are right at their places; or beginnings of the line,
/// each of three notes at least and right as far as it goes. `None` where there are none such.
pub(super) fn looped(hypothesis: &Hypothesis, places: &[ScoreNote], notes: &[PerformedNote]) -> Option<usize> {
    let first = *hypothesis.alignment.answers.iter().flatten().min()?;
    let before: Vec<&PerformedNote> = notes[..first].iter().filter(|note| !note.stray).collect();
    if hypothesis.alignment.lead > 0 || before.len() < LOOPED {
        return None;
    }
    let long = 2 * before.len() >= places.len() && is_try(hypothesis, places, &before);
    (long || are_beginnings(hypothesis, places, &before)).then_some(first)
}

/// Whether notes are beginnings of the line one after the other, of three notes at least, each right as far as it goes.
fn are_beginnings(hypothesis: &Hypothesis, places: &[ScoreNote], notes: &[&PerformedNote]) -> bool {
    let right = |place: usize, note: &PerformedNote| {
        places.get(place).is_some_and(|it| hypothesis.kind(it, note) == Distance::Right)
    };
    let mut place = 0;
    for note in notes {
        place = match place {
            on if right(on, note) => on + 1,
            ended if ended >= LOOPED && right(0, note) => 1,
            _ => return false,
        };
    }
    place >= LOOPED
}

/// Whether notes are the line from its beginning, as often as it fits into them: the first is right, and two in three are at their places.
fn is_try(hypothesis: &Hypothesis, places: &[ScoreNote], notes: &[&PerformedNote]) -> bool {
    let right = |n: usize| hypothesis.kind(&places[n % places.len()], notes[n]) == Distance::Right;
    right(0) && 3 * (0..notes.len()).filter(|n| right(*n)).count() >= 2 * notes.len()
}

/// How many attempts were given up before the one that is graded, of which there is one at least. More are told apart only where every one
/// of them is right as far as it goes, two notes or more, or where silences and whole lines part them ([`tries`]): of another lead with
/// mistakes in it nobody can say where a new attempt begins.
pub(super) fn given_up(hypothesis: &Hypothesis, places: &[ScoreNote], notes: &[PerformedNote]) -> u32 {
    let right = |place: usize, note| places.get(place).is_some_and(|it| hypothesis.kind(it, note) == Distance::Right);
    let (mut begun, mut place) = (1, 0);
    for note in notes[..hypothesis.alignment.lead].iter().filter(|note| !note.stray) {
        if right(place, note) {
            place += 1;
        } else if place >= ATTEMPT && right(0, note) {
            (begun, place) = (begun + 1, 1);
        } else {
            return tries(hypothesis, places, notes);
        }
    }
    if place >= ATTEMPT { begun } else { 1 }
}

/// How many attempts the lead holds, where each begins with the first note of the line, after a silence or after as many notes as the line
/// has, and two of three of its notes are right at their place; 1 where it holds others.
fn tries(hypothesis: &Hypothesis, places: &[ScoreNote], notes: &[PerformedNote]) -> u32 {
    let right = |place: usize, note| places.get(place).is_some_and(|it| hypothesis.kind(it, note) == Distance::Right);
    let (mut begun, mut place, mut fitting, mut ended) = (0, 0, 0, f64::NEG_INFINITY);
    let mostly = |fitting: usize, of: usize| of >= ATTEMPT && 3 * fitting >= 2 * of;
    for note in notes[..hypothesis.alignment.lead].iter().filter(|note| !note.stray) {
        let anew = right(0, note) && note.onset_s - ended > ANEW_S;
        if place == 0 || place == places.len() || anew && !right(place, note) {
            if place > 0 && !mostly(fitting, place) {
                return 1;
            }
            (begun, place, fitting) = (begun + 1, 0, 0);
        }
        fitting += usize::from(right(place, note));
        (place, ended) = (place + 1, note.onset_s + note.length_s);
    }
    if mostly(fitting, place) { begun } else { 1 }
}
