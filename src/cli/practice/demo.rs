use crate::cli::args::{CueForm, Demo, trade::TradeTyped};
use crate::cli::practice::trade;
use crate::engine::{Listener, PreparedSitting, SimulatedAudio, SittingEnd};
use crate::files::{Places, SessionFolder, UserSettings};
use crate::room::Echo;
use crate::talk::failure::Failure;
use crate::talk::held_out;
use crate::talk::record_words;
use crate::talk::simulated_days;
use crate::talk::sitting::{PlayedBy, Sitting};
use crate::talk::sitting_screen::{self, Showing};
use crate::talk::who;
use crate::talk::{comments, lessons};
use crate::units::SampleRate;

/// Runs the drill with the simulated player.
pub fn run(typed: &Demo) -> Result<(), Failure> {
    if let Some(over) = TradeTyped::of_demo(typed) {
        return trade::run(&over);
    }
    if let Some(days) = typed.days {
        let mut practice = typed.practice.clone();
        practice.scope.cue.get_or_insert(CueForm::FirstNote);
        let places = Places::usual()?;
        let first = Sitting::of(&practice, &UserSettings::load(&places)?, &places, PlayedBy::Simulated)?;
        return simulated_days::show(&first, days, typed.answers);
    }
    sitting_screen::farewell(ended(typed)?)
}

/// Runs a demo to its end, without the farewell.
pub(super) fn ended(typed: &Demo) -> Result<SittingEnd, Failure> {
    let places = Places::usual()?;
    record_words::finish_what_was_left(&places);
    let mut stored = UserSettings::load(&places)?;
    let mut practice = typed.practice.clone();
    practice.lesson.as_ref().map_or(Ok(()), |file| lessons::tell(&lessons::open(file)?))?;
    if practice.scope.minutes.is_none() && typed.answers.is_none() && typed.fast && practice.lesson.is_none() {
        practice.scope.minutes = Some(5.0);
    }
    if let Some(name) = practice.scope.player_name.as_deref() {
        let player = who::meant(Some(name), &mut stored, &places)?;
        comments::tell(&places, &stored, &player, !typed.practice.plain && !typed.fast)?.keep(&places, None);
        who::keep(player, &places);
    }
    let sitting = Sitting::of(&practice, &stored, &places, PlayedBy::Simulated)?;
    held_out::tell(&sitting.meant, &sitting.learner)?;
    let showing = Showing { look: sitting.meant.who.appearance(), plain: typed.practice.plain, answers: typed.answers };
    let (a4, octave_up, seed) = (sitting.meant.who.a4, sitting.octave_up, sitting.settings.began.seed);
    let rate = SampleRate::DEVICE;
    let audio = SimulatedAudio::new(sitting.simulated_player(), rate, a4, seed, typed.fast);
    sitting_screen::run(showing, sitting.keep, move || {
        let folder = SessionFolder::begin(&places, &sitting.settings.began, sitting.keep);
        let rig = Box::new(Listener::new(sitting.ear(rate), Echo::new(rate), audio));
        Ok(PreparedSitting { folder, drill: sitting.drill(), rig, a4, octave_up, keep_level: Box::new(|_| ()) })
    })
}
