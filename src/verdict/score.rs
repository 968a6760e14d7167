//! The figures of a verdict, each defined once, here. Skewed quantities get medians; there is no grand total.

use super::account::Account;
use super::{Asked, Clock, NoteLabel, PlayedLabel, Reflex, Verdict};
use crate::notes::HeardNote;
use crate::pattern::{ExpectedNote, long_to_short};
use crate::units::{Cents, Seconds, Tempo, median, spread};

/// Nobody reacts to the end of a cue faster than this, in seconds; the player guessed (common practice in studies of
/// reaction time, from memory).
const FASTEST_REFLEX_S: f64 = 0.12;
/// A note that lasts so many times the distance to its neighbour may be both.
const TWO_PLACES: f64 = 1.5;
/// Fewer matched notes give no pace.
const PACE_NEEDS: usize = 4;

/// Fills in every figure of a related answer whose labels are known.
pub(super) fn scored(asked: &Asked, heard: &[HeardNote], account: &Account, mut verdict: Verdict) -> Verdict {
    verdict.of = verdict.expected.len() as u32;
    verdict.right = count(&verdict, |label| matches!(label, NoteLabel::Right | NoteLabel::Merged));
    verdict.extra = verdict.played.iter().filter(|label| **label == PlayedLabel::Extra).count() as u32;
    verdict.passed = passed(&verdict);
    timing(asked, heard, account, &mut verdict);
    intonation(asked, heard, account, &mut verdict);
    verdict
}

fn count(verdict: &Verdict, is: impl Fn(NoteLabel) -> bool) -> u32 {
    verdict.expected.iter().filter(|note| is(note.label)).count() as u32
}

/// Pass, for the tempo ladder: wrong, displaced, missed and extra notes are at most `floor((n + 3) / 8)` of `n` expected ones
/// (none up to 4 notes, one up to 12, two up to 20), at the first attempt, in the asked key in whatever octave. Artefacts are
/// free. One in eight is forgiven because the ear, too, errs.
fn passed(verdict: &Verdict) -> bool {
    let errors = verdict.of - verdict.right + verdict.extra;
    errors <= (verdict.of + 3) / 8 && verdict.attempts == 1 && verdict.in_key()
}

fn timing(asked: &Asked, heard: &[HeardNote], account: &Account, verdict: &mut Verdict) {
    let matched: Vec<(&ExpectedNote, f64, NoteLabel)> = asked
        .line
        .notes
        .iter()
        .zip(&verdict.expected)
        .filter_map(|(note, judged)| judged.heard.map(|index| (note, heard[index].onset.0, judged.label)))
        .collect();
    match asked.clock {
        Clock::Free { cue_end } => verdict.reflex = reflex(asked, cue_end, &matched, verdict),
        // A second attempt has left the beat: what it is late by says nothing.
        Clock::InTempo { .. } if verdict.attempts > 1 => {}
        Clock::InTempo { beat_zero, .. } => verdict.late = late(asked, beat_zero, &matched),
    }
    let Some(clock) = account.clock.filter(|_| matched.len() >= PACE_NEEDS) else { return };
    // Pace: 60 / b quarter notes a minute, where t = a + b * beat is fitted through the onsets of all matched notes.
    verdict.pace = Some(Tempo(60.0 / clock.beat_s));
    for (note, judged) in asked.line.notes.iter().zip(&mut verdict.expected) {
        judged.late = judged.heard.map(|index| Seconds(heard[index].onset.0 - clock.at(note.at.0)));
    }
    // Evenness: median absolute deviation of (onset - clock) / b, in hundredths of a beat. Swing is in it where even eighths
    // were asked; where swing was, the player's own is taken out first.
    verdict.swing = swing(&matched);
    let own = own_swing(asked, verdict.swing);
    let off: Vec<f64> =
        matched.iter().map(|(note, onset_s, _)| 100.0 * (onset_s - clock.at(own(note.at.0))) / clock.beat_s).collect();
    verdict.evenness = spread(&off);
}

/// Where a note is due if the player swings in a way of their own: the place in the line, with the off-beats of a line that
/// swings moved to `played` long to short.
fn own_swing(asked: &Asked, played: Option<f64>) -> impl Fn(f64) -> f64 {
    let share = |ratio: f64| ratio / (1.0 + ratio);
    let shares = asked.line.swing().zip(played).map(|(asked, played)| (share(asked), share(played.clamp(0.5, 4.0))));
    move |at: f64| match shares {
        Some((asked, played)) if (at.fract() - asked).abs() < 1e-3 => at.floor() + played,
        _ => at,
    }
}

/// Reflex time: the onset of the first right note of the graded attempt minus the end of the cue, minus the measured delay of
/// devices, in seconds. Not counted after an earlier attempt, when the first expected note was not the first right one, or
/// when the player jumped the cue.
fn reflex(
    asked: &Asked,
    cue_end: Seconds,
    matched: &[(&ExpectedNote, f64, NoteLabel)],
    verdict: &Verdict,
) -> Option<Reflex> {
    let (_, onset_s, _) = matched.iter().find(|(_, _, label)| *label == NoteLabel::Right)?;
    let time = Seconds(onset_s - cue_end.0 - asked.delay.0);
    let jumped = time.0 < FASTEST_REFLEX_S;
    let first_is_right = verdict.expected.first().is_some_and(|note| note.label == NoteLabel::Right);
    Some(Reflex { time, jumped, counted: verdict.attempts == 1 && first_is_right && !jumped })
}

/// Early or late: the median, over the right notes of an answer in tempo, of onset minus the moment its beat was due, minus
/// the measured delay of devices, in seconds; positive is late.
fn late(asked: &Asked, beat_zero: Seconds, matched: &[(&ExpectedNote, f64, NoteLabel)]) -> Option<Seconds> {
    let right = matched.iter().filter(|(_, _, label)| *label == NoteLabel::Right);
    let off: Vec<f64> =
        right.map(|(note, onset_s, _)| onset_s - due(asked, beat_zero, note).0 - asked.delay.0).collect();
    median(&off).map(Seconds)
}

/// The moment at which a note of an answer in tempo is due.
pub(super) fn due(asked: &Asked, beat_zero: Seconds, note: &ExpectedNote) -> Seconds {
    beat_zero + asked.tempo.lasting(note.at)
}

/// Swing: the median ratio of the first to the second of two eighths that share a beat, swung or not, where the note after
/// them is matched too; two such pairs are needed. 1 is straight, 2 is a triplet feel.
fn swing(matched: &[(&ExpectedNote, f64, NoteLabel)]) -> Option<f64> {
    let ratios: Vec<f64> = matched
        .windows(3)
        .filter(|w| long_to_short(w[0].0.at, w[1].0.at, w[2].0.at).is_some())
        .map(|w| (w[1].1 - w[0].1) / (w[2].1 - w[1].1))
        .filter(|ratio| ratio.is_finite())
        .collect();
    if ratios.len() < 2 { None } else { median(&ratios) }
}

/// Intonation: per right note, its pitch centre minus the shifted equal-tempered pitch, in cents. The median of these is the
/// general tuning offset (`centre`); it is taken out of each note and reported apart, since a cold instrument is no fault of
/// the ear. `spread` is the median absolute deviation about it. Notes under 80 ms are left out, and those that run on into the
/// place of a missed neighbour: two notes may have been heard as one there, and its pitch is neither's.
fn intonation(asked: &Asked, heard: &[HeardNote], account: &Account, verdict: &mut Verdict) {
    if asked.intonation == crate::music::Intonation::Unscored {
        return;
    }
    let shift = f64::from(verdict.shift.0);
    let two_in_one: Vec<bool> =
        (0..verdict.expected.len()).map(|place| runs_into_missed(asked, heard, account, verdict, place)).collect();
    for ((note, judged), two) in asked.line.notes.iter().zip(&mut verdict.expected).zip(two_in_one) {
        let Some(index) = judged.heard.filter(|_| judged.label == NoteLabel::Right && !two) else { continue };
        if heard[index].spread.is_some() {
            judged.cents = Some(Cents((heard[index].pitch.0 - f64::from(note.pitch.0) - shift) * 100.0));
        }
    }
    let all: Vec<f64> = verdict.expected.iter().filter_map(|note| note.cents).map(|cents| cents.0).collect();
    verdict.centre = median(&all).map(Cents);
    verdict.spread = spread(&all).map(Cents);
    if let Some(centre) = verdict.centre {
        for judged in &mut verdict.expected {
            judged.cents = judged.cents.map(|cents| cents - centre);
        }
    }
}

/// Whether a heard note lasts long enough to be its own place and a missed one beside it.
fn runs_into_missed(asked: &Asked, heard: &[HeardNote], account: &Account, verdict: &Verdict, place: usize) -> bool {
    let Some(note) = verdict.expected[place].heard.map(|index| &heard[index]) else { return false };
    let beat_s = account.clock.map_or(asked.tempo.beat().0, |clock| clock.beat_s);
    let beside = [place.checked_sub(1), Some(place + 1)].into_iter().flatten();
    beside.filter(|&other| verdict.expected.get(other).is_some_and(|it| it.label == NoteLabel::Missed)).any(|other| {
        let apart = asked.line.notes[place].at - asked.line.notes[other].at;
        note.length().0 > TWO_PLACES * apart.abs().0 * beat_s
    })
}
