use crate::cue::CueSound;
use crate::drill::{Drill, Effect, Input};
use crate::engine::{History, Listener, Place, Stretch};
use crate::notes::EarSettings;
use crate::room::Echo;
use crate::sound::Clip;
use crate::units::{SampleRate, Seconds};

/// Listener and drill in a row: the one pipeline that microphone, recording and simulated player share.
pub struct Hearing {
    listener: Listener,
    drill: Drill,
    /// What was heard, for the record.
    pub history: History,
}

impl Hearing {
    /// An ear for `settings` that tells `drill` what it hears.
    #[must_use]
    pub fn new(settings: EarSettings, echo: Echo, drill: Drill) -> Self {
        Self { listener: Listener::new(settings, echo), drill, history: History::new(settings.rate) }
    }

    /// Rate of the input.
    #[must_use]
    pub fn rate(&self) -> SampleRate {
        self.listener.rate()
    }

    /// The drill, to ask about the sitting.
    #[must_use]
    pub fn drill(&self) -> &Drill {
        &self.drill
    }

    /// Hears a stretch of sound; says what is to be done.
    pub fn hear(&mut self, stretch: Stretch, samples: &[f32]) -> Vec<Effect> {
        let mut effects = Vec::new();
        for told in self.listener.hear(stretch, samples, &mut |_| {}) {
            effects.extend(self.drill.step(Input::Heard(*told)));
        }
        let (at, clean) = self.listener.clean();
        self.history.add(at, stretch.rate, clean);
        let now = stretch.at + stretch.rate.seconds(samples.len());
        effects.extend(self.drill.step(Input::Now(now)));
        effects
    }

    /// A cue was ordered: until it is laid, what begins to sound may be its own.
    pub fn ordered(&mut self) {
        self.listener.await_cue();
    }

    /// Tells drill and echo where the sound of a cue lies, and at what pace it goes.
    ///
    /// `sound` is rendered at the rate of the input: the echo is looked for sample by sample. What calibration found is the
    /// echo's own delay.
    pub fn laid(&mut self, sound: &CueSound, place: Place) -> Vec<Effect> {
        let from = place.from;
        self.listener.cue(sound, from + self.drill.delay(), place.faster);
        let beat_zero = sound.beat_zero.map(|beat| from + beat);
        self.drill.step(Input::Sounding { cue: place.cue, from, end: from + sound.end, beat_zero })
    }

    /// Tells the drill anything else.
    pub fn tell_drill(&mut self, input: Input) -> Vec<Effect> {
        self.drill.step(input)
    }

    /// Tells the drill how much was lost.
    pub fn set_dropped(&mut self, dropped: u64) {
        self.drill.set_dropped(dropped);
    }

    /// The sound of an answer, for the record: from a little before the cue's end to now. It begins with one of the ear's own
    /// hops, so that an ear that hears it again looks at the same stretches.
    #[must_use]
    pub fn sound_between(&self, from: Seconds, to: Seconds) -> Clip {
        let (zero, hop) = (self.listener.zero(), self.listener.stride());
        let hops = ((from - zero).0 / hop.0).floor().max(0.0);
        Clip { rate: self.history.rate(), samples: self.history.between(zero + hop * hops, to) }
    }
}
