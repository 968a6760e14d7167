use crate::notes::{Frame, HeardNote};
use crate::report::trend::Slope;
use crate::units::{Cents, Hertz, Midi, Seconds, median};

/// Length of a note from which something is known of how its pitch moved.
const LONG_ENOUGH: Seconds = Seconds(0.2);
/// The very beginning of a note, in seconds from its onset: before it the attack speaks.
const BEGINS_S: (f64, f64) = (0.05, 0.09);
/// The very end of a note, in seconds before its release: after it the frames hear the note die away, or the next one.
const ENDS_S: (f64, f64) = (0.08, 0.04);
/// The last moments of a note, in seconds: its sound dies away, and nobody hears where its pitch goes (from memory).
const UNHEARD_S: f64 = 0.02;
/// Share of a note from which its line is read: instruments rise into their notes.
const LINE: f64 = 0.25;
/// The middle of a note, as shares of its length.
const MIDDLE: (f64, f64) = (0.4, 0.6);
/// A note moved at its first, or at its last, where so much of the way lies before, or behind, its middle.
const ONE_SIDE: f64 = 0.75;
/// Largest distance of a path from its own line, root mean square, as a share of the way that the note moved: what swings is no sag.
const STRAIGHT: f64 = 0.25;
/// A note that moved by no more than this is taken as it is, straight or not.
const LITTLE: f64 = 8.0;
/// Largest distance of a frame from its note, in cents; a frame further away is a slip of the tracker.
const NEAR: f64 = 200.0;
/// Number of points to which the path of a note is thinned, about: its line compares every two.
const COMPARED: usize = 60;

/// Where in a note its pitch moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MovedWhere {
    /// At its beginning: a scoop, or a fall into the note.
    AtFirst,
    /// Evenly, from its beginning to its end.
    Throughout,
    /// At its end.
    AtLast,
}

/// How the pitch of a note moved while it sounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoteMoved {
    /// The number of the note.
    pub number: u32,
    /// How far the pitch moved from beginning to end; above 0 is upwards.
    pub by: Cents,
    /// Where it moved.
    pub place: MovedWhere,
}

/// How a note moved whose path of pitches is given; `None` for a short note, and for one that swings or wavers too much to tell.
pub(super) fn moved<'a>(note: &HeardNote, path: impl Iterator<Item = &'a (Seconds, Midi)>) -> Option<NoteMoved> {
    let length = note.length();
    if length < LONG_ENOUGH {
        return None;
    }
    let inside = BEGINS_S.0..=length.0 - ENDS_S.1;
    let path: Vec<(f64, f64)> = path
        .map(|(at, pitch)| ((*at - note.onset).0, pitch.cents_above(note.pitch).0))
        .filter(|(at, cents)| inside.contains(at) && cents.abs() < NEAR)
        .collect();
    let over = |from: f64, until: f64| -> Vec<f64> {
        path.iter().filter(|(at, _)| (from..=until).contains(at)).map(|(_, cents)| *cents).collect()
    };
    let begins = median(&over(BEGINS_S.0, BEGINS_S.1))?;
    let ends = median(&over(length.0 - ENDS_S.0, length.0 - ENDS_S.1))?;
    let middle = median(&over(MIDDLE.0 * length.0, MIDDLE.1 * length.0))?;
    let by = ends - begins;
    let place = match (middle - begins) / by {
        before if before > ONE_SIDE => MovedWhere::AtFirst,
        before if before < 1.0 - ONE_SIDE => MovedWhere::AtLast,
        _ => MovedWhere::Throughout,
    };
    // The half in which a note stood must be level, and a note that moved throughout straight.
    let half = 0.5 * length.0;
    let (part, by): (Vec<(f64, f64)>, f64) = match place {
        MovedWhere::AtFirst => (path.iter().filter(|look| look.0 >= half).copied().collect(), by),
        MovedWhere::AtLast => (path.iter().filter(|look| look.0 <= half).copied().collect(), by),
        MovedWhere::Throughout => {
            let behind = path.iter().filter(|look| look.0 >= LINE * length.0);
            let thin = behind.step_by(path.len().div_ceil(COMPARED).max(1)).copied().collect();
            let slope = Slope::of(&[thin], 1)?.slope;
            (path.iter().map(|(at, cents)| (*at, cents - slope * at)).collect(), slope * (length.0 - UNHEARD_S))
        }
    };
    let level = median(&part.iter().map(|look| look.1).collect::<Vec<_>>())?;
    let off = part.iter().map(|look| (look.1 - level).powi(2)).sum::<f64>() / part.len().max(1) as f64;
    (by.abs() <= LITTLE || off.sqrt() <= STRAIGHT * by.abs()).then_some(NoteMoved {
        number: note.number,
        by: Cents(by),
        place,
    })
}

/// How each of these notes moved, by the frames of the same sound; both stand in order of time, and `a4` is the reference of the ear. Notes
/// of which nothing is known are left out.
#[must_use]
pub fn moved_notes(notes: &[HeardNote], frames: &[Frame], a4: Hertz) -> Vec<NoteMoved> {
    let path: Vec<(Seconds, Midi)> =
        frames.iter().filter_map(|frame| Some((frame.at, frame.pitch?.midi(a4)))).collect();
    let of = |note: &HeardNote| {
        let from = path.partition_point(|look| look.0 < note.onset);
        let until = path.partition_point(|look| look.0 <= note.release);
        moved(note, path.get(from..until)?.iter())
    };
    notes.iter().filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Decibels;

    /// How a note of so many seconds moved that followed a path of cents.
    fn note(seconds: f64, cents: &dyn Fn(f64) -> f64) -> Option<(f64, MovedWhere)> {
        let note = HeardNote {
            number: 0,
            onset: Seconds(1.0),
            release: Seconds(1.0 + seconds),
            pitch: Midi(60.0),
            spread: Some(Cents(0.0)),
            loudness: Decibels(-20.0),
            confidence: 0.9,
            announced: Seconds(1.0),
            announced_pitch: Midi(60.0),
        };
        let looks = (0..(seconds / 0.003) as usize).map(|n| n as f64 * 0.003);
        let path: Vec<(Seconds, Midi)> = looks.map(|at| (Seconds(1.0 + at), Midi(60.0 + cents(at) / 100.0))).collect();
        moved(&note, path.iter()).map(|moved| (moved.by.0.round(), moved.place))
    }

    #[test]
    fn a_sag_a_scoop_and_a_fall_at_the_end_are_told_apart() {
        assert_eq!(note(0.5, &|at| -60.0 * at), Some((-29.0, MovedWhere::Throughout)));
        let (by, place) = note(0.3, &|at| -80.0 * (-at / 0.06).exp()).unwrap();
        assert!(by > 20.0 && place == MovedWhere::AtFirst, "{by} {place:?}");
        let (by, place) = note(0.6, &|at| -40.0 * ((at - 0.4) / 0.15).clamp(0.0, 1.0)).unwrap();
        assert!(by < -35.0 && place == MovedWhere::AtLast, "{by} {place:?}");
    }

    #[test]
    fn a_vibrato_is_no_sag_at_any_place_of_its_turn() {
        for phase in 0..16 {
            let at_first = std::f64::consts::TAU * f64::from(phase) / 16.0;
            let told = note(0.5, &|at| 25.0 * (std::f64::consts::TAU * 5.5 * at + at_first).sin());
            assert!(told.is_none_or(|(by, _)| by.abs() <= 20.0), "{told:?}");
        }
        assert_eq!(note(0.15, &|at| -100.0 * at), None, "too short to tell");
    }
}
