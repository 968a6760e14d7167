use crate::exchange::durations::{NoteValue, tied};
use crate::exchange::staff::Piece;
use crate::music::Spelled;
use crate::pattern::{Meter, Ticks};

const QUARTER: i64 = Ticks::QUARTER;

/// Where the beats of a bar lie, in ticks.
#[derive(Clone, Copy)]
struct Beats {
    bar: i64,
    beat: i64,
    /// The middle of the bar, which has to stay visible; in three-four, which has no middle, the end of the bar.
    middle: i64,
}

impl Beats {
    fn of(meter: Meter) -> Self {
        let [bar, beat] = [meter.bar(), meter.beat()].map(|length| Ticks::nearest(length).0);
        Self { bar, beat, middle: if meter == Meter::ThreeFour { bar } else { bar / 2 } }
    }
    /// The lengths that a rest from a beat on may have, in ticks, the longest first.
    fn rests(self) -> [i64; 3] {
        [self.bar, if self.middle < self.bar { self.middle } else { self.beat }, self.beat]
    }
}

/// One sign in a bar: a note or a rest.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct BarElement {
    /// The note; `None` for a rest.
    pub note: Option<Spelled>,
    /// Where the sign begins, in ticks from the bar line.
    pub at: i64,
    /// How long the sign lasts, in ticks.
    pub length: i64,
    /// How the length of the note or rest is shown, where one sign can show it.
    pub note_value: Option<NoteValue>,
    /// Whether the note is tied from the sign before, and whether to the next.
    pub ties: [bool; 2],
    /// Whether the sign is the first of an uneven group, and whether it is the last.
    pub group: [bool; 2],
    /// Beams of the note, the first nearest the stem's end: words of MusicXML 4.0, beam-value.
    pub beams: Vec<&'static str>,
}

/// The signs that fill one bar of a piece. `start` is where the bar begins, in ticks; it is below zero for the bar of a pick-up,
/// which begins with rests.
///
/// Beats stay visible (common practice of engraving): a rest that begins off the beat goes no further than the next beat, a note that
/// begins off the beat (in six-eight any note but one of the whole bar) is tied over the middle of the bar, beams join a beat, or half a
/// bar of plain eighths.
pub(super) fn signs(piece: &Piece, start: i64) -> Vec<BarElement> {
    let beats = Beats::of(piece.meter);
    let mut signs = Vec::new();
    let mut at = 0;
    for note in &piece.notes {
        let [begins, ends] = [note.at.0, note.at.0 + note.length.0].map(|at| at - start);
        if ends <= 0 || begins >= beats.bar {
            continue;
        }
        rest(&mut signs, beats, at, begins.max(at));
        let (from, to) = (begins.max(at), ends.min(beats.bar));
        let parts = note_parts(beats, from, to);
        let last = parts.len();
        for (n, (at, length, note_value)) in parts.into_iter().enumerate() {
            let ties = [n > 0 || begins < 0, n + 1 < last || ends > beats.bar];
            signs.push(BarElement {
                note: Some(note.written),
                at,
                length,
                note_value,
                ties,
                group: [false; 2],
                beams: Vec::new(),
            });
        }
        at = to;
    }
    rest(&mut signs, beats, at, beats.bar);
    group(&mut signs);
    beam(&mut signs, beats);
    signs
}

/// A note from `from` to `to`, in ticks, as signs that can be shown: each with its place, its length and its note value. The note is
/// parted at the middle of the bar where it would hide the middle: where it begins off the beat, and in six-eight always, except for a
/// note of the whole bar.
fn note_parts(beats: Beats, from: i64, to: i64) -> Vec<(i64, i64, Option<NoteValue>)> {
    let middle = beats.middle;
    let compound = beats.beat > QUARTER && to - from < beats.bar;
    let hides = (compound || from % beats.beat != 0) && from < middle && to > middle;
    let halves = if hides { vec![(from, middle), (middle, to)] } else { vec![(from, to)] };
    let mut parts = Vec::new();
    for (mut at, to) in halves {
        for (length, note_value) in tied(to - at) {
            parts.push((at, length, note_value));
            at += length;
        }
    }
    parts
}

/// Adds rests from `from` to `to`: first to the next beat, then whole bars, halves and beats, then what is left.
fn rest(signs: &mut Vec<BarElement>, beats: Beats, mut from: i64, to: i64) {
    while from < to {
        let fits = |length: i64| from % length == 0 && from + length <= to;
        let longest = beats.rests().into_iter().find(|length| fits(*length));
        let next = from - from.rem_euclid(beats.beat) + beats.beat;
        let end = longest.map_or(next.min(to), |length| from + length);
        for (length, note_value) in tied(end - from) {
            let (ties, group) = ([false; 2], [false; 2]);
            signs.push(BarElement { note: None, at: from, length, note_value, ties, group, beams: Vec::new() });
            from += length;
        }
    }
}

/// Marks where uneven groups begin and end: a group ends once its length is a whole number of eighths.
fn group(signs: &mut [BarElement]) {
    let mut filled = 0;
    for sign in signs {
        let uneven = sign.note_value.is_some_and(|note_value| note_value.tuplet.is_some());
        let begins = uneven && filled == 0;
        filled = if uneven { filled + sign.length } else { 0 };
        let ends = uneven && filled % (QUARTER / 2) == 0;
        filled = if ends { 0 } else { filled };
        sign.group = [begins, ends];
    }
}

/// Flags of a sign that may be beamed; 0 for rests and for quarters and longer.
fn flags(sign: &BarElement) -> usize {
    let Some(note_value) = sign.note_value.filter(|_| sign.note.is_some()) else { return 0 };
    ["eighth", "16th", "32nd", "64th"].iter().position(|value| *value == note_value.value).map_or(0, |n| n + 1)
}

/// Joins by beams what lies in one beat, or in one half of the bar (in three-four, in the bar) where that has nothing but plain eighths.
fn beam(signs: &mut [BarElement], beats: Beats) {
    let plain = |half: i64| {
        let eighth =
            |sign: &BarElement| sign.length == QUARTER / 2 && sign.at % (QUARTER / 2) == 0 && sign.note.is_some();
        signs.iter().filter(|sign| sign.at / beats.middle == half).all(eighth)
    };
    let plain = [plain(0), plain(1)];
    let window = |sign: &BarElement| {
        let half = (sign.at / beats.middle).clamp(0, 1);
        if plain[half as usize] { (half, 0) } else { (half, 1 + sign.at / beats.beat) }
    };
    let places: Vec<(usize, (i64, i64))> = signs.iter().map(|sign| (flags(sign), window(sign))).collect();
    let reaches = |n: Option<usize>, from: usize, level: usize| {
        n.and_then(|n| places.get(n)).is_some_and(|other| other.0 >= level && other.1 == places[from].1)
    };
    for (n, sign) in signs.iter_mut().enumerate() {
        let joined = [reaches(n.checked_sub(1), n, 1), reaches(Some(n + 1), n, 1)];
        if !joined.contains(&true) {
            continue;
        }
        for level in 1..=places[n].0 {
            let before = reaches(n.checked_sub(1), n, level);
            let after = reaches(Some(n + 1), n, level);
            sign.beams.push(match (before, after) {
                (false, true) => "begin",
                (true, true) => "continue",
                (true, false) => "end",
                (false, false) if joined[1] => "forward hook",
                (false, false) => "backward hook",
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exchange::staff::{Staff, StaffNote};
    use crate::exchange::to_musicxml;
    use crate::music::{Clef, Concert, HalfSteps, PitchClass, Tonality};
    use crate::units::Tempo;

    /// The signs of a bar in four-four; the notes are given by place and length in sixteenths.
    fn bar(notes: &[(i64, i64)]) -> Vec<BarElement> {
        bar_in(Meter::FourFour, notes)
    }
    fn bar_in(meter: Meter, notes: &[(i64, i64)]) -> Vec<BarElement> {
        signs(&piece_in(meter, notes), 0)
    }
    fn piece_in(meter: Meter, notes: &[(i64, i64)]) -> Piece {
        let sixteenth = QUARTER / 4;
        let key = Tonality::major(PitchClass::new(0), false);
        let note = |(at, length): &(i64, i64)| StaffNote {
            written: "C4".parse().unwrap(),
            concert: Concert(60),
            at: Ticks(at * sixteenth),
            length: Ticks(length * sixteenth),
        };
        let notes = notes.iter().map(note).collect();
        let (signature, heading, chords) = (key.signature(), key.to_string(), Vec::new());
        let (pickup, length) = (Ticks(0), Ticks::nearest(meter.bar()));
        let (symbols, stacks, words) = (Vec::new(), Vec::new(), Vec::new());
        Piece {
            key,
            heading,
            signature,
            sounding: key,
            chords,
            symbols,
            notes,
            stacks,
            words,
            brackets: vec![],
            meter,
            pickup,
            length,
        }
    }
    fn beams(notes: &[(i64, i64)]) -> String {
        bar(notes).iter().map(|sign| sign.beams.first().map_or(".", |word| &word[..1])).collect()
    }
    fn lengths(notes: &[(i64, i64)]) -> Vec<i64> {
        bar(notes).iter().map(|sign| sign.length * 4 / QUARTER).collect()
    }

    #[test]
    fn eighths_are_beamed_in_fours_and_anything_else_by_the_beat() {
        // Common practice in four-four time.
        let eighths: Vec<(i64, i64)> = (0..8).map(|n| (2 * n, 2)).collect();
        assert_eq!(beams(&eighths), "bccebcce");
        assert_eq!(beams(&[(0, 2), (2, 2), (4, 4), (8, 1), (9, 1), (10, 2), (12, 4)]), "be.bce.");
        let dotted = bar(&[(0, 3), (3, 1), (4, 12)]);
        assert_eq!((&dotted[0].beams[..], &dotted[1].beams[..]), (&["begin"][..], &["end", "backward hook"][..]));
        assert_eq!(beams(&[(0, 2), (4, 2)]), ".....", "a lone eighth keeps its flag");
    }

    #[test]
    fn beats_stay_visible() {
        // An eighth, a rest to the beat and to the middle; a syncopated quarter is tied over the middle.
        assert_eq!(lengths(&[(0, 2)]), [2, 2, 4, 8]);
        assert_eq!(lengths(&[(0, 6), (6, 4), (10, 6)]), [6, 2, 2, 6]);
        assert_eq!(lengths(&[(4, 8), (12, 4)]), [4, 8, 4]);
        assert_eq!(lengths(&[(0, 16)]), [16]);
    }

    #[test]
    fn six_eight_shows_its_two_beats() {
        // Compound time (common practice of engraving): five eighths are a dotted quarter tied to a quarter, never a half note;
        // a note of the whole bar is a dotted half.
        let lengths = |notes: &[(i64, i64)]| -> Vec<i64> {
            bar_in(Meter::SixEight, notes).iter().map(|sign| sign.length * 4 / QUARTER).collect()
        };
        assert_eq!(lengths(&[(0, 10)]), [6, 4, 2]);
        assert_eq!(lengths(&[(2, 10)]), [2, 4, 6]);
        assert_eq!(lengths(&[(0, 12)]), [12]);
        assert_eq!(lengths(&[(0, 3), (3, 3), (6, 6)]), [3, 3, 6], "two against three");
    }

    #[test]
    fn a_half_note_that_is_tied_over_the_middle_of_six_eight_fills_the_bar() {
        // A quarter has no half in whole numbers of itself, so the file must count in eighths: the durations of a bar add up to it.
        let staff = Staff {
            title: "A bar".to_owned(),
            part: "Flute".to_owned(),
            transposition: HalfSteps(0),
            clef: Clef::Treble,
            tempo: Tempo(90.0),
            swing: false,
            general_midi: 74,
            signatures: false,
            pieces: vec![piece_in(Meter::SixEight, &[(0, 8), (8, 4)])],
        };
        let text = String::from_utf8(to_musicxml(&staff)).unwrap();
        let number = |piece: &str| piece.split('<').next().unwrap().parse::<i64>().unwrap();
        let divisions = number(text.split("<divisions>").nth(1).unwrap());
        let durations: Vec<i64> = text.split("<duration>").skip(1).map(number).collect();
        assert_eq!(
            (durations.iter().sum::<i64>(), durations.len()),
            (3 * divisions, 3),
            "{durations:?} of {divisions}"
        );
    }
}
