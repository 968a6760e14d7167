use crate::pattern::{ExpectedNote, Line};
use crate::units::Beats;

/// Share of the beat at which an off-beat lies that swings, smallest and largest: the ratio of long to short is 3:2 to 11:4, as in a line
/// that is learnt by ear.
const SWINGS: (f64, f64) = (0.6, 11.0 / 15.0);
/// Smallest number of late off-beats in a line that swings: a single one may belong to a triplet. A late off-beat needs no note on its
/// beat, because a charleston swings too.
const LATE: usize = 2;
/// Largest distance of a place from its share of the beat, in quarter notes: a tick of a file, rounded.
const ROUNDED: f64 = 1.5e-3;

/// The line with even eighths; `None` where it does not swing. A line swings where two or more off-beats are late, all by the same, and no
/// note stands on the middle third or the half of a beat. `pickup` is the length of what stands before the first bar line.
pub(super) fn evened(line: &Line, pickup: Beats) -> Option<Line> {
    let place = |at: Beats| {
        let at = (at - pickup).0;
        let beat = (at + ROUNDED).floor();
        (beat, at - beat)
    };
    let places: Vec<(f64, f64)> = line.notes.iter().map(|note| place(note.at)).collect();
    let late = |share: f64| (SWINGS.0 - ROUNDED..=SWINGS.1 + ROUNDED).contains(&share);
    let share = places.iter().map(|place| place.1).find(|share| late(*share))?;
    let off = |place: (f64, f64)| (place.1 - share).abs() <= ROUNDED;
    let off_beats = places.iter().filter(|place| off(**place)).count();
    // A note on the middle third of a beat, an even eighth, or another ratio of long to short: this line does not swing.
    let contrary = |place: &(f64, f64)| (late(place.1) && !off(*place)) || (0.3..=0.55).contains(&place.1);
    if off_beats < LATE || places.iter().any(contrary) {
        return None;
    }
    let even = |at: Beats| {
        let (beat, own) = place(at);
        if off((beat, own)) { Beats(beat + 0.5) + pickup } else { at }
    };
    let notes = line.notes.iter().map(|note| {
        let at = even(note.at);
        ExpectedNote { at, length: even(note.at + note.length) - at, ..*note }
    });
    Some(Line { notes: notes.collect(), length: even(line.length) })
}

impl crate::exchange::ImportedVoice {
    /// The voice with even eighths, and [`swing`](Self::swing) set, where long and short ones are played; any other voice as it is.
    #[must_use]
    pub fn evened(self) -> Self {
        let Some(line) = evened(&self.line, self.pickup).filter(|_| !self.swing) else { return self };
        // A pick-up that began on a late eighth becomes longer when it is evened.
        let early = Beats(line.notes.first().map_or(0.0, |note| note.at.0.min(0.0)));
        let notes = line.notes.iter().map(|note| ExpectedNote { at: note.at - early, ..*note }).collect();
        let line = Line { notes, length: line.length - early };
        Self { line, swing: true, pickup: self.pickup - early, ..self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Concert;

    fn line(places: &[(f64, f64)]) -> Line {
        let note = |(at, length): &(f64, f64)| ExpectedNote {
            pitch: Concert(60),
            at: Beats(*at),
            length: Beats(*length),
            named: None,
        };
        Line { notes: places.iter().map(note).collect(), length: Beats(places.last().map_or(0.0, |n| n.0 + n.1)) }
    }

    #[test]
    fn long_and_short_eighths_are_read_as_even_ones_that_swing() {
        let even = line(&[(0.0, 0.5), (0.5, 0.5), (1.0, 1.5), (2.5, 0.5), (3.0, 0.5), (3.5, 0.5), (4.0, 1.0)]);
        for ratio in [1.5, 1.7, 2.0, 2.5] {
            let back = evened(&even.swung(ratio, Beats(0.0)), Beats(0.0)).unwrap();
            for (one, other) in back.notes.iter().zip(&even.notes) {
                assert!((one.at - other.at).0.abs() < 1e-9 && (one.length - other.length).0.abs() < 1e-9, "{ratio}");
            }
        }
        let charleston = line(&[(0.0, 1.5), (1.5, 2.5), (4.0, 1.5), (5.5, 2.5)]);
        let back = evened(&charleston.swung(2.0, Beats(0.0)), Beats(0.0)).unwrap();
        assert_eq!(back.notes.iter().map(|note| note.at.0).collect::<Vec<_>>(), [0.0, 1.5, 4.0, 5.5]);
        let after_one = even.swung(2.0, Beats(0.5));
        assert_eq!(evened(&after_one, Beats(0.5)).map(|line| line.notes[1].at), Some(Beats(0.5)), "beats of the bar");
    }

    #[test]
    fn triplets_dotted_eighths_and_a_single_pair_do_not_swing() {
        let third = 1.0 / 3.0;
        let triplet = line(&[
            (0.0, third),
            (third, third),
            (2.0 * third, third),
            (1.0, 2.0 * third),
            (1.0 + 2.0 * third, third),
            (2.0, 2.0 * third),
            (2.0 + 2.0 * third, third),
        ]);
        assert_eq!(evened(&triplet, Beats(0.0)), None);
        let dotted = line(&[(0.0, 0.75), (0.75, 0.25), (1.0, 0.75), (1.75, 0.25), (2.0, 1.0)]);
        assert_eq!(evened(&dotted, Beats(0.0)), None);
        assert_eq!(evened(&line(&[(0.0, 2.0 * third), (2.0 * third, third), (1.0, 1.0)]), Beats(0.0)), None);
        assert_eq!(evened(&line(&[(0.0, 0.5), (0.5, 0.5), (1.0, 0.5), (1.5, 0.5)]), Beats(0.0)), None);
    }
}
