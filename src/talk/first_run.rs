//! The first run: a few questions with a default each, then the drill starts.

use std::io::{BufRead, Write};

use crate::files::{KeepSound, Places, UserSettings};
use crate::music::{self, Concert, Instrument, Range, Reading};
use crate::session::NamedPlayer;
use crate::talk::chosen_devices::midi;
use crate::talk::failure::Failure;
use crate::talk::microphone::Microphone;
use crate::talk::output::{can_ask, part, say, warn};
use crate::talk::who;
use crate::words::Page;

/// Whether the instrument is not known yet and a player sits at the terminal to answer.
pub fn asks(settings: &UserSettings) -> bool {
    settings.instrument.is_none() && can_ask()
}

/// Whether it is settled what sound of the answers may be kept. A player at the terminal is asked before anything is recorded. Where
/// nobody can be asked, no sound is to be kept, a warning says so, and the answer is false.
pub fn consent(settings: &mut UserSettings, places: &Places) -> Result<bool, Failure> {
    if settings.keep_sound.is_some() {
        return Ok(true);
    }
    if can_ask() {
        let keep = Some(ask_sound(&mut typed_line)?);
        *settings = UserSettings::change(places, |now| now.keep_sound = keep)?;
        return Ok(true);
    }
    warn("nobody is here to be asked, so no sound of the answers is kept; --keep-sound all keeps it");
    Ok(false)
}

/// Whether a player sits at the terminal who was not asked yet how many minutes a day has.
pub fn asks_minutes(settings: &UserSettings) -> bool {
    settings.day.minutes.is_none() && can_ask()
}

/// How many minutes a day has, asked once; `None` where there is to be no plan, or where it is not known and nobody can be asked.
pub fn minutes(settings: &mut UserSettings, places: &Places) -> Result<Option<f64>, Failure> {
    if asks_minutes(settings) {
        let minutes = loop {
            let typed = typed_line("How many minutes a day, rests included? (0: no plan, until you end it) [20]")?;
            let typed = if typed.is_empty() { "20" } else { &typed };
            match typed.parse::<f64>() {
                Ok(minutes) if minutes == 0.0 || (5.0..=180.0).contains(&minutes) => break minutes,
                _ => say("  5 to 180 minutes, or 0.")?,
            }
        };
        *settings = UserSettings::change(places, |now| now.day.minutes = Some(minutes))?;
    }
    Ok(settings.day.minutes.filter(|minutes| *minutes > 0.0))
}

/// Waits until the player at the terminal has read what was said, and begins; true at once where nobody can be asked, false
/// where the input ends.
pub fn begins() -> bool {
    !can_ask() || typed_line("Rests come by themselves; stop when something hurts. Enter begins.").is_ok()
}

/// Asks which sound is kept.
fn ask_sound(question: &mut Question) -> Result<KeepSound, Failure> {
    say("  (some: of those that were not whole; for a child none, unless a parent agrees)")?;
    let keep = "Keep the sound of your answers on this machine: all, some or none? [all]";
    one_of(keep, &[("all", KeepSound::All), ("some", KeepSound::Some), ("none", KeepSound::None)], question)
}

/// Puts a question on the terminal, and gives the line that was typed. Callers take the default in brackets for an empty line only;
/// where the input ends, this fails.
fn typed_line(text: &str) -> Result<String, Failure> {
    let mut out = std::io::stdout();
    let _ = write!(out, "{text} ").and_then(|()| out.flush());
    let mut line = String::new();
    match std::io::stdin().lock().read_line(&mut line) {
        Ok(1..) => Ok(line.trim().to_owned()),
        _ => Err(left()),
    }
}

/// What is said of the volume before a drill, and before a trade.
const CUES: &str = "Keep the volume low at first: the first cue is soft and grows until you answer.";
const BAND: &str = "Keep the volume low at first: the band begins as loud as it stays (--level).";

/// Asks before a drill for instrument, headphones and range, for the sound that is kept (not of a MIDI instrument) and for a name (where
/// none was typed and no player is known); keeps the answers. `named` is the player that was typed, `input` the input.
pub fn ask(
    settings: &mut UserSettings,
    named: Option<&str>,
    input: Option<&str>,
    places: &Places,
) -> Result<(), Failure> {
    questions(settings, named, (input, CUES), places)
}

/// Asks the same before a trade, in which a band sounds and no cue grows.
pub fn ask_before_trade(
    settings: &mut UserSettings,
    named: Option<&str>,
    input: Option<&str>,
    places: &Places,
) -> Result<(), Failure> {
    questions(settings, named, (input, BAND), places)
}

fn questions(
    settings: &mut UserSettings,
    named: Option<&str>,
    (input, volume): (Option<&str>, &str),
    places: &Places,
) -> Result<(), Failure> {
    let mut question = typed_line;
    say("A few questions; an empty line takes what stands in brackets.\n")?;
    let instrument = loop {
        let typed = question("Which instrument? (? lists them) [trumpet]")?;
        if typed == "?" {
            let names: Vec<String> = music::instruments().iter().map(|known| known.id.clone()).collect();
            say(format!("  {}", names.join(", ")))?;
            continue;
        }
        match music::instrument(if typed.is_empty() { "trumpet" } else { &typed }) {
            Ok(found) => break found.clone(),
            Err(unknown) => say(format!("  {unknown}"))?,
        }
    };
    let where_to = "Does the sound go to headphones or to a loudspeaker? [headphones]";
    let headphones = one_of(where_to, &[("headphones", true), ("loudspeaker", false)], &mut question)?;
    settings.headphones = Some(headphones);
    let range = ask_range(&instrument, input, settings, &mut question)?;
    // A MIDI instrument gives no sound that could be kept.
    let keep = if midi(input, settings).is_some() { None } else { Some(ask_sound(&mut question)?) };
    let name = match named {
        Some(typed) => typed.to_owned(),
        None if settings.players.is_empty() => {
            question("Your name or a pseudonym, for your records and the teacher's page? [none]")?
        }
        None => String::new(),
    };
    let nobody = settings.players.is_empty();
    say(format!("\n{volume}"))?;
    say("Stop when something hurts, goes numb or rings; ask a teacher or a clinician.\n")?;
    *settings = UserSettings::change(places, |now| {
        (now.headphones, now.range_midi) = (Some(headphones), Some(range));
        now.keep_sound = keep.or(now.keep_sound);
        now.instrument = Some(instrument.id);
        // Another earfirst may have asked for the player meanwhile.
        if nobody && now.players_called(Some(&name)).is_empty() {
            now.add_player(&NamedPlayer::new(who::drawn(), &name));
        }
    })?;
    Ok(())
}

/// The failure where the questions were left before the last one. A new line is begun first, for the cursor stands behind a
/// question.
fn left() -> Failure {
    let _ = say("");
    Failure::usage("the questions were left, and no answer was kept", "They are asked again next time.")
}

/// Puts a question; gives what was typed.
type Question<'a> = dyn FnMut(&str) -> Result<String, Failure> + 'a;

/// Asks until one of the words, or the beginning of one, is typed; an empty line means the first.
fn one_of<T: Copy>(asked: &str, words: &[(&str, T)], question: &mut Question) -> Result<T, Failure> {
    loop {
        let typed = question(asked)?.to_lowercase();
        if let Some((_, meant)) = words.iter().find(|(word, _)| word.starts_with(&typed)) {
            return Ok(*meant);
        }
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        say(format!("  One of these, please: {}.", known.join(", ")))?;
    }
}

/// Asks for the lowest and the highest note, which are typed, or played where the answer is "play".
fn ask_range(
    instrument: &Instrument,
    input: Option<&str>,
    settings: &UserSettings,
    question: &mut Question,
) -> Result<[i32; 2], Failure> {
    let range = instrument.developing;
    let page = Page::new(instrument.clone(), Reading::default());
    let name = |pitch: Concert| page.pitch(pitch);
    loop {
        let typed = question(&format!(
            "Lowest and highest note you are comfortable with, written (or: play)? [{} {}]",
            name(range.low),
            name(range.high)
        ))?;
        if typed.eq_ignore_ascii_case("play") {
            say("  Hold the lowest for a second, then the highest.")?;
            match played(instrument, input, settings, &mut |note| part(format!("  {}\n", name(note)))) {
                Ok(None) => return Err(left()),
                Ok(Some(played)) if played.span().0 >= 12 => return Ok([played.low.0, played.high.0]),
                Ok(Some(_)) => say("  An octave at least, so that every key has its place.")?,
                Err(failure) => say(format!("  {failure}"))?,
            }
            continue;
        }
        let typed: Vec<Option<Concert>> = typed
            .split([' ', '-', ','])
            .filter(|word| !word.is_empty())
            .map(|word| page.read_note(word).ok())
            .collect();
        match typed[..] {
            [] => return Ok([range.low.0, range.high.0]),
            [Some(low), Some(high)] if !instrument.reaches(Range::new(low, high)) => {
                say(format!("  That is no range of the {}; C4 is middle C, written.", instrument.name))?;
            }
            [Some(low), Some(high)] if (high.0 - low.0).abs() >= 12 => {
                let range = Range::new(low, high);
                return Ok([range.low.0, range.high.0]);
            }
            [Some(_), Some(_)] => say("  An octave at least, so that every key has its place.")?,
            _ => say("  Two notes, such as G3 C6; C4 is middle C.")?,
        }
    }
}

/// Hears the lowest and the highest note, held for a second each; `understood` gets each note. `None` when the player asked to end.
fn played(
    instrument: &Instrument,
    input: Option<&str>,
    settings: &UserSettings,
    understood: &mut dyn FnMut(Concert),
) -> Result<Option<Range>, Failure> {
    let mut microphone =
        Microphone::open(input, instrument, settings.a4(), settings, "the two notes can be typed instead")?;
    let Some(low) = microphone.long_note(None)? else { return Ok(None) };
    understood(low);
    let Some(high) = microphone.long_note(Some(low))? else { return Ok(None) };
    understood(high);
    Ok(Some(Range::new(low, high)))
}
