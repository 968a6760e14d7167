use crate::cue::CueSound;
use crate::drill::Command;
use crate::engine::audio::CueOutput;
use crate::notes::NoteEvent;
use crate::sound::{InputStretch, Placement, SharedSound};
use crate::units::{Decibels, SampleRate, Seconds};
use crate::words::SoundFault;

/// Where the player's notes come from: sound through the ear, or an instrument that says itself which notes it plays.
///
/// Instants are on one monotonic clock, the same on which the [`CueOutput`] beside it places the cues. A source without sound
/// (a MIDI instrument) gives whole half steps for pitch, a level worked out from the velocity, full confidence, and no spread
/// of the pitch: a note without a spread is never judged for intonation. Only where the player says so do bend and breath
/// count: then pitch and spread come from the bend, and the level from the breath. Every source must have
/// [`listen`](Self::listen) and [`wait`](Self::wait); of the rest, which is for sources that hear sound, have keys that steer or can
/// fail, it has what it needs.
pub trait NoteSource {
    /// Hands out, in order, what became known of the player's notes since the last call. Gives the instant up to which
    /// everything is known; `None` when nothing new came, not even silence.
    fn listen(&mut self, tell: &mut dyn FnMut(&NoteEvent)) -> Option<Seconds>;
    /// Waits until more may have come.
    fn wait(&mut self);
    /// A cue was ordered, and will be placed soon: what begins to sound meanwhile may be its own sound.
    fn cue_ordered(&mut self) {}
    /// The rate at which the source wants to be given a cue that it might hear; `None` where it hears none.
    fn cue_rate(&self) -> Option<SampleRate> {
        None
    }
    /// Tells where a cue that comes back from the loudspeaker lies on the source's clock. `sound` is rendered at
    /// [`cue_rate`](Self::cue_rate).
    fn cue_placed(&mut self, _sound: &CueSound, _place: Placement) {}
    /// As [`cue_placed`](Self::cue_placed), of signs: these are too soft and short to show whether our sound comes back.
    fn signs_placed(&mut self, _sound: &CueSound, _place: Placement) {}
    /// As [`cue_placed`](Self::cue_placed), of a band that goes on while the player plays. Nobody answers in its lead-in.
    fn band_placed(&mut self, _sound: &CueSound, _place: Placement, _lead_in: Seconds) {}
    /// Level of what is left of such a band where the player sounds, against all that is left there; `None` where none comes back, or
    /// not enough was heard.
    fn band_covers(&self) -> Option<Decibels> {
        None
    }
    /// The sound between two instants, for the record; `None` where the source has no sound.
    fn sound_between(&mut self, _from: Seconds, _to: Seconds) -> Option<SharedSound> {
        None
    }
    /// Hands out the sound that came in since it was last taken or forgotten, our own sound still in it; `None` where nobody keeps it.
    fn take_input(&mut self) -> Option<InputStretch> {
        None
    }
    /// Forgets what [`take_input`](Self::take_input) would hand out, but for the newest of this length.
    fn forget_input(&mut self, _but: Seconds) {}
    /// What the player asked for by a key or pedal of the instrument, given once.
    fn asked(&mut self) -> Option<Command> {
        None
    }
    /// The gravest fault of the source now; `None` when all is well.
    fn trouble(&mut self) -> Option<SoundFault> {
        None
    }
    /// Whether the source's instants since the last call, or since the last cue, are not exact.
    fn had_xrun(&mut self) -> bool {
        false
    }
    /// Number of input samples so far that were lost for want of room.
    fn dropped(&mut self) -> u64 {
        0
    }
}

/// All that a drill needs of the world outside: the player's notes in, cues out.
pub trait Rig: NoteSource + CueOutput {}

impl<R: NoteSource + CueOutput + ?Sized> Rig for R {}
