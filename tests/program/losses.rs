//! Sound that is lost on its way into the program is counted, and the player and the teacher are told.

use std::sync::Arc;

use crossbeam_channel::bounded;
use earfirst::outside::coach::{LearnerModel, Rng};
use earfirst::outside::cue::{Cue, CueSound, Form};
use earfirst::outside::drill::{Command, Drill};
use earfirst::outside::engine::{AudioSource, CueOutput, DrillLoop, Listener, Out, PlacedCue, SimulatedAudio};
use earfirst::outside::music::{ConcertKey, WrittenKey, instrument};
use earfirst::outside::notes::EarSettings;
use earfirst::outside::report::{review, to_text};
use earfirst::outside::room::Echo;
use earfirst::outside::room::SoundFault;
use earfirst::outside::session::{Event, Session};
use earfirst::outside::simulated::SimulatedPlayer;
use earfirst::outside::sound::{Clip, SoundBlock};
use earfirst::outside::tui::{Appearance, Plain};
use earfirst::outside::units::{A440, Hertz, SampleRate};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::rehearsal::settings;

const RATE: SampleRate = SampleRate::CD;

/// The sound of the simulated player, of which some blocks are lost.
struct Lossy {
    stage: SimulatedAudio,
    /// One of this many blocks is lost; `None` where none is.
    one_of: Option<usize>,
    blocks: usize,
    dropped: u64,
}

impl AudioSource for Lossy {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        let block = self.stage.read(into)?;
        self.blocks += 1;
        if self.one_of.is_none_or(|one_of| !self.blocks.is_multiple_of(one_of)) {
            return Some(block);
        }
        self.dropped += into.len() as u64;
        let gap = RATE.seconds(into.len());
        let next = self.stage.read(into)?;
        Some(SoundBlock { gap, ..next })
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
        self.dropped
    }
}

impl CueOutput for Lossy {
    fn output_rate(&mut self) -> Option<SampleRate> {
        self.stage.output_rate()
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        self.stage.play(cue, sound)
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        self.stage.placed()
    }
    fn hush(&mut self) {
        self.stage.hush();
    }
    fn play_back(&mut self, clips: &[Arc<Clip>]) {
        self.stage.play_back(clips);
    }
}

/// A sitting of two answers: how much was lost, the plain lines, and the review.
fn sitting(one_of: Option<usize>) -> (u64, Vec<String>, String) {
    let wanted = settings("five-note-row-up-and-down", Form::FirstNote, &ConcertKey::FIFTHS);
    let home = wanted.instrument.concert_key(WrittenKey::C);
    let player = SimulatedPlayer::developing(&wanted.instrument, home, ChaCha8Rng::seed_from_u64(5));
    let mut lossy = Lossy { stage: SimulatedAudio::new(player, RATE, A440, 5, true), one_of, blocks: 0, dropped: 0 };
    let ear = EarSettings { rate: RATE, lowest: Hertz(110.0), highest: Hertz(1500.0), a4: A440 };
    let mut events = vec![Event::Began(wanted.began.clone())];
    let drill = Drill::new(wanted, LearnerModel::new(), Rng::new(5));
    let mut listener = Listener::new(ear, Echo::new(RATE), &mut lossy);
    let (tell, commands) = bounded(8);
    let trumpet = instrument("trumpet").unwrap().clone();
    let mut page = Plain::new(Appearance {
        page: earfirst::outside::words::Page::new(trumpet, earfirst::outside::music::Reading::default()),
        range: None,
        today: None,
        colour: false,
    });
    let mut lines = Vec::new();
    let mut out = |out: Out| match out {
        Out::Show(snapshot) => {
            lines.extend(page.lines(&snapshot));
            if snapshot.answers == 2 {
                let _ = tell.try_send(Command::End);
            }
        }
        Out::Keep(event, _) => events.push(*event),
        Out::Draft(_) => {}
    };
    DrillLoop::new(drill, &mut listener, &commands, A440, &mut out).run();
    let began = events.iter().filter(|event| matches!(event, Event::Began(_))).count();
    let session = Session::from_events(&events[began - 1..]).expect("a sitting");
    (lossy.dropped, lines, to_text(&review(&[session])))
}

#[test]
fn samples_lost_on_the_way_in_are_told_as_they_are_noticed_at_the_end_and_in_the_review() {
    // Ten milliseconds of every second.
    let (dropped, lines, review) = sitting(Some(100));
    assert!(dropped > 480 * 5, "{dropped}");
    let told: Vec<&String> = lines.iter().filter(|line| line.contains("were lost on the way in")).collect();
    assert_eq!(told[0], "480 samples were lost on the way in: close other programs");
    assert_eq!(told[1..], [&format!("{dropped} samples were lost on the way in: close other programs")]);
    assert!(review.replace('\n', " ").contains(&format!("{dropped} samples were lost")), "{review}");
}

#[test]
fn where_nothing_was_lost_nobody_is_told_of_it() {
    let (dropped, lines, review) = sitting(None);
    assert_eq!(dropped, 0);
    assert!(lines.iter().any(|line| line.starts_with("end")) && !review.is_empty());
    assert!(!lines.iter().chain([&review]).any(|text| text.contains("lost on the way")), "{lines:?}\n{review}");
}
