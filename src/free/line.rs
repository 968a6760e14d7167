use std::f64::consts::TAU;

use super::tempo;
use crate::learn::{LineNote, Pulse, QuantizedLine, played, quantize};
use crate::music::{ConcertKey, Mode, PitchClass};
use crate::notes::HeardNote;
use crate::pattern::{Between, Line};
use crate::units::{Beats, Decibels, Seconds, Tempo, median};

/// The fewest notes of a line that is taken apart.
const FEWEST: usize = 4;
/// A note that the ear hears with less confidence is doubtful. Of one instrument hardly any note is doubtful, in noise 12 dB below it
/// one in seven; of two lines at once nearly half are, of chords most.
const SURE: f64 = 0.95;
/// Where more than this share of the sounds is doubtful, they are not one line.
const MOST_DOUBTFUL: f64 = 0.3;
/// The least [`steadiness`] of a line; what is less steady is speech, noise or drums. Notes with a spread of 20 cents give .45; notes
/// at random pitches give about one over the square root of their number.
const STEADY: f64 = 0.4;
/// The least number of notes from which a tuning, or a share of doubtful sounds, is told.
const TUNED_BY: usize = 8;
/// Where no tempo is known, a beat is taken to last twice the median time from one note to the next, within these bounds in seconds.
const USUAL_BEAT: (f64, f64) = (0.3, 1.2);
/// The half steps of a major scale.
const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];

/// A line that was played freely.
#[derive(Debug, Clone, PartialEq)]
pub struct FreeLine {
    /// The notes of the line in order, each as the nearest half step once the player's own tuning is taken off.
    pub notes: Vec<LineNote>,
    /// How many sounds were heard.
    pub heard: usize,
    /// Whether the ear heard the line in sound; else it is written in a file, or keys told it.
    pub by_ear: bool,
    /// How many of those sounds are doubtful, because the ear's confidence is low or because they were left out of the notes.
    pub doubtful: usize,
    /// The tempo, where it is told or found.
    pub tempo: Option<Tempo>,
    /// Whether the tempo changes on the way; `tempo` is then that of the beginning.
    pub tempo_changes: bool,
    /// Where the tempo is from.
    pub tempo_from: TempoFrom,
    /// Twice or half the tempo that was found, where the line may be counted so nearly as well.
    pub tempo_or: Option<Tempo>,
}

/// Where the tempo of a line is from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TempoFrom {
    /// The player told it, or a form that was played over has it.
    Told,
    /// The file says it.
    File,
    /// The file says none, so the one is taken that its format means by that.
    Assumed,
    /// It was found from the onsets. Some files say another tempo, which the onsets do not fit.
    Notes(Option<Tempo>),
}

/// Why there is no line to take apart.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoLine {
    /// Nothing was heard.
    #[error("no note was heard in it")]
    Silent,
    /// There is sound, with its highest level, but no note in it.
    #[error("there is sound in it (to {:.0} dB), but no single pitch that lasts, as in drums, chords or noise: no line was made of it", .0.0)]
    Unpitched(Decibels),
    /// The line has too few notes; the number is how many.
    #[error("{} can be told in it: too few to take apart", if *.0 == 1 { "only one note".to_owned() } else { format!("only {0} notes", .0) })]
    Few(usize),
    /// The pitches do not stand on the half steps of any one tuning.
    #[error("its pitches stand on no scale, as in speech or drums: no line was made of it")]
    Unsteady,
    /// Too many sounds are doubtful: how many, and how many sounds there are.
    #[error(
        "of {1} sounds in it {0} are not heard clearly, as where several notes sound at once: no line was made of it"
    )]
    Doubtful(usize, usize),
}

impl FreeLine {
    /// The line that was heard. Where its tempo is not told, it is found from the onsets, if they have a pulse.
    ///
    /// # Errors
    /// [`NoLine`] where what was heard is not one line.
    pub fn heard(heard: &[HeardNote], tempo: Option<Tempo>) -> Result<Self, NoLine> {
        if heard.is_empty() {
            return Err(NoLine::Silent);
        }
        let notes = played(heard);
        let sure: Vec<&HeardNote> = heard.iter().filter(|note| note.confidence >= SURE).collect();
        let doubtful = heard.len() - sure.len().min(notes.len());
        if sure.len() >= TUNED_BY && steadiness(&sure) < STEADY {
            return Err(NoLine::Unsteady);
        }
        if heard.len() >= TUNED_BY && doubtful as f64 > MOST_DOUBTFUL * heard.len() as f64 {
            return Err(NoLine::Doubtful(doubtful, heard.len()));
        }
        if notes.len() < FEWEST {
            return Err(NoLine::Few(notes.len()));
        }
        let line = Self {
            notes,
            heard: heard.len(),
            by_ear: true,
            doubtful,
            tempo,
            tempo_changes: false,
            tempo_from: TempoFrom::Told,
            tempo_or: None,
        };
        Ok(if tempo.is_none() { line.with_found_tempo(None) } else { line })
    }

    /// The line at the tempo that its onsets have, if any; `file` is the tempo that its file says.
    fn with_found_tempo(self, file: Option<Tempo>) -> Self {
        match tempo::found(&onsets(&self.notes)) {
            Some(found) => {
                Self { tempo: Some(found.tempo), tempo_from: TempoFrom::Notes(file), tempo_or: found.other, ..self }
            }
            None => self,
        }
    }

    /// The line of keys at the tempo that its file says; `changes` says whether the file changes it on the way. Most keyboards write the
    /// tempo of their own metronome, whatever is played: where the onsets have a pulse that is not that of the file, their own counts.
    #[must_use]
    pub fn at_tempo_of_file(self, file: Tempo, changes: bool) -> Self {
        let line = Self { tempo: Some(file), tempo_changes: changes, tempo_from: TempoFrom::File, ..self };
        if changes || tempo::has_pulse(&onsets(&line.notes), file) { line } else { line.with_found_tempo(Some(file)) }
    }

    /// A line that is written in a file, at its tempo.
    ///
    /// # Errors
    /// [`NoLine::Silent`] without notes, [`NoLine::Few`] with too few.
    pub fn written(line: &Line, tempo: Tempo) -> Result<Self, NoLine> {
        match line.notes.len() {
            0 => Err(NoLine::Silent),
            few if few < FEWEST => Err(NoLine::Few(few)),
            heard => {
                let notes = LineNote::of(line, tempo);
                Ok(Self {
                    notes,
                    heard,
                    by_ear: false,
                    doubtful: 0,
                    tempo: Some(tempo),
                    tempo_changes: false,
                    tempo_from: TempoFrom::Told,
                    tempo_or: None,
                })
            }
        }
    }

    /// The pitches, as MIDI note numbers.
    #[must_use]
    pub fn heights(&self) -> Vec<i32> {
        self.notes.iter().map(|note| note.pitch.0).collect()
    }

    /// The line with its rhythm put in order, at its tempo or at a guessed one; `None` without notes. What [`Self::between`] takes for a
    /// rest is one on the page too: there the note before it lasts as long as it sounds.
    #[must_use]
    pub fn quantized(&self) -> Option<QuantizedLine> {
        let mut written = quantize(&self.notes, self.tempo.map(Pulse::given))?;
        let (beat, units) = (written.tempo.beat().0, written.share as f64);
        for (n, _) in self.between().iter().enumerate().filter(|(_, between)| **between != Between::Joined) {
            let sounds = (self.notes[n].release - self.notes[n].onset).0 / beat;
            let note = &mut written.line.notes[n];
            note.length = Beats(((sounds * units).round().max(1.0) / units).min(note.length.0));
        }
        Some(written)
    }

    /// Long to short, where two notes divide beats as eighths that swing; `None` where they are even, or the tempo is not known.
    #[must_use]
    pub fn swing(&self) -> Option<f64> {
        tempo::swing(&onsets(&self.notes), self.tempo?)
    }

    /// Whether the first note lies between two beats, where eighths that swing tell it.
    #[must_use]
    pub fn begins_between(&self) -> Option<bool> {
        tempo::first_is_between(&onsets(&self.notes), self.tempo?)
    }

    /// How long a beat lasts, by the tempo, or guessed from the notes where no tempo is known.
    #[must_use]
    pub fn beat(&self) -> Seconds {
        let gaps: Vec<f64> = self.notes.windows(2).map(|pair| (pair[1].onset - pair[0].onset).0).collect();
        let guessed = || Seconds((2.0 * median(&gaps).unwrap_or(0.25)).clamp(USUAL_BEAT.0, USUAL_BEAT.1));
        self.tempo.map_or_else(guessed, Tempo::beat)
    }

    /// What lies between each note and the next. A silence is a rest where it fills about half a beat (.45) and at least half of the time
    /// from onset to onset; from a beat and a half on a quarter of that time is enough, for a long note may have died away of itself. One
    /// of more than a beat, and such a share, parts the line.
    #[must_use]
    pub fn between(&self) -> Vec<Between> {
        let beat = self.beat().0;
        let one = |pair: &[LineNote]| {
            let (way, silence) = ((pair[1].onset - pair[0].onset).0, (pair[1].onset - pair[0].release).0);
            let share = if way < 1.5 * beat { 0.5 } else { 0.25 };
            match silence {
                _ if silence > beat && silence >= 0.25 * way => Between::Parting,
                _ if silence < share * way || silence < 0.45 * beat => Between::Joined,
                _ => Between::Rest,
            }
        };
        self.notes.windows(2).map(one).collect()
    }

    /// How long the line lasts, from its first onset to the end of its last note.
    #[must_use]
    pub fn length(&self) -> Seconds {
        let ends = self.notes.iter().map(|note| note.release.0).fold(0.0, f64::max);
        Seconds((ends - self.notes.first().map_or(0.0, |note| note.onset.0)).max(0.0))
    }

    /// The tonic of the major scale that holds most notes of the line; of equal scales the one whose tonic has more notes.
    #[must_use]
    pub fn scale(&self) -> PitchClass {
        let mut counts = [0usize; 12];
        self.notes.iter().for_each(|note| counts[note.pitch.0.rem_euclid(12) as usize] += 1);
        let held = |tonic: i32| MAJOR.iter().map(|step| counts[(tonic + step) as usize % 12]).sum::<usize>();
        let best = (0..12).max_by_key(|tonic| (held(*tonic), counts[*tonic as usize], -tonic));
        PitchClass::new(best.unwrap_or(0))
    }

    /// The key in which the line is told. It is a major key, or the minor key of the same notes where the line begins or ends on the tonic
    /// of that, and oftener sounds it. A line that begins or ends on a tonic with the minor third and never the major one is minor too.
    #[must_use]
    pub fn home(&self) -> (ConcertKey, Mode) {
        let tonic = self.scale().get();
        let count = |up: i32| self.notes.iter().filter(|note| (note.pitch.0 - tonic).rem_euclid(12) == up).count();
        // The last note weighs twice as much as the first.
        let at_ends = |up: i32| {
            let on = |note: Option<&LineNote>| note.is_some_and(|note| (note.pitch.0 - tonic).rem_euclid(12) == up);
            2 * i32::from(on(self.notes.last())) + i32::from(on(self.notes.first()))
        };
        let oftener = (count(9) as i32 - count(0) as i32).signum();
        if at_ends(9) - at_ends(0) + oftener >= 2 {
            return (ConcertKey(PitchClass::new(tonic + 9)), Mode::Minor);
        }
        let minor_third = count(3) > 0 && count(4) == 0 && at_ends(0) > 0;
        (ConcertKey(PitchClass::new(tonic)), if minor_third { Mode::Minor } else { Mode::Major })
    }
}

fn onsets(notes: &[LineNote]) -> Vec<f64> {
    notes.iter().map(|note| note.onset.0).collect()
}

/// How nearly the notes stand on one tuning, 1 for exactly and near 0 for not at all: the length of the mean of their places on the
/// circle of one half step (circular statistics: Mardia and Jupp, "Directional Statistics", 2000; from memory).
fn steadiness(notes: &[&HeardNote]) -> f64 {
    let (up, across) = notes.iter().fold((0.0, 0.0), |(up, across), note| {
        let turn = note.pitch.0 * TAU;
        (up + turn.sin(), across + turn.cos())
    });
    up.hypot(across) / notes.len().max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Midi;

    fn note(number: u32, pitch: f64, confidence: f64) -> HeardNote {
        let onset = Seconds(f64::from(number) * 0.25);
        HeardNote {
            number,
            onset,
            release: onset + Seconds(0.22),
            pitch: Midi(pitch),
            spread: None,
            loudness: Decibels(-20.0),
            confidence,
            announced: onset,
            announced_pitch: Midi(pitch),
        }
    }

    #[test]
    fn what_is_no_line_is_said_and_not_made_into_one() {
        assert_eq!(FreeLine::heard(&[], None), Err(NoLine::Silent));
        assert_eq!(FreeLine::heard(&[note(0, 60.0, 1.0)], None), Err(NoLine::Few(1)));
        let speech: Vec<HeardNote> = (0..20).map(|n| note(n, 50.0 + 0.37 * f64::from(n * n % 29), 0.99)).collect();
        assert_eq!(FreeLine::heard(&speech, None), Err(NoLine::Unsteady));
        let chords: Vec<HeardNote> = (0..20).map(|n| note(n, 60.0 + f64::from(n % 5), 0.5)).collect();
        assert_eq!(FreeLine::heard(&chords, None), Err(NoLine::Doubtful(20, 20)));
    }

    #[test]
    fn a_long_silence_parts_and_a_short_note_does_not() {
        let mut heard: Vec<HeardNote> = (0..4).map(|n| note(n, f64::from(60 + 2 * n), 1.0)).collect();
        // The second note is short, and a breath of more than a beat stands before the last one.
        heard[1].release = heard[1].onset + Seconds(0.1);
        (heard[3].onset, heard[3].release) = (heard[3].onset + Seconds(1.0), heard[3].release + Seconds(1.0));
        let line = FreeLine::heard(&heard, Some(Tempo(120.0))).unwrap();
        assert_eq!(line.between(), [Between::Joined, Between::Joined, Between::Parting]);
        // A quarter and a quarter rest: the note is heard a little longer than its place.
        (heard[3].onset, heard[3].release) = (heard[2].onset + Seconds(1.0), heard[2].onset + Seconds(1.2));
        heard[2].release = heard[2].onset + Seconds(0.52);
        let line = FreeLine::heard(&heard, Some(Tempo(120.0))).unwrap();
        assert_eq!(line.between()[2], Between::Rest);
        // A half note and a beat of breath after it end a phrase, though the note fills most of the time.
        heard[3].onset = heard[2].onset + Seconds(1.55);
        heard[2].release = heard[2].onset + Seconds(1.0);
        let line = FreeLine::heard(&heard, Some(Tempo(120.0))).unwrap();
        assert_eq!(line.between()[2], Between::Parting);
    }

    #[test]
    fn a_rest_after_a_long_note_stands_on_the_page() {
        // A dotted quarter and a rest of an eighth; then a dotted quarter that is let go hardly before the next note.
        let places = [(0.0, 1.4), (2.0, 0.46), (2.5, 1.4), (4.0, 0.46), (4.5, 0.46)];
        let one = |(n, (at, length)): (usize, &(f64, f64))| {
            let onset = Seconds(0.6 * at);
            HeardNote {
                onset,
                release: onset + Seconds(0.6 * length),
                ..note(n as u32, f64::from(60 + 2 * n as i32), 1.0)
            }
        };
        let heard: Vec<HeardNote> = places.iter().enumerate().map(one).collect();
        let written = FreeLine::heard(&heard, Some(Tempo(100.0))).unwrap().quantized().unwrap();
        let lengths: Vec<f64> = written.line.notes.iter().map(|note| note.length.0).collect();
        assert_eq!(lengths, [1.5, 0.5, 1.5, 0.5, 0.5]);
    }

    /// Notes at so many a second.
    fn run(pitches: &[i32], every: f64) -> Vec<HeardNote> {
        let one = |(n, pitch): (usize, &i32)| {
            let onset = Seconds(1.0 + every * n as f64);
            HeardNote { onset, release: onset + Seconds(0.9 * every), ..note(n as u32, f64::from(*pitch), 1.0) }
        };
        pitches.iter().enumerate().map(one).collect()
    }

    #[test]
    fn a_line_that_begins_and_ends_on_its_minor_tonic_is_minor() {
        let home = |pitches: &[i32]| {
            let (key, mode) = FreeLine::heard(&run(pitches, 0.25), None).unwrap().home();
            (key.name(), mode)
        };
        // Common practice: five notes of Eb minor; A minor melodic upwards, natural downwards; C major, also where it begins on A.
        assert_eq!(home(&[63, 65, 66, 68, 70, 68, 66, 65, 63]), ("Eb", Mode::Minor));
        assert_eq!(home(&[69, 71, 72, 74, 76, 78, 80, 81]), ("A", Mode::Minor));
        assert_eq!(home(&[69, 71, 72, 74, 76, 77, 80, 81]), ("A", Mode::Minor));
        assert_eq!(home(&[60, 62, 64, 65, 67, 69, 71, 72]), ("C", Mode::Major));
        assert_eq!(home(&[69, 71, 72, 67, 64, 67, 62, 60]), ("C", Mode::Major));
    }

    #[test]
    fn a_keyboard_that_writes_its_own_tempo_is_not_believed() {
        let scale: Vec<i32> = [53, 55, 57, 58, 60, 62, 64, 65, 64, 62, 60, 58, 57, 55].repeat(2);
        // Eighths at 84 in a file that says 120, and in one that says 84.
        let line = || FreeLine::heard(&run(&scale, 30.0 / 84.0), None).unwrap();
        let told = line().at_tempo_of_file(Tempo(120.0), false);
        assert_eq!(told.tempo_from, TempoFrom::Notes(Some(Tempo(120.0))));
        let readings = [told.tempo, told.tempo_or].map(|tempo| tempo.map_or(0.0, |tempo| tempo.0.round()));
        assert!(readings.contains(&84.0), "{readings:?}");
        let told = line().at_tempo_of_file(Tempo(84.0), false);
        assert_eq!((told.tempo, told.tempo_from), (Some(Tempo(84.0)), TempoFrom::File));
        // Near the tempo of the file, too, a line is at its own; one that strays from a click is at that of the click.
        for own in [113.0, 116.0, 118.0, 124.0] {
            let line = FreeLine::heard(&run(&scale, 30.0 / own), None).unwrap().at_tempo_of_file(Tempo(120.0), false);
            assert_eq!(line.tempo_from, TempoFrom::Notes(Some(Tempo(120.0))), "{own}");
        }
        let mut strays = run(&scale, 0.25);
        let ms = [12.0, -15.0, 8.0, -10.0, 15.0, -6.0, 10.0];
        strays.iter_mut().zip(ms.iter().cycle()).for_each(|(note, ms)| note.onset.0 += 0.001 * ms);
        let line = FreeLine::heard(&strays, None).unwrap().at_tempo_of_file(Tempo(120.0), false);
        assert_eq!((line.tempo, line.tempo_from), (Some(Tempo(120.0)), TempoFrom::File));
        // Triplets have the pulse of their quarter.
        let line = FreeLine::heard(&run(&scale, 20.0 / 100.0), None).unwrap().at_tempo_of_file(Tempo(100.0), false);
        assert_eq!(line.tempo_from, TempoFrom::File);
    }

    #[test]
    fn the_scale_is_the_one_that_holds_most_notes() {
        let heard: Vec<HeardNote> = [63, 65, 67, 68, 70, 72, 74, 75]
            .iter()
            .zip(0..)
            .map(|(pitch, n)| note(n, f64::from(*pitch), 1.0))
            .collect();
        assert_eq!(FreeLine::heard(&heard, None).unwrap().scale(), PitchClass::new(3));
    }
}
