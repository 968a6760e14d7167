use std::sync::Arc;

use crate::cue::{Cue, CueSound};
use crate::engine::audio::{AudioSource, CueOutput, PlacedCue};
use crate::engine::kept_input::KeptInput;
use crate::engine::note_source::NoteSource;
use crate::engine::player_ear::{BRIDGED, PlayerEar};
use crate::engine::sound_history::{KEPT, SoundHistory};
use crate::notes::{EarSettings, Frame, NoteEvent};
use crate::room::Echo;
use crate::simulated::AnswerClock;
use crate::sound::{Clip, InputStretch, Placement, SharedSound, SoundBlock};
use crate::units::{Decibels, SampleRate, Seconds};
use crate::words::SoundFault;

/// The one listener: a source of sound, the ear that makes notes of it, and the newest sound for the record. Drill, sound check,
/// learning and the first run all listen through it.
pub struct Listener<A> {
    audio: A,
    ear: PlayerEar,
    history: SoundHistory,
    /// The newest sound as it came in, where somebody keeps it.
    input: Option<KeptInput>,
    /// Instant on the input's clock that is called 0; `None` until the first block after a fresh start.
    zero: Option<Seconds>,
    /// By how much later than the devices say cues come back, as the cues themselves have shown; `None` where the delay of the devices was
    /// not measured, so that nobody knows when they should.
    later: Option<Seconds>,
    raw: Vec<f32>,
    frames: Vec<Frame>,
    notes: Vec<NoteEvent>,
}

/// What one block of sound gave.
#[derive(Debug, Clone, Copy)]
pub struct HeardBlock<'a> {
    /// The samples as they came in, our own cue still among them.
    pub raw: &'a [f32],
    /// Every frame of the ear, in order.
    pub frames: &'a [Frame],
    /// What became known of the player's notes, in order.
    pub notes: &'a [NoteEvent],
    /// The instant after the last sample.
    pub now: Seconds,
}

impl<A: AudioSource> Listener<A> {
    /// A listener to whom nothing has sounded yet; `echo` takes our own cue out of the sound.
    #[must_use]
    pub fn new(settings: EarSettings, echo: Echo, audio: A) -> Self {
        Self {
            audio,
            ear: PlayerEar::new(settings, echo),
            history: SoundHistory::new(settings.rate, KEPT),
            input: None,
            zero: Some(Seconds(0.0)),
            later: None,
            raw: Vec::new(),
            frames: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// A listener that keeps no sound, for one whose sound is in a file already.
    #[must_use]
    pub fn keeping_no_sound(self) -> Self {
        let history = SoundHistory::new(self.history.rate(), Seconds(0.0));
        Self { history, ..self }
    }

    /// A listener that keeps the sound as it comes in, until it is taken or forgotten.
    #[must_use]
    pub fn keeping_input(self) -> Self {
        let rate = self.ear.rate();
        let windows = [self.ear.echo().block(), rate.samples(self.ear.stride())];
        Self { input: Some(KeptInput::new(rate, windows, BRIDGED)), ..self }
    }

    /// A listener to devices whose delay is thought to be known: where cues come back through the air and agree that it is another one by
    /// now, the next cues are placed by that.
    #[must_use]
    pub fn timing_cues(self) -> Self {
        Self { later: Some(Seconds(0.0)), ..self }
    }

    /// Hears what came in since the last call; `None` when nothing new came.
    pub fn hear(&mut self) -> Option<HeardBlock<'_>> {
        let block = self.audio.read(&mut self.raw)?;
        // Sound that was lost before the first sample belongs to no answer.
        let gap = if self.zero.is_some() { block.gap } else { Seconds(0.0) };
        let block = SoundBlock { at: block.at - *self.zero.get_or_insert(block.at), gap, ..block };
        self.frames.clear();
        self.notes.clear();
        if let Some(input) = &mut self.input {
            input.add(block, &self.raw);
        }
        let frames = &mut self.frames;
        self.notes.extend_from_slice(self.ear.hear(block, &self.raw, &mut |frame| frames.push(*frame)));
        if let (Some(later), Some(moved)) = (&mut self.later, self.ear.moved()) {
            *later = *later + moved;
        }
        let (at, clean) = self.ear.clean();
        self.history.add(at, block.rate, clean);
        let now = block.at + block.rate.seconds(self.raw.len());
        Some(HeardBlock { raw: &self.raw, frames: &self.frames, notes: &self.notes, now })
    }

    /// Ends the stream, and with it the note that sounds; gives what becomes known by that.
    pub fn finish(&mut self) -> &[NoteEvent] {
        self.ear.finish()
    }

    /// Begins afresh, with an ear that has heard nothing: what came in and was not heard yet is thrown away, and instants count
    /// from the next sample.
    pub fn start_over(&mut self) {
        while self.audio.read(&mut self.raw).is_some() {}
        let settings = self.ear.settings();
        self.ear = PlayerEar::new(settings, Echo::new(settings.rate));
        self.history.forget(settings.rate);
        self.zero = None;
    }

    /// The instant after the newest sample.
    #[must_use]
    pub const fn now(&self) -> Seconds {
        self.ear.now()
    }

    /// Where the sound comes from.
    pub const fn audio(&mut self) -> &mut A {
        &mut self.audio
    }
}

impl<A: AudioSource> NoteSource for Listener<A> {
    fn listen(&mut self, tell: &mut dyn FnMut(&NoteEvent)) -> Option<Seconds> {
        let heard = self.hear()?;
        heard.notes.iter().for_each(tell);
        Some(heard.now)
    }

    fn wait(&mut self) {
        self.audio.wait();
    }

    fn cue_ordered(&mut self) {
        self.ear.await_cue();
    }

    fn cue_rate(&self) -> Option<SampleRate> {
        Some(self.ear.rate())
    }

    fn cue_placed(&mut self, sound: &CueSound, place: Placement) {
        self.ear.cue(sound, place);
    }

    fn signs_placed(&mut self, sound: &CueSound, place: Placement) {
        self.ear.signs(sound, place);
    }

    fn band_placed(&mut self, sound: &CueSound, place: Placement, lead_in: Seconds) {
        self.ear.band(sound, place, lead_in);
    }

    fn band_covers(&self) -> Option<Decibels> {
        self.ear.echo().band_covers()
    }

    /// The sound begins with one of the ear's own hops, so that an ear that hears this sound again analyses the same stretches.
    fn sound_between(&mut self, from: Seconds, to: Seconds) -> Option<SharedSound> {
        let (zero, hop) = (self.ear.zero(), self.ear.stride());
        let hops = ((from - zero).0 / hop.0).floor().max(0.0);
        Some(self.history.between(zero + hop * hops, to))
    }

    fn take_input(&mut self) -> Option<InputStretch> {
        self.input.as_mut().map(KeptInput::take)
    }

    fn forget_input(&mut self, but: Seconds) {
        self.input.iter_mut().for_each(|input| input.forget(but));
    }

    fn trouble(&mut self) -> Option<SoundFault> {
        self.audio.trouble()
    }

    fn had_xrun(&mut self) -> bool {
        self.audio.had_xrun()
    }

    fn dropped(&mut self) -> u64 {
        self.audio.dropped()
    }
}

impl<A: CueOutput> CueOutput for Listener<A> {
    fn output_rate(&mut self) -> Option<SampleRate> {
        self.audio.output_rate()
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        self.audio.play(cue, sound)
    }
    fn play_long(&mut self, first: &Cue, sound: &CueSound, asked: &[(Cue, AnswerClock)]) -> bool {
        self.audio.play_long(first, sound, asked)
    }
    fn play_signs(&mut self, sound: &CueSound) -> bool {
        self.audio.play_signs(sound)
    }
    fn ask_count(&mut self, sounded: u32) {
        self.audio.ask_count(sounded);
    }
    fn await_held_note(&mut self) {
        self.audio.await_held_note();
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        let placed = self.audio.placed()?;
        Some(PlacedCue { place: placed.place.later(self.later.unwrap_or_default()), ..placed })
    }
    fn hush(&mut self) {
        self.ear.hush();
        self.audio.hush();
    }
    fn play_back(&mut self, clips: &[Arc<Clip>]) {
        self.audio.play_back(clips);
    }
    fn renew(&mut self) {
        self.audio.renew();
    }
}
