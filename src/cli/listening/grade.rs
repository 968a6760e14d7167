use crate::cli::args::Grade;
use crate::cue::Cue;
use crate::exchange;
use crate::files;
use crate::music::ConcertKey;
use crate::notes::HeardNote;
use crate::pattern::{self, Line, Pattern, Register};
use crate::talk::failure::Failure;
use crate::talk::graded;
use crate::talk::json_lines;
use crate::talk::library::{library, pattern};
use crate::talk::player::{Who, tempo};
use crate::units::{Midi, Tempo, median};

/// Tells the verdict on a recording, a MIDI file or a list of notes, or on answers that come as lines of JSON.
pub fn run(typed: &Grade) -> Result<(), Failure> {
    if typed.json_lines {
        return json_lines::each(|line| exchange::answer_to_case(line).map(Some));
    }
    let settings = files::UserSettings::load(&files::Places::usual()?)?;
    let who = Who::of(&typed.player, &settings)?;
    let library = library()?;
    let name = typed.pattern.as_deref().ok_or_else(|| {
        Failure::usage("which pattern was asked?", "Add --pattern NAME; earfirst patterns list shows them all.")
    })?;
    let pattern = pattern(&library, name)?;
    let key = typed.key.as_deref().ok_or_else(|| Failure::usage("which key was asked?", "Add --key Eb, written."))?;
    let key = who.key(key)?;
    let tempo = tempo(typed.tempo)?.unwrap_or(Tempo(96.0));
    let cue = |heard: &[HeardNote]| {
        let place = register(typed, &pattern, key, &who, heard)?;
        Ok(Cue::new(&pattern, key, place.0, tempo, place.1))
    };
    let a4 = typed.player.a4.is_some();
    let (cue, heard) = graded::heard(typed.file.as_deref(), typed.notes.as_deref(), a4, &who, &cue)?;
    let open = graded::LeftOpen { tempo: typed.tempo.is_none(), octave: typed.register.is_none() };
    graded::judge(&cue, open, &heard, &who, typed.json)
}

/// The register that was asked, and the pattern's line there; where no register is named, the octave nearest to what was played.
fn register(
    typed: &Grade,
    pattern: &Pattern,
    key: ConcertKey,
    who: &Who,
    heard: &[HeardNote],
) -> Result<(Register, Line), Failure> {
    let wanted = typed.register.map_or(Register::ALL.to_vec(), |third| vec![third.into()]);
    let played: Vec<f64> = heard.iter().map(|note| note.pitch.0).collect();
    let nearest = |range| pattern::nearest_register(pattern, key, &wanted, range, median(&played).map(Midi));
    // A register is a third of the player's own range; an answer may lie anywhere the instrument reaches.
    let own = typed.register.and_then(|_| nearest(who.range));
    let place = own.or_else(|| nearest(who.page.instrument.advanced)).ok_or_else(|| {
        let (key, instrument) = (who.page.key(key, pattern.mode()), &who.page.instrument.name);
        let what = format!("{} in {key} does not fit the {instrument}", pattern.name);
        Failure::usage(what, "Choose another pattern, key or instrument.")
    })?;
    let free = typed.register.is_none();
    Ok(if free { (place.0, graded::in_the_octave_played(&place.1, heard)) } else { place })
}
