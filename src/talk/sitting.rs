//! What a sitting is built from, whether devices or the simulated player give the sound.

use std::path::Path;

use crate::coach::{LearnerModel, Rng};
use crate::drill::{Drill, Settings};
use crate::engine;
use crate::files::{self, KeepSound, Places, UserSettings};
use crate::notes::EarSettings;
use crate::session::{Began, PlayerId};
use crate::simulated::SimulatedPlayer;
use crate::talk::asked::Meant;
use crate::talk::failure::clean;
use crate::talk::output::warn;
use crate::units::{Decibels, SampleRate, Seconds};

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
    /// A player at a MIDI instrument, who hears the cues so much later than the system knows. What the system knows of it is taken
    /// off already where a cue is placed, and what the instrument's own sound takes is nobody's.
    ByMidi(Seconds),
    /// The simulated player.
    Simulated,
}

impl PlayedBy {
    /// Whether the answers come from a MIDI instrument.
    pub const fn by_midi(self) -> bool {
        matches!(self, Self::ByMidi(_))
    }

    /// What is to be taken off every onset, as far as it is known before the devices are open.
    pub const fn delay(self) -> Option<Seconds> {
        match self {
            Self::Player => None,
            Self::ByMidi(delay) => Some(delay),
            Self::Simulated => Some(Seconds(0.0)),
        }
    }
}

impl Sitting {
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

    /// The simulated player of the sitting, at home in written C.
    pub fn simulated_player(&self) -> SimulatedPlayer {
        engine::simulated_player(&self.meant.who.page.instrument, self.settings.began.seed)
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

/// What the finished sittings of an instrument (its id) say of this player of the machine; a file that cannot be read teaches nothing, and one
/// that is dated after today neither, for it would turn forgetting off. A warning names it.
pub fn learner(instrument: &str, player: Option<PlayerId>, stored: &UserSettings, places: &Places) -> LearnerModel {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_a_midi_instrument_early_and_late_are_known_without_a_calibration() {
        assert_eq!(PlayedBy::ByMidi(Seconds(0.0)).delay(), Some(Seconds(0.0)));
        assert_eq!(PlayedBy::ByMidi(Seconds(0.18)).delay(), Some(Seconds(0.18)), "and what headphones by radio add");
        assert_eq!(PlayedBy::Player.delay(), None, "at a microphone it is measured");
    }
}
