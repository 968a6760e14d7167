use crate::learn::quantize::{share_of, units_sounded, whole};
use crate::pattern::{ExpectedNote, Line};
use crate::units::Beats;

/// How many of the shortest rest that a played file is believed to mean fill a quarter: it is a sixteenth (common practice).
const SHORTEST_REST: f64 = 4.0;

/// Puts the ends of notes on the grid on which the notes begin, for a file that was played, or exported with shortened notes. A note that
/// ends on a place of that grid, or begins and ends on sixteenths, keeps its length: its rest is written. Any other note lasts up to the
/// next one, or to a rest, as `quantize` has it, and the last one to the nearest place of the grid. Where the notes begin on no grid the
/// line stays as it is.
#[must_use]
pub fn releases_on_grid(line: Line) -> Line {
    let places: Vec<f64> = line.notes.iter().map(|note| note.at.0).collect();
    let Some(share) = share_of(&places) else { return line };
    let share = share as f64;
    let last = |sounding: f64| sounding.round().max(1.0);
    let length = |n: usize, note: &ExpectedNote| {
        let end = note.at + note.length;
        let written = [share, SHORTEST_REST].iter().any(|parts| whole(note.at.0 * parts) && whole(end.0 * parts));
        if written {
            return note.length;
        }
        let sounding = note.length.0 * share;
        let units = places.get(n + 1).map_or_else(
            || last(sounding),
            |next| units_sounded(sounding, ((next - note.at.0) * share).round() as i64) as f64,
        );
        Beats(units / share)
    };
    let notes: Vec<ExpectedNote> =
        line.notes.iter().enumerate().map(|(n, note)| ExpectedNote { length: length(n, note), ..*note }).collect();
    let length = notes.last().map_or(line.length, |note| note.at + note.length);
    Line { notes, length }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Concert;

    /// Four notes a distance apart, each so long, in quarters; the lengths that are made of them.
    fn lengths(apart: f64, each: f64) -> Vec<f64> {
        let note = |n: u8| ExpectedNote {
            pitch: Concert(60 + i32::from(n)),
            at: Beats(f64::from(n) * apart),
            length: Beats(each),
            named: None,
        };
        let line = Line { notes: (0..4).map(note).collect(), length: Beats(3.0 * apart + each) };
        releases_on_grid(line).notes.iter().map(|note| note.length.0).collect()
    }

    #[test]
    fn eighths_let_go_early_are_eighths_and_a_written_rest_stays() {
        // Ticks of 480 to a quarter: a tick short, legato, as sequencers shorten notes by a twentieth, a twelfth, a tenth, a sixth.
        for ticks in [239.0, 228.0, 220.0, 216.0, 200.0] {
            assert_eq!(lengths(0.5, ticks / 480.0), [0.5; 4], "{ticks}");
        }
        assert_eq!(lengths(1.0, 440.0 / 480.0), [1.0; 4], "quarters");
        assert_eq!(lengths(0.5, 0.25), [0.25; 4], "a sixteenth and its rest");
        assert_eq!(lengths(1.0, 0.5), [0.5; 4], "an eighth and its rest");
        assert_eq!(lengths(1.0 / 3.0, 0.3), [1.0 / 3.0; 4], "triplets");
        let wait = lengths(2.0, 0.9);
        assert_eq!(wait[..3], [1.0; 3], "a silence of half the way and a whole unit is a rest");
    }

    #[test]
    fn notes_that_begin_on_no_grid_stay_as_they_are() {
        let places = [0.0, 0.513_7, 1.031_1];
        let note = |at: &f64| ExpectedNote { pitch: Concert(60), at: Beats(*at), length: Beats(0.4), named: None };
        let line = Line { notes: places.iter().map(note).collect(), length: Beats(1.5) };
        assert_eq!(releases_on_grid(line.clone()), line);
    }
}
