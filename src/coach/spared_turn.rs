use crate::cue::Cue;
use crate::music::Sounding;
use crate::verdict::TempoStep;

/// A turn comes in place of a wait or a rest once so many answers have counted since the last such turn, or since the beginning.
const IN_A_REST: u32 = 5;
/// Where no wait and no rest comes, a turn comes by itself after so many answers that counted.
const BY_ITSELF: u32 = 16;

/// A turn in which the instrument is silent: a cue is sounded and answered away from the horn, and lips, breath and ears are spared.
/// It is never judged, and the coach learns nothing from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SparedTurn {
    /// The answer is sung.
    Sing,
    /// The answer is fingered on the instrument without a sound.
    Finger,
}

impl SparedTurn {
    /// The turns that a player of such an instrument may be offered. The voice has none: singing is what tires it, and it has no fingers.
    #[must_use]
    pub const fn of(sounding: Sounding) -> &'static [Self] {
        match sounding {
            Sounding::Voice => &[],
            Sounding::Lips | Sounding::Reed | Sounding::Edge | Sounding::Bow | Sounding::Plucked | Sounding::Keys => {
                &[Self::Sing, Self::Finger]
            }
        }
    }
}

/// Says when a spared turn is offered, what it sounds, and whether it is sung or fingered: by turns, sung first.
#[derive(Debug, Clone)]
pub struct SparedTurns {
    may: &'static [SparedTurn],
    offered: usize,
    /// Number of answers that counted since the last turn.
    since: u32,
    /// The newest of these answers that did not go up in tempo, and the newest of all: an answer that went wrong is worth another look.
    wrong: Option<Cue>,
    newest: Option<Cue>,
}

impl SparedTurns {
    /// Offers these turns; none where there are none.
    #[must_use]
    pub const fn new(may: &'static [SparedTurn]) -> Self {
        Self { may, offered: 0, since: 0, wrong: None, newest: None }
    }

    /// Enters an answer that counted, with what it did to the tempo of its key.
    pub fn enter(&mut self, cue: &Cue, step: TempoStep) {
        self.since += 1;
        if step != TempoStep::Up {
            self.wrong = Some(cue.clone());
        }
        self.newest = Some(cue.clone());
    }

    /// The turn to be offered now, its cue, and whether it is the first of the sitting; `None` where none is due. `rests`: the lips rest now
    /// in any case. `next` is the cue that comes next: its key is not sounded here, or its answer would be better than it is.
    #[must_use]
    pub fn due(&self, rests: bool, next: impl Fn(&Cue) -> bool) -> Option<(SparedTurn, &Cue, bool)> {
        let turn = *self.may.get(self.offered % self.may.len().max(1))?;
        let cue = self.wrong.iter().chain(&self.newest).find(|cue| !next(cue))?;
        let due = self.since >= if rests { IN_A_REST } else { BY_ITSELF };
        due.then_some((turn, cue, self.offered == 0))
    }

    /// Takes in that the turn that was due has begun.
    pub fn offered(&mut self) {
        (self.offered, self.since) = (self.offered + 1, 0);
        (self.wrong, self.newest) = (None, None);
    }
}
