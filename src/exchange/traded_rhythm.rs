use crate::notes::HeardNote;
use crate::pattern::{ExpectedNote, Ticks};
use crate::units::{Beats, Seconds};
use crate::verdict::Verdict;

/// Shortest note on the page, in ticks, where there is room: a thirty-second.
const SHORTEST: i64 = Ticks::QUARTER / 8;
/// A note that nobody asked for stands on a multiple of this.
const GRID: i64 = Ticks::QUARTER / 4;
/// Such a note is no longer than this.
const UNASKED: i64 = Ticks::QUARTER / 2;

/// The bars of an answer on a page.
pub(super) struct AnswerOnPage<'a> {
    /// What was asked, with even eighths.
    pub asked: &'a [ExpectedNote],
    /// The ratio of long to short eighths, where they swing.
    pub long_to_short: Option<f64>,
    /// Length of the bars.
    pub length: Ticks,
}

/// Where each heard note stands on the page, from the first bar line of the answer on, and how long it is: one place for each note, in
/// their order, none over another and none outside the bars. `beats` tells where an instant lies in these bars.
pub(super) fn answer_on_page(
    shown: &AnswerOnPage<'_>,
    heard: &[HeardNote],
    verdict: Option<&Verdict>,
    beats: &dyn Fn(Seconds) -> Beats,
) -> Vec<(Ticks, Ticks)> {
    let answers: Vec<Option<&ExpectedNote>> = (0..heard.len())
        .map(|n| {
            let expected = verdict?.expected.iter().position(|note| note.heard == Some(n))?;
            shown.asked.get(expected)
        })
        .collect();
    let wanted = heard.iter().zip(&answers).map(|(note, asked)| match asked {
        Some(asked) => Ticks::nearest(asked.at).0,
        None => {
            let at = Ticks::nearest(even(beats(note.onset), shown.long_to_short)).0;
            (at + GRID / 2).div_euclid(GRID) * GRID
        }
    });
    let places = in_order(wanted.collect(), &answers, shown.length.0);
    let ends = places.iter().skip(1).copied().chain([shown.length.0]);
    let lengths = places.iter().zip(ends).zip(&answers).map(|((at, next), asked)| {
        let most = asked.map_or(UNASKED, |asked| Ticks::nearest(asked.length).0);
        most.min(next - at)
    });
    places.iter().zip(lengths).map(|(at, length)| (Ticks(*at), Ticks(length))).collect()
}

/// Where an instant lies if eighths are written even.
fn even(at: Beats, long_to_short: Option<f64>) -> Beats {
    let Some(ratio) = long_to_short else { return at };
    let (beat, long) = (at.0.floor(), ratio / (1.0 + ratio));
    let inside = at.0 - beat;
    let inside = if inside < long { 0.5 * inside / long } else { 0.5 + 0.5 * (inside - long) / (1.0 - long) };
    Beats(beat + inside)
}

/// The wanted places, moved as little as is needed so that each comes after the one before and all lie within `length`: a note that
/// nobody asked for gives way to one that was asked.
fn in_order(wanted: Vec<i64>, answers: &[Option<&ExpectedNote>], length: i64) -> Vec<i64> {
    let step = SHORTEST.min(length / (wanted.len() as i64 + 1)).max(1);
    let mut places = wanted;
    // From the end: nothing comes later than an asked note that follows, or than the end.
    let mut latest = length - step;
    for (place, answer) in places.iter_mut().zip(answers).rev() {
        *place = (*place).min(latest);
        // A note that nobody asked for only takes room; it is moved on below where it is in the way.
        latest = if answer.is_some() { *place - step } else { latest - step };
    }
    let mut earliest = 0;
    for place in &mut places {
        *place = (*place).max(earliest);
        earliest = *place + step;
    }
    // Where the start was crowded, the end is now.
    let mut latest = length - step;
    for place in places.iter_mut().rev() {
        *place = (*place).min(latest);
        latest = *place - step;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Concert;

    fn asked(at: f64) -> ExpectedNote {
        ExpectedNote { pitch: Concert(60), at: Beats(at), length: Beats(0.5), named: None }
    }

    #[test]
    fn every_note_has_a_place_of_its_own_within_the_bars() {
        let (one, two) = (asked(1.0), asked(2.0));
        let quarter = Ticks::QUARTER;
        let answers = [Some(&one), None, None, Some(&two), None];
        let wanted = vec![quarter, quarter, 2 * quarter, 2 * quarter, 9 * quarter];
        let places = in_order(wanted, &answers, 4 * quarter);
        assert_eq!((places[0], places[3]), (quarter, 2 * quarter), "what was asked stands where it was asked");
        assert!(places.windows(2).all(|two| two[1] - two[0] >= SHORTEST), "{places:?}");
        assert_eq!(places[4], 4 * quarter - SHORTEST);
        let crowd = in_order(vec![0; 100], &vec![None; 100], 4 * quarter);
        assert!(crowd.windows(2).all(|two| two[0] < two[1]) && crowd[99] < 4 * quarter);
    }

    #[test]
    fn swung_eighths_are_written_even() {
        assert!((even(Beats(2.0 + 2.0 / 3.0), Some(2.0)).0 - 2.5).abs() < 1e-9);
        assert!((even(Beats(2.4), None).0 - 2.4).abs() < 1e-9);
    }
}
