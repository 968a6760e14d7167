use crate::cue::CueSound;
use crate::drill::{Drill, Effect, Input};
use crate::engine::{History, Stretch};
use crate::notes::{Ear, EarSettings, HeardNote, Told};
use crate::room::Echo;
use crate::units::{SampleRate, Seconds};

/// Holes shorter than this are heard as silence; after longer ones the ear begins anew.
const BRIDGED: Seconds = Seconds(0.25);

/// Ear, echo and drill in a row: the one pipeline that microphone, recording and simulated player share.
pub struct Hearing {
    ear: Ear,
    settings: EarSettings,
    echo: Echo,
    drill: Drill,
    /// Instant of the ear's own zero on the input's clock.
    zero: Seconds,
    /// Numbers of notes go on when the ear begins anew.
    first_number: u32,
    next_number: u32,
    /// The note that the drill was told of last.
    known: Option<u32>,
    /// What was heard, for the record.
    pub history: History,
    block: Vec<f32>,
    told: Vec<Told>,
}

impl Hearing {
    /// An ear for `settings` that tells `drill` what it hears.
    #[must_use]
    pub fn new(settings: EarSettings, echo: Echo, drill: Drill) -> Self {
        Self {
            ear: Ear::new(&settings),
            settings,
            echo,
            drill,
            zero: Seconds(0.0),
            first_number: 0,
            next_number: 0,
            known: None,
            history: History::new(settings.rate),
            block: Vec::new(),
            told: Vec::new(),
        }
    }

    /// Rate of the input.
    #[must_use]
    pub fn rate(&self) -> SampleRate {
        self.settings.rate
    }

    /// The drill, to ask about the sitting.
    #[must_use]
    pub fn drill(&self) -> &Drill {
        &self.drill
    }

    /// Hears a stretch of sound; says what is to be done.
    pub fn hear(&mut self, stretch: Stretch, samples: &[f32]) -> Vec<Effect> {
        let mut effects = Vec::new();
        if stretch.rate != self.settings.rate || stretch.gap.0 > BRIDGED.0 || self.unplaced(stretch) {
            self.begin_anew(stretch, &mut effects);
        } else {
            // The input's clock is a fitted line, the ear counts samples: between cues they part by millionths, and the
            // notes to come are placed by the line.
            self.zero = stretch.at - stretch.gap - self.ear.now();
        }
        if stretch.gap.0 > 0.0 && stretch.gap.0 <= BRIDGED.0 {
            let silence = vec![0.0; stretch.rate.samples(stretch.gap)];
            self.take(stretch.at - stretch.gap, &silence, &mut effects);
        }
        self.take(stretch.at, samples, &mut effects);
        let now = stretch.at + stretch.rate.seconds(samples.len());
        effects.extend(self.drill.step(Input::Now(now)));
        effects
    }

    /// The clock lines moved: the ear's sample count and the input's clock have parted by more than an onset may be off.
    fn unplaced(&self, stretch: Stretch) -> bool {
        let count = self.zero + self.ear.now();
        (stretch.at - stretch.gap - count).abs().0 > BRIDGED.0
    }

    fn take(&mut self, at: Seconds, samples: &[f32], effects: &mut Vec<Effect>) {
        self.block.clear();
        self.block.extend_from_slice(samples);
        self.echo.clean(&mut self.block, at);
        self.history.add(at, self.settings.rate, &self.block);
        let told = &mut self.told;
        self.ear.hear(&self.block, &mut |_| {}, &mut |said| told.push(*said));
        self.tell(effects);
    }

    fn tell(&mut self, effects: &mut Vec<Effect>) {
        for said in std::mem::take(&mut self.told) {
            let said = self.placed(said);
            let number = said.note().number;
            self.next_number = self.next_number.max(number + 1);
            let cues = self.echo.is_cue(said.note());
            // Whoever was told that a note began is told its end too, or waits for it for ever.
            if !cues || self.known == Some(number) {
                self.known = Some(number);
                effects.extend(self.drill.step(Input::Heard(said)));
            }
        }
    }

    /// A note on the input's clock, with a number of its own.
    fn placed(&self, said: Told) -> Told {
        let place = |note: HeardNote| HeardNote {
            number: self.first_number + note.number,
            onset: note.onset + self.zero,
            release: note.release + self.zero,
            announced: note.announced + self.zero,
            ..note
        };
        match said {
            Told::Began(note) => Told::Began(place(note)),
            Told::Mended(note) => Told::Mended(place(note)),
            Told::Ended(note) => Told::Ended(place(note)),
        }
    }

    fn begin_anew(&mut self, stretch: Stretch, effects: &mut Vec<Effect>) {
        let told = &mut self.told;
        self.ear.finish(&mut |_| {}, &mut |said| told.push(*said));
        self.tell(effects);
        self.settings.rate = stretch.rate;
        self.ear = Ear::new(&self.settings);
        self.zero = stretch.at;
        self.first_number = self.next_number;
    }

    /// Tells drill and echo where the sound of a cue lies.
    ///
    /// `sound` is rendered at the rate of the input: the echo is looked for sample by sample. What calibration found is the
    /// echo's own delay.
    pub fn laid(&mut self, number: u32, sound: &CueSound, from: Seconds) -> Vec<Effect> {
        self.echo.cue(sound, from + self.drill.delay());
        let beat_zero = sound.beat_zero.map(|beat| from + beat);
        self.drill.step(Input::Sounding { cue: number, from, end: from + sound.end, beat_zero })
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
    pub fn sound_between(&self, from: Seconds, to: Seconds) -> (Vec<f32>, SampleRate) {
        let hop = self.ear.stride();
        let hops = ((from - self.zero).0 / hop.0).floor().max(0.0);
        (self.history.between(self.zero + hop * hops, to), self.history.rate())
    }
}
