//! The sitting that the typed arguments ask for; `talk/sitting.rs` works out what that means.

use crate::cli::args::Practice;
use crate::cli::practice::lesson::as_typed;
use crate::coach::RoundOrder;
use crate::cue::Form;
use crate::files::{self, KeepSound, Places};
use crate::lesson::Lesson;
use crate::talk::asked::Meant;
use crate::talk::failure::Failure;
use crate::talk::held_out::{held_out, hold_out};
use crate::talk::lessons;
use crate::talk::library::library;
use crate::talk::sitting::{self, PlayedBy, Sitting, SittingAsked};
use crate::talk::who;

impl Sitting {
    /// The sitting of these arguments, or of the lesson that they name.
    pub fn of(typed: &Practice, stored: &files::UserSettings, places: &Places, who: PlayedBy) -> Result<Self, Failure> {
        let Some(file) = &typed.lesson else { return Self::with(typed, None, stored, places, who) };
        let lesson = lessons::open(file)?;
        Self::with(&as_typed(&lesson, typed, stored)?, Some(&lesson), stored, places, who)
    }

    fn with(
        typed: &Practice,
        lesson: Option<&Lesson>,
        stored: &files::UserSettings,
        places: &Places,
        who: PlayedBy,
    ) -> Result<Self, Failure> {
        let planned = sitting::planned(typed.scope.minutes)?;
        let (today, mut library) = (files::today(), library()?);
        lesson.into_iter().flat_map(|lesson| &lesson.own).for_each(|own| library.add(own.clone()));
        let chosen = typed.scope.cue.map(Form::from);
        let mut meant =
            Meant::of(&typed.scope, stored, &library, today.day)?.told_late(&typed.warning_beats, chosen)?;
        if typed.round.is_some() {
            meant = meant.in_rounds(typed.vamp)?;
        }
        if typed.by_ear {
            meant = meant.by_ear()?;
        }
        let named = typed.scope.player_name.as_deref();
        let nobody = who == PlayedBy::Simulated && named.is_none();
        let player = if nobody { None } else { who::known_already(named, stored)? };
        // A lesson asks what its teacher set, so no key is held out of it.
        if lesson.is_none() {
            let id = player.as_ref().map(|player| player.id);
            let held = held_out(typed.hold_out.as_deref(), stored, id, &meant.who, today.day)?;
            hold_out(&mut meant.plan, &held)?;
        }
        let asked = SittingAsked {
            meant,
            by: who,
            player,
            today,
            seed: typed.seed,
            keep: typed.keep_sound.map(KeepSound::from),
            click: typed.click,
            round: typed.round.map(RoundOrder::from),
            planned,
            lesson: lesson.map(lessons::mark),
        };
        let mut sitting = Self::new(asked, stored, places);
        let set = &mut sitting.settings;
        (set.by_ear, set.vamp, set.closing_round) = (typed.by_ear, typed.vamp, typed.closing_round);
        (set.second_task, set.began.second_task) = (typed.second_task, typed.second_task);
        Ok(sitting)
    }
}
