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

/// The degrees that can be written, in letters from the tonic: from three octaves below it to two octaves above it.
const READABLE: std::ops::RangeInclusive<i32> = -21..=14;

/// The fields of a pattern besides its notes.
#[derive(Debug, Clone, PartialEq)]
pub struct PatternHeader {
    /// Name for files and the command line.
    pub id: PatternId,
    /// Plain name.
    pub name: String,
    /// Family by motion.
    pub family: Family,
    /// How hard the pattern is, 1 to 5.
    pub level: u8,
    /// The tempos at which the pattern is usually practised.
    pub tempo: TempoRange,
    /// The chord qualities that the pattern fits; empty where it fits any.
    pub over: Vec<Quality>,
    /// Where the pattern comes from.
    pub source: String,
}

/// Why a line cannot be written as a pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unwritable {
    /// The line has no notes.
    #[error("the line has no notes")]
    Empty,
    /// A note lies too far from the root to be written as a degree or in half steps.
    #[error("too wide: note {note} lies more than {above} octaves above the root or 3 below it")]
    Wide {
        /// The number of the first such note, from 1.
        note: usize,
        /// How many octaves above the root can be written.
        above: u32,
    },
    /// The line has more notes than a pattern may have.
    #[error("{notes} notes: the limit is {MOST_TOKENS}")]
    Notes {
        /// How many notes the line has.
        notes: usize,
    },
    /// The line needs more signs than a pattern may have.
    #[error("{bars} bars are too long: a pattern is at most {MOST_TOKENS} signs, and this one needs {signs} of them")]
    Long {
        /// The length of the line in bars of four quarters, the last one counted whole.
        bars: usize,
        /// How many signs the line needs: notes, rests, holds, and the brackets of groups.
        signs: usize,
    },
    /// The rhythm cannot be written in any unit, even with groups of up to nine notes.
    #[error("its rhythm cannot be written: some notes lie beside the beat and its halves, thirds and smaller parts")]
    Rhythm,
}

/// Writes a line as a pattern above `tonic`, in degrees, or in half steps for [`Family::HalfSteps`]. A note whose letter is known is
/// written on that letter; another note is spelled as in the chord, where `about` names one quality and the note is a tone of it, else by
/// the way the line moves to it.
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
        let wide = Unwritable::Wide { note: n + 1, above: if reads == Reads::HalfSteps { 3 } else { 2 } };
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
    let (unit, tokens) = tokens(&spans, length, 0, MOST_TOKENS).ok_or_else(|| why_not(&spans, length))?;
    let meter = Meter::default();
    let notation = Notation { reads, meter, unit, tokens, scale: None, sequence: None, repeats: 1, pickup: 0 };
    let timeline = compile(&notation, &about.over).map_err(|_| Unwritable::Rhythm)?;
    let PatternHeader { id, name, family, level, tempo, over, source } = about;
    let trains = String::new();
    let cycle = Cycle::default();
    Ok(Pattern { id, name, family, level, trains, tempo, over, swing: false, cycle, source, notation, timeline })
}

/// The pattern begun on another note of its chord or scale and moved along that: `1 2 3 5` from the second is `2 3 4 6`. A pattern that
/// moves along neither is moved exactly. The result is a pattern with an id and a name of its own (`-from-2`). `None` where `start` is not
/// among [`starts`], where the pattern begins there already, for half steps and phrases, and where the moved line cannot be written.
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
    let (length, before) = (Ticks::nearest(pattern.length()).0, pattern.pickup_ticks().0);
    let (unit, tokens) = tokens(&spans, length, before, MOST_TOKENS).filter(|_| whole)?;
    let pickup = u32::try_from(before / unit.ticks().0).ok()?;
    let scale = home_scale(pattern).filter(|scale| scale.windows(2).all(|w| w[0].half_steps < w[1].half_steps));
    let meter = pattern.meter();
    let notation = Notation { reads: Reads::Degrees, meter, unit, tokens, scale, sequence: None, repeats: 1, pickup };
    let timeline = compile(&notation, &pattern.over).ok()?;
    let id = PatternId(format!("{}-from-{}", pattern.id, start.to_string().replace('#', "sharp")));
    let name = format!("{}, from {start}", pattern.name);
    Some(Pattern { id, name, notation, timeline, ..pattern.clone() })
}

/// A note spelled as the tone of a chord: over a half-diminished chord it is the flat fifth, not the sharp fourth. `None` where it is
/// no tone of the chord.
fn of_chord(half_steps: i32, tones: &[Degree]) -> Option<Degree> {
    let tone = tones.iter().find(|tone| (half_steps - tone.half_steps) % 12 == 0)?;
    Some(tone.octaves_up((half_steps - tone.half_steps) / 12))
}

/// The degree of a note whose letter is not known; `from` is the move to it from the note before, in half steps. Outside the major scale,
/// it is b3, b6 or b7 however the line moves. Between fourth and fifth it is #4, and b5 where the line falls. Above the root it is #1
/// where the line rises to it by a half step, else b2, as the flat ninth of a dominant.
fn spelled(half_steps: i32, from: Option<i32>) -> Degree {
    let sharp = match half_steps.rem_euclid(12) {
        1 => from == Some(1),
        3 | 8 | 10 => false,
        _ => from.is_none_or(|from| from > 0),
    };
    Degree::of_half_steps(half_steps, sharp)
}

/// Why a line cannot be written: it has no notes, it is too long in the unit that fits its rhythm, or no unit fits the line even in sixteen
/// times as many tokens as a pattern may have.
fn why_not(spans: &[(Slot, i64, i64)], length: i64) -> Unwritable {
    let bar = Unit::Whole.ticks().0;
    let end = spans.last().map_or(0, |span| span.2.max(length));
    match tokens(spans, length, 0, 64 * MOST_TOKENS) {
        _ if spans.is_empty() => Unwritable::Empty,
        Some((_, tokens)) => Unwritable::Long { bars: ((end + bar - 1) / bar) as usize, signs: signs(&tokens) },
        None => Unwritable::Rhythm,
    }
}

/// How many signs tokens are written with, as the reader counts them: each bracket, and each slot of a group, is one.
fn signs(tokens: &[Token]) -> usize {
    tokens.iter().map(|token| if let Token::Group(slots) = token { slots.len() + 2 } else { 1 }).sum()
}

/// The tokens of a line, of at most `most` signs, in the first unit that can write it: first, without groups, all units that divide its
/// length, in the order of `Unit::NAMES`; then quarter, half, whole and eighth with groups. The unit divides the `pickup` too.
fn tokens(spans: &[(Slot, i64, i64)], length: i64, pickup: i64, most: usize) -> Option<(Unit, Vec<Token>)> {
    let end = spans.last()?.2.max(length);
    let written = |unit: Unit, groups: bool| {
        let size = unit.ticks().0;
        let count = (end + size - 1) / size;
        if count > most as i64 || pickup % size != 0 {
            return None;
        }
        let mut tokens = Vec::new();
        for n in 0..count {
            let after_group = matches!(tokens.last(), Some(Token::Group(_)));
            tokens.push(cell(spans, n * size, size, groups, after_group)?);
        }
        (signs(&tokens) <= most).then_some((unit, tokens))
    };
    let fits = |unit: &Unit| end % unit.ticks().0 == 0;
    let units = Unit::NAMES.map(|row| row.1);
    let plain = units.iter().filter(|unit| fits(unit)).find_map(|unit| written(*unit, false));
    plain
        .or_else(|| [Unit::Quarter, Unit::Half, Unit::Whole, Unit::Eighth].iter().find_map(|unit| written(*unit, true)))
}

/// The token of the unit that begins at `start`: one slot, or a group where a note begins or ends inside the unit.
fn cell(spans: &[(Slot, i64, i64)], start: i64, size: i64, groups: bool, after_group: bool) -> Option<Token> {
    let inside = |at: i64| start < at && at < start + size;
    let edges: Vec<i64> = spans.iter().flat_map(|span| [span.1, span.2]).filter(|at| inside(*at)).collect();
    if edges.is_empty() {
        let slot = slot(spans, start);
        // A `-` after a group would lengthen the group, so here it stands in a group of its own.
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
