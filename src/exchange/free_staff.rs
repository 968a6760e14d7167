use std::ops::Range;

use crate::exchange::staff::{Piece, Staff, StaffBracket, StaffChord, StaffNote, said_by_clef};
use crate::free::{FreeLine, FreeParts, FreeVocabulary, PlacedForm};
use crate::music::{HalfSteps, Spelled, Spelling};
use crate::pattern::{ExpectedNote, Family, Line, Meter, Quality, Ticks};
use crate::units::{Beats, Tempo};
use crate::words::Page;
use crate::words::free::{FormKey, PlacesBy, pattern_at, what};

/// Why a free line is written on no staff.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoScore {
    /// The form has neither three nor four quarters in a bar.
    #[error("a chart in {0}/4 cannot be written as a score")]
    Meter(u32),
    /// The rhythm of the notes cannot be put in order, as where there are none.
    #[error("the rhythm of these notes cannot be written")]
    Rhythm,
}

/// A free line on one staff as the player reads it, its rhythm put in order. The chords of its form stand over it; brackets above show the
/// patterns that were found, brackets below the fragments of the three families.
///
/// With a form the first bar of the page is the bar in which the line begins; without one the line begins on the first beat, or on
/// the off-beat after it where it swings and begins with a short eighth. Chords outside the usual vocabulary ([`Quality::of`]) are
/// left out.
///
/// # Errors
/// [`NoScore`].
pub fn free_staff(
    title: &str,
    line: &FreeLine,
    parts: &FreeParts,
    found: &FreeVocabulary,
    form: Option<(&PlacedForm, FormKey)>,
    page: &Page,
) -> Result<Staff, NoScore> {
    let meter = match form.map_or(4, |(form, _)| form.chorus.meter) {
        4 => Meter::FourFour,
        3 => Meter::ThreeFour,
        other => return Err(NoScore::Meter(other)),
    };
    let written = line.quantized().ok_or(NoScore::Rhythm)?;
    let (key, mode) = form.map_or_else(|| line.home(), |(_, home)| (home.key, home.mode));
    let spelling = Spelling { mode, ..Spelling::default() };
    let up = said_by_clef(page.instrument.clef);
    let tonality = page.tonality(key, mode);
    let (first_bar, late) = form.map_or((0, written.pickup), |(form, _)| within_its_bar(line, form, written.share));
    let by = PlacesBy::of(form);
    let tempo = line.tempo.unwrap_or(written.tempo);
    // A note is spelled as in the words that are told of it.
    let notes = staff_notes(&written.line, late, up, |n, note| {
        by.spelled(line, n, page).unwrap_or_else(|| page.expected(note, key, spelling))
    });
    let length = notes.last().map_or(Ticks(0), |note| Ticks(note.at.0 + note.length.0));
    let brackets = brackets(line, parts, found, &notes, (by, page));
    let chords = form.map_or_else(Vec::new, |(form, home)| chords(form, home, first_bar, length, page));
    let piece = Piece {
        key: tonality,
        heading: page.name(tonality.tonic),
        signature: tonality.signature(),
        sounding: page.in_concert_pitch().tonality(key, mode),
        chords,
        symbols: Vec::new(),
        notes,
        stacks: Vec::new(),
        words: Vec::new(),
        brackets,
        meter,
        pickup: Ticks(0),
        length,
    };
    Ok(Staff {
        title: title.to_owned(),
        part: page.instrument.name.clone(),
        transposition: HalfSteps(page.transposition().0 + up),
        clef: page.instrument.clef,
        tempo: Tempo(tempo.0.round()),
        swing: written.swing,
        general_midi: page.instrument.general_midi,
        signatures: true,
        pieces: vec![piece],
    })
}

/// The notes of a line on the page, `late` after its first bar line and `up` half steps lower than they are spelled.
fn staff_notes(line: &Line, late: Beats, up: i32, spelled: impl Fn(usize, &ExpectedNote) -> Spelled) -> Vec<StaffNote> {
    let note = |(n, note): (usize, &ExpectedNote)| {
        let name = spelled(n, note);
        let written = Spelled { octave: name.octave - up / 12, ..name };
        let [at, length] = [note.at + late, note.length].map(Ticks::nearest);
        StaffNote { written, concert: note.pitch, at, length }
    };
    line.notes.iter().enumerate().map(note).collect()
}

/// The bar of the form in which the line begins, and how late in this bar, on a grid of `share` to the quarter.
fn within_its_bar(line: &FreeLine, form: &PlacedForm, share: i64) -> (i64, Beats) {
    let at = line.notes.first().map_or(0.0, |note| form.beats(note.onset));
    let near = (at * share as f64).round() / share as f64;
    let meter = f64::from(form.chorus.meter.max(1));
    let bar = (near / meter).floor();
    (bar as i64, Beats(near - bar * meter))
}

/// The chords of the form from this bar on, as often as the form is played, up to the end of the line.
fn chords(form: &PlacedForm, home: FormKey, first_bar: i64, length: Ticks, page: &Page) -> Vec<StaffChord> {
    let meter = i64::from(form.chorus.meter.max(1));
    let bars = length.beats().0 / meter as f64;
    let beats = first_bar * meter..(first_bar + bars.ceil() as i64) * meter;
    let tonic = page.tonality(home.key, home.mode).tonic;
    let whole = i64::from(form.chorus.beats().max(1));
    let begins = |beat: i64| {
        let change = form.under(beat as f64)?;
        let starts = i64::from(change.at) == beat.rem_euclid(whole);
        let chord = change.place.as_ref().filter(|_| starts)?.on(tonic);
        let quality = Quality::of(&chord.quality)?;
        Some(StaffChord { at: Ticks((beat - first_bar * meter) * Ticks::QUARTER), root: chord.root, quality })
    };
    beats.filter_map(begins).collect()
}

/// The brackets over the patterns that came and under the parts of the line.
fn brackets(
    line: &FreeLine,
    parts: &FreeParts,
    found: &FreeVocabulary,
    notes: &[StaffNote],
    (by, page): (PlacesBy<'_>, &Page),
) -> Vec<StaffBracket> {
    let bracket = |of: &Range<usize>, words: String, above: bool, line_type: &'static str| {
        let (first, last) = (notes.get(of.start)?, notes.get(of.end.checked_sub(1)?)?);
        let to = Ticks(last.at.0 + last.length.0);
        Some(StaffBracket { from: first.at, to, words, above, line_type })
    };
    let patterns =
        found.shown().filter_map(|(one, place)| bracket(&place.notes, pattern_at(one, place, page), true, "solid"));
    let families = parts.parts.iter().filter_map(|part| {
        let line_type = match part.family {
            Family::Stepwise | Family::Phrase => "solid",
            Family::HalfSteps => "dotted",
            Family::Skips => "dashed",
        };
        bracket(&part.notes, what(line, part, by, page), false, line_type)
    });
    let mut all: Vec<StaffBracket> = patterns.chain(families).collect();
    all.sort_by_key(|bracket| bracket.from.0);
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::ChordChart;
    use crate::exchange::to_musicxml;
    use crate::free::{FoundPattern, FoundPlace};
    use crate::music::{Concert, ConcertKey, Mode, Reading, instrument};
    use crate::pattern::Library;
    use crate::units::Seconds;

    /// Even eighths at these sounding pitches, a quarter = 120.
    fn eighths(pitches: &[i32]) -> FreeLine {
        let note = |(n, pitch): (usize, &i32)| ExpectedNote {
            pitch: Concert(*pitch),
            at: Beats(0.5 * n as f64),
            length: Beats(0.5),
            named: None,
        };
        let notes: Vec<ExpectedNote> = pitches.iter().enumerate().map(note).collect();
        FreeLine::written(&Line { length: Beats(0.5 * notes.len() as f64), notes }, Tempo(120.0)).unwrap()
    }

    #[test]
    fn a_meter_that_no_score_has_is_told_as_such() {
        let line = eighths(&[60, 62, 64, 65]);
        let form = PlacedForm::at(ChordChart::parse("5/4 | C7 |").unwrap().chorus(), Seconds(0.0), Tempo(120.0));
        let home = FormKey { key: ConcertKey(line.scale()), mode: Mode::Major };
        let page = Page::new(instrument("flute").unwrap().clone(), Reading::default());
        let (parts, found) = (FreeParts::of(&line), FreeVocabulary::default());
        assert_eq!(free_staff("x", &line, &parts, &found, Some((&form, home)), &page), Err(NoScore::Meter(5)));
    }

    #[test]
    fn a_quarter_rest_after_a_dotted_quarter_is_a_rest() {
        let mut line = eighths(&[60, 62, 64, 65, 67, 69]);
        // D lasts a dotted quarter, a little less as keys are played, and a quarter rest comes after it; then E to A.
        line.notes[1].release = line.notes[1].onset + Seconds(0.69);
        for note in &mut line.notes[2..] {
            (note.onset, note.release) = (note.onset + Seconds(1.0), note.release + Seconds(1.0));
        }
        let page = Page::new(instrument("flute").unwrap().clone(), Reading::default());
        let staff = free_staff("x", &line, &FreeParts::of(&line), &FreeVocabulary::default(), None, &page).unwrap();
        let lengths: Vec<f64> =
            staff.pieces[0].notes[..3].iter().map(|note| note.length.0 as f64 / Ticks::QUARTER as f64).collect();
        assert_eq!(lengths, [0.5, 1.5, 0.5]);
    }

    #[test]
    fn a_pattern_is_bracketed_over_its_notes_and_each_family_under_its_own() {
        // C D E F G, then C# D D# E by half steps, from the second beat of a C7 that F7 follows.
        let line = eighths(&[60, 62, 64, 65, 67, 61, 62, 63, 64]);
        let library = Library::builtin();
        let place = FoundPlace { notes: 0..4, key: ConcertKey(line.scale()), from: None, changed: None, broken: false };
        let pattern = library.patterns().first().unwrap();
        let found = FreeVocabulary {
            patterns: vec![FoundPattern { pattern, places: vec![place], expected: 0.1 }],
            ..FreeVocabulary::default()
        };
        let chorus = ChordChart::parse("| C7 | F7 |").unwrap().chorus();
        let form = PlacedForm::at(chorus, Seconds(-0.5), Tempo(120.0));
        let home = FormKey { key: ConcertKey(line.scale()), mode: Mode::Major };
        let page = Page::new(instrument("flute").unwrap().clone(), Reading::default());
        let parts = FreeParts::of(&line);
        let staff = free_staff("x", &line, &parts, &found, Some((&form, home)), &page).unwrap();
        let quarters = |ticks: Ticks| ticks.0 as f64 / Ticks::QUARTER as f64;
        let said: Vec<(f64, f64, bool, &str)> = staff.pieces[0]
            .brackets
            .iter()
            .map(|one| (quarters(one.from), quarters(one.to), one.above, one.line_type))
            .collect();
        assert!(said.contains(&(1.0, 3.0, true, "solid")), "the pattern begins on the second beat: {said:?}");
        assert!(said.contains(&(3.5, 5.5, false, "dotted")), "the half steps: {said:?}");
        assert_eq!(staff.pieces[0].chords.iter().map(|chord| quarters(chord.at)).collect::<Vec<_>>(), [0.0, 4.0]);
        let page = String::from_utf8(to_musicxml(&staff)).unwrap();
        let count = |what: &str| page.matches(what).count();
        assert_eq!(count("<bracket type=\"start\""), said.len());
        assert_eq!(count("<bracket type=\"stop\""), said.len(), "every bracket ends");
    }
}
