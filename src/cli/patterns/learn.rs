//! A pattern of one's own: played once into the microphone, or read from a recording or a MIDI file.

use std::io::IsTerminal;
use std::path::Path;

use crate::cli::args::patterns::Learn;
use crate::cli::listening::notes;
use crate::cli::patterns::exchange;
use crate::cli::patterns::list;
use crate::engine;
use crate::files::{self, Places, UserSettings};
use crate::learn::{Correction, LearnError, LearnedPattern, LineDraft, LineNote, Pulse, played};
use crate::music::ConcertKey;
use crate::pattern::{self, Library};
use crate::talk::failure::Failure;
use crate::talk::learn_typed::{a_name, free_name, mends, new_name};
use crate::talk::learnt::Talk;
use crate::talk::library::library;
use crate::talk::microphone::Microphone;
use crate::talk::output::say;
use crate::talk::own_patterns::Own;
use crate::talk::player::{Who, tempo};
use crate::units::Tempo;
use crate::words::learnt;

/// Standard MIDI Files 1.0: without a tempo event a quarter note lasts half a second.
const MIDI_TEMPO: Tempo = Tempo(120.0);

/// Eighths that swing divide the beat as a triplet does, wherever nothing nearer is said.
const LONG_TO_SHORT: f64 = 2.0;

/// What was heard, wherever it came from.
#[derive(Default)]
struct Learnt {
    played: Vec<LineNote>,
    tempo: Option<Tempo>,
    signature: Option<ConcertKey>,
    title: Option<String>,
}

/// Learns one line and keeps it among the player's own patterns.
pub fn run(typed: &Learn) -> Result<(), Failure> {
    let places = Places::usual()?;
    let settings = UserSettings::load(&places)?;
    let who = Who::of(&typed.player, &settings)?;
    let library = library()?;
    let key = typed.key.as_deref().map(|key| who.key(key)).transpose()?;
    let typed_tempo = tempo(typed.tempo)?;
    let mends = mends(&typed.note)?;
    // What is only printed takes nobody's place.
    let named = |name| if typed.print { a_name(name) } else { new_name(name, &library) };
    let name = typed.name.as_deref().map(named).transpose()?;
    let (source, live) = match &typed.file {
        Some(file) => (source(file, &who)?, None),
        None => {
            let mut microphone = Microphone::of(typed.input.as_deref(), &who, &settings)?;
            (Learnt { played: microphone.line()?, ..Learnt::default() }, Some(microphone))
        }
    };
    let draft = LineDraft {
        played: source.played,
        pulse: typed_tempo.map(Pulse::given).or(source.tempo.map(Pulse::written)),
        straight: typed.straight,
        key,
        tonic: None,
        signature: source.signature,
        family: typed.family.map(list::motion),
        name: name
            .or_else(|| source.title.and_then(|title| new_name(&title, &library).ok()))
            .unwrap_or_else(|| free_name(&library)),
    };
    let own = Own::open(typed.save.as_deref(), &places)?;
    let talks = std::io::stdin().is_terminal() && std::io::stdout().is_terminal() && !typed.print;
    if talks {
        return Talk::new(who, library, own, draft, live)?.run(&mends);
    }
    let learnt = made(draft, &mends, &library)?;
    if typed.print {
        return say(pattern::print_file([&learnt.pattern]).trim_end());
    }
    learnt::lines(&learnt, &who.page).into_iter().try_for_each(say)?;
    own.keep(&learnt.pattern)?;
    say(own.kept(&learnt.pattern))
}

/// The pattern, with the notes that were put right.
fn made(mut draft: LineDraft, mends: &[Correction], library: &Library) -> Result<LearnedPattern, Failure> {
    let learnt = draft.learn(library).map_err(|why| unlearnt(&why))?;
    if mends.is_empty() {
        return Ok(learnt);
    }
    draft.mend(mends, &learnt).map_err(|no| Failure::usage(no, "Notes count from 1, such as --note 3=b7."))?;
    draft.learn(library).map_err(|why| unlearnt(&why))
}

/// Why no pattern came of it, and what helps.
fn unlearnt(why: &LearnError) -> Failure {
    match why {
        LearnError::Root(_) => Failure::usage(why, "Tell it with --key, as on your page: --key Eb."),
        LearnError::Nothing => Failure::usage(why, "earfirst notes FILE shows what is heard in a recording."),
        LearnError::Unwritten => Failure::usage(why, "Keep within two octaves, and to one line."),
    }
}

fn source(file: &Path, who: &Who) -> Result<Learnt, Failure> {
    // A pipe would be waited on for ever.
    files::plain(file)?;
    if let Some(voice) = exchange::voice(file)? {
        let tempo = voice.tempo.unwrap_or(MIDI_TEMPO);
        // A score has its eighths even and says that they swing; whoever plays it does.
        let line = if voice.swing { voice.line.swung(LONG_TO_SHORT, voice.pickup) } else { voice.line };
        let played = LineNote::of(&line, tempo);
        return Ok(Learnt { played, tempo: Some(tempo), signature: voice.key, title: voice.title });
    }
    let recording = notes::read(file)?;
    let settings = engine::ear_settings(recording.rate, who.a4, Some(&who.page.instrument));
    let played = played(&engine::hear_recording(&settings, &recording, false)?.1);
    if played.is_empty() {
        let mend = format!("earfirst hear --file {} says what is wrong with the sound.", file.display());
        return Err(Failure::input(file.display(), "no note was heard in it", mend));
    }
    Ok(Learnt { played, ..Learnt::default() })
}
