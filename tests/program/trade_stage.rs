//! A trade in a test: the simulated player, who may set out to play something else than is asked; the band in his room, where he sits before
//! a loudspeaker; and what makes, runs and gathers such a trade.

use std::collections::VecDeque;
use std::sync::Arc;

use earfirst::outside::chart::Forms;
use earfirst::outside::coach::Rng;
use earfirst::outside::cue::{Cue, CueSound};
use earfirst::outside::engine::{AudioSource, CueOutput, Listener, PlacedCue, SimulatedAudio, trade};
use earfirst::outside::music::{Concert, ConcertKey, Intonation, Range};
use earfirst::outside::notes::EarSettings;
use earfirst::outside::pattern::{Library, PatternQuery};
use earfirst::outside::phrase::{PhraseMaker, Stock};
use earfirst::outside::room::Echo;
use earfirst::outside::simulated::{AnswerClock, Profile, SimulatedPlayer, Skill, Timbre, Truth};
use earfirst::outside::sound::{Clip, SoundBlock, convolve, room_response};
use earfirst::outside::trade::{JudgedExchange, Trade, TradeMoment, TradeWay, TradeWish};
use earfirst::outside::units::{A440, Beats, Cents, Decibels, Hertz, SampleRate, Seconds, Tempo};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

pub const RATE: SampleRate = SampleRate::CD;

/// The simulated player on a stage.
pub struct TradeStage {
    pub audio: SimulatedAudio,
    /// So many beginnings of the band the player misses.
    misses: u32,
    /// What he sets out to play instead of a phrase; the phrases are counted from 0.
    change: fn(usize, &mut Cue),
    /// Where he sits before a loudspeaker.
    room: Option<LoudRoom>,
}

/// A room in which the band comes back from a loudspeaker.
pub struct LoudRoom {
    /// The player is louder than the band where he answers by so many dB.
    pub level: f64,
    /// The player's mean power where he sounds.
    pub own: f64,
    /// The band in the room that is still to come.
    coming: VecDeque<f32>,
}

impl LoudRoom {
    pub const fn new(level: f64, own: f64) -> Self {
        Self { level, own, coming: VecDeque::new() }
    }

    /// The whole sound begins to sound, in which answers are due at `asked`.
    fn sound(&mut self, sound: &CueSound, asked: &[(Cue, AnswerClock)]) {
        let mut rng = Rng::new(9);
        let room = room_response(RATE, Seconds(0.4), Decibels(3.0), &mut || rng.uniform());
        let wet = convolve(&sound.clip.samples, &room);
        // The phrases are louder than the band, but nobody answers while they sound: what counts is the band under the answers.
        let answers = asked.iter().flat_map(|(cue, clock)| {
            let lasts = cue.line.notes.last().map_or(Beats(0.0), |note| note.at + note.length);
            let [from, to] = [clock.cue_end, clock.cue_end + cue.tempo.lasting(lasts)].map(|at| RATE.samples(at));
            wet.iter().take(to).skip(from)
        });
        let band: Vec<f32> = answers.copied().collect();
        let gain = (self.own / power(&band)).sqrt() * 10f64.powf(-0.05 * self.level);
        // The simulated sound begins a twentieth of a second after the order, and comes to the microphone 12 ms later.
        self.coming = std::iter::repeat_n(0.0, RATE.samples(Seconds(0.062))).collect();
        self.coming.extend(wet.iter().map(|sample| (gain * f64::from(*sample)) as f32));
    }
}

/// The mean square of samples.
pub fn power(samples: &[f32]) -> f64 {
    samples.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / samples.len().max(1) as f64
}

impl TradeStage {
    pub fn new(player: SimulatedPlayer, seed: u64, change: fn(usize, &mut Cue)) -> Self {
        Self { audio: SimulatedAudio::new(player, RATE, A440, seed, true), misses: 0, change, room: None }
    }

    pub fn missing(self, misses: u32) -> Self {
        Self { misses, ..self }
    }

    pub fn in_room(self, room: Option<LoudRoom>) -> Self {
        Self { room, ..self }
    }

    /// What hears the stage through `echo`.
    pub fn heard_through(self, echo: Echo) -> Listener<Self> {
        let settings = EarSettings { rate: RATE, lowest: Hertz(130.0), highest: Hertz(1800.0), a4: A440 };
        Listener::new(settings, echo, self)
    }
}

impl AudioSource for TradeStage {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        let block = self.audio.read(into)?;
        if let Some(room) = &mut self.room {
            into.iter_mut().for_each(|sample| *sample += room.coming.pop_front().unwrap_or(0.0));
        }
        Some(block)
    }
}

impl CueOutput for TradeStage {
    fn output_rate(&mut self) -> Option<SampleRate> {
        self.audio.output_rate()
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        self.audio.play(cue, sound)
    }
    fn play_long(&mut self, first: &Cue, sound: &CueSound, asked: &[(Cue, AnswerClock)]) -> bool {
        if let Some(room) = &mut self.room {
            room.sound(sound, asked);
        }
        let mut meant = if self.misses > 0 { Vec::new() } else { asked.to_vec() };
        meant.iter_mut().enumerate().for_each(|(n, (cue, _))| (self.change)(n, cue));
        self.misses = self.misses.saturating_sub(1);
        self.audio.play_long(first, sound, &meant)
    }
    fn await_held_note(&mut self) {
        self.audio.await_held_note();
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        self.audio.placed()
    }
    fn hush(&mut self) {
        self.room.iter_mut().for_each(|room| room.coming.clear());
        self.audio.hush();
    }
    fn play_back(&mut self, _clips: &[Arc<Clip>]) {}
}

/// A player of this sound, who plays faultily in this share of his answers.
pub fn player(seed: u64, timbre: Timbre, faulty: f64) -> SimulatedPlayer {
    let range = Range::new(Concert(52), Concert(88));
    let skill = Skill::around(ConcertKey::FIFTHS[0], 0.95);
    let profile = Profile { timbre, range, skill, offset: Cents(3.0), faulty };
    SimulatedPlayer::new(ChaCha8Rng::seed_from_u64(seed), profile)
}

/// Four bars of phrases over a form, answered, one chorus in C; the caller changes what he wants.
pub fn wish(form: &str) -> TradeWish<'static> {
    let form = Forms::builtin().find(form).unwrap();
    let (keys, range) = (&ConcertKey::FIFTHS[..1], Range::new(Concert(58), Concert(82)));
    let (way, tempo) = (TradeWay::Answer, Tempo(120.0));
    TradeWish { form, keys, bars: 4, way, on_every: None, choruses: 1, tempo, swing: false, range, rests: false }
}

/// The trade that is wished for, of easy patterns.
pub fn planned(wish: &TradeWish<'_>, seed: u64) -> Trade {
    let patterns = PatternQuery { level: Some(1..=2), ..PatternQuery::default() };
    let mut rng = Rng::new(seed);
    let mut maker = PhraseMaker::new(Stock::of(Library::builtin().select(&patterns)));
    Trade::plan(wish, &mut maker, &mut || rng.uniform()).unwrap()
}

/// Runs a trade and gathers its answers, each with what was truly played.
pub fn traded(
    rig: &mut Listener<TradeStage>,
    plan: &Trade,
    sound: &dyn Fn(&Trade, SampleRate) -> CueSound,
) -> Vec<(JudgedExchange, Truth)> {
    let mut judged = Vec::new();
    let mut tell = |moment: Option<TradeMoment>| {
        if let Some(TradeMoment::Judged(_, answers)) = moment {
            judged.extend(answers);
        }
        true
    };
    trade(rig, plan, sound, (Some(Seconds(0.0)), Intonation::Unscored), &mut tell).unwrap();
    let truths = rig.audio().audio.truths();
    let truth = |number: u32| truths.iter().find(|(cue, _)| *cue == number).map(|(_, truth)| truth.clone());
    judged.into_iter().filter_map(|answer| truth(answer.exchange.cue.number).map(|it| (answer, it))).collect()
}
