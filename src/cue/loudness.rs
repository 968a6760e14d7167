use crate::units::Decibels;

/// The level of a cue's highest peak, at most.
pub const FULL: Decibels = Decibels(-12.0);
/// The level of a player's very first cue: soft, because headphones may be turned up.
pub const FIRST: Decibels = Decibels(-30.0);
/// How much louder each further cue is until one is answered.
const STEP: Decibels = Decibels(6.0);

/// The level of the cues. The first cue ever is soft; the first cue of a later sitting is as loud as the last that was answered.
/// Each further cue is louder, up to [`FULL`], until the player answers one; from then on all cues have the level of that one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loudness {
    level: Decibels,
    settled: bool,
}

impl Loudness {
    /// The level for a player who never heard a cue on these devices.
    #[must_use]
    pub const fn first() -> Self {
        Self { level: FIRST, settled: false }
    }
    /// The level for a player who answered cues at `level` in an earlier sitting, kept between [`FIRST`] and [`FULL`].
    #[must_use]
    pub fn known(level: Decibels) -> Self {
        Self { level: level.min(FULL).max(FIRST), settled: false }
    }
    /// The level for the next cue. Until a cue is answered, each call makes the cue after it louder.
    pub fn step(&mut self) -> Decibels {
        let level = self.level;
        if !self.settled {
            self.level = (self.level + STEP).min(FULL);
        }
        level
    }
    /// The player answered a cue that was sounded at `level`.
    pub const fn answered(&mut self, level: Decibels) {
        if !self.settled {
            *self = Self { level, settled: true };
        }
    }
    /// The level of the first cue that was answered, which is kept for the next sitting; `None` before the first answer.
    #[must_use]
    pub fn settled(&self) -> Option<Decibels> {
        self.settled.then_some(self.level)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_cue_is_soft_and_grows_until_it_is_answered() {
        let mut loudness = Loudness::first();
        let sounded: Vec<f64> = (0..5).map(|_| loudness.step().0).collect();
        assert_eq!(sounded, [-30.0, -24.0, -18.0, -12.0, -12.0]);
        let mut heard = Loudness::first();
        assert_eq!((heard.step().0, heard.step().0), (-30.0, -24.0));
        heard.answered(Decibels(-24.0));
        assert_eq!((heard.step().0, heard.step().0), (-24.0, -24.0));
        assert_eq!(heard.settled(), Some(Decibels(-24.0)));
    }

    #[test]
    fn a_stored_level_is_never_louder_than_a_cue_may_be_and_grows_where_nobody_hears_it() {
        assert_eq!(Loudness::known(Decibels(0.0)).step(), FULL);
        let mut turned_down = Loudness::known(Decibels(-20.0));
        assert_eq!(
            [turned_down.step(), turned_down.step(), turned_down.step()].map(|level| level.0),
            [-20.0, -14.0, -12.0]
        );
        assert_eq!(turned_down.settled(), None);
    }
}
