//! Players who try some notes while the cue still sounds, and then answer: in sound, with headphones and with a loudspeaker.

use std::collections::VecDeque;
use std::sync::Arc;

use earfirst::outside::coach::{LearnerModel, Rng};
use earfirst::outside::cue::{Cue, CueSound, Form};
use earfirst::outside::drill::Drill;
use earfirst::outside::engine::{AudioSource, CueOutput, Listener, PlacedCue, unattended};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::notes::EarSettings;
use earfirst::outside::room::Echo;
use earfirst::outside::session::Event;
use earfirst::outside::sound::{Clip, Placement, SoundBlock, convolve};
use earfirst::outside::units::{A440, Decibels, Hertz, SampleRate, Seconds};

use crate::rehearsal::settings;
use crate::rooms::{self, Draw, Room, note};

const RATE: SampleRate = rooms::RATE;
const BLOCK: usize = 441;
/// The time from the order to play to the first sample, in seconds, as with a device.
const LEAD: f64 = 0.05;

/// A microphone before a player who answers each cue on the beat that is heard.
pub struct Corner {
    room: Vec<f32>,
    draw: Draw,
    /// Whether the player noodles into each cue.
    noodles: bool,
    /// By how much later than it says the loudspeaker sounds.
    late: Seconds,
    /// The level of the cue at the microphone, relative to its samples.
    level: Decibels,
    coming: VecDeque<f32>,
    given: usize,
    placed: Option<PlacedCue>,
}

impl Corner {
    pub fn new(room: Room, mut draw: Draw, noodles: bool, late: Seconds) -> Self {
        let room = room.response(&mut draw);
        let coming = VecDeque::new();
        Self { room, draw, noodles, late, level: Decibels(-8.0), coming, given: 0, placed: None }
    }

    fn lay(&mut self, at: f64, samples: &[f32], gain: f64) {
        let first = RATE.samples(Seconds(at)) - self.given;
        if self.coming.len() < first + samples.len() {
            self.coming.resize(first + samples.len(), 0.0);
        }
        for (there, sample) in self.coming.iter_mut().skip(first).zip(samples) {
            *there += (f64::from(*sample) * gain) as f32;
        }
    }

    /// Adds two to four notes of random pitches near the line. The first begins less than half a second before the end of the cue; all
    /// begin before that end.
    fn noodle(&mut self, cue: &Cue, end: f64) {
        let low = f64::from(cue.line.notes[0].pitch.0);
        let mut onset = end - self.draw.between(0.3, 0.46);
        while onset < end - 0.02 {
            let length = self.draw.between(0.13, 0.2);
            let pitch = low + (self.draw.even() * 14.0).floor() - 4.0;
            let samples = note(pitch, length - 0.03, 1.0, &mut self.draw);
            self.lay(onset, &samples, 1.0);
            onset += length;
        }
    }
}

impl AudioSource for Corner {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        let at = RATE.seconds(self.given);
        into.clear();
        for _ in 0..BLOCK {
            let hiss = 5e-4 * self.draw.between(-1.0, 1.0) as f32;
            into.push(self.coming.pop_front().unwrap_or(0.0) + hiss);
        }
        self.given += BLOCK;
        Some(SoundBlock { at, rate: RATE, gap: Seconds(0.0) })
    }
}

impl CueOutput for Corner {
    fn output_rate(&mut self) -> Option<SampleRate> {
        Some(RATE)
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        let from = RATE.seconds(self.given + RATE.samples(Seconds(LEAD)));
        self.placed = Some(PlacedCue { cue: cue.number, place: Placement::at(from) });
        let from = from + self.late;
        let end = from.0 + sound.end.0;
        let wet = convolve(&sound.clip.samples, &self.room);
        self.lay(from.0, &wet, self.level.amplitude());
        if self.noodles {
            self.noodle(cue, end);
        }
        let beat = cue.tempo.beat().0;
        let begins = sound.beat_zero.map_or(end + 0.6, |zero| from.0 + zero.0);
        for expected in &cue.line.notes {
            let length = 0.85 * expected.length.0 * beat;
            let samples = note(f64::from(expected.pitch.0), length - 0.03, 1.0, &mut self.draw);
            self.lay(begins + expected.at.0 * beat, &samples, 1.0);
        }
        true
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        self.placed.take()
    }
    fn hush(&mut self) {}
    fn play_back(&mut self, _: &[Arc<Clip>]) {}
}

/// How many answers with all notes right were judged so, and the sentences of the other answers.
fn right(form: Form, room: Room) -> (usize, Vec<String>) {
    const ANSWERS: u32 = 2;
    let mut corner = Corner::new(room, Draw(90_210 + form as u64), true, Seconds(0.0));
    let ear = EarSettings { rate: RATE, lowest: Hertz(110.0), highest: Hertz(1500.0), a4: A440 };
    let wanted = settings("five-note-row-up-and-down", form, &ConcertKey::FIFTHS);
    let drill = Drill::new(wanted, LearnerModel::new(), Rng::new(5));
    let (mut good, mut others) = (0, Vec::new());
    let mut keep = |event: Event| {
        if let Event::Judged(judged) = event {
            if judged.verdict.related && judged.verdict.right == judged.verdict.of && judged.verdict.extra == 0 {
                good += 1;
            } else {
                others.push(judged.sentence);
            }
        }
    };
    unattended(drill, &mut Listener::new(ear, Echo::new(RATE), &mut corner), A440, ANSWERS, &mut keep);
    (good, others)
}

#[test]
fn a_right_answer_after_some_noodling_into_the_cue_is_a_right_answer() {
    for (form, room) in [
        (Form::FirstNote, Room::Headphones),
        (Form::Pattern, Room::Headphones),
        // The next bar is seconds away, and the room carries the cue into the microphone.
        (Form::Pattern, Room::Decay(0.4)),
    ] {
        let (good, others) = right(form, room);
        println!("{form:?} {room:?}: {good} right, {others:?}");
        // The first cue before a loudspeaker is the one by which the room is learnt.
        let lost = usize::from(room != Room::Headphones);
        assert!(good + lost >= 2 && others.len() <= lost, "{form:?} {room:?}: {good}, {others:?}");
    }
}
