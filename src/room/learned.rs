use std::collections::VecDeque;

use crate::units::{Decibels, Seconds, median};

/// Whether our own cue is heard in the microphone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Presence {
    /// Not known yet.
    Unknown,
    /// Through a loudspeaker.
    Heard,
    /// Through headphones, or not at all.
    Absent,
}

/// A delay above this is believed only when cues agree on it: so late might also be a player who jumped the cue.
const PROMPT: f64 = 0.12;
/// Two delays within this agree.
const AGREEING: f64 = 0.015;

/// What was learned of the way from the loudspeaker to the microphone.
#[derive(Debug, Clone, PartialEq)]
pub struct Learned {
    /// Whether the cue comes back.
    pub presence: Presence,
    /// Level of the echo against the level of the cue's samples.
    pub gain: Decibels,
    /// Reverberation time: in which the echo sinks by 60 dB.
    pub decay: Seconds,
    delays: VecDeque<f64>,
}

impl Default for Learned {
    fn default() -> Self {
        Self { presence: Presence::Unknown, gain: Decibels(0.0), decay: Seconds(0.5), delays: VecDeque::new() }
    }
}

impl Learned {
    /// From the instant a sound of ours was laid on the input's clock to the instant it was heard there: what is left of the
    /// devices' delay, the way through the air included. `None` before it is believed.
    #[must_use]
    pub fn delay(&self) -> Option<Seconds> {
        let delays: Vec<f64> = self.delays.iter().copied().collect();
        let middle = median(&delays)?;
        let agreeing = delays.iter().filter(|delay| (**delay - middle).abs() < AGREEING).count();
        (middle < PROMPT || agreeing >= 2).then_some(Seconds(middle))
    }

    /// A cue came back, so late and so loud.
    pub(super) fn heard(&mut self, delay: f64, gain_db: f64) {
        self.delays.push_back(delay);
        if self.delays.len() > 5 {
            self.delays.pop_front();
        }
        if self.delay().is_some() {
            let first = self.presence != Presence::Heard;
            self.presence = Presence::Heard;
            self.gain = Decibels(if first { gain_db } else { 0.6 * self.gain.0 + 0.4 * gain_db });
        }
    }

    /// Nothing of a cue came back.
    pub(super) fn absent(&mut self) {
        self.presence = Presence::Absent;
        self.delays.clear();
    }

    /// The tail after a cue took so long to sink by 60 dB; an answer within it only lengthens it, so shorter ones count more.
    pub(super) fn sank(&mut self, decay: f64) {
        let decay = decay.clamp(0.1, 3.0);
        let share = if decay < self.decay.0 { 0.7 } else { 0.15 };
        self.decay = Seconds(self.decay.0 + share * (decay - self.decay.0));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_delay_is_believed_at_once_and_a_long_one_when_it_repeats() {
        let mut near = Learned::default();
        near.heard(0.02, -6.0);
        assert_eq!(near.delay(), Some(Seconds(0.02)));
        let mut far = Learned::default();
        far.heard(0.3, -6.0);
        assert_eq!((far.delay(), far.presence), (None, Presence::Unknown));
        far.heard(0.304, -6.0);
        assert_eq!(far.presence, Presence::Heard);
    }
}
