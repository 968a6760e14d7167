use crate::cli::args::{DrillTyped, Keep};
use crate::engine::{PreparedSitting, SittingEnd};
use crate::files::{Places, SessionFolder, UserSettings};
use crate::talk::failure::Failure;
use crate::talk::sitting::{PlayedBy, Sitting};
use crate::talk::sitting_screen::{self, Showing};
use crate::talk::{chosen_devices, comments, first_run, held_out, lessons, library, record_words, rig, who};

/// Runs a drill at once.
pub fn run(typed: &DrillTyped) -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = UserSettings::load(&places)?;
    if typed.practice.scope.player.instrument.is_none() && first_run::asks(&stored) {
        first_run::ask(&mut stored, typed.practice.scope.player_name.as_deref(), typed.input.as_deref(), &places)?;
    }
    // A slip in a name is told before anything is asked.
    library::check_names(&typed.practice.scope.patterns)?;
    let mut typed = typed.clone();
    consent(&mut typed, &mut stored, &places)?;
    sitting_screen::farewell(with(&typed, &mut stored, &places)?)
}

/// Asks for consent before any sound is kept, unless notes come over a cable or the player typed what is kept.
pub(super) fn consent(typed: &mut DrillTyped, stored: &mut UserSettings, places: &Places) -> Result<(), Failure> {
    let by_midi = chosen_devices::midi(typed.input.as_deref(), stored).is_some();
    if !by_midi && typed.practice.keep_sound.is_none() && !first_run::consent(stored, places)? {
        typed.practice.keep_sound = Some(Keep::None);
    }
    Ok(())
}

/// Runs a sitting; its screen stands already while the devices open.
pub(super) fn with(typed: &DrillTyped, stored: &mut UserSettings, places: &Places) -> Result<SittingEnd, Failure> {
    record_words::finish_what_was_left(places);
    let player = who::meant(typed.practice.scope.player_name.as_deref(), stored, places)?;
    let midi = chosen_devices::midi(typed.input.as_deref(), stored);
    let by = midi.as_ref().map_or(PlayedBy::Player, |midi| PlayedBy::ByMidi(midi.delay));
    let mut sitting = Sitting::of(&typed.practice, stored, places, by)?;
    let keeps = typed.practice.keep_sound.is_some_and(|keep| keep != Keep::None);
    let midi = midi.map(|midi| midi.steered(stored, &sitting.meant.who, keeps));
    if let Some(file) = &typed.practice.lesson {
        lessons::tell(&lessons::open(file)?)?;
        lessons::keep(file, places);
    }
    if typed.practice.hold_out.is_some() {
        let plan = &sitting.meant.plan;
        held_out::keep(&plan.held_out, Some(player.id), &sitting.settings.began.instrument, places);
    }
    held_out::tell(&sitting.meant, &sitting.learner)?;
    let comments = comments::tell(places, stored, &player, !typed.practice.plain)?;
    let showing = Showing { look: sitting.meant.who.appearance(), plain: typed.practice.plain, answers: None };
    let (typed, stored, own) = (typed.clone(), stored.clone(), places.clone());
    let end = sitting_screen::run(showing, sitting.keep, move || {
        let output = typed.output.as_deref();
        let (rig, output) = match midi {
            Some(midi) => {
                let keys = rig::keys(&midi, output, &stored, sitting.meant.who.a4)?;
                sitting.settings.level = stored.cue_level(&keys.1);
                keys
            }
            None => rig::microphone(typed.input.as_deref(), output, &stored, &mut sitting)?,
        };
        let keep_level = rig::keep_level(&own, &output);
        sitting.settings.began.player = who::keep(player, &own);
        let folder = SessionFolder::begin(&own, &sitting.settings.began, sitting.keep);
        let (a4, octave_up) = (sitting.meant.who.a4, sitting.octave_up);
        Ok(PreparedSitting { folder, drill: sitting.drill(), rig, a4, octave_up, keep_level })
    })?;
    comments.keep(places, Some(&end));
    Ok(end)
}
