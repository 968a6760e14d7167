use std::path::Path;

use crate::cli::args::Player;
use crate::cli::failure::Failure;
use crate::cli::meant::{Who, pattern, tempo};
use crate::cli::pattern_args::{Motion, PatternAction, Patterns};
use crate::cli::{exchange, say};
use crate::cue::{Form, Rendering, Timing};
use crate::files;
use crate::pattern::{self, Family, Library, Pattern, Quality, Register, Wanted};
use crate::units::SampleRate;

/// The library: list, show, check, sound, learn, import, export.
pub fn run(typed: &Patterns) -> Result<(), Failure> {
    match &typed.action {
        None => list(&Wanted::default(), false),
        Some(PatternAction::List { family, level, chord, longest, json }) => {
            let over = match chord {
                Some(name) => Some(Quality::parse(name).ok_or_else(|| {
                    Failure::usage(
                        format!("no chord quality is written \"{name}\""),
                        "Such as maj7, 7, m7, m7b5, dim7.",
                    )
                })?),
                None => None,
            };
            let wanted = Wanted {
                family: family.map(motion),
                level: level.map(|level| level..=level),
                over,
                notes: longest.map(|most| 1..=most),
            };
            list(&wanted, *json)
        }
        Some(PatternAction::Show { pattern, key, player }) => show(pattern, key.as_deref(), player),
        Some(PatternAction::Check { file }) => check(file),
        Some(PatternAction::Sound { pattern, key, player, tempo, wav }) => sound(pattern, key, player, *tempo, wav),
        Some(PatternAction::Import { file, key, name, save }) => {
            exchange::import(file, key.as_deref(), name, save.as_deref())
        }
        Some(PatternAction::Export { pattern, player, midi, musicxml, accidentals }) => {
            exchange::export(pattern, player, midi.as_deref(), musicxml.as_deref(), *accidentals)
        }
    }
}

const fn motion(typed: Motion) -> Family {
    match typed {
        Motion::Scale => Family::Scale,
        Motion::Chromatic => Family::Chromatic,
        Motion::Arpeggio => Family::Arpeggio,
        Motion::Phrase => Family::Phrase,
    }
}

/// The family in words of the trade.
pub(super) const fn family_name(family: Family) -> &'static str {
    match family {
        Family::Scale => "stepwise",
        Family::Chromatic => "half steps",
        Family::Arpeggio => "skips",
        Family::Phrase => "phrase",
    }
}

/// The builtin library with the player's own files; a file with troubles is told, not swallowed.
pub(super) fn library() -> Result<Library, Failure> {
    let own: Vec<(String, String)> = files::Places::usual()?
        .pattern_files()?
        .into_iter()
        .map(|(path, text)| (path.display().to_string(), text))
        .collect();
    let (library, troubles) = Library::with_own(own.iter().map(|(name, text)| (name.as_str(), text.as_str())));
    match troubles.first() {
        None => Ok(library),
        Some(first) => {
            let more = if troubles.len() > 1 { format!(" (and {} more)", troubles.len() - 1) } else { String::new() };
            Err(Failure::input(
                "your pattern files",
                format!("{first}{more}"),
                "earfirst patterns check FILE lists them all.",
            ))
        }
    }
}

fn list(wanted: &Wanted, json: bool) -> Result<(), Failure> {
    let library = library()?;
    let found = library.select(wanted);
    if json {
        let rows = found.iter().map(|pattern| {
            serde_json::json!({
                "id": pattern.id.0, "name": pattern.name, "family": family_name(pattern.family), "level": pattern.level,
                "notes": pattern.steps().len(), "trains": pattern.trains,
            })
        });
        return say(serde_json::Value::Array(rows.collect()));
    }
    for pattern in &found {
        let line = format!(
            "{:34} {:10} {} {:3} notes  {}",
            pattern.id.0,
            family_name(pattern.family),
            pattern.level,
            pattern.steps().len(),
            pattern.name
        );
        say(line.trim_end())?;
    }
    say(format!("{} patterns", found.len()))
}

fn show(name: &str, key: Option<&str>, player: &Player) -> Result<(), Failure> {
    let library = library()?;
    let pattern = pattern(&library, name)?;
    let settings = files::Settings::load(&files::Places::usual()?)?;
    let who = Who::of(player, &settings)?;
    say(format!("{} ({})", pattern.name, pattern.id.0))?;
    say(format!("  family   {}, level {}", family_name(pattern.family), pattern.level))?;
    say(format!("  trains   {}", pattern.trains))?;
    say(format!("  notes    {}", pattern::print_notes(&pattern.notation.tokens)))?;
    if !pattern.over.is_empty() {
        let over: Vec<&str> = pattern.over.iter().map(|quality| quality.name()).collect();
        say(format!("  over     {}", over.join(", ")))?;
    }
    say(format!("  source   {}", pattern.source))?;
    if let Some(key) = key {
        let key = who.key(key)?;
        for (register, word) in [(Register::Low, "low"), (Register::Middle, "middle"), (Register::High, "high")] {
            let line = pattern::realise(pattern, key, None, who.range, register)
                .map_err(|refusal| Failure::usage(refusal, "Widen --range, or choose another key."))?;
            let names: Vec<String> = line.notes.iter().map(|note| who.look().note_in_octave(note.pitch, key)).collect();
            say(format!("  {word:8} {}", names.join(" ")))?;
        }
    }
    Ok(())
}

fn check(file: &Path) -> Result<(), Failure> {
    let text = std::fs::read_to_string(file)
        .map_err(|error| Failure::input(file.display(), error, "Name a TOML file of patterns."))?;
    let troubles = pattern::check(&text, &file.display().to_string());
    if troubles.is_empty() {
        let (patterns, _) = pattern::read(&text, &file.display().to_string());
        return say(format!("{}: {} patterns, no trouble", file.display(), patterns.len()));
    }
    for trouble in &troubles {
        say(trouble)?;
    }
    Err(Failure::input(file.display(), format!("{} troubles", troubles.len()), "Mend them and check again."))
}

fn sound(name: &str, key: &str, player: &Player, quarter: f64, wav: &Path) -> Result<(), Failure> {
    let library = library()?;
    let found = pattern(&library, name)?;
    let settings = files::Settings::load(&files::Places::usual()?)?;
    let who = Who::of(player, &settings)?;
    let cue = cue(found, who.key(key)?, &who, tempo(Some(quarter))?.unwrap_or(crate::units::Tempo(96.0)))?;
    let rendering = Rendering { a4: who.a4, ..Rendering::new(SampleRate::CD) };
    let clip = crate::cue::sound(&cue, &rendering).clip;
    files::write_wav(wav, &clip).map_err(|trouble| Failure::input(wav.display(), trouble, "Choose another place."))?;
    say(format!("{}: {:.1} s, peaks at {:.1} dB of full scale", wav.display(), clip.length().0, clip.peak().0))
}

/// A pattern as it would be cued in the middle of the player's range.
pub(super) fn cue(
    found: &Pattern,
    key: crate::music::ConcertKey,
    who: &Who,
    tempo: crate::units::Tempo,
) -> Result<crate::cue::Cue, Failure> {
    let line = pattern::realise(found, key, None, who.range, Register::Middle)
        .map_err(|refusal| Failure::usage(refusal, "Widen --range, or choose another key."))?;
    Ok(crate::cue::Cue {
        number: 1,
        pattern: found.id.clone(),
        title: found.name.clone(),
        key,
        register: Register::Middle,
        form: Form::Pattern,
        timing: Timing::Free,
        tempo,
        chord: found.chord(key),
        line,
        click: false,
        repeat: false,
    })
}
