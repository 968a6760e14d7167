//! The kinds of faults, each planted in a line that was right.

use earfirst::outside::verdict::Finding;

use super::manner::{BEAT_ZERO, CUE_END, Manner, Take};
use super::rhythm;
use super::robot::Stroke;
use crate::chance::Chance;

/// A fault as it was planted; places are counted from 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Planted {
    Wrong(usize, i32),
    Missed(usize),
    /// A note too many after this many notes.
    Extra(usize),
    Octave(usize, i32),
    OtherKey(i32),
    WholeOctave(i32),
    FalseStart,
    BrokeOff(usize),
    Twice(usize),
    OutOfTune(usize),
    Uneven,
    Late(usize),
    Begun(f64),
    Rhythm,
    /// A stop after this many notes, and the line taken up again from this place.
    WentBack(usize, usize),
}

impl Planted {
    /// Whether a finding is this fault, at its place.
    pub fn is(self, found: &Finding) -> bool {
        match (self, found) {
            (Self::Wrong(place, by), Finding::Wrong(notes)) => notes.iter().any(|it| (it.0, it.1.0) == (place, by)),
            (Self::Octave(place, by), Finding::Displaced(notes)) => {
                notes.iter().any(|it| (it.0, it.1.0) == (place, by))
            }
            (Self::Missed(place), Finding::Missed(notes)) => notes.contains(&place),
            (Self::Extra(after), Finding::Extra(notes)) => notes.iter().any(|(at, _)| *at == after),
            (Self::OtherKey(by), Finding::OtherKey(said)) | (Self::WholeOctave(by), Finding::OtherOctave(said)) => {
                said.0 == by
            }
            (Self::FalseStart, Finding::Attempts(_)) | (Self::Uneven, Finding::Uneven { .. }) => true,
            (Self::Rhythm, Finding::Rhythm(_)) => true,
            (Self::BrokeOff(at), Finding::BrokeOff { after }) => *after == at,
            (Self::Twice(place), Finding::StruckTwice(notes)) => notes.contains(&place),
            (Self::OutOfTune(place), Finding::OutOfTune(notes)) => notes.iter().any(|it| it.0 == place),
            (Self::Late(place), Finding::Astray(notes)) => notes.len() == 1 && notes[0].note == place,
            (Self::WentBack(after, from), Finding::TakenUp(times)) => {
                matches!(&times[..], [it] if it.from == from && it.from + it.notes.len() == after)
            }
            (Self::Begun(beats), Finding::Begun { beats: said }) => (said - beats).abs() < 0.3,
            _ => false,
        }
    }
}

/// One answer with what was planted in it.
pub struct Case {
    pub take: Take,
    pub planted: Vec<Planted>,
}

/// Every kind of fault (`told.rs` checks all kinds together).
pub const FAULTS: [&str; 25] = [
    "wrong",
    "wrong, equal to its neighbour",
    "missed",
    "extra",
    "octave",
    "whole octave",
    "wrong key",
    "false start",
    "broke off",
    "struck twice",
    "one note out of tune",
    "uneven, straight",
    "uneven, swung",
    "one note late",
    "half a beat late",
    "a beat late",
    "a bar late",
    "three beats early",
    "even for its own rhythm",
    "rhythm 3-3-2",
    "rhythm of a charleston",
    "dotted for even",
    "triplets for eighths",
    "a rest left out",
    "an off-beat begun on the beat",
];

pub fn case(kind: &str, seed: u64) -> Case {
    let chance = &mut Chance::new(seed);
    let tempo = chance.pick(&[60.0, 80.0, 100.0, 120.0, 144.0]);
    let human = Manner { chirps: 0.0, swing: None, ..Manner::human(chance) };
    // Among notes that stray by twenty milliseconds nobody could name one that strays by eighty-six.
    let human = if kind == "one note late" { Manner { onsets: 0.01, ..human } } else { human };
    let usual = |chance: &mut Chance| Take::drawn(chance, tempo, (5, 12), false, human);
    match kind {
        "dead in time" => Case { take: Take::drawn(chance, tempo, (4, 16), false, Manner::DEAD), planted: Vec::new() },
        "as people play" => {
            let manner = Manner::human(chance);
            let swung = chance.happens(0.3);
            Case { take: Take::drawn(chance, tempo, (4, 16), swung, manner), planted: Vec::new() }
        }
        "with squeaks" => {
            let manner = Manner { chirps: 0.4, ..Manner::human(chance) };
            Case { take: Take::drawn(chance, tempo, (4, 16), false, manner), planted: Vec::new() }
        }
        "a note ten inside the band" => out_of_tune(usual(chance), chance, -10.0),
        _ if rhythm::KINDS.contains(&kind) => rhythm::case(kind, chance, tempo, human),
        "uneven, straight" | "uneven, swung" => uneven(kind == "uneven, swung", chance),
        "two faults" => {
            let [one, other] = chance.pick(&[
                ["wrong", "missed"],
                ["wrong", "extra"],
                ["octave", "a beat late"],
                ["wrong", "a beat late"],
                ["missed", "a bar late"],
                ["one note out of tune", "a beat late"],
                ["one note late", "one note out of tune"],
                ["wrong", "one note out of tune"],
            ]);
            let mut both = Case { take: Take::drawn(chance, tempo, (7, 12), false, human), planted: Vec::new() };
            for kind in [one, other] {
                both = plant(kind, both, chance);
            }
            both
        }
        _ => {
            let take = usual(chance);
            plant(kind, Case { take, planted: Vec::new() }, chance)
        }
    }
}

/// A place with a neighbour on either side, away from what was planted so far.
fn free(case: &Case, chance: &mut Chance) -> usize {
    let count = case.take.places.len();
    let taken = |place: usize| {
        case.planted.iter().any(|it| match *it {
            Planted::Wrong(at, _) | Planted::Octave(at, _) | Planted::Missed(at) => place.abs_diff(at) < 2,
            Planted::Extra(at) | Planted::Late(at) | Planted::OutOfTune(at) => place.abs_diff(at) < 2,
            _ => false,
        })
    };
    let open: Vec<usize> = (1..count - 1).filter(|place| !taken(*place)).collect();
    if open.is_empty() { 1 } else { chance.pick(&open) }
}

fn plant(kind: &str, mut case: Case, chance: &mut Chance) -> Case {
    let place = free(&case, chance);
    let pitches: Vec<i32> = case.take.asked.line.notes.iter().map(|note| note.pitch.0).collect();
    let near = [pitches[place - 1], pitches[place + 1]];
    let take = &mut case.take;
    let planted = match kind {
        "wrong" => {
            let steps: Vec<i32> =
                [-2, -1, 1, 2, 3, -3].into_iter().filter(|by| !near.contains(&(pitches[place] + by))).collect();
            let by = chance.pick(&steps);
            take.places[place].as_mut().unwrap().pitch += f64::from(by);
            Planted::Wrong(place, by)
        }
        "wrong, equal to its neighbour" => {
            let by = chance.pick(&near) - pitches[place];
            if by == 0 || by % 12 == 0 {
                return plant("wrong", case, chance);
            }
            take.places[place].as_mut().unwrap().pitch += f64::from(by);
            Planted::Wrong(place, by)
        }
        "missed" => {
            // Beside an equal note, nobody can say which of the two is missing.
            if near.contains(&pitches[place]) {
                return plant("wrong", case, chance);
            }
            take.places[place] = None;
            Planted::Missed(place)
        }
        "extra" => return extra(case, place, chance),
        "octave" => {
            // A note that the instrument does not have cannot be played.
            let (pitch, whole) = (take.asked.line.notes[place].pitch, take.instrument.advanced);
            let ways = [12, -12].into_iter().filter(|by| (whole.low.0..=whole.high.0).contains(&(pitch.0 + by)));
            let ways: Vec<i32> = ways.collect();
            if ways.is_empty() {
                return plant("wrong", case, chance);
            }
            let by = chance.pick(&ways);
            take.places[place].as_mut().unwrap().pitch += f64::from(by);
            Planted::Octave(place, by)
        }
        "whole octave" | "wrong key" => {
            let by = if kind == "wrong key" { chance.pick(&[-3, -2, -1, 1, 2, 3, 5]) } else { octave(take, chance) };
            take.places.iter_mut().flatten().for_each(|stroke| stroke.pitch += f64::from(by));
            if kind == "wrong key" { Planted::OtherKey(by) } else { Planted::WholeOctave(by) }
        }
        "struck twice" => return twice(case, place, chance),
        "one note out of tune" => {
            let mut more = out_of_tune(case.take, chance, 10.0);
            more.planted.extend(case.planted);
            return more;
        }
        _ => return in_time(kind, case, place, chance),
    };
    case.planted.push(planted);
    case
}

/// Plants a fault of time: a false start, going back, breaking off, one late note, or coming in off the beat.
fn in_time(kind: &str, mut case: Case, place: usize, chance: &mut Chance) -> Case {
    let (beat, count) = (case.take.beat(), case.take.places.len());
    let take = &mut case.take;
    let planted = match kind {
        "false start" => {
            let tried = chance.whole(2, 2.max(count as i32 - 2)) as usize;
            let first: Vec<Stroke> = take.places[..tried].iter().flatten().cloned().collect();
            let ended = first.iter().map(|stroke| stroke.at + stroke.length).fold(0.0, f64::max);
            let wait = ended + chance.between(0.35, 0.8) - take.places[0].as_ref().unwrap().at;
            take.push(0, wait);
            take.more.extend(first);
            Planted::FalseStart
        }
        "went back" => {
            let after = chance.whole(2, count as i32 - 1) as usize;
            let from = chance.whole(1, after as i32 - 1) as usize;
            let again: Vec<Stroke> = take.places[from..after].iter().flatten().cloned().collect();
            let ended = again.iter().map(|stroke| stroke.at + stroke.length).fold(0.0, f64::max);
            let wait = ended + chance.between(0.25, 1.2) - again[0].at;
            take.push(from, wait);
            take.more.extend(again);
            Planted::WentBack(after, from)
        }
        "broke off" => {
            let after = chance.whole(2, count as i32 - 2) as usize;
            take.places[after..].fill(None);
            Planted::BrokeOff(after)
        }
        "one note late" => {
            let late = take.places.iter().map(|stroke| stroke.as_ref().map_or(0.0, |it| it.at)).collect::<Vec<_>>();
            let gap = (late[place + 1] - late[place]).max(0.0);
            if gap < 0.19 && gap > 0.0 {
                return plant("wrong", case, chance);
            }
            let stroke = take.places[place].as_mut().unwrap();
            (stroke.at, stroke.length) = (stroke.at + 0.086, (stroke.length - 0.086).max(0.08));
            Planted::Late(place)
        }
        _ => {
            let beats = match kind {
                // At least half a beat and at least a quarter of a second, as the program tells it, and .12 beats more, because at the
                // bound itself either verdict is right.
                "half a beat late" => 0.5f64.max(0.25 / beat) + 0.12,
                "a beat late" => 1.0f64.max(0.25 / beat + 0.12),
                "a bar late" => 4.0,
                _ => -3.0f64.min((BEAT_ZERO - CUE_END - 0.2) / beat),
            };
            take.push(0, beats * beat);
            take.more.iter_mut().for_each(|stroke| stroke.at += beats * beat);
            Planted::Begun(beats)
        }
    };
    case.planted.push(planted);
    case
}

/// An octave up or down, where the instrument has it.
fn octave(take: &Take, chance: &mut Chance) -> i32 {
    let (range, whole) = (take.asked.line.range(), take.instrument.advanced);
    let fits = |by: &i32| range.low.0 + by >= whole.low.0 && range.high.0 + by <= whole.high.0;
    let ways: Vec<i32> = [12, -12].into_iter().filter(fits).collect();
    if ways.is_empty() { 12 } else { chance.pick(&ways) }
}

/// A note too many: the others wait for it, or it takes half of the note before it.
fn extra(mut case: Case, place: usize, chance: &mut Chance) -> Case {
    let pitches: Vec<i32> = case.take.asked.line.notes.iter().map(|note| note.pitch.0).collect();
    let here = case.take.places[place].clone().unwrap();
    let next = case.take.places[place + 1].as_ref().map_or(here.at + 0.4, |stroke| stroke.at);
    let near = [pitches[place - 1], pitches[place], pitches[place + 1]];
    let steps: Vec<i32> =
        [-4, -3, -2, 2, 3, 4].into_iter().filter(|by| !near.contains(&(pitches[place] + by))).collect();
    let pitch = here.pitch.round() + f64::from(chance.pick(&steps));
    let gap = next - here.at;
    let at = if chance.happens(0.5) || gap < 0.24 {
        case.take.push(place + 1, gap);
        next
    } else {
        case.take.places[place].as_mut().unwrap().length = 0.45 * gap;
        here.at + 0.5 * gap
    };
    let length = if at == next { here.length } else { 0.45 * gap };
    case.take.more.push(Stroke { at, length, pitch, ..here });
    case.planted.push(Planted::Extra(place + 1));
    case
}

/// The same note struck again 60 ms or more after it began, damped by 8 to 20 dB before.
fn twice(mut case: Case, place: usize, chance: &mut Chance) -> Case {
    let here = case.take.places[place].clone().unwrap();
    let next = case.take.places[place + 1].as_ref().map_or(here.at + 0.5, |stroke| stroke.at);
    let gap = next - here.at;
    let after = chance.between(0.06, (0.62 * gap).max(0.065)).max(0.06);
    let first = case.take.places[place].as_mut().unwrap();
    (first.length, first.damped) = (after, Some(chance.between(8.0, 20.0)));
    let length = (0.9 * gap - after).max(0.07);
    case.take.more.push(Stroke { at: here.at + after, length, ..here });
    case.planted.push(Planted::Twice(place));
    case
}

/// An answer with one note `beyond` cents outside the band in which a note of this instrument counts as in tune. Where `beyond` is below
/// 0 the note lies inside the band, and nothing is planted.
fn out_of_tune(mut take: Take, chance: &mut Chance, beyond: f64) -> Case {
    let earfirst::outside::music::Intonation::Scored { acceptable, .. } = take.asked.intonation else { unreachable!() };
    let planted = take.places.iter().position(Option::is_none);
    let mut places: Vec<usize> = (0..take.places.len())
        .filter(|place| take.places[*place].as_ref().is_some_and(|stroke| stroke.length > 0.12))
        .collect();
    places.retain(|place| planted.is_none_or(|at| at.abs_diff(*place) > 1));
    let asked: Vec<i32> = take.asked.line.notes.iter().map(|note| note.pitch.0).collect();
    let right = |place: &usize| take.places[*place].as_ref().is_some_and(|it| it.pitch.round() as i32 == asked[*place]);
    places.retain(right);
    let place =
        if places.is_empty() { take.places.iter().position(Option::is_some).unwrap() } else { chance.pick(&places) };
    let cents = (acceptable.0 + beyond) * if chance.happens(0.5) { 1.0 } else { -1.0 };
    let whole: Vec<f64> = take.places.iter().flatten().map(|stroke| stroke.pitch - stroke.pitch.round()).collect();
    let tuning = earfirst::outside::units::median(&whole).unwrap();
    let stroke = take.places[place].as_mut().unwrap();
    stroke.pitch = stroke.pitch.round() + tuning + 0.01 * cents;
    let planted = if beyond > 0.0 { vec![Planted::OutOfTune(place)] } else { Vec::new() };
    Case { take, planted }
}

/// Values without the straight line through them (least squares), which would be another pace or another beginning, and their root mean
/// square.
fn off_their_line(beats: &[f64], mut values: Vec<f64>) -> (Vec<f64>, f64) {
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let (middle, at) = (mean(&values), mean(beats));
    let slope = beats.iter().zip(&values).map(|(b, m)| (b - at) * (m - middle)).sum::<f64>()
        / beats.iter().map(|b| (b - at).powi(2)).sum::<f64>();
    values.iter_mut().zip(beats).for_each(|(m, b)| *m -= middle + slope * (b - at));
    let rms = mean(&values.iter().map(|m| m * m).collect::<Vec<_>>()).sqrt();
    (values, rms)
}

/// An answer whose onsets lie off their own pulse by 45 ms or by seven hundredths of a beat, whichever is more (root mean square). The
/// tempo is one of four.
fn uneven(swung: bool, chance: &mut Chance) -> Case {
    let tempo = chance.pick(&[60.0, 100.0, 160.0, 240.0]);
    let held = (0.6, 0.9);
    let mut take = Take::drawn(chance, tempo, (8, 16), swung, Manner { held, cents: 8.0, ..Manner::DEAD });
    let off = 0.045f64.max(0.07 * 60.0 / tempo);
    let beats: Vec<f64> = take.asked.line.notes.iter().map(|note| note.at.0).collect();
    let even: Vec<f64> = take.places.iter().flatten().map(|stroke| stroke.at).collect();
    let drawn = |chance: &mut Chance| {
        let (moved, rms) = off_their_line(&beats, beats.iter().map(|_| chance.normal(1.0)).collect());
        let mut at: Vec<f64> = even.iter().zip(&moved).map(|(at, moved)| at + off * moved / rms).collect();
        // Nobody plays a note before the one before it.
        (1..at.len()).for_each(|n| at[n] = at[n].max(at[n - 1] + 0.075));
        at
    };
    // At a quarter = 240 that leaves many a line less uneven than was wanted; such a line is drawn anew.
    let planted =
        |at: &[f64]| off_their_line(&beats, at.iter().zip(&even).map(|(at, even)| at - even).collect()).1 > 0.95 * off;
    let at = (0..1000).map(|_| drawn(chance)).find(|at| planted(at)).expect("some line is as uneven as that");
    let ends: Vec<f64> = at.iter().skip(1).copied().chain([f64::INFINITY]).collect();
    for ((stroke, at), end) in take.places.iter_mut().flatten().zip(at).zip(ends) {
        (stroke.at, stroke.length) = (at, stroke.length.min(end - at));
    }
    Case { take, planted: vec![Planted::Uneven] }
}
