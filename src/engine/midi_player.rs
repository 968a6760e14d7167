use std::sync::Arc;

use crate::cue::{Cue, CueSound};
use crate::drill::Command;
use crate::engine::audio::{AudioSource, CueOutput, PlacedCue};
use crate::engine::midi_ear::{KeySource, MidiEar};
use crate::engine::note_source::NoteSource;
use crate::engine::own_voice::OwnVoice;
use crate::notes::NoteEvent;
use crate::sound::Clip;
use crate::units::{Hertz, SampleRate, Seconds};
use crate::words::SoundFault;

/// A MIDI instrument that answers, and the loudspeaker of the cues: the whole of a drill without a microphone. An answer is timed
/// by its messages, however late the instrument itself sounds.
pub struct MidiPlayer<K, O> {
    ear: MidiEar<K>,
    /// The devices of the cues; only the loudspeaker of them is used.
    out: O,
    /// Sounds the keys, where the player wants it.
    voice: Option<OwnVoice>,
}

impl<K: KeySource, O: AudioSource + CueOutput> MidiPlayer<K, O> {
    /// A player at an open port.
    pub const fn new(ear: MidiEar<K>, out: O) -> Self {
        Self { ear, out, voice: None }
    }

    /// The keys sound through the loudspeaker, softly, tuned to this A4: the instrument is silent itself.
    #[must_use]
    pub fn sounding(mut self, a4: Hertz) -> Self {
        self.ear.keep_played();
        Self { voice: Some(OwnVoice::new(a4)), ..self }
    }
}

impl<K: KeySource, O: AudioSource + CueOutput> NoteSource for MidiPlayer<K, O> {
    fn listen(&mut self, tell: &mut dyn FnMut(&NoteEvent)) -> Option<Seconds> {
        let known = self.ear.listen(tell);
        if let Some(voice) = &self.voice {
            self.ear.played().for_each(|said| voice.sound(said, &mut self.out));
        }
        known
    }
    fn wait(&mut self) {
        self.ear.wait();
    }
    fn asked(&mut self) -> Option<Command> {
        self.ear.asked()
    }
    fn trouble(&mut self) -> Option<SoundFault> {
        let own = self.ear.trouble();
        // A fault that stops the drill counts more than one that is only told.
        if own.is_some_and(SoundFault::stops) {
            return own;
        }
        // No microphone is open, so the loudspeaker alone is opened anew.
        let out = self.out.trouble().map(|fault| if fault == SoundFault::Xruns { SoundFault::CueXruns } else { fault });
        out.or(own)
    }
    fn had_xrun(&mut self) -> bool {
        self.out.had_xrun()
    }
}

impl<K, O: CueOutput> CueOutput for MidiPlayer<K, O> {
    fn output_rate(&mut self) -> Option<SampleRate> {
        self.out.output_rate()
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        if let Some(voice) = &mut self.voice {
            voice.beside(sound.clip.peak());
        }
        self.out.play(cue, sound)
    }
    fn play_signs(&mut self, sound: &CueSound) -> bool {
        self.out.play_signs(sound)
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        self.out.placed()
    }
    fn hush(&mut self) {
        self.out.hush();
    }
    fn play_back(&mut self, clips: &[Arc<Clip>]) {
        self.out.play_back(clips);
    }
    fn renew(&mut self) {
        self.out.renew();
    }
}
