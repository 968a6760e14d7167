//! What the loudspeaker plays: the cues of a sitting; and, where the player asks for it in a pause, a cue and the answer to that cue.

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;

use crossbeam_channel::bounded;
use earfirst::outside::coach::{LearnerModel, Rng};
use earfirst::outside::cue::{Cue, CueSound, Form};
use earfirst::outside::drill::{Command, Drill, Face};
use earfirst::outside::engine::{AudioSource, CueOutput, DrillLoop, Listener, Out, PlacedCue, SimulatedAudio};
use earfirst::outside::music::{ConcertKey, WrittenKey};
use earfirst::outside::notes::EarSettings;
use earfirst::outside::room::Echo;
use earfirst::outside::room::SoundFault;
use earfirst::outside::simulated::SimulatedPlayer;
use earfirst::outside::sound::{Clip, SoundBlock};
use earfirst::outside::units::{A440, Hertz, SampleRate};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::rehearsal::settings;

const RATE: SampleRate = SampleRate::CD;

/// The sound of the simulated player, with a list of what the loudspeaker is given.
struct Loudspeaker {
    stage: SimulatedAudio,
    cues: Vec<(Cue, CueSound)>,
    played_back: Vec<Vec<Arc<Clip>>>,
    /// The number of the cue on the screen.
    on_screen: Rc<Cell<u32>>,
    /// For each cue, whether its key was on the screen when the cue was given to the loudspeaker.
    announced: Vec<bool>,
}

impl AudioSource for Loudspeaker {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        self.stage.read(into)
    }
    fn wait(&mut self) {
        self.stage.wait();
    }
    fn trouble(&mut self) -> Option<SoundFault> {
        self.stage.trouble()
    }
    fn had_xrun(&mut self) -> bool {
        self.stage.had_xrun()
    }
    fn dropped(&mut self) -> u64 {
        self.stage.dropped()
    }
}

impl CueOutput for Loudspeaker {
    fn output_rate(&mut self) -> Option<SampleRate> {
        self.stage.output_rate()
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        self.cues.push((cue.clone(), sound.clone()));
        self.announced.push(self.on_screen.get() == cue.number);
        self.stage.play(cue, sound)
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        self.stage.placed()
    }
    fn hush(&mut self) {
        self.stage.hush();
    }
    fn play_back(&mut self, clips: &[Arc<Clip>]) {
        self.played_back.push(clips.to_vec());
    }
}

/// One answer, a pause while the second cue sounds, what came out, and the end.
fn sitting(octave_up: bool) -> Loudspeaker {
    let wanted = settings("five-note-row-up-and-down", Form::FirstNote, &ConcertKey::FIFTHS);
    let home = wanted.instrument.concert_key(WrittenKey::C);
    let player = SimulatedPlayer::developing(&wanted.instrument, home, ChaCha8Rng::seed_from_u64(5));
    let stage = SimulatedAudio::new(player, RATE, A440, 5, true);
    let on_screen = Rc::new(Cell::new(0));
    let (cues, played_back, announced) = (Vec::new(), Vec::new(), Vec::new());
    let mut loudspeaker = Loudspeaker { stage, cues, played_back, on_screen: Rc::clone(&on_screen), announced };
    let ear = EarSettings { rate: RATE, lowest: Hertz(110.0), highest: Hertz(1500.0), a4: A440 };
    let drill = Drill::new(wanted, LearnerModel::new(), Rng::new(5));
    let mut listener = Listener::new(ear, Echo::new(RATE), &mut loudspeaker);
    let (tell, commands) = bounded(8);
    let mut asked = false;
    let mut out = |out: Out| {
        let Out::Show(snapshot) = out else { return };
        on_screen.set(snapshot.cue.as_ref().map_or(0, |cue| cue.number));
        if snapshot.answers == 1 && !asked && !matches!(snapshot.face, Face::Verdict { .. }) {
            asked = true;
            for command in [Command::Pause, Command::PlayBack, Command::End] {
                tell.send(command).unwrap();
            }
        }
    };
    DrillLoop::new(drill, &mut listener, &commands, A440, &mut out).octave_up(octave_up).run();
    loudspeaker
}

#[test]
fn what_came_out_is_the_cue_that_was_answered_and_then_the_answer() {
    let loudspeaker = sitting(false);
    assert!(loudspeaker.cues.len() >= 2, "the next cue sounded when the player paused");
    let [clips] = &loudspeaker.played_back[..] else { panic!("{} times", loudspeaker.played_back.len()) };
    let [cue, answer] = &clips[..] else { panic!("{} clips", clips.len()) };
    let answered = &loudspeaker.cues[loudspeaker.cues.len() - 2].1;
    assert_eq!(*cue, answered.clip, "not the cue that sounds now");
    assert!(answer.samples.iter().any(|sample| sample.abs() > 0.01) && answer.length().0 > 1.0);
}

#[test]
fn the_key_stands_on_the_screen_before_its_cue_is_made_and_sounds() {
    let loudspeaker = sitting(false);
    assert!(loudspeaker.announced.iter().all(|announced| *announced), "{:?}", loudspeaker.announced);
}

#[test]
fn the_cues_of_a_sitting_sound_an_octave_up_where_that_is_wanted() {
    for (octave_up, by) in [(false, 0.0), (true, 12.0)] {
        for (cue, sound) in &sitting(octave_up).cues {
            assert_eq!(sound.notes[0].pitch.0 - f64::from(cue.line.notes[0].pitch.0), by);
        }
    }
}
