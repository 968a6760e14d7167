use crate::learn::{
    Correction, CorrectionError, InferredRoot, LineNote, LineOrnament, MelodicMotion, Pulse, PulseBy, QuantizedLine,
    RootReason, begins_anew, chord, infer_root, level, motion, quantize, quantize_unswung, tonic, without_ornaments,
};
use crate::music::{Concert, ConcertKey};
use crate::pattern::{Family, Library, Line, Pattern, PatternHeader, PatternId, Quality, TempoRange, from_line};
use crate::units::{Seconds, Tempo};

/// A line that was heard or read from a file, and what the player or the file says about it.
#[derive(Debug, Clone, PartialEq)]
pub struct LineDraft {
    /// The notes as they were heard or read, with the player's corrections.
    pub played: Vec<LineNote>,
    /// The pulse, where the player or a file gave one.
    pub pulse: Option<Pulse>,
    /// Whether the player says that the line does not swing.
    pub straight: bool,
    /// The sounding key, where the player named one.
    pub key: Option<ConcertKey>,
    /// The pitch of degree 1, where the player put notes right by degrees that count from it; it is used rather than the key.
    pub tonic: Option<Concert>,
    /// The tonic of a file's key signature, used where nothing else gives the root.
    pub signature: Option<ConcertKey>,
    /// The family, where the player named one.
    pub family: Option<Family>,
    /// Plain name of the pattern.
    pub name: String,
}

/// A draft made into a pattern, with the reason for everything that was decided.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnedPattern {
    /// The notes of the line, without those of ornaments.
    pub kept: Vec<LineNote>,
    /// The ornaments that were left out.
    pub ornaments: Vec<LineOrnament>,
    /// The line in units of a pulse.
    pub rhythm: QuantizedLine,
    /// The root of the line, and why it was taken.
    pub root: InferredRoot,
    /// The moves of the line.
    pub motion: MelodicMotion,
    /// The chord over which the line is read; `None` where it fits any chord.
    pub chord: Option<Quality>,
    /// The pattern that was made of the line.
    pub pattern: Pattern,
}

/// Why no pattern could be made of a line.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LearnError {
    /// No note was heard.
    #[error("no note was heard")]
    Nothing,
    /// The line is a single note; a pattern has two at least.
    #[error("it is one note, and a pattern has two or more")]
    OneNote,
    /// The player has to name the root, because nothing in the line shows it, or because patterns with the same moves count from
    /// different roots; the names of such patterns.
    #[error("the root cannot be known from these notes{}", among(.0))]
    Root(Vec<String>),
    /// The line is wider than degrees can be written, needs more notes or units than a pattern may have, or has a rhythm that no pattern
    /// can write.
    #[error("the line is too wide or too long for a pattern")]
    Unwritten,
}

fn among(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [first, rest @ ..] => {
            let rest = rest.last().map_or_else(String::new, |last| format!(" or \"{last}\""));
            format!(": they may be \"{first}\"{rest}")
        }
    }
}

impl LineDraft {
    /// Makes the pattern of the line.
    ///
    /// # Errors
    /// [`LearnError`] where the player has to say more, or no pattern can be written.
    pub fn learn(&self, library: &Library) -> Result<LearnedPattern, LearnError> {
        let learnt = self.learn_in(self.pulse, library);
        match self.pulse {
            // Where a pattern cannot write the units of a file's notes, somebody played into that file by hand: the notes are quantised.
            Some(pulse) if pulse.by == PulseBy::File && learnt == Err(LearnError::Unwritten) => {
                self.learn_in(Some(Pulse { by: PulseBy::FileByHand, ..pulse }), library)
            }
            _ => learnt,
        }
    }

    fn learn_in(&self, pulse: Option<Pulse>, library: &Library) -> Result<LearnedPattern, LearnError> {
        if self.played.len() == 1 {
            return Err(LearnError::OneNote);
        }
        let lay = if self.straight { quantize_unswung } else { quantize };
        let (mut kept, mut ornaments) = (self.played.clone(), Vec::new());
        let mut rhythm = lay(&kept, pulse).ok_or(LearnError::Nothing)?;
        if !rhythm.plain() {
            let (plain, found) = without_ornaments(&kept);
            let without = lay(&plain, pulse).filter(|it| !found.is_empty() && it.plainer_than(&rhythm));
            if let Some(without) = without {
                (kept, ornaments, rhythm) = (plain, found, without);
            }
        }
        // Nobody counts a silence between two tries, so it decides nothing of the units.
        if let Some(anew) = begins_anew(&kept).filter(|_| !rhythm.exact) {
            let before = lay(&kept[..anew], pulse).ok_or(LearnError::Nothing)?;
            kept = whole_silence(kept, anew, before.unit());
            rhythm = lay(&kept, pulse).ok_or(LearnError::Nothing)?;
        }
        let root = match self.tonic {
            Some(tonic) => InferredRoot { tonic, why: RootReason::Given },
            None => find_root(&rhythm.line, self.key, self.signature, library)?,
        };
        let motion = motion(&rhythm.line);
        let chord = chord(&rhythm.line, root.tonic);
        let family = self.family.unwrap_or(motion.family());
        let about = about(&self.name, family, rhythm.tempo, chord, level(&rhythm.line, root.tonic));
        let mut pattern = from_line(&rhythm.line, root.tonic, about).map_err(|_| LearnError::Unwritten)?;
        pattern.swing = rhythm.swing;
        pattern.notation.pickup = (rhythm.pickup.0 / pattern.notation.unit.ticks().beats().0).round() as u32;
        Ok(LearnedPattern { kept, ornaments, rhythm, root, motion, chord, pattern })
    }

    /// Sets the key, from whose tonic the degrees then count. A note that was put right keeps its pitch and loses its spelling, which
    /// belongs to the old key.
    pub fn set_key(&mut self, key: ConcertKey) {
        self.key = Some(key);
        self.tonic = None;
        self.played.iter_mut().for_each(|note| note.letters = None);
    }

    /// Puts notes right; `mends` numbers them as they stand in `learnt`. From then on the root and the pulse of `learnt` count as
    /// given by the player, who corrected the notes in that root and pulse.
    ///
    /// # Errors
    /// [`CorrectionError`] for the first correction that cannot be made; the draft is then as it was.
    pub fn mend(&mut self, mends: &[Correction], learnt: &LearnedPattern) -> Result<(), CorrectionError> {
        let mut mends = mends.to_vec();
        // From the last note to the first, so that a note that is taken out does not change the number of another to be corrected.
        mends.sort_by_cached_key(|mend| -(mend.note as i64));
        let mut notes = learnt.kept.clone();
        mends.iter().try_for_each(|mend| mend.make(&mut notes, learnt.root.tonic))?;
        self.played = notes;
        self.tonic = Some(learnt.root.tonic);
        self.pulse = Some(learnt.rhythm.pulse());
        Ok(())
    }
}

/// The notes of a line whose silence before one of them lasts a whole number of units.
fn whole_silence(mut notes: Vec<LineNote>, before: usize, unit: Seconds) -> Vec<LineNote> {
    let silence = (notes[before].onset - notes[before - 1].onset).0 / unit.0;
    let by = Seconds((silence.round() - silence) * unit.0);
    for note in &mut notes[before..] {
        (note.onset, note.release) = (note.onset + by, note.release + by);
    }
    notes
}

/// The root that was given, or else found ([`infer_root`]), or else the tonic of the file's key signature.
///
/// # Errors
/// [`LearnError::Root`]: the player has to name the root.
pub fn find_root(
    line: &Line,
    given: Option<ConcertKey>,
    signature: Option<ConcertKey>,
    library: &Library,
) -> Result<InferredRoot, LearnError> {
    let named = |key: ConcertKey, why| InferredRoot { tonic: tonic(line, key.0), why };
    if let Some(key) = given {
        return Ok(named(key, RootReason::Given));
    }
    infer_root(line, library)
        .or_else(|alike| signature.map(|key| named(key, RootReason::Signature)).ok_or(LearnError::Root(alike)))
}

/// The header of a player's own pattern; its range of tempos goes from half of `tempo` to `tempo`, within 20 to 400.
#[must_use]
pub fn about(name: &str, family: Family, tempo: Tempo, chord: Option<Quality>, level: u8) -> PatternHeader {
    let high = tempo.0.round().clamp(20.0, 400.0);
    PatternHeader {
        id: PatternId(id(name)),
        name: name.replace('-', " "),
        family,
        level,
        tempo: TempoRange { low: Tempo((high / 2.0).round().max(20.0)), high: Tempo(high) },
        over: chord.into_iter().collect(),
        source: "the player's own".to_owned(),
    }
}

/// A name as an id for files and the command line: ASCII letters made small, and digits; one dash for whatever else lies between
/// them; 64 characters at most.
#[must_use]
pub fn id(name: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
    let dashed: String = name.chars().map(plain).collect();
    let parts: Vec<&str> = dashed.split('-').filter(|part| !part.is_empty()).collect();
    parts.join("-").chars().take(64).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn draft(pitches: &[i32]) -> LineDraft {
        let note = |(n, pitch): (usize, &i32)| LineNote {
            pitch: Concert(*pitch),
            onset: Seconds(n as f64 * 0.25),
            release: Seconds(n as f64 * 0.25 + 0.24),
            letters: None,
        };
        let played = pitches.iter().enumerate().map(note).collect();
        LineDraft {
            played,
            pulse: None,
            straight: false,
            key: None,
            tonic: None,
            signature: None,
            family: None,
            name: "My line!".into(),
        }
    }
    fn notes(learnt: &LearnedPattern) -> String {
        crate::pattern::print_notes(&learnt.pattern.notation.tokens)
    }

    #[test]
    fn a_line_becomes_a_pattern_that_reads_as_it_was_played() {
        let learnt = draft(&[65, 67, 69, 70, 72, 70, 69, 67, 65]).learn(Library::builtin()).unwrap();
        assert_eq!(notes(&learnt), "1 2 3 4 5 4 3 2 1");
        assert!(matches!(learnt.root, InferredRoot { tonic: Concert(65), why: RootReason::Known(_) }));
        assert_eq!((learnt.pattern.family, learnt.pattern.id.0.as_str()), (Family::Stepwise, "my-line"));
        assert_eq!(learnt.chord.map(Quality::name), Some("maj"));
    }

    #[test]
    fn a_mended_note_is_counted_from_the_root_it_was_mended_in() {
        let mut draft = draft(&[60, 64, 67, 71, 72]);
        let heard = draft.learn(&Library::default()).unwrap();
        let mends = ["4=b7", "2=b3"].map(|text| Correction::parse(text).unwrap());
        draft.mend(&mends, &heard).unwrap();
        let learnt = draft.learn(&Library::default()).unwrap();
        assert_eq!((notes(&learnt).as_str(), &learnt.root.why), ("1 b3 5 b7 8", &RootReason::Given));
        assert_eq!(draft.mend(&[Correction::parse("9=1").unwrap()], &learnt), Err(CorrectionError::NoNote(9, 5)));
        draft.mend(&["2=.", "4=1"].map(|text| Correction::parse(text).unwrap()), &learnt).unwrap();
        assert_eq!(notes(&draft.learn(&Library::default()).unwrap()), "1 . 5 1 8");
    }

    #[test]
    fn a_mended_note_keeps_the_octave_and_the_spelling_the_player_gave_it() {
        let mended = |pitches: &[i32], mends: &[&str]| {
            let mut draft = LineDraft { key: Some(ConcertKey::FIFTHS[0]), ..draft(pitches) };
            let heard = draft.learn(&Library::default()).unwrap();
            let mends: Vec<Correction> = mends.iter().map(|text| Correction::parse(text).unwrap()).collect();
            draft.mend(&mends, &heard).unwrap();
            draft
        };
        let written = |draft: &LineDraft| notes(&draft.learn(&Library::default()).unwrap());
        // The last note was heard an octave too high, or the first too low: the other notes stay in their octave.
        let major = [60, 64, 67, 72];
        for (mend, said) in [("4=1", "1 3 5 1"), ("4=1,", "1 3 5 1,"), ("3=5,", "1 3 5, 8"), ("1=8", "8 3 5 8")] {
            assert_eq!(written(&mended(&major, &[mend])), said, "{mend}");
        }
        // The spelling that the player typed, b5 or #4, is kept, whether the line rises or falls (common practice: either, by the chord).
        for said in ["b5", "#4"] {
            for line in [[60, 64, 67, 70], [70, 67, 64, 60]] {
                let at = line.iter().position(|pitch| *pitch == 67).unwrap() + 1;
                assert!(written(&mended(&line, &[&format!("{at}={said}")])).contains(said), "{said} in {line:?}");
            }
        }
        // In another key the corrected note keeps its pitch and loses its spelling.
        let mut moved = mended(&major, &["3=b5"]);
        moved.set_key(ConcertKey(Concert(66).class()));
        assert_eq!(written(&moved), "#4 b7 8 #11");
    }

    #[test]
    fn a_swung_line_is_kept_even_with_its_swing_and_its_pick_up() {
        // A line at quarter = 120 that begins with the short eighth before the beat, long to short two to one.
        let onsets = [0.0, 1.0, 3.0, 4.0, 6.0, 7.0].map(|thirds| thirds / 6.0);
        let note = |(pitch, onset): (i32, f64)| LineNote {
            pitch: Concert(pitch),
            onset: Seconds(onset),
            release: Seconds(onset + 0.15),
            letters: None,
        };
        let played = [59, 60, 62, 64, 65, 67].into_iter().zip(onsets).map(note).collect();
        let mut draft = LineDraft { played, key: Some(ConcertKey::FIFTHS[0]), ..draft(&[]) };
        let learnt = draft.learn(Library::builtin()).unwrap();
        assert_eq!(notes(&learnt), "7, 1 2 3 4 5");
        assert!(learnt.pattern.swing && learnt.pattern.pickup() == crate::units::Beats(0.5), "{learnt:?}");
        draft.mend(&[Correction::parse("6=6").unwrap()], &learnt).unwrap();
        let mended = draft.learn(Library::builtin()).unwrap();
        assert_eq!((notes(&mended).as_str(), mended.pattern.swing), ("7, 1 2 3 4 6", true));
        draft.straight = true;
        assert!(!draft.learn(Library::builtin()).unwrap().pattern.swing);
        let (again, troubles) = crate::pattern::read(&crate::pattern::print(&mended.pattern), "own.toml");
        assert_eq!((again, troubles), (vec![mended.pattern], vec![]));
    }

    #[test]
    fn a_root_that_nobody_can_know_is_asked_for() {
        let turn = draft(&[65, 63, 64]);
        assert!(matches!(turn.learn(Library::builtin()), Err(LearnError::Root(names)) if names.len() > 1));
        let given = LineDraft { key: Some(ConcertKey::FIFTHS[0]), ..turn.clone() };
        // Half of the moves are half steps, so the family is half steps, and the pattern is written in them.
        assert_eq!(notes(&given.learn(Library::builtin()).unwrap()), "5 3 4");
        let signed = LineDraft { signature: Some(ConcertKey::FIFTHS[0]), ..turn };
        assert_eq!(signed.learn(Library::builtin()).unwrap().root.why, RootReason::Signature);
        assert_eq!(draft(&[]).learn(Library::builtin()), Err(LearnError::Nothing));
        assert_eq!(draft(&[72]).learn(Library::builtin()), Err(LearnError::OneNote));
    }

    #[test]
    fn any_name_becomes_an_id_a_shell_takes() {
        assert_eq!(id("  Blue fall, II "), "blue-fall-ii");
        assert_eq!(id("Übung"), "bung");
        assert_eq!(id("??"), "");
    }
}
