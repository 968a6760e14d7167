use std::collections::BTreeMap;

use crate::music::Concert;
use crate::notes::HeardNote;
use crate::report::held_tone::HeldTone;
use crate::report::judged::number;
use crate::report::moved::{MovedWhere, NoteMoved};
use crate::report::trend::{Doubt, Drift, NORMAL, Slope};
use crate::report::tuning::{PitchCents, PitchRow};
use crate::units::{Cents, Seconds, median, rank, spread};

/// Shorter notes say nothing of intonation.
const SHORTEST: Seconds = Seconds(0.08);
/// Confidence of the ear below which a note says nothing of intonation.
const SURE: f64 = 0.4;
/// Cents of the general offset beyond which the notes may as well be those a half step away.
const EITHER: f64 = 43.0;
/// Smallest number of notes whose common offset is tested.
const TESTED: usize = 6;
/// The bound of that test: n R^2 above 3 comes by chance one time in twenty (Rayleigh's test of a circle; from memory).
const COMMON: f64 = 3.0;
/// Smallest number of notes for a drift.
const DRIFTS: usize = 8;
/// Largest number of notes that a drift compares; more are thinned evenly, because a line through them compares every two.
const COMPARED: usize = 400;
/// Correlation of time and pitch from which a drift cannot be told apart from a scale that is out of tune higher up.
const ONE_WAY: f64 = 0.8;
/// Ratio of the two fits below which a step between the ways and a line in time fit nearly as well, so that both are named.
const NEARLY: f64 = 1.15;

/// Smallest number of pitches that came both ways for a word on the way down as a whole.
const BOTH_WAYS: usize = 4;
/// The way down lies off the way up as a whole where it lies off by more than this and by more than so many standard errors.
const WAYS_APART: (f64, f64) = (5.0, 3.0);
/// A median is less certain than a mean: its standard error is larger by this factor under a normal spread (pi / 2, square root).
const MEDIAN: f64 = 1.2533;
/// Smallest number of notes that tell whether the player moves all notes alike.
const ALL_MOVE: usize = 6;
/// Smallest sag or rise within its notes that is a habit of the run, in cents.
const MOVES: f64 = 15.0;
/// Share of the notes that must move by half of that at least for a habit.
const MOST: f64 = 0.75;
/// A note is told by itself where it moves by more than this, in cents, and more than the others by so many of their standard deviations:
/// many instruments rise into every note.
const MOVES_ALONE: (f64, f64) = (20.0, 3.0);

/// What a run of notes says of intonation: one row for each pitch, going up and going down apart, and beside the rows what all notes have
/// in common.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RunIntonation {
    /// The median distance of all notes that count from their equal-tempered pitch, taken out of every row; `None` where no note counts.
    pub offset: Option<Cents>,
    /// The general offset if every note is named a half step away; `None` where that reading is less likely, or the first note was named.
    pub other: Option<Cents>,
    /// How far the general offset moved in the run.
    pub drift: Option<Drift>,
    /// How far the way down as a whole lies above the way up, over the pitches that came both ways; `None` where the ways lie alike, as
    /// far as their scatter tells.
    pub way_down: Option<Cents>,
    /// How far most notes moved from their beginning to their end; `None` where they do not move alike, or by less than 15 cents.
    pub notes_move: Option<Cents>,
    /// Rows by rising pitch.
    pub rows: Vec<PitchRow>,
    /// The same rows with what each way has in common taken out, where the way down as a whole lies off: what is left is the note's own.
    pub own: Vec<PitchRow>,
    /// The pitches that moved while they sounded by more than the others did.
    pub moved: Vec<MovedRow>,
    /// Tones held for two seconds or more.
    pub held: Vec<HeldTone>,
    /// Number of notes that were heard.
    pub heard: u32,
    /// Number of heard notes that were too short or too unclear to say anything of intonation.
    pub unclear: u32,
    /// The pitch of the first note that counts.
    pub first: Option<Concert>,
}

/// A pitch that moved while it sounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MovedRow {
    /// The pitch.
    pub pitch: Concert,
    /// How far it moved from beginning to end, the median of the notes that did; above 0 is upwards.
    pub by: Cents,
    /// Where in the note it moved.
    pub place: MovedWhere,
    /// Number of notes of this pitch that moved so, and of all its notes that count.
    pub times: (u32, u32),
}

/// A note of a run: when it began in seconds, from where it was reached, its pitch, and how far off it is in cents.
struct Placed {
    at: f64,
    /// Direction from which the note was reached: below zero from above, above zero from below, zero for a first note and a
    /// repeated one.
    way: f64,
    pitch: i32,
    off: f64,
    moved: Option<NoteMoved>,
}

impl RunIntonation {
    /// Works out the intonation of a run from its notes, from the tones that were held and from how the others moved. The notes are named after what they have
    /// in common was taken out, so that a horn 40 cents sharp does not name its flat notes a half step low.
    #[must_use]
    pub fn of(notes: &[HeardNote], held: &[HeldTone], moved: &[NoteMoved]) -> Self {
        Self::named(notes, held, moved, &Naming::Nearest { higher: 0 })
    }

    /// The intonation of notes each of which has a name already, however far it lies off.
    #[must_use]
    pub fn of_named(notes: &[HeardNote], moved: &[NoteMoved], names: &[Concert]) -> Self {
        Self { other: None, ..Self::named(notes, &[], moved, &Naming::Told(names)) }
    }

    fn named(notes: &[HeardNote], held: &[HeldTone], moved: &[NoteMoved], by: &Naming<'_>) -> Self {
        let clear: Vec<(usize, &HeardNote)> =
            notes.iter().enumerate().filter(|(_, note)| note.length() >= SHORTEST && note.confidence >= SURE).collect();
        let counts = Self {
            held: held.to_vec(),
            heard: number(notes.len()),
            unclear: number(notes.len() - clear.len()),
            ..Self::default()
        };
        let cents: Vec<f64> = clear.iter().map(|(_, note)| note.pitch.0 * 100.0).collect();
        let Some(common) = common(&cents) else { return counts };
        let placed = placed(&clear, moved, common, by);
        let drift = drift(&placed);
        let slope = drift.filter(|drift| drift.taken_out).map_or(0.0, |drift| drift.by.0);
        let (from, until) = (placed[0].at, placed[placed.len() - 1].at);
        // The line is zero in the middle of the run, so that the offset is that of the whole run.
        let line = |note: &Placed| slope * ((note.at - from) / (until - from).max(f64::MIN_POSITIVE) - 0.5);
        let offset = median(&placed.iter().map(|note| note.off - line(note)).collect::<Vec<_>>()).unwrap_or(0.0);
        let rows = rows(&placed, &|note, _| note.off - line(note) - offset);
        let ways = ways(&rows);
        let own = ways.map_or_else(
            || rows.clone(),
            |(up, down)| {
                let side = |way: f64| if way < 0.0 { down } else { up };
                self::rows(&placed, &|note, way| note.off - line(note) - offset - side(way))
            },
        );
        let notes_move = notes_move(&placed);
        let beside = offset - 100.0 * offset.signum();
        Self {
            offset: Some(Cents(offset)),
            other: (by.may_be_others() && offset.abs() > EITHER).then_some(Cents(beside)),
            drift,
            way_down: ways.map(|(up, down)| Cents(down - up)),
            notes_move: notes_move.map(Cents),
            moved: moved_rows(&placed),
            rows,
            own,
            first: placed.first().map(|note| Concert(note.pitch)),
            ..counts
        }
    }

    /// The intonation of the run with its notes named so that the first note is `first`; `None` where that is further than a half step from
    /// what was heard, or no note counts.
    #[must_use]
    pub fn begun_on(notes: &[HeardNote], held: &[HeldTone], moved: &[NoteMoved], first: Concert) -> Option<Self> {
        let plain = Self::of(notes, held, moved);
        let higher = first.0 - plain.first?.0;
        match higher {
            0 => Some(Self { other: None, ..plain }),
            -1 | 1 => Some(Self::named(notes, held, moved, &Naming::Nearest { higher })),
            _ => None,
        }
    }
}

/// What the pitches (in cents) have in common, from -50 to 50: the middle of their places on a circle of a half step, so that
/// 45 cents sharp and 45 flat are neighbours (circular statistics: Mardia 1972, from memory). Where they have nothing in
/// common it is the middle of their distances from the nearest pitch.
fn common(cents: &[f64]) -> Option<f64> {
    let turn = std::f64::consts::TAU / 100.0;
    let (sine, cosine) =
        cents.iter().fold((0.0, 0.0), |sum, cents| (sum.0 + (cents * turn).sin(), sum.1 + (cents * turn).cos()));
    let count = cents.len() as f64;
    if cents.len() >= TESTED && (sine * sine + cosine * cosine) / count < COMMON {
        return median(&cents.iter().map(|cents| beside(*cents)).collect::<Vec<_>>());
    }
    let mean = f64::atan2(sine, cosine) / turn;
    let rest = median(&cents.iter().map(|cents| beside(cents - mean)).collect::<Vec<_>>())?;
    Some(beside(mean + rest))
}

/// The distance from the nearest pitch, in cents.
fn beside(cents: f64) -> f64 {
    cents - 100.0 * (cents / 100.0).round()
}

/// How the notes of a run get their names.
enum Naming<'a> {
    /// Each by the nearest pitch, what all have in common taken out, and so many half steps higher.
    Nearest { higher: i32 },
    /// Each by a name that was told, in the order of the notes.
    Told(&'a [Concert]),
}

impl Naming<'_> {
    const fn may_be_others(&self) -> bool {
        matches!(self, Self::Nearest { higher: 0 })
    }
}

fn placed(notes: &[(usize, &HeardNote)], moved: &[NoteMoved], common: f64, by: &Naming<'_>) -> Vec<Placed> {
    let mut before = None;
    let placed = notes.iter().map(|(n, note)| {
        let nearest = |higher: i32| (note.pitch.0 - common / 100.0 + f64::from(higher)).round();
        let pitch = match by {
            Naming::Nearest { higher } => nearest(*higher),
            Naming::Told(names) => names.get(*n).map_or_else(|| nearest(0), |name| f64::from(name.0)),
        };
        let way = before.replace(pitch).map_or(0.0, |before: f64| match pitch - before {
            step if step > 0.0 => 1.0,
            step if step < 0.0 => -1.0,
            _ => 0.0,
        });
        let moved = moved.iter().find(|moved| moved.number == note.number).copied();
        Placed { at: note.onset.0, way, pitch: pitch as i32, off: 100.0 * (note.pitch.0 - pitch), moved }
    });
    placed.collect()
}

/// One row for each pitch, by rising pitch; `off` gives the cents of a note, told also the way on which it lies: its own, or for a first or
/// repeated note that of the note before it, or at the beginning after it.
fn rows(placed: &[Placed], off: &dyn Fn(&Placed, f64) -> f64) -> Vec<PitchRow> {
    let mut rows: BTreeMap<Concert, PitchCents> = BTreeMap::new();
    let mut way = placed.iter().map(|note| note.way).find(|way| *way != 0.0).unwrap_or(0.0);
    for note in placed {
        way = if note.way == 0.0 { way } else { note.way };
        rows.entry(Concert(note.pitch)).or_default().add(off(note, way), note.way);
    }
    rows.into_iter().filter_map(|(pitch, heard)| heard.row(pitch)).collect()
}

/// The median of the way up and that of the way down, over the pitches that came both ways, where these differ by more than chance.
fn ways(rows: &[PitchRow]) -> Option<(f64, f64)> {
    let both: Vec<(f64, f64)> = rows.iter().filter_map(|row| Some((row.up?.0, row.down?.0))).collect();
    if both.len() < BOTH_WAYS {
        return None;
    }
    let apart: Vec<f64> = both.iter().map(|(up, down)| down - up).collect();
    let error = MEDIAN * NORMAL * spread(&apart)? / (apart.len() as f64).sqrt();
    let (far, sure) = WAYS_APART;
    let by = median(&apart)?;
    let up = median(&both.iter().map(|ways| ways.0).collect::<Vec<_>>())?;
    (by.abs() > far.max(sure * error)).then_some((up, up + by))
}

/// How far the notes of a run move from their beginning to their end, where most of them move alike.
fn notes_move(placed: &[Placed]) -> Option<f64> {
    let by: Vec<f64> = placed.iter().filter_map(|note| Some(note.moved?.by.0)).collect();
    let middle = median(&by).filter(|by_all| by.len() >= ALL_MOVE && by_all.abs() >= MOVES)?;
    let alike = by.iter().filter(|by| **by * middle.signum() >= 0.5 * middle.abs()).count();
    (alike as f64 >= MOST * by.len() as f64).then_some(middle)
}

/// The pitches that moved while they sounded by more than `MOVES_ALONE` and more than the others, the farthest first.
fn moved_rows(placed: &[Placed]) -> Vec<MovedRow> {
    let all: Vec<f64> = placed.iter().filter_map(|note| Some(note.moved?.by.0)).collect();
    let usual = |of: fn(&[f64]) -> Option<f64>| of(&all).filter(|_| all.len() >= ALL_MOVE).unwrap_or(0.0);
    let (middle, scatter) = (usual(median), NORMAL * usual(spread));
    let (least, sure) = MOVES_ALONE;
    let alone = |by: f64| by.abs() > least && (by - middle) * by.signum() > least.max(sure * scatter);
    let mut found: BTreeMap<(i32, MovedWhere), Vec<f64>> = BTreeMap::new();
    for (note, moved) in placed.iter().filter_map(|note| Some((note, note.moved?))) {
        if alone(moved.by.0) {
            found.entry((note.pitch, moved.place)).or_default().push(moved.by.0);
        }
    }
    let row = |((pitch, place), by): ((i32, MovedWhere), Vec<f64>)| {
        let of = placed.iter().filter(|note| note.pitch == pitch).count();
        let times = (number(by.len()), number(of));
        Some(MovedRow { pitch: Concert(pitch), by: Cents(median(&by)?), place, times })
    };
    let mut rows: Vec<MovedRow> = found.into_iter().filter_map(row).collect();
    rows.sort_by_cached_key(|row| rank(-row.by.abs().0));
    rows
}

/// The drift of a run. Each pitch that comes back is compared with itself, so that a note's own intonation is no drift; where too
/// few come back, one line goes through all notes.
fn drift(placed: &[Placed]) -> Option<Drift> {
    if placed.len() < DRIFTS {
        return None;
    }
    let time = placed.last()?.at - placed.first()?.at;
    let thin: Vec<&Placed> = placed.iter().step_by(placed.len().div_ceil(COMPARED)).collect();
    let mut rows: BTreeMap<i32, Vec<&Placed>> = BTreeMap::new();
    thin.iter().for_each(|note| rows.entry(note.pitch).or_default().push(note));
    rows.retain(|_, notes| notes.len() > 1);
    if rows.values().map(Vec::len).sum::<usize>() < DRIFTS || 2 * rows.len() < DRIFTS {
        let points = thin.iter().map(|note| (note.at, note.off)).collect();
        let one_way = alike(&thin) >= ONE_WAY;
        let drift = Slope::of(&[points], 1)?.over(time, one_way.then_some(Doubt::OneWay));
        return Some(Drift { taken_out: drift.taken_out && !one_way, ..drift });
    }
    let (mut all, mut ways) = (Vec::new(), [Vec::new(), Vec::new(), Vec::new()]);
    for notes in rows.values() {
        let mean = |of: fn(&Placed) -> f64| notes.iter().map(|note| of(note)).sum::<f64>() / notes.len() as f64;
        let (at, off) = (mean(|note| note.at), mean(|note| note.off));
        for note in notes {
            let point = (note.at - at, note.off - off);
            all.push(point);
            ways[(note.way + 1.0) as usize].push(point);
        }
    }
    let line = Slope::of(&[all], rows.len())?;
    // Two more fits: a step between the ways without any line, and a line beside such a step.
    let step: f64 = ways.iter().map(|points| scatter(points)).sum();
    let beside = Slope::of(&ways, rows.len() + 1);
    match beside {
        Some(beside) if NEARLY * step < line.left => Some(beside.over(time, None)),
        _ => Some(line.over(time, (step < NEARLY * line.left).then_some(Doubt::WayDown))),
    }
}

/// Sum of the distances of points from their median, signs aside.
fn scatter(points: &[(f64, f64)]) -> f64 {
    let middle = median(&points.iter().map(|point| point.1).collect::<Vec<_>>()).unwrap_or(0.0);
    points.iter().map(|point| (point.1 - middle).abs()).sum()
}

/// How closely pitch goes with time, 0 to 1 (Pearson's correlation).
fn alike(notes: &[&Placed]) -> f64 {
    let mean = |of: &dyn Fn(&Placed) -> f64| notes.iter().map(|note| of(note)).sum::<f64>() / notes.len() as f64;
    let (at, pitch) = (mean(&|note| note.at), mean(&|note| f64::from(note.pitch)));
    let times = |a: &dyn Fn(&Placed) -> f64, b: &dyn Fn(&Placed) -> f64| notes.iter().map(|n| a(n) * b(n)).sum::<f64>();
    let (t, p) = (|note: &Placed| note.at - at, |note: &Placed| f64::from(note.pitch) - pitch);
    (times(&t, &p) / (times(&t, &t) * times(&p, &p)).sqrt().max(f64::MIN_POSITIVE)).abs()
}

#[cfg(test)]
#[path = "run_tests.rs"]
mod tests;
