//! Free playing: its line read from a file, and what was found in it.

use std::io::IsTerminal;
use std::path::Path;

use crate::exchange::{self, NoScore};
use crate::files::{self, write_named};
use crate::free::{FreeLine, FreeParts, FreeVocabulary, NoLine, OverForm, PlacedForm};
use crate::pattern::Family;
use crate::talk::failure::Failure;
use crate::talk::notation_files;
use crate::talk::output::{bytes, say};
use crate::talk::player::Who;
use crate::talk::recordings;
use crate::units::{Beats, Seconds, Tempo};
use crate::words::free::{self, FormKey, PictureCell};
use crate::words::numbers::numbered;

/// Tempo of a file that states none: in Standard MIDI Files 1.0 a quarter note then lasts half a second, and a score is read likewise.
const FILE_TEMPO: Tempo = Tempo(120.0);

/// A line, and where a score says that its first bar begins.
pub type LineRead = (FreeLine, Option<Seconds>);

/// Tells what was found in a line, with the form it was played over, if any.
pub fn tell(
    line: &FreeLine,
    parts: &FreeParts,
    found: &FreeVocabulary,
    over: Option<((&PlacedForm, FormKey), &OverForm)>,
    who: &Who,
) -> Result<(), Failure> {
    let (page, on_page) = (&who.page, over.map(|(on_page, _)| on_page));
    free::head(line, parts, page).into_iter().try_for_each(say)?;
    say("")?;
    drawn(&free::picture(line, parts, found, on_page, page), who.appearance().colour)?;
    let mut sections = vec![free::vocabulary(line, found, page)];
    sections.extend(over.map(|((form, home), over)| free::over_form(line, form, over, home, page)));
    sections.push(free::rows(line, parts, on_page.map(|(form, _)| form), page));
    sections.into_iter().try_for_each(|lines| std::iter::once(String::new()).chain(lines).try_for_each(say))
}

/// Writes a line as a score, what was found in it bracketed.
pub fn write_score(
    to: &Path,
    from: &Path,
    (line, parts, found): (&FreeLine, &FreeParts, &FreeVocabulary),
    form: Option<(&PlacedForm, FormKey)>,
    who: &Who,
) -> Result<(), Failure> {
    let title = from.file_stem().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let staff = exchange::free_staff(&title, line, parts, found, form, &who.page).map_err(|why| {
        let mend = match why {
            NoScore::Meter(_) => "Leave --chart out: the notes alone can be.",
            NoScore::Rhythm => "Give the tempo that was played: --tempo 120.",
        };
        Failure::usage(why, mend)
    })?;
    write_named(to, &exchange::to_musicxml(&staff))?;
    let came = found.patterns.iter().map(|one| one.places.len()).sum();
    say(format!("{}: {}, {} bracketed", to.display(), numbered(line.notes.len(), "note"), numbered(came, "pattern")))
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
    let none = |why: NoLine| Failure::input(file.display(), why, free::mend(&why));
    let instrument = Some(&who.page.instrument);
    if let Some(played) = notation_files::played(file, instrument)? {
        let at = tempo.or(played.tempo).unwrap_or(FILE_TEMPO);
        let tempo_changes = tempo.is_none() && played.told.tempo_changes;
        let line = FreeLine::heard(&played.line, Some(at)).map_err(none)?;
        return Ok((FreeLine { tempo_changes, ..line }, None));
    }
    if let Some(voice) = notation_files::voice(file, instrument)? {
        let voice = if on_page { voice.on_page_of(&who.page.instrument) } else { voice };
        let tempo = tempo.or(voice.tempo).unwrap_or(FILE_TEMPO);
        let first_bar = tempo.lasting(Beats(voice.pickup.0));
        return Ok((FreeLine::written(&voice.line, tempo).map_err(none)?, Some(first_bar)));
    }
    Ok((FreeLine::heard(&recordings::heard(file, who)?, tempo).map_err(none)?, None))
}
