use std::ops::Range;

use crate::free::{FreeLine, FreeParts, FreeVocabulary, PlacedForm};
use crate::pattern::Family;
use crate::words::Page;
use crate::words::free::over::chord;
use crate::words::free::{FormKey, PlacesBy, with_octave};
use crate::words::wrap::{columns, cut};

/// Columns of the margin, where names of notes stand.
const MARGIN: usize = 6;
/// Columns of the picture beside the margin.
const WIDE: usize = 64;
/// Largest number of rows of pitch above each other.
const ROWS: i32 = 8;
/// A note of at least so many beats is drawn with a line behind its sign.
const HELD: f64 = 0.8;
/// Beats side by side in one row of bars where no form is given.
const BEATS: f64 = 16.0;

/// A sign of the picture, and the family that it belongs to.
pub type PictureCell = (char, Option<Family>);

/// The picture of a line.
struct Canvas<'l> {
    line: &'l FreeLine,
    families: Vec<Option<Family>>,
    found: Vec<(Range<usize>, String)>,
    form: Option<(&'l PlacedForm, FormKey)>,
    page: &'l Page,
    /// Beats side by side in one row of bars.
    beats: f64,
    /// The beat on which the first row begins: 0, or one bar before 0 where there is a pick-up.
    from: f64,
}

const fn sign(family: Option<Family>) -> char {
    match family {
        Some(Family::Stepwise) => '●',
        Some(Family::HalfSteps) => '◆',
        Some(Family::Skips) => '▲',
        _ => '·',
    }
}

fn plain(text: &str) -> Vec<PictureCell> {
    text.chars().map(|letter| (letter, None)).collect()
}

/// The line as pitch over time, one row of bars under the other. Signs tell the families apart; the chords, the patterns that were
/// found and the player's habits stand beneath.
#[must_use]
pub fn picture(
    line: &FreeLine,
    parts: &FreeParts,
    found: &FreeVocabulary,
    form: Option<(&PlacedForm, FormKey)>,
    page: &Page,
) -> Vec<Vec<PictureCell>> {
    let mut families = vec![None; line.notes.len()];
    for part in &parts.parts {
        families[part.notes.clone()].fill(Some(part.family));
    }
    let named = found.shown().map(|(one, place)| (place.notes.clone(), one.pattern.name.clone()));
    let own = found
        .habits
        .iter()
        .enumerate()
        .flat_map(|(n, one)| one.places.iter().map(move |notes| (notes.clone(), format!("yours {}", n + 1))));
    let mut found: Vec<(Range<usize>, String)> = named.chain(own).collect();
    found.sort_by_cached_key(|one| one.0.start);
    // Forms of up to four bars, and those with two chords in many bars, are drawn in rows of four, so that the names of the chords have
    // room; forms of up to twelve in rows of six, longer ones and those of eight in rows of eight.
    let meter = form.map_or(4.0, |(form, _)| f64::from(form.chorus.meter));
    let bars = form.map_or(BEATS / meter, |(form, _)| match form.chorus.bars {
        bars if bars <= 4 || 4 * form.chorus.changes.len() > 5 * bars as usize => 4.0,
        5..=12 if form.chorus.bars != 8 => 6.0,
        _ => 8.0,
    });
    let mut canvas = Canvas { line, families, found, form, page, beats: bars * meter, from: 0.0 };
    let first = line.notes.first().map_or(0.0, |note| canvas.at(note.onset));
    if first < -0.1 {
        canvas.from = -meter;
    }
    let end = line.notes.iter().map(|note| canvas.at(note.release)).fold(0.0, f64::max);
    let mut rows = vec![plain("● stepwise   ◆ by half steps   ▲ by skips   · none of them")];
    let mut from = canvas.from;
    while from < end - 0.05 {
        rows.extend(canvas.system(from, meter));
        from += canvas.beats;
    }
    rows
}

impl Canvas<'_> {
    /// An instant in beats, counted from bar 1 of the form, or from the first note where there is no form.
    fn at(&self, at: crate::units::Seconds) -> f64 {
        let first = self.line.notes.first().map_or(at, |note| note.onset);
        self.form.map_or_else(|| (at - first).0 / self.line.beat().0, |(form, _)| form.beats(at))
    }

    fn column(&self, from: f64, at: f64) -> usize {
        let share = ((at - from) / self.beats).clamp(0.0, 1.0);
        ((share * WIDE as f64 + 0.3) as usize).min(WIDE - 1)
    }

    /// The name of the first note with this pitch.
    fn name_of(&self, pitch: i32) -> String {
        let note = self.line.notes.iter().position(|note| note.pitch.0 == pitch).unwrap_or(0);
        with_octave(self.line, note, PlacesBy::of(self.form), self.page)
    }

    fn system(&self, from: f64, meter: f64) -> Vec<Vec<PictureCell>> {
        let until = from + self.beats;
        let inside: Vec<usize> = (0..self.line.notes.len())
            .filter(|note| (from - 0.05..until - 0.05).contains(&self.at(self.line.notes[*note].onset)))
            .collect();
        let pitches = || inside.iter().map(|note| self.line.notes[*note].pitch.0);
        let (Some(low), Some(high)) = (pitches().min(), pitches().max()) else {
            return vec![plain(&format!("{:MARGIN$}(rest)", ""))];
        };
        let step = (high - low) / ROWS + 1;
        let rows = ((high - low) / step + 1) as usize;
        let mut cells = vec![vec![(' ', None); WIDE]; rows];
        for bar in 0..(self.beats / meter).ceil() as usize {
            let column = self.column(from, from + bar as f64 * meter);
            cells.iter_mut().filter(|_| self.form.is_some()).for_each(|row| row[column] = ('┊', None));
        }
        for note in &inside {
            let (note, family) = (&self.line.notes[*note], self.families[*note]);
            let row = &mut cells[((high - note.pitch.0) / step) as usize];
            let first = self.column(from, self.at(note.onset));
            // A note shorter than `HELD` is one sign; a longer one goes on as a line behind its sign.
            let (begins, ends) = (self.at(note.onset), self.at(note.release));
            let held = if ends - begins < HELD { first } else { self.column(from, ends - 0.25).max(first) };
            row[first] = (sign(family), family);
            row.iter_mut().take(held + 1).skip(first + 1).for_each(|cell| *cell = ('─', family));
        }
        let mut drawn: Vec<Vec<PictureCell>> = Vec::new();
        for (n, row) in cells.into_iter().enumerate() {
            let name = match n {
                0 => self.name_of(high),
                n if n + 1 == rows => self.name_of(low),
                _ => String::new(),
            };
            drawn.push(plain(&format!("{name:>width$} ", width = MARGIN - 1)).into_iter().chain(row).collect());
        }
        drawn.extend(self.chords(from));
        drawn.extend(self.names(from, &inside));
        drawn
    }

    /// The chords beneath, each where it begins.
    fn chords(&self, from: f64) -> Option<Vec<PictureCell>> {
        let (form, home) = self.form?;
        let mut labels = Vec::new();
        let mut beat = from;
        while beat < from + self.beats {
            let begins = form.under(beat).filter(|change| {
                let whole = f64::from(form.chorus.beats().max(1));
                (beat.rem_euclid(whole) - f64::from(change.at)).abs() < 0.01
            });
            labels.extend(begins.map(|change| (self.column(from, beat), chord(change, home, self.page))));
            beat += 1.0;
        }
        Some(row(&labels))
    }

    /// The patterns and habits beneath, each where it begins.
    fn names(&self, from: f64, inside: &[usize]) -> Option<Vec<PictureCell>> {
        let labels: Vec<(usize, String)> = self
            .found
            .iter()
            .filter(|(notes, _)| inside.contains(&notes.start))
            .map(|(notes, name)| (self.column(from, self.at(self.line.notes[notes.start].onset)), format!("└{name}")))
            .collect();
        (!labels.is_empty()).then(|| row(&labels))
    }
}

/// Labels at their columns, each cut where the next begins, which a last "…" shows; a label whose column is already taken is left out.
fn row(labels: &[(usize, String)]) -> Vec<PictureCell> {
    let mut text = String::new();
    for (n, (column, label)) in labels.iter().enumerate() {
        if columns(&text) > *column {
            continue;
        }
        text += &" ".repeat(column - columns(&text));
        let room = labels.get(n + 1).map_or(WIDE + 8, |next| next.0.max(column + 2)).saturating_sub(column + 1);
        let whole = cut(label, room) == *label;
        text += cut(label, if whole { room } else { room.saturating_sub(1) });
        if !whole {
            text.push('…');
        }
    }
    plain(&format!("{:MARGIN$}{text}", ""))
}
