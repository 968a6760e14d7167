use crate::music::Degree;
use crate::pattern::half_steps::by_motion;
use crate::pattern::quality::Quality;
use crate::pattern::time::{Ticks, Unit};
use crate::pattern::token::{ChordRoot, Slot, Token};

/// One sounding note of a pattern, before it is put in a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PatternNote {
    /// The degree, counted from the tonic of the whole pattern.
    pub degree: Degree,
    /// Where the note begins.
    pub at: Ticks,
    /// How long the note lasts.
    pub length: Ticks,
}

/// A stretch over one chord.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChordSpan {
    /// Where the stretch begins.
    pub at: Ticks,
    /// The root and quality of the chord.
    pub root: ChordRoot,
}

/// The notes of a pattern in time, before it is put in a key.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Timeline {
    /// The notes, in order.
    pub notes: Vec<PatternNote>,
    /// The chords whose roots the tokens name, in order; none where they name none.
    pub chords: Vec<ChordSpan>,
    /// The length from the first slot to the end of the last, rests included.
    pub length: Ticks,
}

/// Puts tokens in time. Where `quality` is given, degrees are the numbers of its chord tones; a tone that it lacks is left out, and
/// the caller ([`compile`](super::compile::compile)) refuses such a pattern.
pub(super) fn in_time(tokens: &[Token], unit: Unit, quality: Option<Quality>) -> Timeline {
    let mut timeline = Timeline::default();
    let mut writer =
        Writer { timeline: &mut timeline, root: Degree::TONIC, quality, half_steps: spelled(tokens), last: None };
    let mut at = 0;
    while at < tokens.len() {
        at = writer.token(tokens, at, unit.ticks().0);
    }
    timeline
}

struct Writer<'l> {
    timeline: &'l mut Timeline,
    root: Degree,
    quality: Option<Quality>,
    /// The spelled degrees of the notes that are given in half steps, in order.
    half_steps: std::vec::IntoIter<Degree>,
    /// The index of the note that `-` lengthens; `None` after a rest.
    last: Option<usize>,
}

impl Writer<'_> {
    /// Writes the token at `at` and returns the index of the next one.
    fn token(&mut self, tokens: &[Token], at: usize, unit: i64) -> usize {
        match &tokens[at] {
            Token::Bar => {}
            Token::Root(root) => {
                self.root = root.degree;
                self.timeline.chords.push(ChordSpan { at: self.timeline.length, root: *root });
            }
            Token::Slot(slot) => self.slot(*slot, unit),
            Token::Group(slots) => {
                let after = at
                    + 1
                    + tokens[at + 1..].iter().take_while(|t| matches!(t, Token::Bar | Token::Slot(Slot::Hold))).count();
                let holds = tokens[at + 1..after].iter().filter(|t| matches!(t, Token::Slot(_))).count();
                let share = unit * (1 + holds as i64) / slots.len().max(1) as i64;
                slots.iter().for_each(|slot| self.slot(*slot, share));
                return after;
            }
        }
        at + 1
    }

    fn slot(&mut self, slot: Slot, length: i64) {
        let degree = match slot {
            Slot::Degree(number) => match self.quality {
                Some(quality) => quality.tone(number),
                None => Some(self.root + number),
            },
            Slot::HalfSteps(_) => self.half_steps.next(),
            Slot::Rest => None,
            Slot::Hold => {
                if let Some(step) = self.last.and_then(|n| self.timeline.notes.get_mut(n)) {
                    step.length.0 += length;
                }
                self.timeline.length.0 += length;
                return;
            }
        };
        self.last = degree.map(|degree| {
            self.timeline.notes.push(PatternNote { degree, at: self.timeline.length, length: Ticks(length) });
            self.timeline.notes.len() - 1
        });
        self.timeline.length.0 += length;
    }
}

/// The degrees of all notes that are given in half steps, spelled by the way the line moves.
fn spelled(tokens: &[Token]) -> std::vec::IntoIter<Degree> {
    let slots = tokens.iter().flat_map(|token| match token {
        Token::Slot(slot) => std::slice::from_ref(slot),
        Token::Group(slots) => slots.as_slice(),
        _ => &[],
    });
    let line: Vec<i32> = slots.filter_map(|slot| if let Slot::HalfSteps(n) = slot { Some(*n) } else { None }).collect();
    by_motion(&line).into_iter()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::parse::parse_notes;
    use crate::pattern::token::Reads;

    fn laid(text: &str, reads: Reads, quality: Option<&str>) -> Timeline {
        let (tokens, troubles) = parse_notes(text, reads);
        assert!(troubles.is_empty(), "{troubles:?}");
        in_time(&tokens, Unit::Eighth, quality.and_then(Quality::parse))
    }
    fn half_steps(timeline: &Timeline) -> Vec<i32> {
        timeline.notes.iter().map(|step| step.degree.half_steps).collect()
    }
    fn lengths(timeline: &Timeline) -> Vec<i64> {
        timeline.notes.iter().map(|step| step.length.0 * 12 / Ticks::QUARTER).collect()
    }

    #[test]
    fn degrees_count_from_each_new_root() {
        // Spelled out by hand: D F A C, B D F G, E in C (common practice).
        let timeline = laid("IIm7: 1 b3 5 b7 V7: 3 5 b7 8 Imaj7: 10 - - -", Reads::Degrees, None);
        assert_eq!(half_steps(&timeline), [2, 5, 9, 12, 11, 14, 17, 19, 16]);
        assert_eq!(timeline.chords.len(), 3);
        assert_eq!(timeline.chords[1].at.beats().0, 2.0);
        assert_eq!(timeline.length.beats().0, 6.0);
    }

    #[test]
    fn holds_rests_and_groups_share_time_as_written() {
        // Lengths in twelfths of a quarter: an eighth is 6, an eighth of a triplet 4.
        assert_eq!(lengths(&laid("1 - . 2", Reads::Degrees, None)), [12, 6]);
        assert_eq!(lengths(&laid("[1 2 3] - 5", Reads::Degrees, None)), [4, 4, 4, 6]);
        assert_eq!(lengths(&laid("[1 - 2] - 5", Reads::Degrees, None)), [8, 4, 6]);
        assert_eq!(lengths(&laid("1 [- 2] 3", Reads::Degrees, None)), [9, 3, 6]);
        assert_eq!(lengths(&laid("1 / - / 2", Reads::Degrees, None)), [12, 6]);
        let rests = laid("1 . 2", Reads::Degrees, None);
        assert_eq!(rests.notes[1].at.beats().0, 1.0);
    }

    #[test]
    fn chord_tones_follow_the_quality_asked_for() {
        let tones = |quality| half_steps(&laid("1 3 5 7 8 9", Reads::ChordTones, Some(quality)));
        assert_eq!(tones("m7b5"), [0, 3, 6, 10, 12, 14]);
        assert_eq!(tones("6"), [0, 4, 7, 9, 12, 14]);
        assert_eq!(tones("7b9"), [0, 4, 7, 10, 12, 13]);
    }

    #[test]
    fn half_steps_are_spelled_by_the_way_they_move() {
        let timeline = laid("0 1 2 1 0 -1 0", Reads::HalfSteps, None);
        let names: Vec<String> = timeline.notes.iter().map(|step| step.degree.to_string()).collect();
        assert_eq!(names.join(" "), "1 #1 2 b2 1 7, 1");
    }
}
