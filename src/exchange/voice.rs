use crate::music::{Concert, ConcertKey, Instrument, WrittenKey};
use crate::pattern::{ExpectedNote, Line, Meter};
use crate::units::{Beats, Tempo, rank};

/// Largest number of notes in a voice.
pub(super) const MOST_NOTES: usize = 2048;
/// Largest number of bytes in a file.
pub(super) const MOST_BYTES: usize = 2 << 20;
/// Longest voice, in quarter notes.
pub(super) const MOST_BEATS: f64 = 4096.0;
/// Largest overlap of two notes, in quarter notes (a slur, as sequencers play it): the earlier note is cut.
const SLUR: f64 = 0.25;

/// One voice read from a file.
#[derive(Debug, Clone, PartialEq)]
pub struct ImportedVoice {
    /// Title or track name of the voice, where the file has one.
    pub title: Option<String>,
    /// The notes in concert pitch. A line that begins late in its first bar has the rest before it; one that begins with a
    /// pick-up begins at beat 0.
    pub line: Line,
    /// Length of what stands before the first bar line.
    pub pickup: Beats,
    /// How the first bar of the voice is counted; four quarters where the file says something that no pattern has.
    pub meter: Meter,
    /// Whether its eighths swing, because the file says so or because `evened` found long and short ones; in the line the eighths are even.
    pub swing: bool,
    /// Whether the file says how its notes sound; otherwise they may be the written notes of a player's page.
    pub sounding: bool,
    /// The tempo at which the voice begins, where the file states one; of a score the first.
    pub tempo: Option<Tempo>,
    /// The tonic, as it sounds, of the key signature with which the voice begins, where that is another than "no sharps, no flats"; of a
    /// score, of the first that is.
    pub key: Option<ConcertKey>,
}

impl ImportedVoice {
    /// The voice as it sounds, where it was written for the page of an instrument; a voice that says how it sounds stays as it is.
    #[must_use]
    pub fn on_page_of(self, player: &Instrument) -> Self {
        if self.sounding {
            return self;
        }
        let key = self.key.map(|key| player.concert_key(WrittenKey(key.0)));
        Self { line: self.line.transposed(player.transposition), key, ..self }
    }
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
        /// "MIDI", "MusicXML" or "compressed MusicXML".
        kind: &'static str,
        /// What the reader met.
        why: String,
    },
    /// Something that can be read but cannot stand there: a number, a chord, a meter, an ending.
    #[error("{place}: {what}")]
    Nonsense {
        /// The measure, and the note where it is about one.
        place: String,
        /// What stands there.
        what: String,
        /// What may stand there.
        right: &'static str,
    },
    /// Time in frames instead of beats.
    #[error("its time is counted in film frames, not in beats; export it again with beats")]
    FilmTime,
    /// Several pieces, one after the other.
    #[error("it holds several pieces, each with a time of its own (MIDI format 2)")]
    Sequences,
    /// Nothing sounds.
    #[error("no note sounds in it")]
    Empty,
    /// Only percussion sounds, which is left out where its channel was not chosen.
    #[error("only drums sound in it, on MIDI channel 10, and drums are left out")]
    Drums,
    /// Two notes at once.
    #[error("two notes sound at once at beat {beat}; a pattern has one voice, so leave one part in the file")]
    Chord {
        /// Where, in whole quarter notes from the first note.
        beat: u32,
    },
    /// Too long for a pattern, or for a chart.
    #[error("it has more than {MOST_NOTES} notes or {MOST_BEATS} beats; leave only the pattern in the file")]
    TooLong,
}

impl Refused {
    /// What the player can do about the refusal.
    #[must_use]
    pub fn mend(&self) -> String {
        match self {
            Self::Nonsense { right, .. } => {
                format!("It has to be {right}: put it right there, or export the line anew from a notation program.")
            }
            Self::FilmTime => "A MIDI export calls that ticks to the quarter note, not SMPTE.".to_owned(),
            Self::Sequences => "Export the piece that you mean alone, as format 0 or 1.".to_owned(),
            Self::Empty => "Is it the right file, and is no part of it muted?".to_owned(),
            Self::Drums => {
                "Is it a line, on pads? Write channel = 10 under [midi] in your settings, and it is read.".to_owned()
            }
            Self::Damaged { .. } => "Export the line anew from the program that wrote it.".to_owned(),
            _ => "Export the line alone, as one part, to a .mid, .musicxml or .mxl file.".to_owned(),
        }
    }
}

/// A bar in quarter notes from the start of the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bar {
    /// Where the bar begins.
    pub begins: f64,
    /// Length of the bar in the file.
    pub length: f64,
    /// Length of the bar by its time signature.
    pub whole: f64,
}

/// Where a line begins that sounds from `first` to `last`, and how long its pick-up is, in quarters. A line has a pick-up where it goes
/// on over the bar line and begins in the second half of its bar or in a bar cut short (common practice); otherwise it includes the rest
/// before it.
fn opening(bar: Bar, first: f64, last: f64) -> (f64, f64) {
    let (late, end) = (first - bar.begins, bar.begins + bar.length);
    let short = bar.length < bar.whole - NEAR;
    let half = late > NEAR && late > bar.whole / 2.0 - NEAR;
    if last > end + NEAR && (short || half) { (first, end - first) } else { (bar.begins, 0.0) }
}

/// Places that differ by no more than this are the same, in quarter notes.
const NEAR: f64 = 1e-6;

/// Makes notes, as (pitch, begins, ends), into one voice with its pick-up: slurs are cut, chords refused. `bar` gives the bar in which a
/// place lies.
pub(super) fn one_voice(
    mut notes: Vec<(Concert, f64, f64)>,
    bar: impl Fn(f64) -> Bar,
) -> Result<(Line, Beats), Refused> {
    if notes.len() > MOST_NOTES {
        return Err(Refused::TooLong);
    }
    notes.retain(|note| note.2 > note.1 && note.1.is_finite() && note.2.is_finite());
    notes.sort_by_cached_key(|note| rank(note.1));
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
    let last = notes.last().map_or(first, |note| note.2);
    if last - first > MOST_BEATS {
        return Err(Refused::TooLong);
    }
    let (first, pickup) = opening(bar(first), first, last);
    let length = last - first;
    let line = notes.iter().map(|(pitch, begins, ends)| ExpectedNote {
        pitch: *pitch,
        at: Beats(begins - first),
        length: Beats(ends - begins),
        named: None,
    });
    Ok((Line { notes: line.collect(), length: Beats(length) }, Beats(pickup)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_begins_with_its_rest_or_as_a_pick_up() {
        // Bars of four quarters; where a line begins and what of it is pick-up, in quarters. Common practice.
        let bar = Bar { begins: 8.0, length: 4.0, whole: 4.0 };
        assert_eq!(opening(bar, 8.0, 12.0), (8.0, 0.0));
        assert_eq!(opening(bar, 8.5, 16.0), (8.0, 0.0), "an eighth late: the rest belongs to the line");
        assert_eq!(opening(bar, 10.5, 16.0), (10.5, 1.5), "three eighths before the bar line");
        assert_eq!(opening(bar, 10.5, 12.0), (8.0, 0.0), "what ends with its bar leads nowhere");
        let short = Bar { length: 1.0, ..bar };
        assert_eq!(opening(short, 8.0, 16.0), (8.0, 1.0), "a bar cut short is a pick-up");
    }
}
