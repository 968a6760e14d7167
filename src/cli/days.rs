//! The simulated player over many invented days: what the drill makes of a player, in one picture.

use crossbeam_channel::bounded;

use crate::cli::args::{CueForm, Demo};
use crate::cli::demo::{RATE, stage};
use crate::cli::failure::Failure;
use crate::cli::say;
use crate::cli::sitting::{Sitting, Who};
use crate::drill::Command;
use crate::engine::{Out, Running, Stage};
use crate::files::{Places, Settings};
use crate::report;

/// Answers a day where none are named: a short sitting.
const ANSWERS: u32 = 24;

/// One sitting a day, each with what was learnt before; a night lies between two.
pub fn run(typed: &Demo, days: u16) -> Result<(), Failure> {
    let places = Places::usual()?;
    let stored = Settings::load(&places)?;
    let mut practice = typed.practice.clone();
    practice.cue.get_or_insert(CueForm::FirstNote);
    let answers = typed.answers.unwrap_or(ANSWERS);
    let first = Sitting::of(&practice, &stored, &places, Who::Simulated)?;
    let mut beliefs = first.beliefs.clone();
    let mut player = None;
    for night in 0..days {
        let mut sitting = first.clone();
        sitting.on_day(first.began.day + i32::from(night), beliefs);
        let mut stage = match player {
            None => stage(&sitting, true),
            Some(player) => Stage::with(player, RATE, sitting.meant.who.a4, sitting.began.seed, true),
        };
        let (tell, commands) = bounded(4);
        let mut out = |out: Out| {
            if let Out::Show(snapshot) = out {
                if snapshot.answers >= answers {
                    let _ = tell.try_send(Command::End);
                } else if matches!(snapshot.face, crate::drill::Face::Paused { .. }) {
                    let _ = tell.try_send(Command::Pause);
                }
            }
        };
        let a4 = sitting.meant.who.a4;
        let hearing = Running::new(sitting.hearing(RATE), &mut stage, &commands, a4, &mut out).run();
        beliefs = hearing.drill().beliefs().clone();
        let mut rested = stage.into_player();
        rested.rest(1.0);
        player = Some(rested);
    }
    let who = &first.meant.who;
    for pattern in &first.meant.patterns {
        let span = first.began.day..=first.began.day + i32::from(days) - 1;
        let picture = report::keys_over_days(&beliefs, &pattern.id, span, &who.instrument, who.g_flat);
        say(format!("{}\n{}", pattern.name, picture.trim_end()))?;
    }
    Ok(())
}
