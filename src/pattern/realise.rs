use crate::music::{Concert, ConcertKey, Degree, HalfSteps, NamedBy, Range};
use crate::pattern::compile::home_scale;
use crate::pattern::line::{ExpectedNote, Line, NoFit, Register};
use crate::pattern::model::{Family, Pattern};
use crate::pattern::sequence::along;
use crate::pattern::time::Ticks;
use crate::pattern::timeline::{ChordSpan, PatternNote};
use crate::units::Midi;

/// Puts a pattern in a sounding key, inside `range`; of the octaves that fit, `register` chooses one.
///
/// `start` is the degree of the key on which the first note is to sound; the key stays the same. A pattern by skips that has only tones of
/// its chord moves along the chord (`1 3 5 7` from the third is `3 5 7 8`); another one by skips, or a stepwise one, moves along its scale
/// (`1 2 3 5` from the second is `2 3 4 6`). Half steps, phrases, patterns that name roots, and patterns whose notes lie in no such chord
/// or scale are moved exactly (all intervals stay the same), and so is every pattern to a `start` outside its chord or scale.
///
/// # Errors
/// [`NoFit`] where in no octave the whole line lies inside the range; single notes are never moved by an octave to make it fit.
pub fn realise(
    pattern: &Pattern,
    key: ConcertKey,
    start: Option<Degree>,
    range: Range,
    register: Register,
) -> Result<Line, NoFit> {
    realise_exact(pattern, key, start, range, register).map(|realised| realised.line())
}

/// Registers in which a pattern is one and the same line, and that line.
pub type InRegisters = (Vec<Register>, Line);

/// The lines of a pattern in a key, in each of these registers. Registers that choose the same octave share a line.
///
/// # Errors
/// [`NoFit`] where no octave of the line fits the range.
pub fn in_registers(
    pattern: &Pattern,
    key: ConcertKey,
    registers: &[Register],
    range: Range,
) -> Result<Vec<InRegisters>, NoFit> {
    let mut lines: Vec<InRegisters> = Vec::new();
    for &register in registers {
        let line = realise(pattern, key, None, range, register)?;
        match lines.iter_mut().find(|(_, same)| *same == line) {
            Some((registers, _)) => registers.push(register),
            None => lines.push((vec![register], line)),
        }
    }
    Ok(lines)
}

/// A pattern in a key, in the one of these registers in which the middle of the line lies nearest to `middle` (middle C where that is
/// `None`). `None` where the pattern fits in none of them.
#[must_use]
pub fn nearest_register(
    pattern: &Pattern,
    key: ConcertKey,
    registers: &[Register],
    range: Range,
    middle: Option<Midi>,
) -> Option<(Register, Line)> {
    let middle = middle.unwrap_or(Midi(60.0));
    let far = |line: &Line| {
        let range = line.range();
        (f64::from(range.low.0 + range.high.0) / 2.0 - middle.0).abs()
    };
    let fitting = |&register: &Register| Some((register, realise(pattern, key, None, range, register).ok()?));
    registers.iter().filter_map(fitting).min_by(|a, b| far(&a.1).total_cmp(&far(&b.1)))
}

/// A pattern in a key and an octave: its degrees above a sounding tonic, in exact time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Realised {
    /// The tonic from which the degrees count.
    pub tonic: Concert,
    /// The notes in order, moved where the line was asked to begin on another degree.
    pub notes: Vec<PatternNote>,
    /// The chords whose roots the pattern names; none where it names none, or where a degree to begin on was given.
    pub chords: Vec<ChordSpan>,
    /// The whole length, rests at the end included.
    pub length: Ticks,
}

impl Realised {
    /// The notes as an answer is expected to sound them.
    #[must_use]
    pub fn line(&self) -> Line {
        let notes = self.notes.iter().map(|note| ExpectedNote {
            pitch: self.pitch(note),
            at: note.at.beats(),
            length: note.length.beats(),
            named: Some(self.named_by(note)),
        });
        Line { notes: notes.collect(), length: self.length.beats() }
    }
    /// How a note of the line is named.
    #[must_use]
    pub fn named_by(&self, note: &PatternNote) -> NamedBy {
        let chord = self.chords.iter().rfind(|chord| chord.at <= note.at);
        NamedBy { letters: note.degree.letters, over: chord.map_or(0, |chord| chord.root.degree.fifths()) }
    }
    /// The pitch at which a note of the line sounds.
    #[must_use]
    pub fn pitch(&self, note: &PatternNote) -> Concert {
        self.tonic + HalfSteps(note.degree.half_steps)
    }
}

/// As [`realise`], with the spelling and the exact time of every note, as notation needs them.
///
/// # Errors
/// As [`realise`].
pub fn realise_exact(
    pattern: &Pattern,
    key: ConcertKey,
    start: Option<Degree>,
    range: Range,
    register: Register,
) -> Result<Realised, NoFit> {
    let degrees = from_degree(pattern, start);
    let low = degrees.iter().map(|degree| degree.half_steps).min().unwrap_or(0);
    let high = degrees.iter().map(|degree| degree.half_steps).max().unwrap_or(0);
    let tonic = fitting_tonic(key, i64::from(low), i64::from(high), range, register)
        .ok_or_else(|| NoFit { nearest: nearest_octave(key, low, high, range), range })?;
    let notes = pattern.timeline.notes.iter().zip(degrees).map(|(note, degree)| PatternNote { degree, ..*note });
    let chords = if start.is_none() { pattern.timeline.chords.clone() } else { Vec::new() };
    Ok(Realised { tonic, notes: notes.collect(), chords, length: pattern.timeline.length })
}

/// The degrees of a pattern, moved so that the first sounds on `start`. See [`realise`] for the rule.
#[must_use]
pub fn from_degree(pattern: &Pattern, start: Option<Degree>) -> Vec<Degree> {
    let degrees: Vec<Degree> = pattern.timeline.notes.iter().map(|step| step.degree).collect();
    let (Some(start), Some(first)) = (start, degrees.first().copied()) else { return degrees };
    let places = |ladder: &[Degree], degree: Degree| {
        let class = |note: Degree| note.half_steps.rem_euclid(12);
        let index = ladder.iter().position(|note| class(*note) == class(degree))? as i32;
        Some(index + ladder.len() as i32 * degree.half_steps.div_euclid(12))
    };
    let moved = ladder(pattern).and_then(|ladder| {
        let by = places(&ladder, start)? - places(&ladder, first)?;
        degrees.iter().map(|degree| along(*degree, by, &ladder)).collect::<Option<Vec<Degree>>>()
    });
    moved.unwrap_or_else(|| degrees.iter().map(|degree| (*degree + (start - first)).readable()).collect())
}

/// The degrees on which a pattern may begin, upward from the tonic: those of the chord or scale along which it moves, or all twelve
/// half steps for a pattern that is moved exactly.
#[must_use]
pub fn starts(pattern: &Pattern) -> Vec<Degree> {
    ladder(pattern).unwrap_or_else(|| (0..12).map(|n| Degree::of_half_steps(n, false)).collect())
}

/// The degrees along which a pattern moves: the tones of its chord for a pattern by skips that has no other notes, else its scale.
/// `None` for half steps, for phrases, for patterns that name roots, and where neither holds all notes.
fn ladder(pattern: &Pattern) -> Option<Vec<Degree>> {
    if !pattern.timeline.chords.is_empty() || !matches!(pattern.family, Family::Stepwise | Family::Skips) {
        return None;
    }
    let within = |ladder: &[Degree]| {
        let classes: Vec<i32> = ladder.iter().map(|note| note.half_steps.rem_euclid(12)).collect();
        pattern.timeline.notes.iter().all(|step| classes.contains(&step.degree.half_steps.rem_euclid(12)))
    };
    let chord = pattern.over.first().filter(|_| pattern.family == Family::Skips).map(|quality| {
        let mut tones: Vec<Degree> =
            quality.tones().iter().map(|tone| tone.octaves_up(-tone.half_steps.div_euclid(12))).collect();
        tones.sort_by_cached_key(|tone| i64::from(tone.half_steps));
        tones
    });
    chord.filter(|tones| within(tones)).or_else(|| home_scale(pattern).filter(|scale| within(scale)))
}

/// The lowest and the highest note of a line that lies inside the range in no octave, in the octave that leaves it least; of two equal ones
/// the lower. The sums saturate, so that they cannot overflow.
fn nearest_octave(key: ConcertKey, low: i32, high: i32, range: Range) -> Range {
    let class = key.0.get();
    let bottom = range.low.0.saturating_sub(low);
    let above = bottom.saturating_add(class.saturating_sub(bottom).rem_euclid(12));
    let placed =
        |tonic: i32| Range { low: Concert(tonic.saturating_add(low)), high: Concert(tonic.saturating_add(high)) };
    let beyond = |line: &Range| {
        let over = |from: i32, to: i32| i64::from(from.saturating_sub(to).max(0));
        over(range.low.0, line.low.0) + over(line.high.0, range.high.0)
    };
    let [below, above] = [above.saturating_sub(12), above].map(placed);
    if beyond(&above) < beyond(&below) { above } else { below }
}

/// The tonic in the octave that `register` chooses, so that a line from `low` to `high` half steps above it lies inside `range`.
/// The sums are in 64 bits, so that they cannot overflow.
fn fitting_tonic(key: ConcertKey, low: i64, high: i64, range: Range, register: Register) -> Option<Concert> {
    let class = i64::from(key.0.get());
    let first = i64::from(range.low.0) - low;
    let last = i64::from(range.high.0) - high;
    let lowest = first + (class - first).rem_euclid(12);
    let highest = last - (last - class).rem_euclid(12);
    if lowest > highest {
        return None;
    }
    let tonic = match register {
        Register::Low => lowest,
        Register::High => highest,
        Register::Middle => {
            // Twice the distance between the middle of the line and the middle of the range; of two equal octaves, the lower.
            let off = |tonic: i64| (2 * tonic + low + high - i64::from(range.low.0) - i64::from(range.high.0)).abs();
            let below = lowest + (highest - lowest) / 24 * 12;
            [below, below + 12]
                .into_iter()
                .filter(|tonic| *tonic <= highest)
                .min_by_key(|tonic| (off(*tonic), *tonic))?
        }
    };
    i32::try_from(tonic).ok().map(Concert)
}
