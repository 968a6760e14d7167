//! Swing: the second of two eighths that share a beat comes late. How late depends on the tempo.

use crate::pattern::line::{ExpectedNote, Line};
use crate::units::{Beats, Tempo};

/// Up to this tempo the first of two eighths lasts two thirds of the beat.
const TRIPLETS: Tempo = Tempo(120.0);
/// From this tempo on eighths are even.
const EVEN: Tempo = Tempo(300.0);
/// The latest place, as a share of the beat, at which a note counts as the second eighth: there long to short is four to one.
const LATEST: f64 = 0.8;
/// Two places nearer than this count as the same, in quarter notes.
const NEAR: f64 = 1e-6;
/// Two shares of a beat nearer than this count as the same.
const SAME: f64 = 1e-3;

/// The ratio of long to short eighth at a tempo: 2 up to quarter = 120, and from there in a straight line down to 1 at 300.
///
/// That the ratio falls with the tempo in a straight line, that soloists swing less than the ride cymbal, and that the short
/// note stays near 100 ms at fast tempos was measured (Friberg & Sundström 2002, Music Perception 19:333-349); the two ends
/// are common practice.
#[must_use]
pub fn swing_at(tempo: Tempo) -> f64 {
    2.0 - ((tempo.0 - TRIPLETS.0) / (EVEN.0 - TRIPLETS.0)).clamp(0.0, 1.0)
}

/// The ratio of long to short of two notes that share a beat as two eighths, given where they and the next note begin: 1 for even eighths,
/// 2 where they divide the beat as a triplet does. `None` unless the first begins on a whole quarter, the next one quarter later, and the
/// second from the middle of that beat up to `LATEST`.
#[must_use]
pub fn long_to_short(first: Beats, second: Beats, next: Beats) -> Option<f64> {
    let near = |a: f64, b: f64| (a - b).abs() < NEAR;
    let share = (second - first).0;
    let pair = near(first.0, first.0.round()) && near((next - first).0, 1.0);
    (pair && (0.5 - NEAR..=LATEST).contains(&share)).then(|| share / (1.0 - share))
}

/// A line whose ratio of long to short is at most this counts as even.
const HARDLY: f64 = 1.05;

impl Line {
    /// The same line with the second eighth of each beat later, so that the ratio of long to short is `ratio`. A beat with triplets or
    /// sixteenths stays as it is. `pickup` is how much of the line stands before the first bar line, from which beats are counted.
    #[must_use]
    pub fn swung(&self, ratio: f64, pickup: Beats) -> Self {
        let place = |at: Beats| (at - pickup).0;
        let odd = |at: f64| {
            let share = (at - (at + NEAR).floor()).abs();
            share > NEAR && (share - 0.5).abs() > NEAR
        };
        let divided: Vec<f64> =
            self.notes.iter().map(|note| place(note.at)).filter(|at| odd(*at)).map(f64::floor).collect();
        let moved = |at: Beats| {
            let beat = (place(at) + NEAR).floor();
            let eighth = (place(at) - beat - 0.5).abs() < NEAR && !divided.contains(&beat);
            if eighth { Beats(beat + ratio / (1.0 + ratio)) + pickup } else { at }
        };
        let notes = self.notes.iter().map(|note| {
            let at = moved(note.at);
            ExpectedNote { at, length: moved(note.at + note.length) - at, ..*note }
        });
        Self { notes: notes.collect(), length: self.length }
    }

    /// The ratio of long to short eighth in the line; `None` where no two notes share a beat as eighths, or their ratios differ.
    #[must_use]
    pub fn long_to_short(&self) -> Option<f64> {
        let mut ratios = self.notes.windows(3).filter_map(|w| long_to_short(w[0].at, w[1].at, w[2].at));
        let first = ratios.next()?;
        ratios.all(|ratio| (ratio - first).abs() < 1e-3).then_some(first)
    }

    /// The ratio of long to short where the line swings; `None` where [`Line::long_to_short`] gives no ratio, or one of at most 1.05.
    #[must_use]
    pub fn swing(&self) -> Option<f64> {
        self.long_to_short().filter(|ratio| *ratio > HARDLY)
    }
}

/// The off-beats of a line that stand later than in the middle of their beats.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LateOffBeats {
    /// Where the off-beats stand, 0 to 1, between two whole quarter notes counted from the start of the line.
    part: f64,
    /// How much later than the middle of their beats the off-beats stand, in beats.
    by: f64,
}

impl LateOffBeats {
    /// A place in the line; a place on a late off-beat is put back to the middle of its beat.
    #[must_use]
    pub fn straight(self, at: f64) -> f64 {
        if (at - at.floor() - self.part).abs() < SAME { at - self.by } else { at }
    }
    /// How much later, in beats, the places half way between whole quarter notes from the start of the line stand than these quarter
    /// notes do. Below zero for a line with half a beat of pick-up, whose off-beats lie on whole quarter notes from its start.
    #[must_use]
    pub fn halves_by(self) -> f64 {
        if self.part < 0.5 { -self.by } else { self.by }
    }
}

impl Line {
    /// The off-beats of the line where they stand late: those of pairs of eighths, or, in a line without equal pairs, off-beats that
    /// all stand at one place of their beats, no later than the last note of a triplet. `None` where off-beats do not stand late.
    #[must_use]
    pub fn late_off_beats(&self) -> Option<LateOffBeats> {
        if let Some(ratio) = self.long_to_short() {
            let part = ratio / (1.0 + ratio);
            return (ratio > HARDLY).then_some(LateOffBeats { part, by: part - 0.5 });
        }
        let late = |beat: f64| {
            let shares: Vec<f64> = self.notes.iter().map(|note| (note.at.0 - beat + 1.0 + NEAR).fract()).collect();
            let off = |share: &&f64| **share > SAME;
            let first = *shares.iter().find(off)?;
            let late = (HARDLY / (1.0 + HARDLY)..=2.0 / 3.0 + SAME).contains(&first);
            let one = shares.iter().filter(off).all(|share| (share - first).abs() < SAME);
            let begun = beat == 0.0 || shares.iter().any(|share| *share < SAME);
            (late && one && begun)
                .then_some(LateOffBeats { part: (first - NEAR + beat).fract(), by: first - NEAR - 0.5 })
        };
        late(0.0).or_else(|| late(0.5))
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
        Line { notes: places.iter().map(note).collect(), length: Beats(4.0) }
    }
    fn places(line: &Line) -> Vec<(f64, f64)> {
        let thousandths = |beats: Beats| (beats.0 * 1000.0).round() / 1000.0;
        line.notes.iter().map(|note| (thousandths(note.at), thousandths(note.length))).collect()
    }

    #[test]
    fn the_faster_the_evener_and_the_short_note_stays_near_a_tenth_of_a_second() {
        // Friberg & Sundström 2002: a straight line down to even eighths; the short note about 100 ms at medium to fast tempos.
        assert_eq!([60.0, 120.0, 210.0, 300.0, 360.0].map(|tempo| swing_at(Tempo(tempo))), [2.0, 2.0, 1.5, 1.0, 1.0]);
        for tempo in [200.0, 220.0, 240.0, 260.0, 280.0, 300.0] {
            let short_ms = 60_000.0 / tempo / (1.0 + swing_at(Tempo(tempo)));
            assert!((short_ms - 100.0).abs() < 20.0, "{short_ms} ms at {tempo}");
        }
    }

    #[test]
    fn off_beat_eighths_come_late_and_what_is_held_to_them_goes_with_them() {
        let straight = line(&[(0.0, 0.5), (0.5, 0.5), (1.0, 1.5), (2.5, 0.5), (3.0, 1.0)]);
        let swung = straight.swung(2.0, Beats(0.0));
        assert_eq!(places(&swung), [(0.0, 0.667), (0.667, 0.333), (1.0, 1.667), (2.667, 0.333), (3.0, 1.0)]);
        assert_eq!(straight.long_to_short(), Some(1.0));
        assert!((swung.long_to_short().unwrap() - 2.0).abs() < 1e-9);
        assert_eq!(straight.swung(1.0, Beats(0.0)), straight);
    }

    #[test]
    fn off_beats_that_share_no_beat_with_a_note_stand_late_too() {
        // The charleston: one, and the eighth before three.
        let charleston = line(&[(0.0, 1.5), (1.5, 2.5), (4.0, 1.5), (5.5, 2.5)]);
        let late = charleston.swung(2.0, Beats(0.0)).late_off_beats().unwrap();
        assert!(
            (late.halves_by() - 1.0 / 6.0).abs() < 1e-6 && (late.straight(5.0 + 2.0 / 3.0) - 5.5).abs() < 1e-6,
            "{late:?}"
        );
        assert_eq!(charleston.late_off_beats(), None);
        let third = 1.0 / 3.0;
        let triplet = line(&[(0.0, third), (third, third), (2.0 * third, third), (1.0, 1.0)]);
        assert_eq!(triplet.late_off_beats(), None);
        let off_beat = line(&[(0.0, 0.5), (0.5, 0.5), (1.0, 0.5), (1.5, 1.0)]).swung(2.0, Beats(0.5));
        let late = off_beat.late_off_beats().unwrap();
        let straight: Vec<f64> = off_beat.notes.iter().map(|note| late.straight(note.at.0)).collect();
        assert!(straight.iter().zip([0.0, 0.5, 1.0, 1.5]).all(|(a, b)| (a - b).abs() < 1e-6), "{off_beat:?}");
        assert!((late.halves_by() + 1.0 / 6.0).abs() < 1e-6, "{late:?}");
        let pair = line(&[(0.0, 0.5), (0.5, 0.5), (1.0, 1.0)]).swung(1.5, Beats(0.0));
        assert!((pair.late_off_beats().unwrap().halves_by() - 0.1).abs() < 1e-6);
    }

    #[test]
    fn triplets_and_sixteenths_do_not_swing() {
        let third = 1.0 / 3.0;
        let triplet = line(&[(0.0, third), (third, third), (2.0 * third, third), (1.0, 1.0)]);
        assert_eq!(places(&triplet.swung(2.0, Beats(0.0))), places(&triplet));
        let four = line(&[(0.0, 0.25), (0.25, 0.25), (0.5, 0.25), (0.75, 0.25), (1.0, 0.5), (1.5, 0.5)]);
        assert_eq!(
            places(&four.swung(2.0, Beats(0.0)))[2..],
            [(0.5, 0.25), (0.75, 0.25), (1.0, 0.667), (1.667, 0.333)]
        );
    }

    #[test]
    fn after_a_pick_up_of_an_eighth_the_beats_are_those_of_the_bar() {
        let line = line(&[(0.0, 0.5), (0.5, 0.5), (1.0, 0.5), (1.5, 1.0)]);
        assert_eq!(places(&line.swung(2.0, Beats(0.5))), [(0.167, 0.333), (0.5, 0.667), (1.167, 0.333), (1.5, 1.0)]);
    }
}
