//! The figures of a verdict, each defined once: here, or in the file that is called from here (`hesitation`, `pulse`, `rhythm`). Skewed
//! quantities get medians; there is no grand total.

use super::clock::{self, PulseFit};
use super::hesitation::{self, TimedNote};
use super::hypothesis::{Hypothesis, PACE};
use super::ornament::Ornament;
use super::own_swing::{SWINGS, own_swing};
use super::pace_moved::moved_rather;
use super::pulse;
use super::rhythm::{self, Onsets, OtherRhythm};
use super::{Expectation, Hesitation, NoteLabel, PlayedLabel, Reflex, RhythmNote, TimeOrigin, Untimed, Verdict};
use crate::notes::HeardNote;
use crate::pattern::{ExpectedNote, LateOffBeats, long_to_short};
use crate::units::{Beats, Cents, Seconds, Tempo, median, spread};

/// Nobody reacts to the end of a cue faster than this, in seconds; the player guessed (common practice in studies of
/// reaction time, from memory).
const FASTEST_REFLEX_S: f64 = 0.12;
/// A note that lasts so many times the distance to its neighbour may be both notes, heard as one.
const TWO_PLACES: f64 = 1.5;
/// One note among others that keep together took another note value where it stands about half a beat off its place or more: at least this far,
/// in beats.
const A_NOTE_VALUE: f64 = 0.4;
/// Least number of matched notes that give a pace.
const PACE_NEEDS: usize = 4;

/// Fills in every figure of a related answer whose labels are known.
pub(super) fn scored(
    asked: &Expectation,
    heard: &[HeardNote],
    hypothesis: &Hypothesis,
    ornaments: &[Ornament],
    mut verdict: Verdict,
) -> Verdict {
    (verdict.right, verdict.of) = accuracy(&verdict);
    verdict.extra = verdict.played.iter().filter(|label| **label == PlayedLabel::Extra).count() as u32;
    verdict.enough_in_format_1 = passed(&verdict);
    timing(asked, heard, ornaments, &mut verdict);
    intonation(asked, heard, hypothesis, &mut verdict);
    verdict
}

/// Accuracy: notes right of notes expected, two counts. Right is the asked pitch, the shift of the whole answer taken out; a
/// note held together with its equal neighbour is right too. Notes too many are counted apart (our own definition).
fn accuracy(verdict: &Verdict) -> (u32, u32) {
    let right = verdict.expected.iter().filter(|note| matches!(note.label, NoteLabel::Right | NoteLabel::Merged));
    (right.count() as u32, verdict.expected.len() as u32)
}

/// Whether an answer passed in format 1: wrong, displaced, missed and extra notes are at most `floor((n + 3) / 8)` of `n` expected
/// ones (none up to 4 notes, one up to 12, two up to 20), at the first attempt, in the asked key in whatever octave. Artefacts are
/// free. One in eight is forgiven because the ear, too, errs.
fn passed(verdict: &Verdict) -> bool {
    let errors = verdict.of - verdict.right + verdict.extra;
    errors <= (verdict.of + 3) / 8 && verdict.attempts == 1 && verdict.in_key()
}

/// An expected note that a heard note answers.
struct Matched<'a> {
    place: usize,
    note: &'a ExpectedNote,
    label: NoteLabel,
    onset_s: f64,
}

fn timing(asked: &Expectation, heard: &[HeardNote], ornaments: &[Ornament], verdict: &mut Verdict) {
    let places = asked.line.notes.iter().zip(&verdict.expected).enumerate();
    let mut matched: Vec<Matched<'_>> = places
        .filter_map(|(place, (note, judged))| {
            let ornament = ornaments.iter().find(|ornament| ornament.place == place);
            let onset_s = heard[ornament.map_or(judged.heard?, |ornament| ornament.begins)].onset.0;
            Some(Matched { place, note, label: judged.label, onset_s })
        })
        .collect();
    if let TimeOrigin::Free { cue_end } = asked.clock {
        verdict.reflex = reflex(asked, cue_end, &matched, verdict);
    }
    let timed = matched.len() >= PACE_NEEDS;
    let onsets_s: Vec<f64> = matched.iter().map(|it| it.onset_s).collect();
    if timed {
        verdict.stood = taken_out(heard, verdict, &mut matched);
    }
    let points: Vec<(f64, f64)> = matched.iter().map(|it| (it.note.at.0, it.onset_s)).collect();
    let near = |clock: &PulseFit| PACE.contains(&(asked.tempo.beat().0 / clock.beat_s));
    // One note that is late or early is no tempo: the clock is that of the others.
    let others = pulse::of(&in_own_swing(asked, &matched, swing(&matched))).1.and_then(|_| clock::odd_one(&points));
    let clock = clock::one_of_four(&points)
        .or(others)
        .map(|odd| odd.pulse)
        .or_else(|| clock::fit(&points))
        .filter(|clock| timed && near(clock));
    if let TimeOrigin::InTempo { beat_zero, .. } = asked.clock {
        against_the_beat(asked, beat_zero, &matched, clock, verdict);
    }
    if let Some(clock) = clock {
        against_the_clock(asked, &matched, &clock, verdict);
    }
    let other = other_rhythm(asked, verdict, &onsets_s, &matched);
    if let Some(other) = other.filter(|it| !moved_rather(verdict, &asked.line, it.scatter_s)) {
        against_the_other_rhythm(asked, &onsets_s, &matched, &other, verdict);
    }
}

/// Pace, and how far the notes lie from the clock that was fitted through them.
fn against_the_clock(asked: &Expectation, matched: &[Matched<'_>], clock: &PulseFit, verdict: &mut Verdict) {
    verdict.pace = Some(pace(clock));
    for it in matched {
        verdict.expected[it.place].off_pulse = Some(Seconds(it.onset_s - clock.at(it.note.at.0)));
    }
    verdict.swing = swing(matched);
    verdict.evenness = evenness(asked, matched, clock, verdict.swing);
    // An uneven line swings a little by chance. It counts as a swing of the player's own only where it brings the line much nearer
    // to its pulse.
    let [swung, straight] = [verdict.swing, None].map(|swing| pulse::of(&in_own_swing(asked, matched, swing)));
    let swings = swung.0.zip(straight.0).is_some_and(|(swung, straight)| swung.0 < SWINGS * straight.0);
    (verdict.scatter, verdict.astray) = if swings { swung } else { straight };
}

/// The other rhythm than the asked one, if one was played. Notes too many, notes struck twice and a second attempt leave no rhythm
/// to compare.
fn other_rhythm(
    asked: &Expectation,
    verdict: &Verdict,
    onsets_s: &[f64],
    matched: &[Matched<'_>],
) -> Option<OtherRhythm> {
    if verdict.attempts > 1 || verdict.extra > 0 || !verdict.twice.is_empty() {
        return None;
    }
    let late = asked.line.late_off_beats();
    let straight = |at: f64| late.map_or(at, |late| late.straight(at));
    let beat_zero_s = match asked.clock {
        TimeOrigin::InTempo { beat_zero, .. } => asked.delay.map(|delay| (beat_zero + delay).0),
        TimeOrigin::Free { .. } => None,
    };
    let places: Vec<f64> = matched.iter().map(|it| straight(it.note.at.0)).collect();
    let other = rhythm::other(&Onsets {
        asked: &places,
        at_s: onsets_s,
        moving_s: &matched.iter().map(|it| it.onset_s).collect::<Vec<_>>(),
        stood: verdict.stood.len(),
        beat_s: asked.tempo.beat().0,
        beat_zero_s,
        in_tempo: matches!(asked.clock, TimeOrigin::InTempo { .. }),
        late: late.map_or(0.0, LateOffBeats::halves_by),
    });
    let in_tempo = matches!(asked.clock, TimeOrigin::InTempo { .. });
    let as_asked = |other: &OtherRhythm| in_tempo && lasts_as_asked(other, &places, onsets_s, asked.tempo.beat().0);
    let strays = |other: &OtherRhythm| one_note_strays(other, &places, verdict, matched);
    other.filter(|other| !tells_equals_apart(other, &places, onsets_s) && !as_asked(other) && !strays(other))
}

/// Whether the notes that have other values are only the two beside one note, all others keep together in the rhythm asked, and that one stands
/// nearer to its place than a note value moves it: it is late or early, and its neighbours are on time.
fn one_note_strays(other: &OtherRhythm, asked: &[f64], verdict: &Verdict, matched: &[Matched<'_>]) -> bool {
    let Some((astray, pace)) = verdict.astray.zip(verdict.pace) else { return false };
    let Some(strays) = matched.iter().position(|it| it.place == astray.note).filter(|strays| *strays > 0) else {
        return false;
    };
    let apart = |of: &[f64], n: usize| of[n] - of[n - 1];
    let differs = |n: &usize| (apart(asked, *n) - apart(&other.played, *n)).abs() > 0.01;
    let changed: Vec<usize> = (1..asked.len()).filter(differs).collect();
    let near = astray.by.abs().0 < A_NOTE_VALUE * pace.beat().0;
    near && !changed.is_empty() && changed.iter().all(|n| *n == strays || *n == strays + 1)
}

/// Whether a rhythm that changes one note value, or two, is longer or shorter than the asked one although the line lasted, at the tempo
/// asked, as it was asked: the note is then lengthened by a pace that nobody played, and the line is uneven rather.
fn lasts_as_asked(other: &OtherRhythm, asked: &[f64], onsets_s: &[f64], beat_s: f64) -> bool {
    let span = |of: &[f64]| of.last().zip(of.first()).map_or(0.0, |(last, first)| last - first);
    let off = |beats: &[f64]| (span(onsets_s) - beat_s * span(beats)).abs();
    let apart = |of: &[f64], n: usize| of[n] - of[n - 1];
    let changed = (1..asked.len()).filter(|n| (apart(asked, *n) - apart(&other.played, *n)).abs() > 0.01).count();
    changed <= 2 && (span(asked) - span(&other.played)).abs() > 0.01 && off(asked) < off(&other.played)
}

/// Whether a rhythm gives other values to neighbours that were asked alike and lasted about alike, at most of its changes of value and at two
/// of them or more: a pace that changed then looks like a rhythm, and it is none.
fn tells_equals_apart(other: &OtherRhythm, asked: &[f64], onsets_s: &[f64]) -> bool {
    let apart = |of: &[f64], n: usize| of[n + 1] - of[n];
    let change = |of: &[f64], n: usize| (apart(of, n + 1) - apart(of, n)).abs();
    let changes: Vec<usize> = (0..onsets_s.len().saturating_sub(2))
        .filter(|n| change(asked, *n) < 0.01 && change(&other.played, *n) > 0.01)
        .collect();
    // Alike is nearer to no change of value than to a third of the change that is claimed.
    let alike = |n: &&usize| change(onsets_s, **n) < change(&other.played, **n) * other.beat_s / 6.0;
    let claimed = changes.iter().filter(alike).count();
    claimed >= 2 && 2 * claimed > changes.len()
}

/// Compares the onsets with the rhythm that was played, so that pace and lateness are those of the player and the rhythm is one
/// fault.
fn against_the_other_rhythm(
    asked: &Expectation,
    onsets_s: &[f64],
    matched: &[Matched<'_>],
    other: &OtherRhythm,
    verdict: &mut Verdict,
) {
    let note = |(it, at): (&Matched<'_>, &f64)| RhythmNote { note: it.place, at: Beats(*at) };
    verdict.rhythm = matched.iter().zip(&other.played).map(note).collect();
    verdict.stood.clear();
    (verdict.swing, verdict.astray) = (None, None);
    verdict.pace = Some(Tempo(60.0 / other.beat_s));
    verdict.scatter = Some(Seconds(other.scatter_s));
    let off = |(onset_s, at): (&f64, &f64)| 100.0 * ((onset_s - other.start_s) / other.beat_s - at);
    verdict.evenness = spread(&onsets_s.iter().zip(&other.played).map(off).collect::<Vec<_>>());
    let (TimeOrigin::InTempo { beat_zero, .. }, Some(_)) = (asked.clock, verdict.late) else { return };
    let late = |at: f64, second: f64| second - (beat_zero + asked.taken_off()).0 - asked.tempo.beat().0 * at;
    let right = matched.iter().zip(onsets_s).zip(&other.played).filter(|((it, _), _)| it.label == NoteLabel::Right);
    verdict.late = median(&right.map(|((_, onset_s), at)| late(*at, *onset_s)).collect::<Vec<_>>()).map(Seconds);
    verdict.begun = other.played.first().map(|at| Seconds(late(*at, other.start_s + other.beat_s * at)));
}

/// Early and late of an answer in tempo, or why nothing is known of them. A second attempt has left the beat, so it is not timed.
fn against_the_beat(
    asked: &Expectation,
    beat_zero: Seconds,
    matched: &[Matched<'_>],
    clock: Option<PulseFit>,
    verdict: &mut Verdict,
) {
    if verdict.attempts > 1 {
        verdict.untimed = Some(Untimed::SecondAttempt);
        return;
    }
    verdict.late = late(asked, beat_zero, matched);
    verdict.begun = begun(asked, beat_zero, matched, clock).or(verdict.late);
    verdict.untimed = match (verdict.late, asked.delay) {
        (None, _) => Some(Untimed::NoneRight),
        (_, None) => Some(Untimed::NotCalibrated),
        _ => None,
    };
}

/// Where an answer in tempo begins: the fitted clock at the first matched note minus the moment that was due, minus the measured
/// delay of devices, in seconds. A first note that wobbles, or a pace other than asked, does not move it.
fn begun(asked: &Expectation, beat_zero: Seconds, matched: &[Matched<'_>], clock: Option<PulseFit>) -> Option<Seconds> {
    let first = matched.first()?.note;
    Some(Seconds(clock?.at(first.at.0) - due(asked, beat_zero, first).0 - asked.taken_off().0))
}

/// Place in beats and onset in seconds of each matched note, the place moved to where the player's own swing has it.
fn in_own_swing(asked: &Expectation, matched: &[Matched<'_>], swing: Option<f64>) -> Vec<(usize, f64, f64)> {
    let own = own_swing(&asked.line, swing);
    matched.iter().map(|it| (it.place, own(it.note.at.0), it.onset_s)).collect()
}

/// Pace: 60 / b quarter notes a minute, where onset = a + b * beat is fitted through the onsets of all matched notes, four at
/// least (median of the slopes of all pairs: Theil 1950, Sen 1968, from memory). The time the player stood still, and that of
/// notes too many, is taken out of the onsets first.
fn pace(clock: &PulseFit) -> Tempo {
    Tempo(60.0 / clock.beat_s)
}

/// Evenness: median absolute deviation of (onset - clock) / b, with the clock and b of the pace, in hundredths of a beat. Where
/// even eighths were asked, swing is part of it; where swing was asked, the player's own swing is taken out first (our own
/// definition).
fn evenness(asked: &Expectation, matched: &[Matched<'_>], clock: &PulseFit, swing: Option<f64>) -> Option<f64> {
    let own = own_swing(&asked.line, swing.filter(|_| asked.line.swing().is_some()));
    let off = |it: &Matched<'_>| 100.0 * (it.onset_s - clock.at(own(it.note.at.0))) / clock.beat_s;
    spread(&matched.iter().map(off).collect::<Vec<_>>())
}

/// Where the player stood still. That time, and the time that notes too many took, is taken out of the notes that follow: each
/// is one fault, and says nothing of pace, evenness, swing or the beat.
fn taken_out(heard: &[HeardNote], verdict: &Verdict, matched: &mut [Matched<'_>]) -> Vec<Hesitation> {
    let step = |place: usize| {
        let (beats, onset_s) = (matched[place].note.at.0, matched[place].onset_s);
        let from_s = place.checked_sub(1).map_or(onset_s, |before| matched[before].onset_s);
        let onsets = onsets_between(heard, verdict, from_s, onset_s);
        let wait_s = onsets.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max);
        TimedNote { beats, onset_s, wait_s, extra: onsets.len() > 2 }
    };
    let mut steps: Vec<TimedNote> = (0..matched.len()).map(step).collect();
    let put_off = hesitation::put_off(&steps);
    take_out(&mut steps, &put_off);
    let stands = hesitation::stands(&steps);
    take_out(&mut steps, &stands);
    for (it, step) in matched.iter_mut().zip(&steps) {
        it.onset_s = step.onset_s;
    }
    stands.into_iter().map(|(before, by_s)| Hesitation { before: matched[before].place, by: Seconds(by_s) }).collect()
}

/// Moves the onsets earlier by so many seconds from each of these steps on.
fn take_out(steps: &mut [TimedNote], times: &[(usize, f64)]) {
    for (before, by_s) in times {
        steps[*before..].iter_mut().for_each(|later| later.onset_s -= by_s);
    }
}

/// Two onsets and the onsets of the extra notes between them, in order.
fn onsets_between(heard: &[HeardNote], verdict: &Verdict, from_s: f64, to_s: f64) -> Vec<f64> {
    let extra = heard.iter().zip(&verdict.played).filter(|(_, label)| **label == PlayedLabel::Extra);
    let between = extra.map(|(note, _)| note.onset.0).filter(|onset_s| (from_s..to_s).contains(onset_s));
    let mut onsets: Vec<f64> = between.chain([from_s, to_s]).collect();
    onsets.sort_by(f64::total_cmp);
    onsets
}

/// Reflex time: the onset of the first right note of the graded attempt minus the end of the cue, minus the measured delay of devices, in
/// seconds. Not counted after an earlier attempt, when the first expected note is not right, or when the player jumped the cue.
fn reflex(asked: &Expectation, cue_end: Seconds, matched: &[Matched<'_>], verdict: &Verdict) -> Option<Reflex> {
    let onset_s = matched.iter().find(|it| it.label == NoteLabel::Right)?.onset_s;
    let time = Seconds(onset_s - cue_end.0 - asked.taken_off().0);
    let jumped = time.0 < FASTEST_REFLEX_S;
    let first_is_right = verdict.expected.first().is_some_and(|note| note.label == NoteLabel::Right);
    Some(Reflex { time, jumped, counted: verdict.attempts == 1 && first_is_right && !jumped })
}

/// Early or late: the median, over the right notes of an answer in tempo, of onset minus the moment its beat was due, minus
/// the measured delay of devices, in seconds; positive is late.
fn late(asked: &Expectation, beat_zero: Seconds, matched: &[Matched<'_>]) -> Option<Seconds> {
    let right = matched.iter().filter(|it| it.label == NoteLabel::Right);
    let off: Vec<f64> = right.map(|it| it.onset_s - due(asked, beat_zero, it.note).0 - asked.taken_off().0).collect();
    median(&off).map(Seconds)
}

/// The moment at which a note of an answer in tempo is due.
pub(super) fn due(asked: &Expectation, beat_zero: Seconds, note: &ExpectedNote) -> Seconds {
    beat_zero + asked.tempo.lasting(note.at)
}

/// Swing: the median ratio of the first to the second of two eighths that share a beat, swung or not, where the note after
/// them is matched too; two such pairs are needed. 1 is straight, 2 is a triplet feel.
fn swing(matched: &[Matched<'_>]) -> Option<f64> {
    let ratios: Vec<f64> = matched
        .windows(3)
        .filter(|w| long_to_short(w[0].note.at, w[1].note.at, w[2].note.at).is_some())
        .map(|w| (w[1].onset_s - w[0].onset_s) / (w[2].onset_s - w[1].onset_s))
        .filter(|ratio| ratio.is_finite())
        .collect();
    if ratios.len() < 2 { None } else { median(&ratios) }
}

/// Intonation: per right note, its pitch centre minus the shifted equal-tempered pitch, in cents. The median of these is the
/// general tuning offset (`centre`); it is taken out of each note and reported apart, since a cold instrument is no fault of
/// the ear. `spread` is the median absolute deviation about it. Notes under 80 ms are left out, and those that run on into the
/// place of a missed neighbour: two notes may have been heard as one there, and its pitch is neither's.
fn intonation(asked: &Expectation, heard: &[HeardNote], hypothesis: &Hypothesis, verdict: &mut Verdict) {
    if asked.intonation == crate::music::Intonation::Unscored {
        return;
    }
    let shift = f64::from(verdict.shift.0);
    let two_in_one: Vec<bool> =
        (0..verdict.expected.len()).map(|place| runs_into_missed(asked, heard, hypothesis, verdict, place)).collect();
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
fn runs_into_missed(
    asked: &Expectation,
    heard: &[HeardNote],
    hypothesis: &Hypothesis,
    verdict: &Verdict,
    place: usize,
) -> bool {
    let Some(note) = verdict.expected[place].heard.map(|index| &heard[index]) else { return false };
    let beat_s = hypothesis.clock.map_or(asked.tempo.beat().0, |clock| clock.beat_s);
    let beside = [place.checked_sub(1), Some(place + 1)].into_iter().flatten();
    beside.filter(|&other| verdict.expected.get(other).is_some_and(|it| it.label == NoteLabel::Missed)).any(|other| {
        let apart = asked.line.notes[place].at - asked.line.notes[other].at;
        note.length().0 > TWO_PLACES * apart.abs().0 * beat_s
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_is_not_called_longer_where_the_line_took_the_time_that_was_asked() {
        // Six eighths at a quarter = 120, the third read as a quarter.
        let asked = [0.0, 0.5, 1.0, 1.5, 2.0, 2.5];
        let longer = |beat_s: f64| OtherRhythm {
            played: vec![0.0, 0.5, 1.0, 2.0, 2.5, 3.0],
            start_s: 0.0,
            beat_s,
            scatter_s: 0.01,
        };
        let at = |seconds: [f64; 6]| lasts_as_asked(&longer(0.42), &asked, &seconds, 0.5);
        assert!(at([0.0, 0.21, 0.42, 0.84, 1.05, 1.26]), "1.26 s where 1.25 were asked: uneven");
        assert!(!at([0.0, 0.25, 0.5, 1.0, 1.25, 1.5]), "a quarter, and all else as asked");
    }
}
