//! The simulated player over many invented days: what the drill makes of a player, in one picture.

use crate::engine::{Listener, SimulatedAudio, unattended};
use crate::report;
use crate::room::Echo;
use crate::talk::failure::Failure;
use crate::talk::output::say;
use crate::talk::sitting::Sitting;
use crate::units::SampleRate;

/// Number of answers on a day where none is given: a short sitting.
const ANSWERS: u32 = 36;

/// Plays one sitting on each day, each with what was learnt before, and shows the keys over the days; a night lies between two sittings.
pub fn show(first: &Sitting, days: u16, answers: Option<u32>) -> Result<(), Failure> {
    let (rate, answers) = (SampleRate::DEVICE, answers.unwrap_or(ANSWERS));
    first.meant.out_of_range().into_iter().try_for_each(say)?;
    say(format!("{days} days of an invented player, of which nothing is kept"))?;
    let who = &first.meant.who;
    let (mut player, mut learner) = (first.simulated_player(), first.learner.clone());
    for night in 0..days {
        let mut sitting = first.clone();
        sitting.on_day(first.settings.began.day + i32::from(night), learner);
        let mut audio = SimulatedAudio::new(player, rate, who.a4, sitting.settings.began.seed, true);
        let mut listener = Listener::new(sitting.ear(rate), Echo::new(rate), &mut audio);
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
