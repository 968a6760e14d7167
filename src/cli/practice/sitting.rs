//! What a sitting is built from, worked out from what was typed.

use crate::cli::args::{Keep, Practice};
use crate::cli::practice::lesson::as_typed;
use crate::coach::{LearnerModel, RoundOrder};
use crate::drill::{RestRules, Settings};
use crate::files::{self, KeepSound, Places};
use crate::lesson::Lesson;
use crate::notes::EAR_VERSION;
use crate::session::Began;
use crate::talk::asked::Meant;
use crate::talk::failure::Failure;
use crate::talk::held_out::{held_out, hold_out};
use crate::talk::lessons;
use crate::talk::library::library;
use crate::talk::sitting::{PlayedBy, Sitting, learner};
use crate::talk::who;
use crate::units::{Decibels, SampleRate, Seconds};

/// Nobody practises longer than this in one sitting, in minutes.
const LONGEST: f64 = 600.0;

impl Sitting {
    /// Works out what was typed.
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
        if let Some(minutes) = typed.scope.minutes.filter(|minutes| !(*minutes > 0.0 && *minutes <= LONGEST)) {
            let what = format!("a sitting cannot last {minutes} minutes");
            return Err(Failure::usage(what, format!("Give --minutes between 1 and {LONGEST:.0}.")));
        }
        let (today, mut library) = (files::today(), library()?);
        lesson.into_iter().flat_map(|lesson| &lesson.own).for_each(|own| library.add(own.clone()));
        let mut meant = Meant::of(&typed.scope, stored, &library, today.day)?.told_late(typed)?.in_rounds(typed)?;
        let simulated = who == PlayedBy::Simulated;
        let keep = sound_kept(typed, stored, who);
        let seed = typed.seed.unwrap_or_else(|| if simulated { 1 } else { today.seed() });
        let named = typed.scope.player_name.as_deref();
        let nobody = simulated && named.is_none();
        let player = if nobody { None } else { who::known_already(named, stored)? };
        let id = player.as_ref().map(|player| player.id);
        // A lesson asks what its teacher set.
        if lesson.is_none() {
            let held = held_out(typed.hold_out.as_deref(), stored, id, &meant.who, today.day)?;
            hold_out(&mut meant.plan, &held)?;
        }
        let began = Began {
            started: today.started,
            day: today.day,
            player,
            instrument: meant.who.page.instrument.id.clone(),
            a4: meant.who.a4,
            seed,
            patterns: meant.plan.patterns.clone(),
            keys: meant.plan.keys.clone(),
            out_of_range: meant.plan.out_of_range.clone(),
            goals: meant.plan.goals,
            rate: SampleRate::DEVICE,
            delay: who.delay(),
            simulated,
            by_midi: who.by_midi(),
            keeps_sound: keep != KeepSound::None,
            one_by_one: meant.plan.one_by_one,
            reading: meant.who.page.reading,
            level: meant.who.level,
            ear: EAR_VERSION,
            lesson: lesson.map(lessons::mark),
        };
        let learner =
            if simulated { LearnerModel::new() } else { learner(&meant.who.page.instrument.id, id, stored, places) };
        let settings = Settings {
            instrument: meant.who.page.instrument.clone(),
            range: meant.who.range,
            patterns: meant.patterns.clone(),
            plan: meant.plan.clone(),
            form: meant.form,
            timing: meant.timing,
            click: typed.click,
            warnings: meant.warnings.clone(),
            round: typed.round.map(RoundOrder::from),
            planned: typed.scope.minutes.map(|minutes| Seconds(60.0 * minutes)),
            rests: rests(&stored.rests, meant.who.page.instrument.tires()),
            level: simulated.then_some(Decibels(-12.0)),
            began,
        };
        Ok(Self { meant, settings, learner, keep, octave_up: stored.cue_octave_up.unwrap_or(false) })
    }
}

/// Which sound is kept.
fn sound_kept(typed: &Practice, stored: &files::UserSettings, who: PlayedBy) -> KeepSound {
    match typed.keep_sound.filter(|_| !who.by_midi()) {
        // There is none.
        None if who.by_midi() => KeepSound::None,
        Some(Keep::All) => KeepSound::All,
        Some(Keep::Some) => KeepSound::Some,
        Some(Keep::None) => KeepSound::None,
        // Nobody is recorded who was not asked; the simulated player does not mind.
        None => stored.keep_sound.unwrap_or(if who == PlayedBy::Simulated { KeepSound::All } else { KeepSound::None }),
    }
}

/// The usual rests with what the settings change; `tires` for lips and voice.
fn rests(set: &files::RestSettings, tires: bool) -> RestRules {
    let usual = RestRules::usual(tires);
    RestRules { share: set.share(usual.share), spared: set.spared(), ..usual }
}
