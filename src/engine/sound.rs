use std::sync::Arc;

use crate::cue::{Cue, CueSound};
use crate::sound::Clip;
use crate::units::{SampleRate, Seconds};
use crate::words::SoundFault;

/// A stretch of input without a hole in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Instant of its first sample on the input's clock.
    pub at: Seconds,
    /// Samples a second.
    pub rate: SampleRate,
    /// Sound that is missing just before it.
    pub gap: Seconds,
}

/// Where the sound of a cue lies on the input's clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Number of the cue.
    pub cue: u32,
    /// Its first sample.
    pub from: Seconds,
    /// The pace of the output's clock against the input's, near 1.
    pub faster: f64,
}

/// Where sound comes from and goes to: devices, or the simulated player on his stage. Nothing above knows which.
pub trait Sound {
    /// Replaces `into` by what came in since the last call; `None` when there is nothing new.
    fn read(&mut self, into: &mut Vec<f32>) -> Option<Stretch>;
    /// Waits until more may have come.
    fn wait(&mut self);
    /// The rate at which cues are to be rendered, once it is known.
    fn output_rate(&mut self) -> Option<SampleRate>;
    /// Plays a cue as soon as possible; false when there is no loudspeaker now.
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool;
    /// Where the cue lies that was played last; told once, as soon as it is known.
    fn placed(&mut self) -> Option<Place>;
    /// The sound ran dry or over since this was last asked, or since the last cue was ordered: what is measured from that cue
    /// is no longer exact.
    fn faltered(&mut self) -> bool;
    /// Closes the devices and opens them anew, because their sound falters again and again. Where there are none, nothing.
    fn renew(&mut self) {}
    /// Stops what sounds.
    fn hush(&mut self);
    /// Plays clips one after the other: the cue, then what came out.
    fn play_back(&mut self, clips: &[Arc<Clip>]);
    /// What is wrong now, the gravest first.
    fn trouble(&mut self) -> Option<SoundFault>;
    /// Input samples lost so far.
    fn dropped(&mut self) -> u64;
}
