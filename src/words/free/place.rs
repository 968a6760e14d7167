use crate::free::{FreeLine, PlacedForm};
use crate::music::{Concert, ConcertKey, Letter, Mode, PitchName, Spelled, Spelling};
use crate::units::Seconds;
use crate::words::Page;

/// The key and mode in which the chords of a form are named.
#[derive(Debug, Clone, Copy)]
pub struct FormKey {
    /// The tonic, as it sounds.
    pub key: ConcertKey,
    /// Major or minor.
    pub mode: Mode,
}

/// How what was found in a free line is set.
#[derive(Debug, Clone, Copy)]
pub struct FreeLayout<'f> {
    /// By what places are told.
    pub places: PlacesBy<'f>,
    /// Columns of a line of text.
    pub columns: usize,
}

/// By what the places of a free line are told, and by what its notes are spelled.
#[derive(Debug, Clone, Copy)]
pub enum PlacesBy<'f> {
    /// By seconds, where no form is known.
    Seconds,
    /// By bars and beats of the form.
    Bars(&'f PlacedForm, FormKey),
    /// By choruses, each with its number and its form, and their bars and beats.
    Choruses(&'f [(u32, PlacedForm)]),
}

impl<'f> PlacesBy<'f> {
    /// By bars where there is a form, else by seconds.
    #[must_use]
    pub fn of(form: Option<(&'f PlacedForm, FormKey)>) -> Self {
        form.map_or(Self::Seconds, |(form, home)| Self::Bars(form, home))
    }

    /// A note as it is spelled on the page: a tone of its chord as the chord has it, any other note in the key of the form; without a
    /// form in the scale of the line. What is in neither, and sounds as a natural note, is that note: E and not Fb in Eb. What leads by
    /// a half step into a note of the scale is raised on the way up and lowered on the way down: D D# E, E Eb D (common practice).
    #[must_use]
    pub fn spelled(self, line: &FreeLine, note: usize, page: &Page) -> Option<Spelled> {
        let next = line.notes.get(note + 1).map(|next| next.pitch);
        let note = line.notes.get(note)?;
        let Self::Bars(form, home) = self else {
            let (key, mode) = line.home();
            return Some(leading(page, (note.pitch, next), key, mode));
        };
        let (key, spelling) = (page.tonality(home.key, home.mode), Spelling { mode: home.mode, ..Spelling::default() });
        let in_chord = || {
            let root = form.of_note(note)?.place.as_ref()?.on(key.tonic).root;
            let tone = form.over(note)?.tone?;
            let letters = root.letter.place() as i32 - key.tonic.letter.place() as i32 + tone.letters;
            let name = spelling.name(letters, page.written(note.pitch).0, key);
            // A double flat would be right and hard to read.
            (name.alter.abs() <= 1).then_some(name)
        };
        in_chord().or_else(|| Some(leading(page, (note.pitch, next), home.key, home.mode)))
    }

    /// Where a note begins: "at 3.2 s", "in bar 3 on the and of 2".
    pub(super) fn note(self, line: &FreeLine, note: usize) -> String {
        let at = line.notes.get(note).map_or(Seconds(0.0), |note| note.onset);
        match self {
            Self::Seconds => format!("at {:.1} s", at.0),
            Self::Bars(form, _) => format!("in {}", bar_and_beat(form, at)),
            Self::Choruses(choruses) => {
                // A note just ahead of a chorus belongs to it.
                let begun = |form: &PlacedForm| form.beats(at) >= -0.5;
                let here = choruses.iter().rev().find(|(_, form)| begun(form)).or_else(|| choruses.first());
                here.map_or_else(String::new, |(number, form)| {
                    format!("in chorus {number}, {}", bar_and_beat(form, at))
                })
            }
        }
    }
}

/// Bar and beat of an instant, to the nearest half beat: "bar 3 on 1", "bar 3 on the and of 2". An off-beat that swings or leans counts
/// as one.
fn bar_and_beat(form: &PlacedForm, at: Seconds) -> String {
    let meter = i64::from(form.chorus.meter.max(1));
    let beats = form.beats(at);
    // From a quarter of a beat on up to .85 of it, where a swung eighth may lie, a note stands between the beats.
    let within = beats - beats.floor();
    let beat = beats.floor() as i64 + i64::from(within >= 0.85);
    let (bar, on) = (beat.div_euclid(meter) + 1, beat.rem_euclid(meter) + 1);
    let between = (0.25..0.85).contains(&within);
    let bar = if bar > 0 { format!("bar {bar}") } else { "the pick-up".to_owned() };
    if between { format!("{bar} on the and of {on}") } else { format!("{bar} on {on}") }
}

/// A sounding pitch as it is spelled on the page in a key; outside its scale as a natural note wherever it sounds as one.
pub(super) fn readable(page: &Page, pitch: Concert, key: ConcertKey, mode: Mode) -> Spelled {
    let name = page.spelled(pitch, key, Spelling { mode, ..Spelling::default() });
    let scale = page.tonality(key, mode).scale();
    let natural = Letter::ALL.into_iter().map(PitchName::natural).find(|it| it.class() == name.name().class());
    match natural {
        Some(natural) if !name.name().simple() && !scale.contains(&name.name()) => natural.at(page.written(pitch).0),
        _ => name,
    }
}

/// The same, where a next note is known; a note with a sign that leads by a half step into one of the scale is on the letter before it.
fn leading(page: &Page, (pitch, next): (Concert, Option<Concert>), key: ConcertKey, mode: Mode) -> Spelled {
    let name = readable(page, pitch, key, mode);
    let scale = page.tonality(key, mode).scale();
    let lead = |next: Concert| {
        let (by, into) = ((next - pitch).0, readable(page, next, key, mode).name());
        let raised = PitchName::on(into.letter.up(-by), name.name().class());
        (by.abs() == 1 && scale.contains(&into) && i32::from(raised.alter) == by)
            .then(|| raised.at(page.written(pitch).0))
    };
    let sign = name.name().alter != 0 && !scale.contains(&name.name());
    next.filter(|_| sign).and_then(lead).unwrap_or(name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::ChordChart;
    use crate::music::PitchClass;
    use crate::units::Tempo;

    #[test]
    fn a_note_outside_the_scale_is_named_as_the_natural_note_that_it_sounds_as() {
        let page = Page::new(crate::music::instrument("piano").unwrap().clone(), crate::music::Reading::default());
        let name = |pitch: i32, tonic: i32| {
            page.name(readable(&page, Concert(pitch), ConcertKey(PitchClass::new(tonic)), Mode::Major).name())
        };
        // Not Fb in Eb major; in F# major E# is a note of the scale and stays.
        assert_eq!([name(64, 3), name(66, 3), name(65, 6)], ["E", "Gb", "E#"]);
    }

    #[test]
    fn a_run_by_half_steps_is_raised_on_the_way_up_and_lowered_on_the_way_down() {
        let page = Page::new(crate::music::instrument("piano").unwrap().clone(), crate::music::Reading::default());
        let run = |tonic: i32, pitches: &[i32]| {
            let key = ConcertKey(PitchClass::new(tonic));
            let name = |pair: &[i32]| {
                page.name(leading(&page, (Concert(pair[0]), Some(Concert(pair[1]))), key, Mode::Major).name())
            };
            pitches.windows(2).map(name).collect::<Vec<_>>().join(" ")
        };
        // Common practice: in C and in F; a natural note stays one.
        assert_eq!(run(0, &[60, 61, 62, 63, 64, 63, 62, 61, 60]), "C C# D D# E Eb D Db");
        assert_eq!(run(5, &[67, 68, 69, 70, 71, 72, 71, 70]), "G G# A Bb B C B");
    }

    #[test]
    fn a_place_is_told_as_a_bandleader_would() {
        let form = PlacedForm::at(ChordChart::parse("| C | F |").unwrap().chorus(), Seconds(1.0), Tempo(60.0));
        let told = |at: f64| bar_and_beat(&form, Seconds(at));
        assert_eq!([told(1.0), told(1.1), told(0.9)], ["bar 1 on 1"; 3].map(str::to_owned));
        assert_eq!([told(2.5), told(2.67)], ["bar 1 on the and of 2"; 2].map(str::to_owned));
        assert_eq!(told(6.0), "bar 2 on 2");
        assert_eq!(told(0.5), "the pick-up on the and of 4");
        // A form of two bars goes on: its bars are counted through.
        assert_eq!(told(9.0), "bar 3 on 1");
    }
}
