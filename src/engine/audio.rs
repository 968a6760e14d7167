use std::sync::Arc;

use crate::cue::{Cue, CueSound};
use crate::simulated::AnswerClock;
use crate::sound::{Clip, Placement, SoundBlock};
use crate::units::{Decibels, Hertz, SampleRate};
use crate::words::SoundFault;

/// The cue that was ordered last, and its place, as soon as that is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlacedCue {
    /// Number of the cue, as the drill counts; of a round that of its first cue, and 0 for signs.
    pub cue: u32,
    /// Where the first sample of the cue's sound lies, its count-in included.
    pub place: Placement,
}

/// Sound in: a microphone, a simulated player, or whatever else gives samples on a clock of its own.
pub trait AudioSource {
    /// Replaces `into` by what came in since the last call, or by the first part of it; `None` when there is nothing new.
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock>;
    /// Waits until more may have come. A source that always has more does not wait.
    fn wait(&mut self) {}
    /// The gravest fault of the sound now; `None` when all is well.
    fn trouble(&mut self) -> Option<SoundFault> {
        None
    }
    /// Whether sound was lost since the last call, or since the last cue was ordered where that is later: then what is measured
    /// from that cue is not exact.
    fn had_xrun(&mut self) -> bool {
        false
    }
    /// Number of input samples so far that were lost for want of room; what a device lost itself is not counted.
    fn dropped(&mut self) -> u64 {
        0
    }
}

/// Sound out: a loudspeaker, or the simulated player who hears the cue.
pub trait CueOutput {
    /// The rate at which cues are to be rendered, once it is known.
    fn output_rate(&mut self) -> Option<SampleRate>;
    /// Plays a cue as soon as possible; false when there is no loudspeaker now.
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool;
    /// Plays a long sound in which several cues are asked, as [`play`](Self::play). `asked` names each cue, with its instants
    /// counted from the first sample: a simulated player answers by it, while a person hears the sound.
    fn play_long(&mut self, first: &Cue, sound: &CueSound, _asked: &[(Cue, AnswerClock)]) -> bool {
        self.play(first, sound)
    }
    /// Plays signs, softly; nothing is asked with them. [`placed`](Self::placed) tells where they lie, as of a cue of the number 0.
    /// False where no signs are sounded.
    fn play_signs(&mut self, _sound: &CueSound) -> bool {
        false
    }
    /// The player is asked how many taps sounded: a simulated one plays so many notes, or nearly. Anybody else reads it.
    fn ask_count(&mut self, _sounded: u32) {}
    /// A held note is waited for: a simulated player holds one. Whoever sits at an instrument knows it.
    fn await_held_note(&mut self) {}
    /// Where the newest cue lies on the clock of the answers. Given once for each cue, as soon as it is known.
    fn placed(&mut self) -> Option<PlacedCue>;
    /// Stops what sounds.
    fn hush(&mut self);
    /// Plays clips one after the other: a cue, then its answer.
    fn play_back(&mut self, clips: &[Arc<Clip>]);
    /// Closes the devices and opens them anew, because their sound has xruns again and again. Without devices nothing happens.
    fn renew(&mut self) {}
    /// Sounds a key that the player struck, with this peak, until it is let go; all keys together peak at `most` at most.
    /// Outputs without a loudspeaker do nothing.
    fn key_down(&mut self, _key: u8, _pitch: Hertz, _peak: Decibels, _most: Decibels) {}
    /// Lets one key go, or all keys where `None` is given.
    fn key_up(&mut self, _key: Option<u8>) {}
}

impl<A: AudioSource + ?Sized> AudioSource for &mut A {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        (**self).read(into)
    }
    fn wait(&mut self) {
        (**self).wait();
    }
    fn trouble(&mut self) -> Option<SoundFault> {
        (**self).trouble()
    }
    fn had_xrun(&mut self) -> bool {
        (**self).had_xrun()
    }
    fn dropped(&mut self) -> u64 {
        (**self).dropped()
    }
}

impl<A: CueOutput + ?Sized> CueOutput for &mut A {
    fn output_rate(&mut self) -> Option<SampleRate> {
        (**self).output_rate()
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        (**self).play(cue, sound)
    }
    fn play_long(&mut self, first: &Cue, sound: &CueSound, asked: &[(Cue, AnswerClock)]) -> bool {
        (**self).play_long(first, sound, asked)
    }
    fn play_signs(&mut self, sound: &CueSound) -> bool {
        (**self).play_signs(sound)
    }
    fn ask_count(&mut self, sounded: u32) {
        (**self).ask_count(sounded);
    }
    fn await_held_note(&mut self) {
        (**self).await_held_note();
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        (**self).placed()
    }
    fn hush(&mut self) {
        (**self).hush();
    }
    fn play_back(&mut self, clips: &[Arc<Clip>]) {
        (**self).play_back(clips);
    }
    fn renew(&mut self) {
        (**self).renew();
    }
    fn key_down(&mut self, key: u8, pitch: Hertz, peak: Decibels, most: Decibels) {
        (**self).key_down(key, pitch, peak, most);
    }
    fn key_up(&mut self, key: Option<u8>) {
        (**self).key_up(key);
    }
}
