//! The simulated player over many invented days: what the drill makes of a player, in one picture.

use crate::cli::args::{CueForm, Demo};
use crate::cli::practice::simulated_player::{RATE, player};
use crate::cli::practice::sitting::{PlayedBy, Sitting};
use crate::engine::{Listener, SimulatedAudio, unattended};
use crate::files::{Places, UserSettings};
use crate::report;
use crate::room::Echo;
use crate::talk::failure::Failure;
use crate::talk::output::say;

/// Answers a day where none are named: a short sitting.
const ANSWERS: u32 = 36;

/// One sitting a day, each with what was learnt before; a night lies between two.
pub fn run(typed: &Demo, days: u16) -> Result<(), Failure> {
    let places = Places::usual()?;
    let stored = UserSettings::load(&places)?;
    let mut practice = typed.practice.clone();
    practice.scope.cue.get_or_insert(CueForm::FirstNote);
    let answers = typed.answers.unwrap_or(ANSWERS);
    let first = Sitting::of(&practice, &stored, &places, PlayedBy::Simulated)?;
    first.meant.out_of_range().into_iter().try_for_each(say)?;
    let who = &first.meant.who;
    let (mut player, mut learner) = (player(&first), first.learner.clone());
    for night in 0..days {
        let mut sitting = first.clone();
        sitting.on_day(first.settings.began.day + i32::from(night), learner);
        let mut audio = SimulatedAudio::new(player, RATE, who.a4, sitting.settings.began.seed, true);
        let mut listener = Listener::new(sitting.ear(RATE), Echo::new(RATE), &mut audio);
        learner = unattended(sitting.drill(), &mut listener, who.a4, answers, &mut |_| {}).learner().clone();
        player = audio.into_player();
        player.rest(1.0);
    }
    for pattern in &first.meant.patterns {
        let span = first.settings.began.day..=first.settings.began.day + i32::from(days) - 1;
        let picture = report::keys_over_days(&learner, &pattern.id, span, pattern.mode(), &who.page);
        say(format!("{}\n{}", pattern.name, picture.trim_end()))?;
    }
    Ok(())
}
