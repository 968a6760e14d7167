//! An instrument that tells its notes over a cable: the same drill runs without any sound being heard.

use std::collections::VecDeque;
use std::sync::Arc;

use crossbeam_channel::bounded;
use earfirst::outside::coach::{LearnerModel, Rng};
use earfirst::outside::cue::{Cue, CueSound, Form};
use earfirst::outside::drill::{Command, Drill};
use earfirst::outside::engine::{CueOutput, DrillLoop, NoteSource, Out, PlacedCue};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::notes::{HeardNote, NoteEvent};
use earfirst::outside::session::Event;
use earfirst::outside::sound::{Clip, Placement};
use earfirst::outside::units::{A440, Decibels, Midi, SampleRate, Seconds};
use earfirst::outside::verdict::{NoteLabel, Verdict};

use crate::rehearsal::settings;

/// The length of a step of time.
const STEP: Seconds = Seconds(0.01);

/// A key goes down or comes up: MIDI 1.0 gives a note number 0 to 127 and a velocity 1 to 127, 0 for "up".
struct Press {
    at: Seconds,
    key: u8,
    velocity: u8,
}

/// A keyboard whose player reads every cue and plays it in tempo, with one wrong key where `slips` is true.
struct Keyboard {
    now: Seconds,
    slips: bool,
    coming: VecDeque<Press>,
    down: Vec<HeardNote>,
    numbers: u32,
    placed: Option<PlacedCue>,
}

impl Keyboard {
    fn new(slips: bool) -> Self {
        let (coming, down) = (VecDeque::new(), Vec::new());
        Self { now: Seconds(0.0), slips, coming, down, numbers: 0, placed: None }
    }

    /// The event that a press gives. Its note has a whole note number as pitch, and the level 40 log (velocity / 127) dB (General MIDI
    /// Level 2 Recommended Practice, from memory); with velocity 0 the note ends.
    fn told(&mut self, press: &Press) -> Option<NoteEvent> {
        let pitch = Midi(f64::from(press.key));
        if press.velocity == 0 {
            let place = self.down.iter().position(|note| note.pitch == pitch)?;
            return Some(NoteEvent::Off(HeardNote { release: press.at, ..self.down.remove(place) }));
        }
        let note = HeardNote {
            number: self.numbers,
            onset: press.at,
            release: press.at,
            pitch,
            spread: None,
            loudness: Decibels(40.0 * (f64::from(press.velocity) / 127.0).log10()),
            confidence: 1.0,
            announced: press.at,
            announced_pitch: pitch,
        };
        self.numbers += 1;
        self.down.push(note);
        Some(NoteEvent::On(note))
    }
}

impl NoteSource for Keyboard {
    fn listen(&mut self, tell: &mut dyn FnMut(&NoteEvent)) -> Option<Seconds> {
        self.now = self.now + STEP;
        while let Some(press) = self.coming.pop_front_if(|press| press.at <= self.now) {
            self.told(&press).iter().for_each(&mut *tell);
        }
        Some(self.now)
    }

    fn wait(&mut self) {}
}

impl CueOutput for Keyboard {
    fn output_rate(&mut self) -> Option<SampleRate> {
        Some(SampleRate::CD)
    }

    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        let from = self.now + Seconds(0.05);
        self.placed = Some(PlacedCue { cue: cue.number, place: Placement::at(from) });
        let begins = from + sound.beat_zero.unwrap_or(sound.end + Seconds(0.5));
        for (n, note) in cue.line.notes.iter().enumerate() {
            let key = note.pitch.0 as u8 + u8::from(self.slips && n == 1);
            let at = begins + cue.tempo.lasting(note.at);
            self.coming.push_back(Press { at, key, velocity: 80 });
            self.coming.push_back(Press { at: at + cue.tempo.lasting(note.length) * 0.9, key, velocity: 0 });
        }
        true
    }

    fn placed(&mut self) -> Option<PlacedCue> {
        self.placed.take()
    }

    fn hush(&mut self) {}

    fn play_back(&mut self, _clips: &[Arc<Clip>]) {}
}

/// A sitting of twelve answers: the verdicts, and how many answers were kept with sound.
fn sitting(form: Form, slips: bool) -> (Vec<Verdict>, usize) {
    let drill =
        Drill::new(settings("five-note-row-up-and-down", form, &ConcertKey::FIFTHS), LearnerModel::new(), Rng::new(5));
    let (tell, commands) = bounded(1);
    let (mut verdicts, mut with_sound) = (Vec::new(), 0);
    let mut out = |out: Out| match out {
        Out::Show(snapshot) if snapshot.answers >= 12 => drop(tell.try_send(Command::End)),
        Out::Keep(event, sound) => {
            with_sound += usize::from(sound.is_some());
            if let Event::Judged(judgement) = *event {
                verdicts.push(judgement.verdict);
            }
        }
        _ => {}
    };
    DrillLoop::new(drill, &mut Keyboard::new(slips), &commands, A440, &mut out).run();
    (verdicts, with_sound)
}

#[test]
fn a_keyboard_with_a_cable_is_drilled_without_a_microphone() {
    for form in [Form::Pattern, Form::FirstNote] {
        let (verdicts, with_sound) = sitting(form, false);
        assert_eq!((verdicts.len(), with_sound), (12, 0), "{form:?}: there is no sound to keep");
        for verdict in &verdicts {
            assert!(verdict.whole() && verdict.right == verdict.of, "{form:?}: {verdict:?}");
        }
    }
}

#[test]
fn nothing_is_said_of_the_intonation_of_an_instrument_that_has_none() {
    for verdict in sitting(Form::Pattern, false).0 {
        assert!(verdict.centre.is_none() && verdict.expected.iter().all(|note| note.cents.is_none()), "{verdict:?}");
    }
}

#[test]
fn a_wrong_key_is_a_wrong_note() {
    for verdict in sitting(Form::Pattern, true).0 {
        assert!(matches!(verdict.expected[1].label, NoteLabel::Wrong(_)), "{verdict:?}");
        assert_eq!(verdict.right, verdict.of - 1);
    }
}
