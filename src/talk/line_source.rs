//! A line to be learnt: from a recording, a MIDI file or a score; and the pattern that is made of it.

use std::path::Path;

use crate::files;
use crate::learn::{Correction, LearnError, LearnedPattern, LineDraft, LineNote, played};
use crate::music::ConcertKey;
use crate::pattern::Library;
use crate::talk::failure::Failure;
use crate::talk::notation_files::voice;
use crate::talk::player::Who;
use crate::talk::recordings;
use crate::units::Tempo;

/// Tempo of a file that states none: in Standard MIDI Files 1.0 a quarter note then lasts half a second, and a score is read
/// likewise.
const MIDI_TEMPO: Tempo = Tempo(120.0);

/// What helps where one note was heard and no line. On keys a note that is held hides what is played under it.
const ONE_NOTE: &str =
    "Play the line alone. On keys let go of a note that you hold above it (below it, where midi.chord is \"lowest\").";

/// Ratio of the long to the short eighth that swings, wherever no other is said: the beat is divided as by a triplet.
const LONG_TO_SHORT: f64 = 2.0;

/// A line to be learnt, wherever it came from.
#[derive(Default)]
pub struct LineSource {
    /// The notes.
    pub played: Vec<LineNote>,
    /// The tempo of a file with notes, 120 where it states none; `None` for a recording.
    pub tempo: Option<Tempo>,
    /// The key of the signature in the file, where the file has one.
    pub signature: Option<ConcertKey>,
    /// The title of the line, where its file has one.
    pub title: Option<String>,
}

impl LineSource {
    /// The line in a file, as it is written or as it is heard.
    pub fn of(file: &Path, who: &Who) -> Result<Self, Failure> {
        // Without this a pipe would be waited for without end.
        files::plain(file)?;
        if let Some(voice) = voice(file, who)? {
            let tempo = voice.tempo.unwrap_or(MIDI_TEMPO);
            // A score has even eighths and says that they swing, so they are swung here as a player would.
            let line = if voice.swing { voice.line.swung(LONG_TO_SHORT, voice.pickup) } else { voice.line };
            let played = LineNote::of(&line, tempo);
            return Ok(Self { played, tempo: Some(tempo), signature: voice.key, title: voice.title });
        }
        let played = played(&recordings::heard(file, who)?);
        if played.is_empty() {
            let mend = format!("earfirst hear --file {} says what is wrong with the sound.", file.display());
            return Err(Failure::input(file.display(), "no note was heard in it", mend));
        }
        Ok(Self { played, ..Self::default() })
    }
}

/// The pattern of a draft, with the notes that were put right.
pub fn pattern_of(mut draft: LineDraft, mends: &[Correction], library: &Library) -> Result<LearnedPattern, Failure> {
    let learnt = draft.learn(library).map_err(|why| unlearnt(&why))?;
    if mends.is_empty() {
        return Ok(learnt);
    }
    draft.mend(mends, &learnt).map_err(|no| Failure::usage(no, "Notes count from 1, such as --note 3=b7."))?;
    draft.learn(library).map_err(|why| unlearnt(&why))
}

/// Why the line became no pattern, and what helps.
pub fn unlearnt(why: &LearnError) -> Failure {
    match why {
        LearnError::OneNote => Failure::usage(why, ONE_NOTE),
        LearnError::Root(_) => Failure::usage(why, "Tell it with --key, as on your page: --key Eb."),
        LearnError::Nothing => Failure::usage(why, "earfirst notes FILE shows what is heard in a recording."),
        LearnError::Unwritten => Failure::usage(why, "Keep within two octaves, and to one line."),
    }
}
