use crate::music::Degree;
use crate::pattern::half_steps::by_motion;
use crate::pattern::model::{Notation, Pattern};
use crate::pattern::quality::Quality;
use crate::pattern::sequence::Sequence;
use crate::pattern::time::Ticks;
use crate::pattern::timeline::{ChordSpan, PatternNote, Timeline, in_time};
use crate::pattern::token::{ChordRoot, Reads, Slot, Token};

/// The most notes of a pattern, sequence and repeats included.
pub(super) const MOST_NOTES: usize = 1024;

/// Why no line can be made of notes as they are written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Uncompiled {
    /// The chord lacks a tone whose number the notes have: this one.
    MissingTone(Quality, Degree),
    /// The cell moves along a scale, and this note of the cell is not in the scale.
    OutsideScale(Degree),
    /// Sequence and repeats give more notes than [`MOST_NOTES`].
    TooLong,
}

/// Makes notes as written into notes in time. Chord tones are those of the first quality in `over`; then the cell moves on by the
/// sequence, and then the whole is repeated.
pub(super) fn compile(notation: &Notation, over: &[Quality]) -> Result<Timeline, Uncompiled> {
    let quality = over.first().copied().filter(|_| notation.reads == Reads::ChordTones);
    let cell = in_time(&notation.tokens, notation.unit, quality);
    if let Some(quality) = quality
        && let Some(number) = lacking(&notation.tokens, quality)
    {
        return Err(Uncompiled::MissingTone(quality, number));
    }
    let cells = notation.sequence.map_or(1, |(_, times)| times) as usize;
    if cell.notes.len() * cells * notation.repeats as usize > MOST_NOTES {
        return Err(Uncompiled::TooLong);
    }
    let scale = scale_of(&cell, notation, over).unwrap_or_default();
    let mut once = Timeline::default();
    for n in 0..cells as u32 {
        let moved = |degree: Degree| match notation.sequence {
            Some((sequence, _)) => sequence.moved(degree, n, &scale),
            None => Some(degree),
        };
        for step in &cell.notes {
            let degree = moved(step.degree).ok_or(Uncompiled::OutsideScale(step.degree))?;
            once.notes.push(PatternNote { degree, at: Ticks(once.length.0 + step.at.0), ..*step });
        }
        for section in &cell.chords {
            let root = moved(section.root.degree).unwrap_or(section.root.degree);
            let octave = -root.half_steps.div_euclid(12);
            let root = ChordRoot { degree: root.octaves_up(octave), ..section.root };
            once.chords.push(ChordSpan { at: Ticks(once.length.0 + section.at.0), root });
        }
        once.length.0 += cell.length.0;
    }
    // Notes in half steps are spelled anew in each cell of an exact sequence, by the way the line moves there.
    if notation.reads == Reads::HalfSteps && !matches!(notation.sequence, None | Some((Sequence::Scale(_), _))) {
        for part in once.notes.chunks_mut(cell.notes.len().max(1)) {
            let line: Vec<i32> = part.iter().map(|step| step.degree.half_steps).collect();
            part.iter_mut().zip(by_motion(&line)).for_each(|(step, degree)| step.degree = degree);
        }
    }
    Ok(repeated(once, notation.repeats))
}

/// The first number of a chord tone that the chord lacks.
fn lacking(tokens: &[Token], quality: Quality) -> Option<Degree> {
    let slots = tokens.iter().flat_map(|token| match token {
        Token::Slot(slot) => std::slice::from_ref(slot),
        Token::Group(slots) => slots.as_slice(),
        Token::Root(_) | Token::Bar => &[],
    });
    let numbers = slots.filter_map(|slot| if let Slot::Degree(number) = slot { Some(*number) } else { None });
    numbers.into_iter().find(|number| quality.tone(*number).is_none())
}

fn repeated(once: Timeline, times: u32) -> Timeline {
    let mut whole = Timeline::default();
    for n in 0..i64::from(times) {
        let later = |at: Ticks| Ticks(at.0 + n * once.length.0);
        whole.notes.extend(once.notes.iter().map(|step| PatternNote { at: later(step.at), ..*step }));
        whole.chords.extend(once.chords.iter().map(|section| ChordSpan { at: later(section.at), ..*section }));
    }
    whole.length = Ticks(once.length.0 * i64::from(times));
    whole
}

/// The scale along which a pattern moves ([`scale_of`]).
pub(super) fn home_scale(pattern: &Pattern) -> Option<Vec<Degree>> {
    scale_of(&pattern.timeline, &pattern.notation, &pattern.over)
}

/// The scale that the file states, or else a scale of seven letters: each letter has the sharp or flat that it has in the notes, or
/// else in the first chord, or else in major. `None` where the notes have a letter with two different signs, or name roots.
fn scale_of(timeline: &Timeline, notation: &Notation, over: &[Quality]) -> Option<Vec<Degree>> {
    if let Some(scale) = &notation.scale {
        return Some(scale.clone());
    }
    let mut letters: [Option<i32>; 7] = [None; 7];
    let place = |degree: Degree| degree.letters.rem_euclid(7) as usize;
    for step in &timeline.notes {
        let alteration = step.degree.alteration();
        if letters[place(step.degree)].replace(alteration).is_some_and(|before| before != alteration) {
            return None;
        }
    }
    for tone in over.first().iter().flat_map(|quality| quality.tones()).copied() {
        letters[place(tone)].get_or_insert(tone.alteration());
    }
    let named = !timeline.chords.is_empty();
    (!named).then(|| (0..7).map(|n| Degree::altered(n, letters[n as usize].unwrap_or(0))).collect())
}
