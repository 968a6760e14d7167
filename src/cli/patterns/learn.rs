//! A pattern of one's own: played once into the microphone or on a MIDI instrument, or read from a recording, a MIDI or a MusicXML
//! file.

use crate::cli::args::patterns::Learn;
use crate::cli::patterns::list;
use crate::files::{Places, UserSettings};
use crate::learn::{LineDraft, Pulse};
use crate::pattern;
use crate::talk::failure::Failure;
use crate::talk::learn_typed::{a_name, free_name, mends, new_name};
use crate::talk::learnt::Talk;
use crate::talk::library::library;
use crate::talk::line_source::{LineSource, pattern_of};
use crate::talk::microphone::Microphone;
use crate::talk::notation_files::unheeded;
use crate::talk::output::{can_ask, say, warn};
use crate::talk::own_patterns::SavedPatterns;
use crate::talk::player::{Who, tempo};
use crate::words::learnt;

/// Learns one line and keeps it among the player's own patterns.
pub fn run(typed: &Learn) -> Result<(), Failure> {
    let places = Places::usual()?;
    let settings = UserSettings::load(&places)?;
    let who = Who::of(&typed.player, &settings)?;
    let library = library()?;
    let key = typed.key.as_deref().map(|key| who.key(key)).transpose()?;
    let typed_tempo = tempo(typed.tempo)?;
    let mends = mends(&typed.note)?;
    // A pattern that is only printed may have the name of one that is there already.
    let named = |name| if typed.print { a_name(name) } else { new_name(name, &library) };
    let name = typed.name.as_deref().map(named).transpose()?;
    let (source, live) = match &typed.file {
        Some(file) => {
            unheeded(file, typed.player.a4.is_some());
            if typed.input.is_some() {
                warn("--input changes nothing: the line is read from the file");
            }
            (LineSource::of(file, &who)?, None)
        }
        None => {
            let mut microphone = Microphone::of(typed.input.as_deref(), &who, &settings)?;
            microphone.unheeded(typed.player.a4.is_some());
            (LineSource { played: microphone.line()?, ..LineSource::default() }, Some(microphone))
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
    let own = SavedPatterns::open(typed.save.as_deref(), &places)?;
    let talks = can_ask() && !typed.print;
    if talks {
        return Talk::new(who, library, own, draft, live)?.run(&mends);
    }
    let learnt = pattern_of(draft, &mends, &library)?;
    if typed.print {
        return say(pattern::print_file([&learnt.pattern]).trim_end());
    }
    learnt::lines(&learnt, &who.page).into_iter().try_for_each(say)?;
    own.keep(&learnt.pattern)?;
    say(own.kept(&learnt.pattern))
}
