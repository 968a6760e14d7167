use std::collections::BTreeMap;

use crate::music::Concert;
use crate::notes::HeardNote;
use crate::report::held_tone::HeldTone;
use crate::report::judged::number;
use crate::report::moved::NoteMoved;
use crate::report::over_pitch::OverPitch;
use crate::report::over_time::{OverTime, RunArch};
use crate::report::placed::{Naming, Placed, common, placed};
use crate::report::run_moves::{MovedRow, PartMoves, moved_rows, notes_move, part_moves};
use crate::report::run_slips::{RunSlip, slips};
use crate::report::trend::{Drift, NORMAL};
use crate::report::tuning::{PitchCents, PitchRow};
use crate::units::{Cents, Seconds, median, spread};

/// Shorter notes say nothing of intonation.
const SHORTEST: Seconds = Seconds(0.08);
/// Confidence of the ear below which a note says nothing of intonation.
const SURE: f64 = 0.4;
/// Cents of the general offset beyond which the notes may as well be those a half step away.
const EITHER: f64 = 43.0;
/// Smallest number of pitches that came both ways for a word on the way down as a whole.
const BOTH_WAYS: usize = 4;
/// The way down lies off the way up as a whole where it lies off by more than this and by more than so many standard errors.
const WAYS_APART: (f64, f64) = (5.0, 3.0);
/// A median is less certain than a mean: its standard error is larger by this factor under a normal spread (pi / 2, square root).
const MEDIAN: f64 = 1.2533;
/// Smallest step between the notes before and those after that is told.
const FELT: Cents = Cents(8.0);
/// A run that turns more often than once in so many notes goes up and down from note to note.
const ZIGZAG: usize = 4;

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
    /// The pitch rose and fell again, or the other way round, and that explains more than a drift, a step, the ways or the height of the notes;
    /// nothing is said of these then.
    pub arch: Option<RunArch>,
    /// How far the way down as a whole lies above the way up, over the pitches that came both ways; `None` where the ways lie alike, as
    /// far as their scatter tells.
    pub way_down: Option<Cents>,
    /// The step by which all notes from one on lie off those before.
    pub step: Option<RunStep>,
    /// How intonation goes with height; `None` where it does not, and where the run goes one way only, so that nobody can tell.
    pub over_pitch: Option<OverPitch>,
    /// Whether up and down go from note to note, as in thirds, rather than in long ways.
    pub zigzag: bool,
    /// How far most notes moved from their beginning to their end; `None` where they do not move alike, or by less than 15 cents.
    pub notes_move: Option<Cents>,
    /// The part of the run whose notes moved alike while the others did not.
    pub part_moves: Option<PartMoves>,
    /// Rows by rising pitch.
    pub rows: Vec<PitchRow>,
    /// The same rows with what several notes have in common taken out too: a step, a way down that lies off as a whole, what goes with
    /// height, and the sag of a part. What is left is the note's own.
    pub own: Vec<PitchRow>,
    /// What is left of each note that counts, by its place among the notes heard, where all that [`own`](Self::own) leaves out is out.
    pub own_notes: Vec<(usize, Cents)>,
    /// The pitches that moved while they sounded by more than the others did.
    pub moved: Vec<MovedRow>,
    /// Where a chromatic run does not go on by half steps, each with whether it lies on a way up.
    pub slips: Vec<(RunSlip, bool)>,
    /// Tones held for two seconds or more.
    pub held: Vec<HeldTone>,
    /// Number of notes that were heard.
    pub heard: u32,
    /// Number of heard notes that were too short or too unclear to say anything of intonation.
    pub unclear: u32,
    /// The pitch of the first note that counts.
    pub first: Option<Concert>,
    /// How far each note lies off, in their order, where all have one pitch and two of them lie farther apart than a listener passes over;
    /// empty elsewhere.
    pub apart: Vec<Cents>,
}

/// All notes from one on lie otherwise than those before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunStep {
    /// The place of the first of them among the notes heard, from 0.
    pub from: usize,
    /// Its pitch.
    pub pitch: Concert,
    /// How the notes before lie, the general offset not taken out.
    pub before: Cents,
    /// How the notes from there on lie, the general offset not taken out.
    pub after: Cents,
    /// Whether the run goes one way only, so that this may as well be how high and low notes lie.
    pub one_way: bool,
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
        let part_moves = part_moves(&placed).filter(|_| notes_move(&placed).is_none());
        let still = part_moves.map_or_else(|| placed.clone(), |part| part.without(&placed));
        let OverTime { drift, step, one_way } = OverTime::of(&still);
        let slope = drift.filter(|drift| drift.taken_out).map_or(0.0, |drift| drift.by.0);
        let (from, until) = (placed[0].at, placed[placed.len() - 1].at);
        // The line is zero in the middle of the run, so that the offset is that of the whole run.
        let line = |note: &Placed| slope * ((note.at - from) / (until - from).max(f64::MIN_POSITIVE) - 0.5);
        let middle = |notes: &[Placed]| median(&notes.iter().map(|note| note.off - line(note)).collect::<Vec<_>>());
        let offset = middle(&still).unwrap_or(0.0);
        let step = step.and_then(|at| {
            let (before, after) = (Cents(middle(&still[..at])?), Cents(middle(&still[at..])?));
            let step = RunStep { from: still[at].n, pitch: Concert(still[at].pitch), before, after, one_way };
            ((after - before).abs() >= FELT).then_some(step)
        });
        let level =
            |note: &Placed| step.map_or(offset, |step| if note.n < step.from { step.before } else { step.after }.0);
        let rest = self::rows(&still, &|note, _| note.off - line(note) - level(note));
        let ways = ways(&rest);
        let side = |way: f64| ways.map_or(0.0, |(up, down)| if way < 0.0 { down } else { up });
        let rest = self::rows(&still, &|note, way| note.off - line(note) - level(note) - side(way));
        let over_pitch = OverPitch::of(&rest).filter(|_| !one_way);
        let high = |note: &Placed| over_pitch.map_or(0.0, |shape| shape.at(Concert(note.pitch)));
        let beside = offset - 100.0 * offset.signum();
        let own = |note: &Placed, way: f64| note.off - line(note) - level(note) - side(way) - high(note);
        let unexplained: f64 = still.iter().map(|note| own(note, note.way).abs()).sum();
        let arch = RunArch::of(&still).filter(|arch| arch.left < unexplained);
        let straight = arch.is_none();
        Self {
            arch,
            offset: Some(Cents(offset)),
            other: (by.may_be_others() && offset.abs() > EITHER).then_some(Cents(beside)),
            drift: drift.filter(|_| straight),
            way_down: ways.filter(|_| straight).map(|(up, down)| Cents(down - up)),
            step: step.filter(|_| straight),
            over_pitch: over_pitch.filter(|_| straight),
            zigzag: turns(&placed) * ZIGZAG > placed.len(),
            notes_move: notes_move(&placed).map(Cents),
            part_moves,
            moved: moved_rows(&placed, part_moves),
            slips: slips(&placed),
            rows: self::rows(&placed, &|note, _| note.off - line(note) - offset),
            own: self::rows(&still, &own),
            own_notes: still.iter().map(|note| (note.n, Cents(own(note, note.way)))).collect(),
            first: placed.first().map(|note| Concert(note.pitch)),
            apart: apart(&placed),
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

/// The distances of notes of one pitch, where the widest two lie apart by more than chance: the ear errs by 3 cents at most on each
/// (benches/FIGURES.md), and `FELT` is more than that of both.
fn apart(placed: &[Placed]) -> Vec<Cents> {
    let off = || placed.iter().map(|note| note.off);
    let (low, high) = (off().fold(f64::INFINITY, f64::min), off().fold(f64::NEG_INFINITY, f64::max));
    let one_pitch = placed.iter().all(|note| Some(note.pitch) == placed.first().map(|first| first.pitch));
    if one_pitch && high - low >= FELT.0 { off().map(Cents).collect() } else { Vec::new() }
}

/// How often the direction of a run changes.
fn turns(placed: &[Placed]) -> usize {
    let ways: Vec<f64> = placed.iter().map(|note| note.way).filter(|way| *way != 0.0).collect();
    ways.windows(2).filter(|pair| pair[0] != pair[1]).count()
}

/// One row for each pitch, by rising pitch; `off` gives the cents of a note, told also the way on which it lies: its own, or for a first or
/// repeated note that of the note before it, or at the beginning after it.
fn rows(placed: &[Placed], off: &dyn Fn(&Placed, f64) -> f64) -> Vec<PitchRow> {
    let mut rows: BTreeMap<Concert, PitchCents> = BTreeMap::new();
    let mut way = placed.iter().map(|note| note.way).find(|way| *way != 0.0).unwrap_or(0.0);
    for note in placed {
        way = if note.way == 0.0 { way } else { note.way };
        rows.entry(Concert(note.pitch)).or_default().add(off(note, way), way);
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

#[cfg(test)]
#[path = "run_tests.rs"]
mod tests;
