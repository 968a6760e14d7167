//! What a sitting is built from, whether devices or the simulated player give the sound.

use std::cell::Cell;
use std::path::Path;

use crate::coach::{LearnerModel, Rng, RoundOrder};
use crate::drill::{Drill, RestRules, Settings};
use crate::engine;
use crate::files::{self, KeepSound, Places, RestSettings, Today, UserSettings};
use crate::notes::{EAR_VERSION, EarSettings};
use crate::session::{Began, LessonMark, NamedPlayer, PlayerId};
use crate::simulated::SimulatedPlayer;
use crate::talk::asked::Meant;
use crate::talk::failure::{Failure, clean};
use crate::talk::output::warn;
use crate::units::{Decibels, SampleRate, Seconds};

/// Most minutes for which a sitting may be asked, as in a lesson and in the coach's plan (`coach::SittingPlan`).
const LONGEST: f64 = 600.0;
/// Level of the cues for the simulated player, whose ears need no sparing: as loud as cues may be.
const SIMULATED_LEVEL: Decibels = Decibels(-12.0);

/// A sitting as it was asked for.
pub struct SittingAsked {
    /// What is asked.
    pub meant: Meant,
    /// Who answers: a player or the simulated one.
    pub by: PlayedBy,
    /// Which player of the machine plays; `None` for nobody in particular.
    pub player: Option<NamedPlayer>,
    /// The day on which the sitting is begun.
    pub today: Today,
    /// Seed of the drill's generator, where one was given.
    pub seed: Option<u64>,
    /// Which sound of the answers is kept; `None` where nothing was typed of it.
    pub keep: Option<KeepSound>,
    /// Whether a click goes through the answers.
    pub click: bool,
    /// The order of keys in rounds without a stop; `None` for no rounds.
    pub round: Option<RoundOrder>,
    /// How long the sitting is to last; `None` until it is ended.
    pub planned: Option<Seconds>,
    /// The lesson of which the sitting is a drill; `None` where it is of none.
    pub lesson: Option<LessonMark>,
}

/// How long a sitting of so many minutes is to last; however few they are, the answer that has begun is heard to its end.
pub fn planned(minutes: Option<f64>) -> Result<Option<Seconds>, Failure> {
    match minutes {
        Some(minutes) if !(minutes > 0.0 && minutes <= LONGEST) => {
            let what = format!("a sitting cannot last {minutes} minutes");
            Err(Failure::usage(
                what,
                format!("Give --minutes up to {LONGEST:.0}, such as 20, or 0.5 for half a minute."),
            ))
        }
        minutes => Ok(minutes.map(|minutes| Seconds(60.0 * minutes))),
    }
}

/// Everything that is needed to begin a sitting.
#[derive(Debug, Clone)]
pub struct Sitting {
    /// What is asked.
    pub meant: Meant,
    /// Settings of the drill, the first line of the record among them.
    pub settings: Settings,
    /// What is known of the player.
    pub learner: LearnerModel,
    /// Whether the simulated player answered in other sittings of this player; they are not in `learner`.
    pub left_out: bool,
    /// Which sound of the answers is kept.
    pub keep: KeepSound,
    /// Whether cues sound an octave up.
    pub octave_up: bool,
}

/// Who answers in a sitting, and through what.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PlayedBy {
    /// A player at the devices.
    Player,
    /// A player at a MIDI instrument, who hears the cues later by this delay than the system knows (with headphones by radio, for
    /// instance). The part of the delay that the system knows is taken off where a cue is placed. The time that the instrument's own
    /// sound takes is not known and not taken off.
    ByMidi(Seconds),
    /// The simulated player.
    Simulated,
}

impl PlayedBy {
    /// Whether the answers come from a MIDI instrument.
    pub const fn by_midi(self) -> bool {
        matches!(self, Self::ByMidi(_))
    }

    /// The delay that is taken off every onset, as far as it is known before the devices are open.
    pub const fn delay(self) -> Option<Seconds> {
        match self {
            Self::Player => None,
            Self::ByMidi(delay) => Some(delay),
            Self::Simulated => Some(Seconds(0.0)),
        }
    }
}

impl PlayedBy {
    /// Which sound of the answers is kept: as was typed, else as the settings have it. A MIDI instrument gives no sound to keep. Where
    /// neither says anything, the sound of the simulated player is kept, but not that of a player, who was not asked.
    pub fn keeps(self, said: Option<KeepSound>, stored: &UserSettings) -> KeepSound {
        if self.by_midi() {
            return KeepSound::None;
        }
        let unasked = if self == Self::Simulated { KeepSound::All } else { KeepSound::None };
        said.or(stored.keep_sound).unwrap_or(unasked)
    }
}

/// The usual rests with what the settings change; `tires` is true for lips and voice.
fn rests(set: &RestSettings, tires: bool) -> RestRules {
    let usual = RestRules::usual(tires);
    let turns = set.sing_and_finger.unwrap_or(usual.turns);
    RestRules { share: set.share(usual.share), spared: set.spared(), turns, ..usual }
}

impl Sitting {
    /// Works out the first line of its record, the settings of its drill and what is known of its player.
    pub fn new(asked: SittingAsked, stored: &UserSettings, places: &Places) -> Self {
        let SittingAsked { meant, by, player, today, seed, keep, click, round, planned, lesson } = asked;
        let simulated = by == PlayedBy::Simulated;
        let keep = by.keeps(keep, stored);
        let instrument = &meant.who.page.instrument;
        let left_out = Cell::new(false);
        let learner = match &player {
            _ if simulated => LearnerModel::new(),
            player => learner_of(&instrument.id, player.as_ref().map(|player| player.id), stored, places, &left_out),
        };
        let left_out = left_out.get();
        let began = Began {
            started: today.started.clone(),
            day: today.day,
            player,
            instrument: instrument.id.clone(),
            a4: meant.who.a4,
            seed: seed.unwrap_or_else(|| if simulated { 1 } else { today.seed() }),
            patterns: meant.plan.patterns.clone(),
            keys: meant.plan.keys.clone(),
            out_of_range: meant.plan.out_of_range.clone(),
            goals: meant.plan.goals,
            rate: SampleRate::DEVICE,
            delay: by.delay(),
            simulated,
            by_midi: by.by_midi(),
            keeps_sound: keep != KeepSound::None,
            one_by_one: meant.plan.one_by_one,
            reading: meant.who.page.reading,
            level: meant.who.level,
            ear: EAR_VERSION,
            lesson,
            trade: None,
            second_task: false,
        };
        let settings = Settings {
            instrument: instrument.clone(),
            range: meant.who.range,
            patterns: meant.patterns.clone(),
            plan: meant.plan.clone(),
            form: meant.form,
            timing: meant.timing,
            click,
            warnings: meant.warnings.clone(),
            round,
            closing_round: false,
            vamp: false,
            by_ear: false,
            second_task: false,
            planned,
            rests: rests(&stored.rests, instrument.tires()),
            level: simulated.then_some(SIMULATED_LEVEL),
            began,
        };
        Self { meant, settings, learner, left_out, keep, octave_up: stored.cue_octave_up.unwrap_or(false) }
    }

    /// Takes in what is known once the devices are open: their rate, their delay where it was measured, and how loud the cues were that
    /// the player answered on them before.
    pub fn hears(&mut self, rate: SampleRate, delay: Option<Seconds>, level: Option<Decibels>) {
        let began = &mut self.settings.began;
        (began.rate, began.delay) = (rate, delay);
        self.settings.level = level;
    }

    /// Moves the sitting to another day, with what is known of the player by then.
    pub fn on_day(&mut self, day: i32, learner: LearnerModel) {
        self.settings.began.day = day;
        self.settings.plan.day = day;
        self.learner = learner;
    }

    /// The simulated player of the sitting, at home in written C.
    pub fn simulated_player(&self) -> SimulatedPlayer {
        engine::simulated_player(&self.meant.who.page.instrument, self.settings.began.seed)
    }

    /// The settings of an ear that hears this player at `rate`.
    pub fn ear(&self, rate: SampleRate) -> EarSettings {
        engine::ear_settings(rate, self.meant.who.a4, Some(&self.meant.who.page.instrument))
    }

    /// The drill, which has not begun.
    pub fn drill(self) -> Drill {
        let rng = Rng::new(self.settings.began.seed);
        Drill::new(self.settings, self.learner, rng)
    }
}

/// What the sittings on an instrument (its id) teach of this player of the machine. A file that cannot be read teaches nothing. Neither
/// does a file that is dated later than tomorrow, because it would turn forgetting off; a warning names it.
pub fn learner(instrument: &str, player: Option<PlayerId>, stored: &UserSettings, places: &Places) -> LearnerModel {
    learner_of(instrument, player, stored, places, &Cell::new(false))
}

/// The same; `left_out` becomes true where the simulated player answered in a sitting of this player, which teaches nothing.
fn learner_of(
    instrument: &str,
    player: Option<PlayerId>,
    stored: &UserSettings,
    places: &Places,
    left_out: &Cell<bool>,
) -> LearnerModel {
    let mine = |began: &Began| {
        let own = began.instrument == instrument && stored.owns(player, began);
        left_out.set(left_out.get() || own && began.simulated && began.player.is_some());
        own && !began.simulated
    };
    let found = files::learnt(places, files::today().day, &mine);
    for later in found.later {
        warn(after_today(&later.path, &later.began));
    }
    found.learner
}

/// The warning on a sitting that is dated later than tomorrow.
pub fn after_today(path: &Path, began: &Began) -> String {
    let (path, date) = (clean(&path.display().to_string()), began.started.get(..10).unwrap_or_default());
    format!("{path} is dated {date}, after today, so it is left out; was a clock wrong?")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sitting_lasts_any_time_that_there_is_up_to_ten_hours() {
        assert_eq!(planned(None).unwrap(), None);
        for (minutes, seconds) in [(0.1, 6.0), (0.5, 30.0), (600.0, 36_000.0)] {
            assert!((planned(Some(minutes)).unwrap().unwrap().0 - seconds).abs() < 1e-9, "{minutes}");
        }
        for minutes in [0.0, -1.0, 600.1, f64::NAN, f64::INFINITY] {
            let told = planned(Some(minutes)).unwrap_err().to_string();
            assert!(told.contains("up to 600"), "{told}");
        }
    }

    #[test]
    fn of_a_midi_instrument_early_and_late_are_known_without_a_calibration() {
        assert_eq!(PlayedBy::ByMidi(Seconds(0.0)).delay(), Some(Seconds(0.0)));
        assert_eq!(PlayedBy::ByMidi(Seconds(0.18)).delay(), Some(Seconds(0.18)), "and what headphones by radio add");
        assert_eq!(PlayedBy::Player.delay(), None, "at a microphone it is measured");
    }
}
