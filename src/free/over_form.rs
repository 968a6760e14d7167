use std::ops::Range;

use super::line::FreeLine;
use super::placed_form::{PlacedForm, ToneOver, tone_over};
use crate::chart::Change;
use crate::music::Concert;
use crate::pattern::Between;

/// A note that rubs against its chord is reported where it lasts at least this many beats.
const LONG: f64 = 0.9;
/// A chord is reported as left out where notes fill less than the first share of its beats. None is reported where notes fill less
/// than the second share of all beats with a chord: then the form was hardly played over.
const LEFT_OUT: (f64, f64) = (0.15, 0.4);

/// How a phrase came to its last note.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Approach {
    /// From a half step away.
    HalfStep,
    /// From a whole step away.
    Step,
    /// The two notes before it lie on both sides of it, each at most a whole step away.
    Enclosure,
    /// From further away.
    Skip,
    /// From the same note.
    Repeated,
    /// The phrase is one note.
    Alone,
}

/// A phrase: the notes between two long rests.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FreePhrase {
    /// The notes of the phrase, by index in the line.
    pub notes: Range<usize>,
    /// Whether the phrase begins more than a fifth of a beat away from every beat.
    pub off_beat: bool,
    /// The first note of the phrase over its chord; `None` where there is no chord.
    pub first: Option<ToneOver>,
    /// The last note of the phrase over its chord; `None` where there is no chord.
    pub last: Option<ToneOver>,
    /// How the phrase came to its last note.
    pub approach: Approach,
}

/// A share as two counts: how many of how many.
pub type Share = (usize, usize);

/// A line over the chords of a form.
#[derive(Debug, Clone, PartialEq)]
pub struct OverForm {
    /// Strong beats on which a chord tone sounds, of those on which any note sounds over a chord.
    pub strong: Share,
    /// The phrases in order.
    pub phrases: Vec<FreePhrase>,
    /// Changes of chord at which the line moves by a half or whole step into a guide tone of the new chord (its third or seventh, or what
    /// stands for them), of all changes that the line crosses without a long rest.
    pub guided: Share,
    /// Long notes that are no tone of their chord and lie a half step above one, by index: places to hear again, not faults.
    pub against: Vec<usize>,
    /// Chords over which nearly nothing was played, although the form was played over; each is the first change with that chord.
    pub left_out: Vec<Change>,
    /// Lowest and highest note; C4 for a line without notes.
    pub range: (Concert, Concert),
}

impl OverForm {
    /// Looks at a line over a form.
    #[must_use]
    pub fn of(line: &FreeLine, form: &PlacedForm) -> Self {
        let pitches = || line.notes.iter().map(|note| note.pitch);
        let low = pitches().min().unwrap_or(Concert(60));
        Self {
            strong: strong(line, form),
            phrases: phrases(line, form),
            guided: guided(line, form),
            against: (0..line.notes.len()).filter(|note| rubs(line, form, *note)).collect(),
            left_out: left_out(line, form),
            range: (low, pitches().max().unwrap_or(low)),
        }
    }
}

fn strong(line: &FreeLine, form: &PlacedForm) -> Share {
    let mut counted = (0, 0);
    let last = line.notes.last().map_or(0.0, |note| form.beats(note.release)).ceil() as i64;
    for beat in (0..last).filter(|beat| form.is_strong(*beat)) {
        // A quarter of a beat after the beat, so that a note that comes late sounds already.
        let at = beat as f64 + 0.25;
        let sounds = |note: &&crate::learn::LineNote| (form.beats(note.onset)..form.beats(note.release)).contains(&at);
        let over = line.notes.iter().find(sounds).and_then(|note| tone_over(form.under(at)?, note.pitch));
        counted.1 += usize::from(over.is_some());
        counted.0 += usize::from(over.is_some_and(|over| over.tone.is_some()));
    }
    counted
}

fn phrases(line: &FreeLine, form: &PlacedForm) -> Vec<FreePhrase> {
    let between = line.between();
    let (mut all, mut first) = (Vec::new(), 0);
    for last in 0..line.notes.len() {
        if between.get(last).is_none_or(|between| *between == Between::Parting) {
            all.push(phrase(line, form, first..last + 1));
            first = last + 1;
        }
    }
    all
}

fn phrase(line: &FreeLine, form: &PlacedForm, notes: Range<usize>) -> FreePhrase {
    let all = &line.notes[notes.clone()];
    let beats = form.beats(all[0].onset);
    let heights: Vec<i32> = all.iter().map(|note| note.pitch.0).collect();
    let approach = match heights[..] {
        [.., two, one, last]
            if (last - two) * (last - one) < 0 && (last - two).abs() <= 2 && (last - one).abs() <= 2 =>
        {
            Approach::Enclosure
        }
        [.., one, last] => match (last - one).abs() {
            0 => Approach::Repeated,
            1 => Approach::HalfStep,
            2 => Approach::Step,
            _ => Approach::Skip,
        },
        _ => Approach::Alone,
    };
    FreePhrase {
        off_beat: (beats - beats.round()).abs() > 0.2,
        first: form.over(&all[0]),
        last: all.last().and_then(|note| form.over(note)),
        approach,
        notes,
    }
}

fn guided(line: &FreeLine, form: &PlacedForm) -> Share {
    let mut counted = (0, 0);
    for (pair, between) in line.notes.windows(2).zip(line.between()) {
        let (Some(here), Some(there)) = (form.of_note(&pair[0]), form.of_note(&pair[1])) else { continue };
        if here.chord == there.chord || between == Between::Parting {
            continue;
        }
        counted.1 += 1;
        let guide = there.chord.as_ref().is_some_and(|chord| {
            let above = (pair[1].pitch.0 - chord.root.class().get()).rem_euclid(12);
            chord.quality.guide_tones().iter().any(|tone| tone.half_steps.rem_euclid(12) == above)
        });
        counted.0 += usize::from(guide && matches!((pair[1].pitch - pair[0].pitch).0.abs(), 1..=2));
    }
    counted
}

/// Whether a note is long and lies a half step above a tone of its chord without being a chord tone itself.
fn rubs(line: &FreeLine, form: &PlacedForm, note: usize) -> bool {
    let note = &line.notes[note];
    let long = form.beats(note.release) - form.beats(note.onset) >= LONG;
    let against = || {
        let change = form.of_note(note)?;
        let over = tone_over(change, note.pitch)?;
        let below = tone_over(change, Concert(note.pitch.0 - 1))?;
        Some(over.tone.is_none() && below.tone.is_some())
    };
    long && against().unwrap_or(false)
}

fn left_out(line: &FreeLine, form: &PlacedForm) -> Vec<Change> {
    let end = line.notes.last().map_or(0.0, |note| form.beats(note.release)).max(0.0);
    let meter = f64::from(form.chorus.meter.max(1));
    let bars = (end / meter).ceil() * meter;
    let mut beats: Vec<(Change, f64, f64)> = Vec::new();
    for beat in 0..bars as i64 {
        let Some(change) = form.under(beat as f64) else { continue };
        let (from, until) = (beat as f64, beat as f64 + 1.0);
        let played: f64 =
            line.notes.iter().map(|note| overlap(form.beats(note.onset), form.beats(note.release), from, until)).sum();
        match beats.iter_mut().find(|row| row.0.chord == change.chord) {
            Some(row) => (row.1, row.2) = (row.1 + played, row.2 + 1.0),
            None => beats.push((change.clone(), played, 1.0)),
        }
    }
    let (played, all) = beats.iter().fold((0.0, 0.0), |sum, row| (sum.0 + row.1, sum.1 + row.2));
    if played < LEFT_OUT.1 * all {
        return Vec::new();
    }
    beats.into_iter().filter(|row| row.1 < LEFT_OUT.0 * row.2).map(|row| row.0).collect()
}

fn overlap(begins: f64, ends: f64, from: f64, until: f64) -> f64 {
    (ends.min(until) - begins.max(from)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::ChordChart;
    use crate::free::TempoFrom;
    use crate::learn::LineNote;
    use crate::units::{Seconds, Tempo};

    /// Eighths at quarter = 120: a dot is an eighth of rest, a dash holds the note before for one eighth more.
    fn line(notes: &str) -> FreeLine {
        let mut at = 1.0;
        let mut all = Vec::new();
        for word in notes.split(' ') {
            if word == "-" {
                all.last_mut().map(|note: &mut LineNote| note.release = note.release + Seconds(0.25)).unwrap();
            } else if word != "." {
                let pitch = Concert(word.parse::<crate::music::Spelled>().unwrap().written().0);
                let (onset, release) = (Seconds(at), Seconds(at + 0.24));
                all.push(LineNote { pitch, onset, release, letters: None });
            }
            at += 0.25;
        }
        FreeLine {
            heard: all.len(),
            by_ear: true,
            doubtful: 0,
            notes: all,
            tempo: Some(Tempo(120.0)),
            tempo_changes: false,
            tempo_from: TempoFrom::Told,
            tempo_or: None,
        }
    }

    fn form(line: &FreeLine) -> PlacedForm {
        let chart = ChordChart::parse("| Dm7 | G7 | Cmaj7 | % |").unwrap();
        PlacedForm::found(chart.chorus(), Tempo(120.0), line)
    }

    #[test]
    fn a_line_over_a_cadence_is_told_as_a_musician_hears_it() {
        // Common practice: D F A C of Dm7, its seventh C by a half step into B, the third of G7, and to E, the third of Cmaj7.
        let line = line("D4 F4 A4 C5 A4 F4 D5 C5 B4 A4 G4 F4 D4 F4 A4 F4 E4 - - - . . . . . . . . B4 G4 E4 C4");
        let form = form(&line);
        assert!(form.sure && (form.begins.0 - 1.0).abs() < 0.02, "{form:?}");
        let over = OverForm::of(&line, &form);
        assert_eq!(over.strong, (6, 6));
        assert_eq!(over.guided, (2, 2));
        let [first, second] = &over.phrases[..] else { panic!("{over:?}") };
        assert_eq!((first.last.as_ref().unwrap().above, first.approach), (4, Approach::HalfStep));
        assert_eq!(second.first.as_ref().unwrap().above, 11);
        assert_eq!((over.against.len(), over.left_out.len()), (0, 0));
    }

    #[test]
    fn a_long_fourth_over_a_major_chord_is_a_place_to_hear_again() {
        let line = line("D4 F4 A4 C5 A4 F4 D5 C5 B4 A4 G4 F4 D4 F4 A4 G4 F4 - - - E4 D4 C4 B3");
        let form = PlacedForm { begins: Seconds(1.0), ..form(&line) };
        assert_eq!(OverForm::of(&line, &form).against, [16]);
    }
}
