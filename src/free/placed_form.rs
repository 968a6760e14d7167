use super::line::FreeLine;
use crate::chart::{Change, Chorus};
use crate::learn::LineNote;
use crate::music::{Concert, Degree};
use crate::units::{Seconds, Tempo, median, rank};

/// The place of the first bar counts as surely found where it fits better, by this share of the sound, than every place more than
/// half a beat away from it.
const SURELY: f64 = 0.06;
/// Bar 1 is taken to begin with the first note unless another place fits better by this share of the sound.
const BETTER: f64 = 0.12;
/// A note belongs to the chord of the next beat where it begins at most this many beats before that beat and sounds on into it, for
/// more than a quarter of it.
const AHEAD: f64 = 0.55;

/// A form laid under a line: where its first bar begins, and how quick it is.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedForm {
    /// Once through the form, in sounding pitch.
    pub chorus: Chorus,
    /// Where bar 1 begins, on the clock of the line.
    pub begins: Seconds,
    /// The tempo of the form.
    pub tempo: Tempo,
    /// Whether the place of bar 1 is sure: the file or the player told it, or one place fits the line clearly better than all others.
    pub sure: bool,
}

/// A pitch over its chord.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToneOver {
    /// Half steps over the root, 0 to 11.
    pub above: i32,
    /// The tone of the chord with this pitch; `None` where no tone has it.
    pub tone: Option<Degree>,
}

impl PlacedForm {
    /// A form whose bar 1 is known to begin at `begins`.
    #[must_use]
    pub const fn at(chorus: Chorus, begins: Seconds, tempo: Tempo) -> Self {
        Self { chorus, begins, tempo, sure: true }
    }

    /// Looks for bar 1 within a bar of the first note, at every half beat: where most of the sound is tones of the chords, or at the first
    /// note where no place is better by [`BETTER`]. Eighths that swing tell which half beats are beats: then bar 1 begins on one of
    /// those, and where the first note lies between two beats, the better one of the two stands for it.
    #[must_use]
    pub fn found(chorus: Chorus, tempo: Tempo, line: &FreeLine) -> Self {
        let first = line.notes.first().map_or(Seconds(0.0), |note| note.onset);
        let half = tempo.beat() * 0.5;
        let placed = |late: i32| {
            let begins = first - half * f64::from(late);
            let rough = Self { chorus: chorus.clone(), begins, tempo, sure: true };
            let off = rough.off_the_beat(line);
            Self { begins: begins + tempo.beat() * off, ..rough }
        };
        let bar = 2 * chorus.meter as i32;
        let between = line.begins_between();
        let on_beat = |late: &i32| between.is_none_or(|between| between == (late.rem_euclid(2) == 1));
        let mut all: Vec<(f64, i32)> =
            (-bar..bar).filter(on_beat).map(|late| (placed(late).fits(line), late)).collect();
        all.sort_by_cached_key(|one| (rank(-one.0), one.1.abs() as i64));
        let (most, late) = all.first().copied().unwrap_or((0.0, 0));
        let next = all.iter().find(|other| other.1.abs_diff(late) > 1).map_or(0.0, |other| other.0);
        // The places nearest to the first note: the note itself, or the beats on both sides of it.
        let near = all.iter().filter(|(_, late)| late.abs() <= i32::from(between == Some(true)));
        let (by_first, nearest) = near.max_by_key(|one| (rank(one.0), one.1)).copied().unwrap_or((0.0, 0));
        let late = if most - by_first >= BETTER { late } else { nearest };
        Self { sure: most - next >= SURELY && (late != nearest || most <= by_first), ..placed(late) }
    }

    /// The median distance, in beats, at which the notes near a beat come after it; below zero where they come before it.
    fn off_the_beat(&self, line: &FreeLine) -> f64 {
        let off = line.notes.iter().map(|note| self.beats(note.onset)).map(|beats| beats - beats.round());
        median(&off.filter(|off| off.abs() < 0.25).collect::<Vec<_>>()).unwrap_or(0.0)
    }

    /// The share of the sounding time, 0 to 1, in which the note is a tone of its chord; notes that begin on a strong beat count twice.
    fn fits(&self, line: &FreeLine) -> f64 {
        let (mut held, mut all) = (0.0, 0.0);
        for note in &line.notes {
            let beats = self.beats(note.onset);
            let near = (beats * 2.0).round() / 2.0;
            let strong = near.fract() == 0.0 && self.is_strong(near as i64);
            let weight = (note.release - note.onset).0.max(0.0) * if strong { 2.0 } else { 1.0 };
            all += weight;
            let tone = self.over(note).is_some_and(|over| over.tone.is_some());
            held += if tone { weight } else { 0.0 };
        }
        if all > 0.0 { held / all } else { 0.0 }
    }

    /// Whether a beat, counted from bar 1, is a strong one.
    #[must_use]
    pub fn is_strong(&self, beat: i64) -> bool {
        let meter = i64::from(self.chorus.meter.max(1));
        self.chorus.strong_beats().contains(&(beat.rem_euclid(meter) as u32))
    }

    /// An instant in beats from bar 1.
    #[must_use]
    pub fn beats(&self, at: Seconds) -> f64 {
        (at - self.begins).0 / self.tempo.beat().0
    }

    /// The bar in which an instant lies, from 0 on through all choruses; below 0 before the form.
    #[must_use]
    pub fn bar(&self, at: Seconds) -> i64 {
        // Rounded to quarter beats, so that a note played a little early before a bar line belongs to the bar it is meant for.
        let beats = (self.beats(at) * 4.0).round() / 4.0;
        (beats / f64::from(self.chorus.meter.max(1))).floor() as i64
    }

    /// The chord change under a place, in beats from bar 1; `None` before the form, or where no chord is played.
    #[must_use]
    pub fn under(&self, beats: f64) -> Option<&Change> {
        let whole = i64::from(self.chorus.beats().max(1));
        let beat = beats.floor() as i64;
        let change = (beat >= 0).then(|| self.chorus.under(beat.rem_euclid(whole) as u32)).flatten();
        change.filter(|change| change.chord.is_some())
    }

    /// The chord to which a note belongs: the next one where the note begins just ahead of it and sounds into it, else the one under
    /// which it begins.
    #[must_use]
    pub fn of_note(&self, note: &LineNote) -> Option<&Change> {
        let (begins, ends) = (self.beats(note.onset), self.beats(note.release));
        let next = (begins + 0.05).ceil();
        let ahead = next - begins <= AHEAD && ends > next + 0.25;
        self.under(if ahead { next } else { (begins * 4.0).round() / 4.0 })
    }

    /// A note over its chord.
    #[must_use]
    pub fn over(&self, note: &LineNote) -> Option<ToneOver> {
        tone_over(self.of_note(note)?, note.pitch)
    }
}

/// A pitch over a chord.
pub(super) fn tone_over(change: &Change, pitch: Concert) -> Option<ToneOver> {
    let chord = change.chord.as_ref()?;
    let above = (pitch.0 - chord.root.class().get()).rem_euclid(12);
    let tones = chord.quality.degrees();
    let tone = tones.into_iter().find(|tone| tone.half_steps.rem_euclid(12) == above);
    Some(ToneOver { above, tone })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::ChordChart;
    use crate::free::TempoFrom;

    #[test]
    fn of_a_swung_line_that_begins_after_the_beat_bar_one_is_on_its_beat() {
        // Four bars of a blues in Bb at 120, a dash for a tied eighth, a dot for a rest: long eighths are on the beats (common practice).
        let line = ". F4 Bb4 D5 F5 - D5 C5 Eb5 Db5 C5 G4 Bb4 - . . D5 C5 Bb4 Ab4 G4 F4 D4 F4 Bb4 C5 D5 F5 Ab5 - - .";
        let at = |eighth: usize| Seconds(1.0 + 0.5 * ((eighth / 2) as f64 + if eighth % 2 == 1 { 0.63 } else { 0.0 }));
        let words: Vec<&str> = line.split(' ').collect();
        let note = |(n, word): (usize, &&str)| {
            let pitch = Concert(word.parse::<crate::music::Spelled>().ok()?.written().0);
            let held = words[n + 1..].iter().take_while(|next| **next == "-").count();
            Some(LineNote { pitch, onset: at(n), release: at(n + 1 + held) - Seconds(0.02), letters: None })
        };
        let notes: Vec<LineNote> = words.iter().enumerate().filter_map(note).collect();
        let tempo = Tempo(120.0);
        let line = FreeLine {
            heard: notes.len(),
            by_ear: true,
            doubtful: 0,
            notes,
            tempo: Some(tempo),
            tempo_changes: false,
            tempo_from: TempoFrom::Told,
            tempo_or: None,
        };
        assert_eq!(line.begins_between(), Some(true));
        let chart = ChordChart::parse("| Bb7 | Eb7 | Bb7 | % |").unwrap();
        let form = PlacedForm::found(chart.chorus(), tempo, &line);
        assert!((form.begins.0 - 1.0).abs() < 0.03, "{form:?}");
    }
}
