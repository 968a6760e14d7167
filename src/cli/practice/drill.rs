use crate::cli::args::{Demo, DrillTyped, Keep};
use crate::cli::practice::demo;
use crate::cli::practice::sitting::{PlayedBy, Sitting};
use crate::devices::{DeviceError as NoSound, Side};
use crate::engine::{DeviceAudio, Listener, MidiEar, MidiPlayer, Ready, Rig, SittingEnd};
use crate::files::{Places, SessionFolder, UserSettings};
use crate::room::Echo;
use crate::talk::failure::Failure;
use crate::talk::output::{say, warn};
use crate::talk::sitting_screen::{self, Showing};
use crate::talk::{chosen_devices, comments, first_run, lessons, record_words, who};
use crate::units::{Decibels, Seconds};

/// The practice room: the drill with what the settings hold, or the simulated player where there is no sound card.
pub fn room() -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = UserSettings::load(&places)?;
    let mut typed = DrillTyped::default();
    if first_run::asks(&stored) {
        // Nobody is asked anything before it is known that there is sound; and the range may be played, so the microphone is
        // given back.
        say("Opening microphone and loudspeaker ...")?;
        if let Err(failure) = DeviceAudio::open(&chosen_devices::devices(None, None, &stored)) {
            return stand_in(&failure);
        }
        first_run::ask(&mut stored, None, &places)?;
    }
    consent(&mut typed, &mut stored, &places)?;
    match with(&typed, &mut stored, &places)? {
        SittingEnd::NoSound(failure) => stand_in(&failure),
        ending => sitting_screen::farewell(ending),
    }
}

/// The simulated player, where nothing sounds.
fn stand_in(failure: &NoSound) -> Result<(), Failure> {
    warn(failure);
    warn("no sound here, so a simulated player stands in; earfirst drill says more");
    demo::run(&Demo::default())
}

/// Practise at once.
pub fn run(typed: &DrillTyped) -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = UserSettings::load(&places)?;
    if typed.practice.scope.player.instrument.is_none() && first_run::asks(&stored) {
        first_run::ask(&mut stored, typed.practice.scope.player_name.as_deref(), &places)?;
    }
    let mut typed = typed.clone();
    consent(&mut typed, &mut stored, &places)?;
    sitting_screen::farewell(with(&typed, &mut stored, &places)?)
}

/// Whoever is there is asked before any sound is kept, where there is any.
fn consent(typed: &mut DrillTyped, stored: &mut UserSettings, places: &Places) -> Result<(), Failure> {
    let by_midi = chosen_devices::midi(typed.input.as_deref(), stored).is_some();
    if !by_midi && typed.practice.keep_sound.is_none() && !first_run::consent(stored, places)? {
        typed.practice.keep_sound = Some(Keep::None);
    }
    Ok(())
}

/// Runs a sitting whose screen stands while the devices open.
fn with(typed: &DrillTyped, stored: &mut UserSettings, places: &Places) -> Result<SittingEnd, Failure> {
    record_words::finish_what_was_left(places);
    let player = who::meant(typed.practice.scope.player_name.as_deref(), stored, places)?;
    let midi = chosen_devices::midi(typed.input.as_deref(), stored);
    let by = if midi.is_some() { PlayedBy::ByMidi } else { PlayedBy::Player };
    let mut sitting = Sitting::of(&typed.practice, stored, places, by)?;
    typed.practice.lesson.as_ref().map_or(Ok(()), |file| lessons::tell(&lessons::open(file)?))?;
    comments::tell(places, stored, &player, !typed.practice.plain)?;
    let showing = Showing { look: sitting.meant.who.appearance(), plain: typed.practice.plain, answers: None };
    let (typed, stored, places) = (typed.clone(), stored.clone(), places.clone());
    sitting_screen::run(showing, sitting.keep, move || {
        let (rig, output) = match midi {
            Some(midi) => keys(&midi, &typed, &stored, &mut sitting)?,
            None => microphone(&typed, &stored, &mut sitting)?,
        };
        let keep_level = keep_level(&places, &output);
        sitting.settings.began.player = who::keep(player, &places);
        let folder = SessionFolder::begin(&places, &sitting.settings.began, sitting.keep);
        let (a4, octave_up) = (sitting.meant.who.a4, sitting.octave_up);
        Ok(Ready { folder, drill: sitting.drill(), rig, a4, octave_up, keep_level })
    })
}

/// A player at the microphone, and the name of the output.
fn microphone(
    typed: &DrillTyped,
    stored: &UserSettings,
    sitting: &mut Sitting,
) -> Result<(Box<dyn Rig>, String), NoSound> {
    let audio = DeviceAudio::open(&chosen_devices::devices(typed.input.as_deref(), typed.output.as_deref(), stored))?;
    let (Some(input), Some(output)) = (audio.about(Side::Input), audio.about(Side::Output)) else {
        return Err(NoSound::Silent(Side::Input));
    };
    let measured = stored.calibration(&input.id, &output.id, input.period.unwrap_or(0));
    let (rate, output) = (input.rate, output.id.clone());
    sitting.hears(rate, measured.map(|kept| Seconds(kept.remainder_s)), stored.cue_level(&output));
    Ok((Box::new(Listener::new(sitting.ear(rate), Echo::new(rate), audio)), output))
}

/// A player at a MIDI instrument, and the name of the output. How long the loudspeaker takes beyond what it reports is not known
/// without a microphone.
fn keys(
    midi: &chosen_devices::MidiChoice,
    typed: &DrillTyped,
    stored: &UserSettings,
    sitting: &mut Sitting,
) -> Result<(Box<dyn Rig>, String), NoSound> {
    let audio = DeviceAudio::open(&chosen_devices::loudspeaker_of(typed.output.as_deref(), stored))?;
    let output = audio.about(Side::Output).ok_or(NoSound::Silent(Side::Output))?.id.clone();
    let ear = MidiEar::open(midi.name.as_deref(), audio.clock(), midi.line)?;
    sitting.hears(sitting.settings.began.rate, None, stored.cue_level(&output));
    let player = MidiPlayer::new(ear, audio);
    let player = if midi.sounds { player.sounding(sitting.meant.who.a4) } else { player };
    Ok((Box::new(player), output))
}

/// Keeps, for the next sitting, how loud the cues were that the player answered on this output.
fn keep_level(places: &Places, output: &str) -> Box<dyn FnOnce(Decibels) + Send> {
    let (places, output) = (places.clone(), output.to_owned());
    Box::new(move |level| {
        // What cannot be kept begins softly again, which harms nobody.
        let _ = UserSettings::change(&places, |stored| {
            if stored.cue_level(&output) != Some(level) {
                stored.answered_at(&output, level);
            }
        });
    })
}
