use crate::cue::Cue;
use crate::notes::HeardNote;
use crate::pattern::Ticks;
use crate::trade::plan::Exchange;
use crate::trade::way::TradeWay;
use crate::units::{Seconds, median, rank};
use crate::verdict::VariedAs;

/// A shorter sound is no note of the player's line.
const SHORTEST: Seconds = Seconds(0.05);
/// A note stands in its place where it comes at most this much sooner or later, and at most this share of the way to the next place.
const NEAR: Seconds = Seconds(0.12);
const SHARE: f64 = 0.45;
/// A pace that drifts from the band's by this share at most is taken out.
const DRIFT: f64 = 0.04;

/// How a phrase was varied, judged by rule and not against one line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Variation {
    /// By which rule the answer was taken.
    pub taken: VariedAs,
    /// Number of the phrase's notes.
    pub of: usize,
    /// Number of their places in time in which a note was played.
    pub kept: usize,
    /// Whether that is the rhythm of the phrase.
    pub rhythm: bool,
    /// Number of these notes that are not those of the phrase.
    pub changed: usize,
    /// Number of the changed notes that do not suit the chords.
    pub outside: usize,
    /// How far the shape was moved, in half steps; 0 where it is another shape.
    pub moved: i32,
}

impl Variation {
    /// Judges what was heard against the rules; `due` are the instants of the phrase's notes. `None` where no note was heard.
    ///
    /// Up to floor((n + 3) / 8) of n notes may break a rule, as in a drill. Fewer changed notes than two, or than a quarter of all, are
    /// no variation.
    #[must_use]
    pub(super) fn of(exchange: &Exchange, heard: &[HeardNote], due: &[Seconds]) -> Option<Self> {
        let heard: Vec<&HeardNote> = heard.iter().filter(|note| note.length() >= SHORTEST).collect();
        if heard.is_empty() || due.is_empty() {
            return None;
        }
        let (of, slack) = (due.len(), (due.len() + 3) / 8);
        let places = in_places(&heard, due);
        let asked = |n: usize| exchange.cue.line.notes[n].pitch.0;
        let played: Vec<(usize, i32)> = places.iter().map(|(n, j)| (*n, heard[*j].pitch.nearest())).collect();
        let away = |played: &[(usize, i32)]| played.iter().map(|(n, pitch)| pitch - asked(*n)).collect::<Vec<i32>>();
        let octave = 12 * (middle(&away(&played)) as f64 / 12.0).round() as i32;
        let changed = |(n, pitch): &(usize, i32)| pitch - asked(*n) != octave;
        let suits = |place: usize| {
            let (n, pitch) = played[place];
            let at = Ticks::nearest(exchange.phrase.line.notes[n].at);
            exchange.ground.takes(pitch, at, played.get(place + 1).map(|(_, next)| *next))
        };
        let (kept, extra) = (played.len(), heard.len() - played.len());
        let rhythm = kept + slack >= of && extra <= slack;
        let outside = (0..kept).filter(|place| changed(&played[*place]) && !suits(*place)).count();
        let changed = played.iter().filter(|it| changed(it)).count();
        // In another rhythm the notes are compared in their order.
        let in_order = || (0..of).zip(heard.iter().map(|note| note.pitch.nearest())).collect::<Vec<_>>();
        let compared = if rhythm { played.clone() } else { in_order() };
        let moved = moved(&away(&compared), of, slack).filter(|_| rhythm || heard.len() == of);
        let taken = match moved {
            _ if rhythm && changed < 2.max(of / 4) => VariedAs::Repeated,
            Some(_) => VariedAs::Shape,
            None if rhythm && outside <= slack => VariedAs::Rhythm,
            None => VariedAs::Neither,
        };
        Some(Self { taken, of, kept, rhythm, changed, outside, moved: moved.unwrap_or(0) })
    }
}

impl Exchange {
    /// What a simulated player plays: what is asked. Phrases that are to be varied it moves by a step, gives other notes, or repeats, in
    /// turn.
    #[must_use]
    pub fn simulated(&self) -> Cue {
        let mut cue = self.cue.clone();
        if self.way != TradeWay::Vary {
            return cue;
        }
        for (n, note) in cue.line.notes.iter_mut().enumerate() {
            let at = Ticks::nearest(self.phrase.line.notes[n].at);
            let ways = if n % 2 == 0 { [3, 4, 2, 5, -2, -3] } else { [-3, -4, -2, -5, 2, 3] };
            let suits = |by: &i32| self.ground.takes(note.pitch.0 + by, at, None);
            note.pitch.0 += match cue.number % 3 {
                0 => 0,
                1 => -2,
                _ => ways.into_iter().find(suits).unwrap_or(0),
            };
        }
        cue
    }
}

/// For each place in time the note that stands in it, if there is one: the place and the note, by their numbers. A lateness that all notes
/// have in common is taken out, and then a pace that drifts.
fn in_places(heard: &[&HeardNote], due: &[Seconds]) -> Vec<(usize, usize)> {
    let nearest = |note: &&HeardNote| {
        let off = due.iter().map(|due| (note.onset - *due).0);
        off.min_by_key(|off| rank(off.abs())).unwrap_or(0.0)
    };
    let late = median(&heard.iter().map(nearest).collect::<Vec<f64>>()).unwrap_or(0.0).clamp(-NEAR.0, NEAR.0);
    let found = nearest_to(heard, due, &|_| late);
    let off: Vec<(f64, f64)> = found.iter().map(|(n, j)| (due[*n].0, (heard[*j].onset - due[*n]).0)).collect();
    let count = off.len().max(1) as f64;
    let (at, mean) = off.iter().fold((0.0, 0.0), |sum, it| (sum.0 + it.0 / count, sum.1 + it.1 / count));
    let (both, square) = off.iter().fold((0.0, 0.0), |sum, it| {
        let from = it.0 - at;
        (sum.0 + from * (it.1 - mean), sum.1 + from * from)
    });
    let drift = if square > 0.0 { (both / square).clamp(-DRIFT, DRIFT) } else { 0.0 };
    nearest_to(heard, due, &|due| mean + drift * (due - at))
}

/// For each place the nearest note that is near enough, where notes come late by `late` at an instant; notes stay in their order.
fn nearest_to(heard: &[&HeardNote], due: &[Seconds], late: &dyn Fn(f64) -> f64) -> Vec<(usize, usize)> {
    let mut places = Vec::new();
    let mut from = 0;
    for (n, at) in due.iter().enumerate() {
        let gaps = [n.checked_sub(1).and_then(|before| due.get(before)), due.get(n + 1)];
        let gap = gaps.into_iter().flatten().map(|other| (*other - *at).0.abs()).fold(f64::INFINITY, f64::min);
        let near = NEAR.0.min(SHARE * gap);
        let off = |j: &usize| (heard[*j].onset.0 - late(at.0) - at.0).abs();
        if let Some(j) = (from..heard.len()).filter(|j| off(j) <= near).min_by_key(|j| rank(off(j))) {
            places.push((n, j));
            from = j + 1;
        }
    }
    places
}

fn middle(away: &[i32]) -> i32 {
    let mut sorted = away.to_vec();
    sorted.sort_unstable();
    sorted.get(sorted.len() / 2).copied().unwrap_or(0)
}

/// How far a shape was moved: every note but a few by so many half steps, give or take one, since within a key a third may become minor
/// or major. `None` where it is another shape or was not moved to another degree.
fn moved(away: &[i32], of: usize, slack: usize) -> Option<i32> {
    let by = middle(away);
    let along = away.iter().filter(|away| (*away - by).abs() <= 1).count();
    let exactly = away.iter().filter(|away| **away == by).count();
    let elsewhere = match by.rem_euclid(12) {
        0 => false,
        1 | 11 => exactly + slack >= of,
        _ => true,
    };
    (elsewhere && along + slack >= of).then_some(by)
}
