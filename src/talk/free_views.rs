//! Free playing taken apart: a line with all that was found in it, told, drawn and written; and the line of a file.

use std::io::IsTerminal;
use std::path::Path;

use crate::coach::Rng;
use crate::exchange::{self, NoScore};
use crate::files::{self, write_named};
use crate::free::{FreeLine, FreeParts, FreeVocabulary, LookedFor, NoLine, OverForm, PlacedForm, TempoFrom};
use crate::music::Mode;
use crate::pattern::{Family, Library, Pattern};
use crate::report::{self, ChorusPicture, FreeJson};
use crate::talk::failure::{Failure, clean};
use crate::talk::library::{library, patterns};
use crate::talk::named_charts;
use crate::talk::notation_files;
use crate::talk::output::{bytes, say, warned};
use crate::talk::player::Who;
use crate::talk::recordings;
use crate::units::{Beats, Seconds, Tempo};
use crate::words::Page;
use crate::words::free::{self, FormKey, FreeLayout, PictureCell, PlacesBy};
use crate::words::numbers::numbered;

/// Tempo of a file that states none: in Standard MIDI Files 1.0 a quarter note then lasts half a second, and a score is read likewise.
const FILE_TEMPO: Tempo = Tempo(120.0);

/// A line, and where a score says that its first bar begins.
pub type LineRead = (FreeLine, Option<Seconds>);

/// What is looked for in free playing.
pub struct Sought {
    /// The library and the player's own patterns.
    pub library: Library,
    named: Option<Vec<Pattern>>,
}

impl Sought {
    /// The patterns of these names, as ones that are practised; the whole library where none is named.
    pub fn named(names: &[String]) -> Result<Self, Failure> {
        let library = library()?;
        let named = patterns(&library, names)?;
        Ok(Self { library, named })
    }

    /// The patterns that are looked for.
    pub fn patterns(&self) -> Vec<&Pattern> {
        self.named.as_ref().map_or(self.library.patterns(), |named| named).iter().collect()
    }
}

/// A line of free playing, and what was found in it.
pub struct FreeAnalysis<'l> {
    /// The line.
    pub line: FreeLine,
    /// The line in parts.
    pub parts: FreeParts,
    /// The patterns and habits that came.
    pub found: FreeVocabulary<'l>,
    /// The form it was played over, with the key in which its chords are named, if any.
    form: Option<(PlacedForm, FormKey)>,
    over: Option<OverForm>,
}

impl<'l> FreeAnalysis<'l> {
    /// Takes a line apart. `looked` are the patterns of `sought`. The seed is fixed, so that the same line always gives the same result.
    pub fn of(line: FreeLine, form: Option<(PlacedForm, FormKey)>, sought: &Sought, looked: &'l [&'l Pattern]) -> Self {
        let mut rng = Rng::new(1);
        let wanted = LookedFor { patterns: looked, practised: sought.named.is_some() };
        let found = FreeVocabulary::of(&line, wanted, &sought.library, &mut || rng.uniform());
        let over = form.as_ref().map(|(form, _)| OverForm::of(&line, form));
        Self { parts: FreeParts::of(&line), line, found, form, over }
    }

    fn on_page(&self) -> Option<(&PlacedForm, FormKey)> {
        self.form.as_ref().map(|(form, home)| (form, *home))
    }

    /// By what places are told.
    fn places(&self) -> PlacesBy<'_> {
        PlacesBy::of(self.on_page())
    }

    /// What was found, in paragraphs of lines of so many columns.
    fn told(&self, page: &Page, columns: usize) -> [Vec<String>; 3] {
        let line = &self.line;
        let found = free::vocabulary(line, &self.found, FreeLayout { places: self.places(), columns }, page);
        let over = self.on_page().zip(self.over.as_ref());
        let over = over.map(|((form, home), over)| free::over_form(line, (form, over), home, page, columns));
        [
            free::head(line, &self.parts, self.form.as_ref().map(|form| form.1), page, columns),
            found,
            over.unwrap_or_default(),
        ]
    }

    /// Tells all that was found.
    pub fn tell(&self, who: &Who) -> Result<(), Failure> {
        let (line, parts, page) = (&self.line, &self.parts, &who.page);
        let [head, mut found, over] = self.told(page, free::COLUMNS);
        head.into_iter().try_for_each(say)?;
        say("")?;
        drawn(&free::picture(line, parts, &self.found, self.on_page(), page), who.appearance().colour)?;
        if !self.found.habits.is_empty() {
            found.push("--learn 1, or another number, keeps one to practise.".to_owned());
        }
        let sections = [found, over, free::rows(line, parts, self.places(), page)];
        sections
            .into_iter()
            .filter(|lines| !lines.is_empty())
            .try_for_each(|lines| std::iter::once(String::new()).chain(lines).try_for_each(say))
    }

    /// The picture for a page, and what is told beneath it.
    pub fn picture(&self, title: String, page: &Page) -> ChorusPicture {
        let (line, form) = (&self.line, self.on_page());
        let mut picture = ChorusPicture::of(title, line, &self.parts, &self.found, form, page);
        // Lines of a page break where the page ends.
        picture.told = self.told(page, usize::from(u16::MAX)).into();
        picture
    }

    /// All that was found, for machines.
    pub fn json(&self) -> FreeJson {
        let over = self.on_page().map(|(form, _)| form).zip(self.over.as_ref());
        report::with_remarks(report::free_json(&self.line, &self.parts, &self.found, over), &warned())
    }

    /// Writes the page of the line.
    pub fn write_page(&self, to: &Path, from: &Path, who: &Who) -> Result<(), Failure> {
        let title = titled(from);
        let heading = format!("{}, {}", title, who.page.instrument.name);
        write_page(to, &heading, &[self.picture(title, &who.page)])
    }

    /// Writes the line as a score, what was found in it bracketed.
    pub fn write_score(&self, to: &Path, from: &Path, who: &Who) -> Result<(), Failure> {
        let title = titled(from);
        let staff = exchange::free_staff(&title, &self.line, &self.parts, &self.found, self.on_page(), &who.page);
        let staff = staff.map_err(|why| {
            let mend = match why {
                NoScore::Meter(_) => "Of a recording the notes alone can be written: leave --chart out.",
                NoScore::Rhythm => "Give the tempo that was played: --tempo 120.",
            };
            Failure::usage(why, mend)
        })?;
        write_named(to, &exchange::to_musicxml(&staff))?;
        let came = self.found.shown().count();
        let (notes, patterns) = (numbered(self.line.notes.len(), "note"), numbered(came, "pattern"));
        say(format!("{}: {notes}, {patterns} bracketed", to.display()))
    }
}

/// The name of a file without its ending.
fn titled(file: &Path) -> String {
    file.file_stem().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

/// Writes a page with these pictures.
pub fn write_page(to: &Path, heading: &str, pictures: &[ChorusPicture]) -> Result<(), Failure> {
    write_named(to, report::choruses_to_html(heading, pictures).as_bytes())?;
    say(format!("the page is {}", clean(&to.display().to_string())))
}

/// The chart that a line was played over, laid under it from `begins` on, else where its chords fit best. `chart` and `key` are as typed.
pub fn form(
    chart: &str,
    key: Option<&str>,
    begins: Option<Seconds>,
    line: &FreeLine,
    who: &Who,
) -> Result<(PlacedForm, FormKey), Failure> {
    let form = named_charts::chart(chart)?;
    let key = key.map_or_else(|| Ok(who.page.home(&form)), |key| who.key(key))?;
    let tempo = line.tempo.ok_or_else(|| {
        Failure::usage(
            "no steady pulse was found in it; at which tempo was it played?",
            "Add --tempo 132, in quarter notes a minute.",
        )
    })?;
    let mode = if form.chart.is_minor() { Mode::Minor } else { Mode::Major };
    let chorus = form.in_key(key.0, false).chorus();
    let placed = match begins {
        Some(begins) => PlacedForm::at(chorus, begins, tempo),
        None => PlacedForm::found(chorus, tempo, line),
    };
    Ok((placed, FormKey { key, mode }))
}

/// Prints the picture; on a terminal the families have colours as well as shapes.
fn drawn(rows: &[Vec<PictureCell>], colour: bool) -> Result<(), Failure> {
    let colour = colour && std::io::stdout().is_terminal();
    for row in rows {
        let mut text = String::new();
        for (sign, family) in row {
            match (colour, family) {
                (true, Some(Family::HalfSteps)) => text += &format!("\x1b[33m{sign}\x1b[0m"),
                (true, Some(Family::Skips)) => text += &format!("\x1b[36m{sign}\x1b[0m"),
                _ => text.push(*sign),
            }
        }
        bytes(format!("{}\n", text.trim_end()).as_bytes())?;
    }
    Ok(())
}

/// The line of a file, through the ear or as it is written; with `on_page` a score stands on the page of the player's instrument.
pub fn line(file: &Path, tempo: Option<Tempo>, on_page: bool, who: &Who) -> Result<LineRead, Failure> {
    files::plain(file)?;
    let name = file.display().to_string();
    let none = |why: NoLine| Failure::input(&name, why, free::mend(&why).replace("FILE", &name));
    if let Some(played) = notation_files::played(file, who)? {
        let line = FreeLine { by_ear: false, ..FreeLine::heard(&played.line, tempo).map_err(none)? };
        let line = match played.tempo {
            Some(file) if tempo.is_none() => line.at_tempo_of_file(file, played.told.tempo_changes),
            _ => line,
        };
        let line = match line.tempo {
            Some(_) => line,
            None => FreeLine { tempo: Some(FILE_TEMPO), tempo_from: TempoFrom::Assumed, ..line },
        };
        return Ok((line, None));
    }
    if let Some(voice) = notation_files::voice(file, who)? {
        let voice = if on_page { voice.on_page_of(&who.page.instrument) } else { voice };
        let (tempo, tempo_from) = match (tempo, voice.tempo) {
            (Some(tempo), _) => (tempo, TempoFrom::Told),
            (None, Some(tempo)) => (tempo, TempoFrom::File),
            (None, None) => (FILE_TEMPO, TempoFrom::Assumed),
        };
        let first_bar = tempo.lasting(Beats(voice.pickup.0));
        let line = FreeLine::written(&voice.line, tempo).map_err(none)?;
        return Ok((FreeLine { tempo_from, ..line }, Some(first_bar)));
    }
    match FreeLine::heard(&recordings::heard(file, who)?, tempo) {
        Ok(line) => Ok((line, None)),
        Err(NoLine::Silent) => Err(none(recordings::peak(file)?.map_or(NoLine::Silent, NoLine::Unpitched))),
        Err(why) => Err(none(why)),
    }
}
