use std::ops::Range;

use crate::free::{FreeLine, FreeParts, FreeVocabulary, PlacedForm};
use crate::music::{Concert, ConcertKey, Spelling};
use crate::pattern::{Between, Family};
use crate::words::Page;
use crate::words::free::{FormKey, PlacesBy, chord, pattern_at, with_octave};

/// A free line as the page draws it; all places are in beats from bar 1, or from the first note where there is no form.
#[derive(Debug, Clone, PartialEq)]
pub struct ChorusPicture {
    /// What it is a picture of.
    pub title: String,
    /// What stands beneath it, paragraph by paragraph, each in lines.
    pub told: Vec<Vec<String>>,
    /// The notes in order.
    pub(super) notes: Vec<PicturedNote>,
    /// The moves from note to note: the family to which a move belongs, `None` between two parts; no entry over a rest.
    pub(super) moves: Vec<(usize, Option<Family>)>,
    /// The chords, each where it begins.
    pub(super) chords: Vec<(f64, String)>,
    /// The patterns and habits that came: from the first note to the end of the last, and the name.
    pub(super) named: Vec<(Range<f64>, String)>,
    /// Pitches at which a ruled line stands, each with its name: the tonic in every octave.
    pub(super) rules: Vec<(i32, String)>,
    /// Beats of a bar; `None` where there is no form.
    pub(super) meter: Option<u32>,
    /// Bars of the form, after which a double line stands.
    pub(super) form_bars: u32,
    /// Length of a beat in seconds, by which places are told where there is no form.
    pub(super) beat_s: f64,
}

/// One note of the picture.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PicturedNote {
    /// Where the note begins.
    pub at: f64,
    /// Where the note ends.
    pub until: f64,
    /// MIDI note number.
    pub pitch: i32,
    /// The name, for who cannot see the picture.
    pub name: String,
    /// The family of the part in which it stands.
    pub family: Option<Family>,
}

impl ChorusPicture {
    /// The picture of a line that was taken apart.
    #[must_use]
    pub fn of(
        title: String,
        line: &FreeLine,
        parts: &FreeParts,
        found: &FreeVocabulary,
        form: Option<(&PlacedForm, FormKey)>,
        page: &Page,
    ) -> Self {
        let first = line.notes.first().map_or(0.0, |note| note.onset.0);
        let beat_s = line.beat().0;
        let beats = |at: crate::units::Seconds| match form {
            Some((form, _)) => form.beats(at),
            None => (at.0 - first) / beat_s,
        };
        let mut families = vec![None; line.notes.len()];
        let mut within: Vec<Option<Family>> = vec![None; line.notes.len()];
        for part in &parts.parts {
            families[part.notes.clone()].fill(Some(part.family));
            within[part.notes.start..part.notes.end.saturating_sub(1)].fill(Some(part.family));
        }
        let notes: Vec<PicturedNote> = (line.notes.iter().zip(families).enumerate())
            .map(|(n, (note, family))| PicturedNote {
                at: beats(note.onset),
                until: beats(note.release),
                pitch: note.pitch.0,
                name: with_octave(line, n, PlacesBy::of(form), page),
                family,
            })
            .collect();
        let joined = line.between().into_iter().enumerate().filter(|(_, between)| *between == Between::Joined);
        let moves = joined.map(|(note, _)| (note, within[note])).collect();
        let tonic = form.map_or(line.home().0, |(_, home)| home.key);
        let end = notes.iter().map(|note| note.until).fold(0.0, f64::max);
        Self {
            title,
            told: Vec::new(),
            moves,
            chords: form.map_or_else(Vec::new, |(form, home)| chords(form, home, end, page)),
            named: named(&notes, found, page),
            rules: rules(line, tonic, page),
            meter: form.map(|(form, _)| form.chorus.meter.max(1)),
            form_bars: form.map_or(0, |(form, _)| form.chorus.bars),
            beat_s,
            notes,
        }
    }
}

/// The chords up to a beat, as often as the form is played, each named where it begins.
fn chords(form: &PlacedForm, home: FormKey, end: f64, page: &Page) -> Vec<(f64, String)> {
    let whole = i64::from(form.chorus.beats().max(1));
    let begun = |beat: i64| {
        let change = form.under(beat as f64)?;
        (i64::from(change.at) == beat.rem_euclid(whole)).then(|| (beat as f64, chord(change, home, page)))
    };
    // The last bars are drawn whole, so their chords are named up to the end of the form.
    (0..(end.max(1.0) as i64 / whole + 1) * whole).filter_map(begun).collect()
}

/// Patterns by their names, habits as "yours 1", in the order in which they came.
fn named(notes: &[PicturedNote], found: &FreeVocabulary, page: &Page) -> Vec<(Range<f64>, String)> {
    let span = |of: &Range<usize>| {
        let (first, last) = (notes.get(of.start)?, notes.get(of.end.checked_sub(1)?)?);
        Some(first.at..last.until)
    };
    let patterns = found.shown().filter_map(|(one, place)| Some((span(&place.notes)?, pattern_at(one, place, page))));
    let own = (1..).zip(&found.habits).flat_map(|(n, habit)| habit.places.iter().map(move |notes| (n, notes)));
    let own = own.filter_map(|(n, notes)| Some((span(notes)?, format!("yours {n}"))));
    let mut all: Vec<(Range<f64>, String)> = patterns.chain(own).collect();
    all.sort_by(|one, other| one.0.start.total_cmp(&other.0.start));
    all
}

/// The tonic in every octave from the lowest to the highest note.
fn rules(line: &FreeLine, tonic: ConcertKey, page: &Page) -> Vec<(i32, String)> {
    let heights = line.heights();
    let (low, high) = (heights.iter().min().copied().unwrap_or(60), heights.iter().max().copied().unwrap_or(60));
    let all = (low..=high).filter(|pitch| pitch.rem_euclid(12) == tonic.0.get());
    let name = |pitch: i32| page.with_octave(page.spelled(Concert(pitch), tonic, Spelling::default()));
    all.map(|pitch| (pitch, name(pitch))).collect()
}
