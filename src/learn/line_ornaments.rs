//! Grace notes, trills, mordents and turns of a line that was played: of each the note that it adorns is kept.

use crate::learn::LineNote;
use crate::units::{Seconds, median};

/// The notes of an ornament follow each other within this many seconds (trills have some seven to fourteen notes a second, common practice),
/// and within this share of the usual distance between two notes of the line.
const QUICK: (Seconds, f64) = (Seconds(0.15), 0.45);
/// A grace note is shorter than this.
const GRACE: Seconds = Seconds(0.1);
/// The most grace notes before one note.
const MOST_GRACES: usize = 2;
/// The largest distance of a neighbour from the main note, half steps.
const NEIGHBOUR: i32 = 2;
/// What each usual distance beyond the first that a reading leaves empty counts, beside distances that are not whole.
const LONGER: f64 = 0.1;
/// A last note this many times as long as the stroke before it is the main note.
const HELD: f64 = 1.4;
/// So many notes to and fro are a trill, fewer a mordent or a turn.
const TRILL: usize = 6;

/// A note of a line that was played with an ornament, which the line leaves out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LineOrnament {
    /// The place of the note among those that are kept, counted from 0.
    pub note: usize,
    /// Which one it is.
    pub kind: LineOrnamentKind,
}

/// The ornaments that are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineOrnamentKind {
    /// One or two short notes before it.
    Grace,
    /// The note itself, struck shortly before.
    Twice,
    /// A mordent or a turn.
    Turn,
    /// Many notes to and fro.
    Trill,
}

/// One way to take some quick notes.
struct Taken {
    /// Index of the first note that is not taken any more.
    next: usize,
    kept: LineNote,
    kind: LineOrnamentKind,
}

/// The notes of a line without those of its ornaments, and where these were. An adorned note begins where its ornament does, or with its own
/// last stroke: whichever suits the distances of the other notes better.
#[must_use]
pub fn without_ornaments(played: &[LineNote]) -> (Vec<LineNote>, Vec<LineOrnament>) {
    let gap = |n: usize| played.get(n + 1).map(|next| (next.onset - played[n].onset).0);
    let long: Vec<f64> = (0..played.len()).filter_map(gap).filter(|gap| *gap >= QUICK.0.0).collect();
    let (Some(usual), true) = (median(&long), long.len() > 1) else { return (played.to_vec(), Vec::new()) };
    let quick_s = QUICK.0.0.min(QUICK.1 * usual);
    let quick = |n: usize| gap(n).is_some_and(|gap| gap < quick_s);
    let (mut kept, mut found, mut n) = (Vec::<LineNote>::new(), Vec::new(), 0);
    while n < played.len() {
        let last = (n..played.len()).find(|n| !quick(*n)).unwrap_or(played.len() - 1);
        let ways = if last > n { ways(played, n, last, quick_s) } else { Vec::new() };
        let cost = |way: &Taken| {
            let before = kept.last().map(|note| (way.kept.onset - note.onset).0);
            let after = played.get(way.next).map(|next| (next.onset - way.kept.onset).0);
            [before, after].into_iter().flatten().map(|gap| away(gap / usual)).sum::<f64>()
        };
        match ways.into_iter().min_by(|one, other| cost(one).total_cmp(&cost(other))) {
            Some(way) => {
                found.push(LineOrnament { note: kept.len(), kind: way.kind });
                kept.push(way.kept);
                n = way.next;
            }
            // Quick notes that are no ornament are notes of the line.
            None => {
                kept.extend(&played[n..=last]);
                n = last + 1;
            }
        }
    }
    (kept, found)
}

/// How far a distance lies from whole numbers of the usual one; of two that are whole the shorter one is likelier.
fn away(gap: f64) -> f64 {
    let whole = gap.round().max(1.0);
    (gap - whole).abs() + LONGER * (whole - 1.0)
}

/// The ornaments that the quick notes from `first` on may be, of which `last` is the first that another note does not follow quickly.
fn ways(played: &[LineNote], first: usize, last: usize, quick_s: f64) -> Vec<Taken> {
    let mut ways = Vec::new();
    let as_one = |from: usize, main: usize, last: usize| LineNote {
        onset: played[from].onset,
        release: played[last].release,
        ..played[main]
    };
    let stroke = |n: usize| {
        let end = played.get(n + 1).map_or(played[n].release, |next| next.onset);
        (end - played[n].onset).0
    };
    for end in [last, last - 1].into_iter().filter(|end| *end > first + 1) {
        let held = stroke(end) > HELD * stroke(end - 1);
        for main in if held { [end, first, first + 1] } else { [first, first + 1, end] } {
            let mains: Vec<usize> = (first..=end).filter(|n| played[*n].pitch == played[main].pitch).collect();
            // A neighbour that is held is a note of the line; at the end a trill may break off on it.
            let breaks_off = end + 1 == played.len() && (played[end].release - played[end].onset).0 < quick_s;
            let ends = mains.last() == Some(&end) || end < last || breaks_off;
            if !ends || mains.len() < 2 || !to_and_fro(&played[first..=end], played[main]) {
                continue;
            }
            let kind = if end - first + 1 < TRILL { LineOrnamentKind::Turn } else { LineOrnamentKind::Trill };
            let from = [Some(&first), mains.first(), mains.last()];
            ways.extend(from.into_iter().flatten().map(|from| Taken {
                next: end + 1,
                kept: as_one(*from, main, end),
                kind,
            }));
        }
    }
    let graces = first..last;
    let short = |n: usize| played[n + 1].onset - played[n].onset < GRACE;
    if graces.len() <= MOST_GRACES && graces.clone().all(short) {
        let twice = graces.clone().all(|n| played[n].pitch == played[last].pitch);
        let kind = if twice { LineOrnamentKind::Twice } else { LineOrnamentKind::Grace };
        let from = [first, last].into_iter();
        ways.extend(from.map(|from| Taken { next: last + 1, kept: as_one(from, last, last), kind }));
    }
    ways
}

/// Whether of each two notes side by side one is the main note, and the other a neighbour of it.
fn to_and_fro(notes: &[LineNote], main: LineNote) -> bool {
    let apart = |note: &LineNote| (note.pitch - main.pitch).0.abs();
    notes.windows(2).all(|pair| {
        let (one, other) = (apart(&pair[0]), apart(&pair[1]));
        one.min(other) == 0 && (1..=NEIGHBOUR).contains(&one.max(other))
    })
}

/// The note with which the line begins anew after a silence, counted from 0: its first notes come again, as where somebody tried twice.
#[must_use]
pub fn begins_anew(played: &[LineNote]) -> Option<usize> {
    let gap = |n: usize| (played[n].onset - played[n - 1].onset).0;
    let usual = median(&(1..played.len()).map(gap).collect::<Vec<f64>>())?;
    let same = |from: usize| played.iter().zip(&played[from..]).take(ANEW).all(|(one, other)| one.pitch == other.pitch);
    (ANEW..played.len().saturating_sub(ANEW - 1)).find(|n| gap(*n) > SILENT.0.0.max(SILENT.1 * usual) && same(*n))
}

/// So many notes that come again show that a line begins anew.
const ANEW: usize = 4;
/// It does after so long, and after so many of the usual distances between two notes.
const SILENT: (Seconds, f64) = (Seconds(0.9), 2.5);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Concert;

    const EIGHTH: f64 = 0.357;

    /// Notes as pitch, place in eighths at quarter = 84 and milliseconds after it; each lasts to the next one.
    fn line(notes: &[(i32, f64, f64)]) -> Vec<LineNote> {
        let at = |(_, place, ms): &(i32, f64, f64)| EIGHTH * place + ms / 1000.0;
        let end = |n: usize| notes.get(n + 1).map_or_else(|| at(&notes[n]) + 0.3, at);
        let note = |(n, it): (usize, &(i32, f64, f64))| LineNote {
            pitch: Concert(it.0),
            onset: Seconds(at(it)),
            release: Seconds(end(n) - 0.005),
            letters: None,
        };
        notes.iter().enumerate().map(note).collect()
    }

    /// A row of five notes up and four down, with these notes in the place of one.
    fn row(place: usize, with: &[(i32, f64)]) -> Vec<LineNote> {
        let row = [60, 62, 64, 65, 67, 65, 64, 62, 60].into_iter().enumerate();
        let notes: Vec<(i32, f64, f64)> = row
            .flat_map(|(n, pitch)| {
                let plain = vec![(pitch, n as f64, 0.0)];
                if n == place { with.iter().map(|(pitch, ms)| (*pitch, n as f64, *ms)).collect() } else { plain }
            })
            .collect();
        line(&notes)
    }

    fn kinds(played: &[LineNote]) -> (Vec<i32>, Vec<(usize, LineOrnamentKind)>) {
        let (kept, found) = without_ornaments(played);
        let off = |note: &LineNote| (note.onset.0 / EIGHTH - (note.onset.0 / EIGHTH).round()).abs();
        assert!(kept.iter().all(|note| off(note) < 0.02), "each note stays on its beat: {kept:?}");
        (kept.iter().map(|note| note.pitch.0).collect(), found.iter().map(|it| (it.note, it.kind)).collect())
    }

    // Grace notes before and on the beat, mordents, turns and trills from either note: common practice.
    #[test]
    fn an_adorned_note_is_one_note_of_the_line() {
        use LineOrnamentKind::{Grace, Trill, Turn, Twice};
        let plain = vec![60, 62, 64, 65, 67, 65, 64, 62, 60];
        let strokes =
            |from: i32, to: i32| (0..5).map(|n| (if n % 2 == 0 { from } else { to }, 70.0 * f64::from(n))).collect();
        let (trill, from_above): (Vec<_>, Vec<_>) = (strokes(67, 69), strokes(69, 67));
        for (with, kind) in [
            (vec![(66, -60.0), (67, 0.0)], Grace),
            (vec![(66, 0.0), (67, 60.0)], Grace),
            (vec![(64, -120.0), (65, -60.0), (67, 0.0)], Grace),
            (vec![(67, -50.0), (67, 0.0)], Twice),
            (vec![(67, 0.0), (69, 70.0), (67, 140.0)], Turn),
            (vec![(69, 0.0), (67, 70.0), (66, 140.0), (67, 210.0)], Turn),
            (trill.clone(), Turn),
            ([from_above, vec![(67, 350.0)]].concat()[..4].to_vec(), Turn),
            ((0..6).map(|n| (67 + 2 * (n % 2), 60.0 * f64::from(n))).collect(), Trill),
        ] {
            assert_eq!(kinds(&row(4, &with)), (plain.clone(), vec![(4, kind)]), "{with:?}");
        }
    }

    #[test]
    fn quick_notes_that_lead_on_are_notes_of_the_line() {
        let run = row(4, &[(67, 0.0), (69, 90.0), (71, 180.0), (72, 270.0)]);
        assert_eq!(without_ornaments(&run), (run.clone(), vec![]));
        let slow = row(4, &[(67, 0.0), (69, 178.0)]);
        assert_eq!(without_ornaments(&slow), (slow.clone(), vec![]), "two sixteenths");
        let all: Vec<LineNote> = row(99, &[]);
        assert_eq!(without_ornaments(&all).1, []);
        assert_eq!(without_ornaments(&all[..1]).0.len(), 1);
    }

    #[test]
    fn a_line_that_begins_again_after_a_silence_is_noticed() {
        let tried = [(60, 0.0), (62, 1.0), (64, 2.0), (65, 3.0), (67, 4.0), (60, 9.0), (62, 10.0), (64, 11.0)];
        let again: Vec<_> =
            tried.iter().chain(&[(65, 12.0), (67, 13.0)]).map(|(pitch, at)| (*pitch, *at, 0.0)).collect();
        assert_eq!(begins_anew(&line(&again)), Some(5));
        let other: Vec<_> = again.iter().map(|(pitch, at, ms)| (pitch + i32::from(*at > 8.0), *at, *ms)).collect();
        assert_eq!(begins_anew(&line(&other)), None, "a sequence a half step higher");
        assert_eq!(begins_anew(&row(99, &[])), None);
    }
}
