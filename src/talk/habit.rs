//! A habit of free playing, kept as a pattern of the player's own.

use crate::files::Places;
use crate::free::{FreeLine, FreeVocabulary};
use crate::learn::{LineDraft, LineNote, Pulse};
use crate::music::ConcertKey;
use crate::pattern::Library;
use crate::talk::failure::Failure;
use crate::talk::learn_typed::{free_name, new_name};
use crate::talk::output::say;
use crate::talk::own_patterns::SavedPatterns;
use crate::talk::player::Who;
use crate::words::learnt;
use crate::words::numbers::counted;

/// The habit that is kept.
pub struct KeptHabit<'t> {
    /// The number of the habit in the list.
    pub number: usize,
    /// The name of the new pattern, where one was typed.
    pub name: Option<&'t str>,
    /// The key of the habit, where one was typed.
    pub key: Option<ConcertKey>,
}

/// Keeps the habit with this number, as it was played the first time.
pub fn keep(
    kept: &KeptHabit<'_>,
    line: &FreeLine,
    found: &FreeVocabulary,
    library: &Library,
    who: &Who,
) -> Result<(), Failure> {
    let number = kept.number;
    let habit = number.checked_sub(1).and_then(|place| found.habits.get(place)).ok_or_else(|| {
        let there = counted(found.habits.len(), "line");
        Failure::usage(format!("there is no line {number}: {there} of your own came again"), "Name one that is listed.")
    })?;
    let notes = habit.places.first().cloned().unwrap_or_default();
    let played: Vec<LineNote> = line.notes.get(notes).unwrap_or_default().to_vec();
    let name = match kept.name {
        Some(name) => new_name(name, library)?,
        None => free_name(library),
    };
    let draft = LineDraft {
        played,
        pulse: line.tempo.map(Pulse::given),
        straight: false,
        key: kept.key,
        tonic: None,
        signature: None,
        family: None,
        name,
    };
    let learnt = draft.learn(library).map_err(|why| {
        let scale = who.major_key(ConcertKey(line.scale()));
        let mend = format!("Name its root with --key: most notes of the recording stand in the scale of {scale}.");
        Failure::usage(why, mend)
    })?;
    let own = SavedPatterns::open(None, &Places::usual()?)?;
    learnt::lines(&learnt, &who.page).into_iter().try_for_each(say)?;
    own.keep(&learnt.pattern)?;
    say(own.kept(&learnt.pattern))
}
