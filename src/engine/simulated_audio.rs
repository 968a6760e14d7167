use std::collections::VecDeque;
use std::sync::Arc;
use std::thread;
use std::time::{Duration, Instant};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use crate::cue::{Cue, CueSound};
use crate::engine::audio::{AudioSource, CueOutput, PlacedCue};
use crate::simulated::{AnswerClock, SimulatedPlayer, Truth};
use crate::sound::{Clip, Placement, SoundBlock};
use crate::units::{Decibels, Hertz, SampleRate, Seconds};

/// Samples of a block, as a sound card would give them.
const BLOCK: usize = 480;
/// Time from the order to play to the first sample, as with a device.
const LEAD: Seconds = Seconds(0.05);
/// The simulated player thinks so long before a number, or a note that is held.
const THINKS: Seconds = Seconds(0.8);
/// Peak of the noise in the room, which is never quite still.
const ROOM: Decibels = Decibels(-70.0);

/// The simulated player, sitting at a microphone: hears the cue, and answers in sound. He wears headphones, so the cue is not
/// in the microphone.
pub struct SimulatedAudio {
    player: SimulatedPlayer,
    rate: SampleRate,
    a4: Hertz,
    /// Samples of the player's answers that are still to be given out.
    coming: VecDeque<f32>,
    given: u64,
    placed: Option<PlacedCue>,
    noise: ChaCha8Rng,
    /// When the first block was asked for, to keep real time; `None` before, and where real time is not kept.
    began: Option<Instant>,
    fast: bool,
    /// What was truly played, cue by cue.
    truths: Vec<(u32, Truth)>,
}

impl SimulatedAudio {
    /// The sound of this player in a still room, whose noise is drawn by `seed`; `fast` does not wait for real time.
    #[must_use]
    pub fn new(player: SimulatedPlayer, rate: SampleRate, a4: Hertz, seed: u64, fast: bool) -> Self {
        Self {
            player,
            rate,
            a4,
            coming: VecDeque::new(),
            given: 0,
            placed: None,
            noise: ChaCha8Rng::seed_from_u64(seed ^ 0x5eed),
            began: None,
            fast,
            truths: Vec::new(),
        }
    }

    /// What was truly played for each cue, in order.
    #[must_use]
    pub fn truths(&self) -> &[(u32, Truth)] {
        &self.truths
    }

    /// The player, for another day.
    #[must_use]
    pub fn into_player(self) -> SimulatedPlayer {
        self.player
    }

    /// How long it is until a sound card would give the next block.
    fn until_next(&mut self) -> Duration {
        if self.fast {
            return Duration::ZERO;
        }
        let began = *self.began.get_or_insert_with(Instant::now);
        let due = self.now() + self.rate.seconds(BLOCK);
        Duration::from_secs_f64(due.0).saturating_sub(began.elapsed())
    }

    fn now(&self) -> Seconds {
        Seconds(self.given as f64 / self.rate.per_second())
    }

    /// Lays `samples` down from `at` on, mixed with what is there.
    fn lay(&mut self, at: Seconds, samples: &[f32]) {
        let first = self.rate.samples(at - self.now());
        let needed = first + samples.len();
        if self.coming.len() < needed {
            self.coming.resize(needed, 0.0);
        }
        for (there, sample) in self.coming.iter_mut().skip(first).zip(samples) {
            *there += sample;
        }
    }
}

impl AudioSource for SimulatedAudio {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        if !self.until_next().is_zero() {
            return None;
        }
        let at = self.now();
        into.clear();
        let floor = (ROOM.amplitude() * 2.0) as f32;
        for _ in 0..BLOCK {
            let noise = (self.noise.next_u32() >> 8) as f32 / (1 << 24) as f32 - 0.5;
            into.push(self.coming.pop_front().unwrap_or(0.0) + floor * noise);
        }
        self.given += BLOCK as u64;
        Some(SoundBlock { at, rate: self.rate, gap: Seconds(0.0) })
    }

    fn wait(&mut self) {
        thread::sleep(self.until_next());
    }
}

impl CueOutput for SimulatedAudio {
    fn output_rate(&mut self) -> Option<SampleRate> {
        Some(self.rate)
    }

    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        let from = self.now() + LEAD;
        self.placed = Some(PlacedCue { cue: cue.number, place: Placement::at(from) });
        let cue_end = from + sound.end;
        let clock = AnswerClock { cue_end, beat_zero: sound.beat_zero.map(|beat| from + beat) };
        let sounded = self.player.answer(cue, clock, self.rate, self.a4);
        let at = Seconds((cue_end + sounded.from).0.max(self.now().0));
        self.lay(at, &sounded.clip.samples);
        self.truths.push((cue.number, sounded.truth));
        true
    }

    fn play_long(&mut self, first: &Cue, _sound: &CueSound, asked: &[(Cue, AnswerClock)]) -> bool {
        let from = self.now() + LEAD;
        self.placed = Some(PlacedCue { cue: first.number, place: Placement::at(from) });
        for (cue, clock) in asked {
            let clock =
                AnswerClock { cue_end: from + clock.cue_end, beat_zero: clock.beat_zero.map(|beat| from + beat) };
            let sounded = self.player.answer(cue, clock, self.rate, self.a4);
            self.lay(clock.cue_end + sounded.from, &sounded.clip.samples);
            self.truths.push((cue.number, sounded.truth));
        }
        true
    }

    fn play_signs(&mut self, _sound: &CueSound) -> bool {
        self.placed = Some(PlacedCue { cue: 0, place: Placement::at(self.now() + LEAD) });
        true
    }

    fn ask_count(&mut self, sounded: u32) {
        let clip = self.player.count(sounded, self.rate, self.a4);
        self.lay(self.now() + THINKS, &clip.samples);
    }

    fn await_held_note(&mut self) {
        let clip = self.player.hold(self.rate, self.a4);
        self.lay(self.now() + THINKS, &clip.samples);
    }

    fn placed(&mut self) -> Option<PlacedCue> {
        self.placed.take()
    }

    fn hush(&mut self) {
        self.coming.clear();
        self.placed = None;
    }

    fn play_back(&mut self, _clips: &[Arc<Clip>]) {}
}
