use crate::music::{Concert, ConcertKey};
use crate::pattern::{ExpectedNote, Line};
use crate::units::{Beats, Tempo};

/// More notes than this are no pattern.
pub(super) const MOST_NOTES: usize = 2048;
/// Bytes a file may have.
pub(super) const MOST_BYTES: usize = 2 << 20;
/// How long a voice may last, in quarter notes.
pub(super) const MOST_BEATS: f64 = 4096.0;
/// Notes may overlap by this much (a slur, as sequencers play it): the earlier one is cut.
const SLUR: f64 = 0.25;

/// One voice read from a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Voice {
    /// Its title or track name, where it has one.
    pub title: Option<String>,
    /// The notes in concert pitch, beginning at beat 0.
    pub line: Line,
    /// The first tempo, where the file states one.
    pub tempo: Option<Tempo>,
    /// The tonic of the first key signature as it sounds, where the file states one other than "no sharps, no flats".
    pub key: Option<ConcertKey>,
}

/// Why a foreign file was not read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// Larger than two MiB.
    #[error("the file is larger than 2 MiB; a pattern needs a few kilobytes")]
    TooLarge,
    /// Not this kind of file, or damaged.
    #[error("this is not a readable {kind} file: {why}")]
    Damaged {
        /// "MIDI" or "MusicXML".
        kind: &'static str,
        /// What the reader met.
        why: String,
    },
    /// A number or letter that cannot stand where it stands.
    #[error("{place}: {what}")]
    Nonsense {
        /// Measure and note.
        place: String,
        /// What stands there.
        what: String,
        /// What may stand there.
        right: &'static str,
    },
    /// A compressed score.
    #[error("this is a compressed score (.mxl); save it as uncompressed MusicXML")]
    Compressed,
    /// Time in frames instead of beats.
    #[error("its time is counted in film frames, not in beats; export it again with beats")]
    FilmTime,
    /// Nothing sounds.
    #[error("no note sounds in it")]
    Empty,
    /// Two notes at once.
    #[error("two notes sound at once at beat {beat}; a pattern has one voice, so leave one part in the file")]
    Chord {
        /// Where, in whole quarter notes from the start.
        beat: u32,
    },
    /// Too long for a pattern.
    #[error("it has more than {MOST_NOTES} notes or {MOST_BEATS} beats; leave only the pattern in the file")]
    TooLong,
}

impl Refused {
    /// What to do about it.
    #[must_use]
    pub fn mend(&self) -> String {
        match self {
            Self::Nonsense { right, .. } => {
                format!("It has to be {right}: put it right there, or export the line anew from a notation program.")
            }
            Self::Damaged { .. } => "Export the line anew from the program that wrote it.".to_owned(),
            _ => "Export the line alone, as one part, to a .mid or .musicxml file.".to_owned(),
        }
    }
}

/// Notes as (pitch, begins, ends) made into one voice that begins at beat 0: slurs cut, chords refused.
pub(super) fn one_voice(mut notes: Vec<(Concert, f64, f64)>) -> Result<Line, Refused> {
    if notes.len() > MOST_NOTES {
        return Err(Refused::TooLong);
    }
    notes.retain(|note| note.2 > note.1 && note.1.is_finite() && note.2.is_finite());
    notes.sort_by(|one, other| one.1.total_cmp(&other.1));
    let Some(first) = notes.first().map(|note| note.1) else { return Err(Refused::Empty) };
    for n in 1..notes.len() {
        let (before, begins) = (notes[n - 1], notes[n].1);
        if before.2 > begins + 1e-9 {
            let overlap = before.2 - begins;
            if begins - before.1 < 1e-6 || overlap > SLUR {
                return Err(Refused::Chord { beat: (begins - first) as u32 });
            }
            notes[n - 1].2 = begins;
        }
    }
    let length = notes.last().map_or(0.0, |note| note.2 - first);
    if length > MOST_BEATS {
        return Err(Refused::TooLong);
    }
    let line = notes.iter().map(|(pitch, begins, ends)| ExpectedNote {
        pitch: *pitch,
        at: Beats(begins - first),
        length: Beats(ends - begins),
        letters: None,
    });
    Ok(Line { notes: line.collect(), length: Beats(length) })
}
