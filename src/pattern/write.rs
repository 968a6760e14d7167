use crate::music::{Concert, Degree, NamedBy};
use crate::pattern::compile::{compile, home_scale};
use crate::pattern::cycle::Cycle;
use crate::pattern::line::Line;
use crate::pattern::meter::Meter;
use crate::pattern::model::{Family, Notation, Pattern, PatternId, TempoRange};
use crate::pattern::parse::MOST_TOKENS;
use crate::pattern::quality::Quality;
use crate::pattern::realise::{from_degree, starts};
use crate::pattern::time::{Ticks, Unit};
use crate::pattern::token::{Reads, Slot, Token};

/// What degrees can say: two octaves above the tonic, three below, in letters.
const READABLE: std::ops::RangeInclusive<i32> = -21..=14;

/// What a player says about a pattern of their own.
#[derive(Debug, Clone, PartialEq)]
pub struct PatternHeader {
    /// Name for files and the command line.
    pub id: PatternId,
    /// Plain name.
    pub name: String,
    /// Family by motion.
    pub family: Family,
    /// 1 to 5.
    pub level: u8,
    /// Usual tempos.
    pub tempo: TempoRange,
    /// Chord qualities it fits; empty for any.
    pub over: Vec<Quality>,
    /// Where the pattern comes from.
    pub source: String,
}

/// Why a line cannot be written as a pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unwritable {
    /// No notes.
    #[error("the line has no notes")]
    Empty,
    /// Beyond what degrees can say.
    #[error("too wide: note {note} lies more than two octaves above the root or three below it")]
    Wide {
        /// The first such note, from 1.
        note: usize,
    },
    /// More notes than a pattern has.
    #[error("{notes} notes: the limit is {MOST_TOKENS}")]
    Notes {
        /// How many it has.
        notes: usize,
    },
    /// Longer than a pattern is, in units that write it.
    #[error("{bars} bars are too long: a pattern is at most {MOST_TOKENS} units, and this one needs {units} of them")]
    Long {
        /// Bars of four quarters, begun ones included.
        bars: usize,
        /// How many units it needs.
        units: usize,
    },
    /// A rhythm that no unit and no group of nine writes.
    #[error("its rhythm cannot be written: no unit and no group of up to nine shares has all of its notes")]
    Rhythm,
}

/// Writes a line as a pattern above `tonic`, in degrees, or in half steps for [`Family::HalfSteps`]. A note whose letter is
/// known stands on it, a tone of the one chord it is said to be over is spelled as in the chord.
///
/// # Errors
/// [`Unwritable`].
pub fn from_line(line: &Line, tonic: Concert, about: PatternHeader) -> Result<Pattern, Unwritable> {
    if line.notes.len() > MOST_TOKENS {
        return Err(Unwritable::Notes { notes: line.notes.len() });
    }
    let reads = if about.family == Family::HalfSteps { Reads::HalfSteps } else { Reads::Degrees };
    let mut spans: Vec<(Slot, i64, i64)> = Vec::new();
    let tones = if let [quality] = about.over[..] { quality.tones() } else { &[] };
    for (n, note) in line.notes.iter().enumerate() {
        let degree = |half_steps: i32, from: Option<i32>| match note.named {
            Some(NamedBy { letters, .. }) => Degree { letters, half_steps }.readable(),
            None => of_chord(half_steps, tones).unwrap_or_else(|| spelled(half_steps, from)),
        };
        let wide = Unwritable::Wide { note: n + 1 };
        let up = note.pitch.0.checked_sub(tonic.0).ok_or(wide)?;
        let from = n.checked_sub(1).map(|before| note.pitch.0 - line.notes[before].pitch.0);
        let slot = match reads {
            Reads::HalfSteps => Some(up).filter(|up| up.abs() <= 36).map(Slot::HalfSteps),
            _ => Some(degree(up, from)).filter(|degree| READABLE.contains(&degree.letters)).map(Slot::Degree),
        }
        .ok_or(wide)?;
        let at = Ticks::nearest(note.at).0;
        spans.push((slot, at, at + Ticks::nearest(note.length).0.max(1)));
    }
    let length = Ticks::nearest(line.length).0;
    let (unit, tokens) = tokens(&spans, length, MOST_TOKENS).ok_or_else(|| why_not(&spans, length))?;
    let meter = Meter::default();
    let notation = Notation { reads, meter, unit, tokens, scale: None, sequence: None, repeats: 1, pickup: 0 };
    let timeline = compile(&notation, &about.over).map_err(|_| Unwritable::Rhythm)?;
    let PatternHeader { id, name, family, level, tempo, over, source } = about;
    let trains = String::new();
    let cycle = Cycle::default();
    Ok(Pattern { id, name, family, level, trains, tempo, over, swing: false, cycle, source, notation, timeline })
}

/// The pattern begun on another note of its own chord or scale, moved along it: `1 2 3 5` from the second is `2 3 4 6`. It is a
/// pattern of its own, named after the first (`-from-2`). `None` where `start` is not among [`starts`], where it begins there
/// already, and for half steps and phrases, which have no such notes.
#[must_use]
pub fn begun_on(pattern: &Pattern, start: Degree) -> Option<Pattern> {
    let first = pattern.notes().first()?.degree;
    let ladder = matches!(pattern.family, Family::Stepwise | Family::Skips) && starts(pattern).contains(&start);
    if !ladder || start == first {
        return None;
    }
    let degrees = from_degree(pattern, Some(start));
    let spans: Vec<(Slot, i64, i64)> = pattern
        .notes()
        .iter()
        .zip(degrees)
        .filter(|(_, degree)| READABLE.contains(&degree.letters))
        .map(|(step, degree)| (Slot::Degree(degree), step.at.0, step.at.0 + step.length.0))
        .collect();
    let whole = spans.len() == pattern.notes().len();
    let (unit, tokens) = tokens(&spans, Ticks::nearest(pattern.length()).0, MOST_TOKENS).filter(|_| whole)?;
    let pickup = u32::try_from(pattern.pickup_ticks().0 / unit.ticks().0).ok()?;
    let scale = home_scale(pattern).filter(|scale| scale.windows(2).all(|w| w[0].half_steps < w[1].half_steps));
    let meter = pattern.meter();
    let notation = Notation { reads: Reads::Degrees, meter, unit, tokens, scale, sequence: None, repeats: 1, pickup };
    let timeline = compile(&notation, &pattern.over).ok()?;
    let id = PatternId(format!("{}-from-{}", pattern.id, start.to_string().replace('#', "sharp")));
    let name = format!("{}, from {start}", pattern.name);
    Some(Pattern { id, name, notation, timeline, ..pattern.clone() })
}

/// A tone of the chord as the chord spells it: the flat fifth of a half-diminished one is no sharp fourth.
fn of_chord(half_steps: i32, tones: &[Degree]) -> Option<Degree> {
    let tone = tones.iter().find(|tone| (half_steps - tone.half_steps) % 12 == 0)?;
    Some(tone.octaves_up((half_steps - tone.half_steps) / 12))
}

/// Thirds, sixths and sevenths outside the major scale are flat however the line moves; fourths follow it, and so does the
/// second where it is a half step above the root just sounded: met otherwise it is the flat ninth of a dominant.
fn spelled(half_steps: i32, from: Option<i32>) -> Degree {
    let sharp = match half_steps.rem_euclid(12) {
        1 => from == Some(1),
        3 | 8 | 10 => false,
        _ => from.is_none_or(|from| from > 0),
    };
    Degree::of_half_steps(half_steps, sharp)
}

/// Why no unit writes a line: none does, or the line is too long in the one that would.
fn why_not(spans: &[(Slot, i64, i64)], length: i64) -> Unwritable {
    let bar = Unit::Whole.ticks().0;
    let end = spans.last().map_or(0, |span| span.2.max(length));
    match tokens(spans, length, 16 * MOST_TOKENS) {
        _ if spans.is_empty() => Unwritable::Empty,
        Some((_, tokens)) => Unwritable::Long { bars: ((end + bar - 1) / bar) as usize, units: tokens.len() },
        None => Unwritable::Rhythm,
    }
}

/// The longest unit that writes the line without groups, or else the longest with them.
fn tokens(spans: &[(Slot, i64, i64)], length: i64, most: usize) -> Option<(Unit, Vec<Token>)> {
    let end = spans.last()?.2.max(length);
    let written = |unit: Unit, groups: bool| {
        let size = unit.ticks().0;
        let count = (end + size - 1) / size;
        if count > most as i64 {
            return None;
        }
        let mut tokens = Vec::new();
        for n in 0..count {
            let after_group = matches!(tokens.last(), Some(Token::Group(_)));
            tokens.push(cell(spans, n * size, size, groups, after_group)?);
        }
        Some((unit, tokens))
    };
    let fits = |unit: &Unit| end % unit.ticks().0 == 0;
    let units = Unit::NAMES.map(|row| row.1);
    let plain = units.iter().filter(|unit| fits(unit)).find_map(|unit| written(*unit, false));
    plain
        .or_else(|| [Unit::Quarter, Unit::Half, Unit::Whole, Unit::Eighth].iter().find_map(|unit| written(*unit, true)))
}

/// What stands in one unit from `start`: one slot, or a group where something begins or ends inside it.
fn cell(spans: &[(Slot, i64, i64)], start: i64, size: i64, groups: bool, after_group: bool) -> Option<Token> {
    let inside = |at: i64| start < at && at < start + size;
    let edges: Vec<i64> = spans.iter().flat_map(|span| [span.1, span.2]).filter(|at| inside(*at)).collect();
    if edges.is_empty() {
        let slot = slot(spans, start);
        // A bare hold after a group would lengthen the group, so the hold stands in a group of its own.
        return Some(if slot == Slot::Hold && after_group { Token::Group(vec![slot]) } else { Token::Slot(slot) });
    }
    let shares = (2..=9).filter(|_| groups).find(|n| edges.iter().all(|at| ((at - start) * n) % size == 0))?;
    Some(Token::Group((0..shares).map(|n| slot(spans, start + n * size / shares)).collect()))
}

fn slot(spans: &[(Slot, i64, i64)], at: i64) -> Slot {
    match spans.iter().find(|span| span.1 <= at && at < span.2) {
        Some(span) if span.1 == at => span.0,
        Some(_) => Slot::Hold,
        None => Slot::Rest,
    }
}
