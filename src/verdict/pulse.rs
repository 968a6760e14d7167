use super::clock;
use super::{Astray, Verdict};
use crate::units::{Seconds, rank};

/// One note is astray where it passes three bounds and the others keep together (`TOGETHER_S`). The first bound: it lies more than this
/// many seconds from the pulse of the others.
const ASTRAY_S: f64 = 0.064;
/// The second bound of a note astray: it lies more than this many beats from the pulse.
const ASTRAY_BEATS: f64 = 0.07;
/// The third bound of a note astray: it lies more than this many times as far from the pulse of the others as people stray there
/// ([`clock::OddOne`]); else all of them stray.
const OUTSTANDING: f64 = 3.4;
/// Two notes are off the pulse of the others where they lie more than this many times as far from it as the others do (root mean square).
const BOTH_OUTSTANDING: f64 = 5.0;
/// Root mean square distance from its own pulse beyond which a line is uneven, in seconds and in beats; both must be passed.
pub(super) const EVEN: (Seconds, f64) = (Seconds(0.034), 0.055);
/// Where the other notes lie this far from their pulse or further (root mean square, seconds), all notes stray rather than one. The first
/// number counts where the line as a whole is uneven, the second where it is even.
const TOGETHER_S: [f64; 2] = [0.016, 0.022];
/// Least number of notes in a line for one note to be off the pulse of the others, and for two; of four notes one may be where the three others
/// keep a pulse very nearly ([`clock::one_of_four`]).
const NOTES: [usize; 2] = [5, 7];

/// How far the notes of a line lie from the pulse fitted through them (root mean square), and the one note that is off the pulse of
/// all others, if there is one; the distance is then that of the other notes. Each note is its place in the line, where it is due
/// in beats, and its onset in seconds. Both are `None` under four notes.
///
/// A line as a whole is measured by [`clock::fit`]. The one note is measured by the line through the others ([`clock::odd_one`]): of few
/// notes one that is late draws every line to it.
pub(super) fn of(notes: &[(usize, f64, f64)]) -> (Option<Seconds>, Option<Astray>) {
    let points: Vec<(f64, f64)> = notes.iter().map(|(_, beats, onset_s)| (*beats, *onset_s)).collect();
    if let Some(odd) = clock::one_of_four(&points).filter(|odd| odd.by_s.abs() > ASTRAY_BEATS * odd.pulse.beat_s) {
        return (Some(Seconds(odd.rest_s)), Some(Astray { note: notes[odd.n].0, by: Seconds(odd.by_s) }));
    }
    let Some(pulse) = clock::fit(&points).filter(|_| notes.len() > 3) else { return (None, None) };
    let squares: f64 = points.iter().map(|(beats, onset_s)| (onset_s - pulse.at(*beats)).powi(2)).sum();
    let whole = (squares / points.len() as f64).sqrt();
    let uneven = whole > EVEN.0.0 && whole > EVEN.1 * pulse.beat_s;
    let astray = clock::odd_one(&points).filter(|odd| {
        let far = odd.by_s.abs() > ASTRAY_S.max(ASTRAY_BEATS * odd.pulse.beat_s) && odd.stands_out > OUTSTANDING;
        notes.len() >= NOTES[0] && far && odd.rest_s < TOGETHER_S[usize::from(!uneven)]
    });
    match astray {
        Some(odd) => (Some(Seconds(odd.rest_s)), Some(Astray { note: notes[odd.n].0, by: Seconds(odd.by_s) })),
        None => (Some(Seconds(whole)), None),
    }
}

/// The two notes that are off the pulse of all others, in the order of the line, where no single one is and the others keep together as in
/// an even line (`TOGETHER_S`); else none.
pub(super) fn two(verdict: &Verdict) -> Vec<Astray> {
    let Some(pace) = verdict.pace.filter(|_| verdict.rhythm.is_empty() && verdict.astray.is_none()) else {
        return Vec::new();
    };
    let off = |(note, judged): (usize, &super::NoteVerdict)| Some(Astray { note, by: judged.off_pulse? });
    let mut notes: Vec<Astray> = verdict.expected.iter().enumerate().filter_map(off).collect();
    if notes.len() < NOTES[1] {
        return Vec::new();
    }
    notes.sort_by_cached_key(|it| rank(it.by.abs().0));
    let mut far = notes.split_off(notes.len() - 2);
    let rest = (notes.iter().map(|it| it.by.0 * it.by.0).sum::<f64>() / notes.len() as f64).sqrt();
    let least = ASTRAY_S.max(ASTRAY_BEATS * pace.beat().0).max(BOTH_OUTSTANDING * rest);
    if rest >= TOGETHER_S[1] || far[0].by.abs().0 <= least {
        return Vec::new();
    }
    far.sort_by_key(|it| it.note);
    far
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What `of` gives for eighths at a quarter = 100, each so many milliseconds off.
    fn off(by_ms: &[f64]) -> (Option<Seconds>, Option<Astray>) {
        let note = |(n, by): (usize, &f64)| (n, 0.5 * n as f64, 0.3 * n as f64 + 0.001 * by);
        of(&by_ms.iter().enumerate().map(note).collect::<Vec<_>>())
    }

    #[test]
    fn the_one_late_note_of_an_even_line_is_found_and_the_others_are_even() {
        let (scatter, astray) = off(&[0.0, 5.0, -5.0, 86.0, 5.0, -5.0, 0.0, 5.0]);
        assert_eq!(astray.unwrap().note, 3);
        assert!((astray.unwrap().by.0 - 0.086).abs() < 0.01 && scatter.unwrap().0 < 0.008);
    }

    #[test]
    fn of_five_notes_the_late_one_is_found_although_it_draws_the_pulse_to_it() {
        let (_, astray) = off(&[10.0, 80.0, -10.0, 0.0, -10.0]);
        assert_eq!(astray.map(|it| it.note), Some(1));
        assert!(off(&[0.0, 0.0, 0.0, 0.0, 60.0]).1.is_none(), "a last note a little late");
        assert!(off(&[20.0, -25.0, 25.0, -20.0, 20.0]).1.is_none(), "as people play");
    }

    #[test]
    fn of_four_notes_the_one_that_is_off_the_pulse_of_the_three_others_is_found() {
        for (n, ms) in [(0, 94.0), (1, -94.0), (2, -94.0), (3, 104.0)] {
            let mut off_ms = [3.0, -3.0, 4.0, -2.0];
            off_ms[n] += ms;
            let (scatter, astray) = off(&off_ms);
            assert_eq!(astray.map(|it| it.note), Some(n));
            assert!((astray.unwrap().by.ms() - ms).abs() < 20.0 && scatter.unwrap().0 < 0.008, "{astray:?}");
        }
        assert!(off(&[50.0, -60.0, 40.0, -50.0]).1.is_none(), "all of them stray");
        assert!(off(&[3.0, -3.0, 40.0, -2.0]).1.is_none(), "within how people play");
    }

    #[test]
    fn where_one_note_strays_most_and_the_others_a_good_deal_the_line_is_uneven() {
        let (scatter, astray) = off(&[20.0, -30.0, 25.0, 115.0, -25.0, 30.0, -20.0, 25.0]);
        assert!(astray.is_none() && scatter.unwrap() > EVEN.0);
    }

    #[test]
    fn where_every_note_strays_none_stands_out() {
        let (scatter, astray) = off(&[50.0, -60.0, 40.0, -50.0, 70.0, -40.0, 30.0, -45.0]);
        assert!(astray.is_none() && scatter.unwrap().0 > 0.04);
    }
}
