use crate::learn::LineNote;
use crate::music::{Concert, Degree, HalfSteps};
use crate::pattern::Slot;

/// One note put right, as it is typed: `3=b7` makes note 3 the flat seventh, `3=.` makes it a rest, and `3=-` ties it to note 2.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Correction {
    /// Number of the note, counted from 1.
    pub note: usize,
    /// What is to stand in place of the note, in the notation of a pattern.
    pub to: Slot,
}

/// Why a correction cannot be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CorrectionError {
    /// The line has no note of this number; the second number is how many notes it has.
    #[error("there is no note {0}; the line has {1}")]
    NoNote(usize, usize),
    /// The first note cannot be tied to a note before it.
    #[error("the first note has none before it to hold on")]
    NothingToHold,
    /// The correction would take out the only note.
    #[error("a line needs at least one note")]
    LastNote,
}

impl Correction {
    /// Reads `3=b7`, `3=.` or `3=-`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let (note, to) = text.split_once('=')?;
        let note = note.trim().parse().ok().filter(|note| *note > 0)?;
        let to = match to.trim() {
            "." => Slot::Rest,
            "-" => Slot::Hold,
            degree => Slot::Degree(Degree::parse(degree)?),
        };
        Some(Self { note, to })
    }

    /// Makes the correction. A degree counts from `tonic` upwards, as in a pattern's notes, and keeps its octave and its spelling.
    ///
    /// # Errors
    /// [`CorrectionError`]; the notes are then as they were.
    pub fn make(self, notes: &mut Vec<LineNote>, tonic: Concert) -> Result<(), CorrectionError> {
        let count = notes.len();
        let index =
            self.note.checked_sub(1).filter(|index| *index < count).ok_or(CorrectionError::NoNote(self.note, count))?;
        match self.to {
            Slot::Degree(Degree { letters, half_steps }) => {
                notes[index].pitch = tonic + HalfSteps(half_steps);
                notes[index].letters = Some(letters);
            }
            Slot::HalfSteps(up) => {
                notes[index].pitch = tonic + HalfSteps(up);
                notes[index].letters = None;
            }
            Slot::Rest | Slot::Hold if count == 1 => return Err(CorrectionError::LastNote),
            Slot::Rest => {
                notes.remove(index);
            }
            Slot::Hold => {
                let before = index.checked_sub(1).ok_or(CorrectionError::NothingToHold)?;
                notes[before].release = notes[index].release;
                notes.remove(index);
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Seconds;

    fn mended(text: &str) -> Result<Vec<(i32, f64, f64)>, CorrectionError> {
        let note = |n: u32, pitch| {
            let onset = Seconds(f64::from(n) * 0.5);
            LineNote { pitch: Concert(pitch), onset, release: onset + Seconds(0.25), letters: None }
        };
        let mut notes = vec![note(0, 60), note(1, 64), note(2, 69), note(3, 72)];
        Correction::parse(text).unwrap().make(&mut notes, Concert(48))?;
        Ok(notes.iter().map(|note| (note.pitch.0, note.onset.0, note.release.0)).collect())
    }

    #[test]
    fn a_degree_stands_in_the_octave_it_has_in_a_patterns_notes() {
        assert_eq!(mended("3=b7").unwrap()[2], (58, 1.0, 1.25));
        assert_eq!(mended("3=12").unwrap()[2], (67, 1.0, 1.25));
        assert_eq!(mended("1=7,").unwrap()[0], (47, 0.0, 0.25));
        assert_eq!(mended("4=1,,").unwrap()[3], (24, 1.5, 1.75));
    }

    #[test]
    fn a_note_that_never_was_becomes_a_rest_or_a_hold() {
        assert_eq!(mended("2=.").unwrap(), [(60, 0.0, 0.25), (69, 1.0, 1.25), (72, 1.5, 1.75)]);
        assert_eq!(mended("2=-").unwrap(), [(60, 0.0, 0.75), (69, 1.0, 1.25), (72, 1.5, 1.75)]);
        assert_eq!(mended("4=.").unwrap().len(), 3);
    }

    #[test]
    fn what_cannot_be_mended_is_said() {
        assert_eq!(mended("5=1"), Err(CorrectionError::NoNote(5, 4)));
        assert_eq!(mended("1=-"), Err(CorrectionError::NothingToHold));
        let nonsense = ["", "3", "0=1", "x=1", "3=h", "3=", "=1", "99999999999999999999=1"];
        assert!(nonsense.iter().all(|text| Correction::parse(text).is_none()));
    }
}
