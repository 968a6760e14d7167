//! What a sitting is built from, whether devices or the simulated player give the sound.

use std::path::Path;

use crate::cli::args::{Keep, Practice};
use crate::cli::practice::lesson::as_typed;
use crate::cli::resolve::Meant;
use crate::coach::{LearnerModel, Rng};
use crate::drill::{Drill, RestRules, Settings};
use crate::engine;
use crate::files::{self, KeepSound, Places};
use crate::lesson::Lesson;
use crate::notes::{EAR_VERSION, EarSettings};
use crate::session::{Began, PlayerId};
use crate::talk::failure::{Failure, clean};
use crate::talk::lessons;
use crate::talk::library::library;
use crate::talk::output::warn;
use crate::talk::who;
use crate::units::{Decibels, SampleRate, Seconds};

/// Nobody practises longer than this in one sitting, in minutes.
const LONGEST: f64 = 600.0;

/// Everything needed to begin.
#[derive(Debug, Clone)]
pub struct Sitting {
    /// What is asked.
    pub meant: Meant,
    /// Settings of the drill, the first line of the record among them.
    pub settings: Settings,
    /// What is known of the player.
    pub learner: LearnerModel,
    /// Which sound is kept.
    pub keep: KeepSound,
    /// Cues sound an octave up.
    pub octave_up: bool,
}

/// Whose sitting it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PlayedBy {
    /// A player at the devices.
    Player,
    /// A player at a MIDI instrument.
    ByMidi,
    /// The simulated player.
    Simulated,
}

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
        let today = files::today();
        let mut library = library()?;
        lesson.into_iter().flat_map(|lesson| &lesson.own).for_each(|own| library.add(own.clone()));
        let meant = Meant::of(&typed.scope, stored, &library, today.day)?;
        let simulated = who == PlayedBy::Simulated;
        let keep = match typed.keep_sound.filter(|_| who != PlayedBy::ByMidi) {
            // There is none.
            None if who == PlayedBy::ByMidi => KeepSound::None,
            Some(Keep::All) => KeepSound::All,
            Some(Keep::Some) => KeepSound::Some,
            Some(Keep::None) => KeepSound::None,
            // Nobody is recorded who was not asked; the simulated player does not mind.
            None => stored.keep_sound.unwrap_or(if simulated { KeepSound::All } else { KeepSound::None }),
        };
        let seed = typed.seed.unwrap_or_else(|| if simulated { 1 } else { clock_seed(&today.started) });
        let named = typed.scope.player_name.as_deref();
        let nobody = simulated && named.is_none();
        let player = if nobody { None } else { who::known_already(named, stored)? };
        let id = player.as_ref().map(|player| player.id);
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
            delay: simulated.then_some(Seconds(0.0)),
            simulated,
            by_midi: who == PlayedBy::ByMidi,
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
            planned: typed.scope.minutes.map(|minutes| Seconds(60.0 * minutes)),
            rests: rests(&stored.rests, meant.who.page.instrument.tires()),
            level: simulated.then_some(Decibels(-12.0)),
            began,
        };
        let octave_up = stored.cue_octave_up.unwrap_or(false);
        Ok(Self { meant, settings, learner, keep, octave_up })
    }

    /// The devices are open: their rate, their delay where that was measured, and how loud the cues were that the player
    /// answered on them before.
    pub fn hears(&mut self, rate: SampleRate, delay: Option<Seconds>, level: Option<Decibels>) {
        let began = &mut self.settings.began;
        (began.rate, began.delay) = (rate, delay);
        self.settings.level = level;
    }

    /// The same sitting on another day, with what is known of the player by then.
    pub fn on_day(&mut self, day: i32, learner: LearnerModel) {
        self.settings.began.day = day;
        self.settings.plan.day = day;
        self.learner = learner;
    }

    /// What an ear is built for that hears this player at `rate`.
    pub fn ear(&self, rate: SampleRate) -> EarSettings {
        engine::ear_settings(rate, self.meant.who.a4, Some(&self.meant.who.page.instrument))
    }

    /// The drill, which has not begun.
    pub fn drill(self) -> Drill {
        let rng = Rng::new(self.settings.began.seed);
        Drill::new(self.settings, self.learner, rng)
    }
}

/// The usual rests with what the settings change; `tires` for lips and voice.
fn rests(set: &files::RestSettings, tires: bool) -> RestRules {
    let usual = RestRules::usual(tires);
    RestRules { share: set.share(usual.share), spared: set.spared(), ..usual }
}

/// What the finished sittings of an instrument (its id) say of this player of the machine; a file that cannot be read teaches nothing, and one
/// that is dated after today neither, for it would turn forgetting off. It is told.
pub fn learner(
    instrument: &str,
    player: Option<PlayerId>,
    stored: &files::UserSettings,
    places: &Places,
) -> LearnerModel {
    let mine = |began: &Began| began.instrument == instrument && !began.simulated && stored.owns(player, began);
    let found = files::learnt(places, files::today().day, &mine);
    for later in found.later {
        warn(after_today(&later.path, &later.began));
    }
    found.learner
}

/// What is said of a sitting that is dated after today.
pub fn after_today(path: &Path, began: &Began) -> String {
    let (path, date) = (clean(&path.display().to_string()), began.started.get(..10).unwrap_or_default());
    format!("{path} is dated {date}, after today, so the coach leaves it out; was a clock wrong?")
}

/// A seed that differs from sitting to sitting and can be read off the record.
pub fn clock_seed(started: &str) -> u64 {
    started
        .bytes()
        .fold(1_469_598_103_934_665_603, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(1_099_511_628_211))
}
