//! Taps beside answers come back from a loudspeaker into the microphone, and are no notes of the player's.

use std::sync::Arc;

use earfirst::outside::coach::{LearnerModel, Rng};
use earfirst::outside::cue::{Cue, CueSound, Form};
use earfirst::outside::drill::{Drill, Settings};
use earfirst::outside::engine::{AudioSource, CueOutput, Listener, PlacedCue, SimulatedAudio, unattended};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::notes::EarSettings;
use earfirst::outside::room::Echo;
use earfirst::outside::session::Event;
use earfirst::outside::simulated::{Profile, SimulatedPlayer, Skill, Timbre};
use earfirst::outside::sound::{Clip, SoundBlock, convolve};
use earfirst::outside::units::{A440, Cents, Decibels, Hertz, SampleRate, Seconds, Tempo, median};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::ears_only::Stream;
use crate::rehearsal::settings;
use crate::rooms::{self, Draw, Room};

const RATE: SampleRate = rooms::RATE;
/// From "play" to the first sample, as the simulated player has it.
const LEAD: Seconds = Seconds(0.05);

/// The simulated player's microphone, into which a loudspeaker comes back.
struct Corner {
    player: SimulatedAudio,
    back: Stream,
    room: Vec<f32>,
}

impl AudioSource for Corner {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        let block = self.player.read(into)?;
        let back = self.back.take(into.len());
        into.iter_mut().zip(back).for_each(|(sample, back)| *sample += back);
        Some(block)
    }
}

impl CueOutput for Corner {
    fn output_rate(&mut self) -> Option<SampleRate> {
        Some(RATE)
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        let soft = Decibels(-8.0).amplitude() as f32;
        let back: Vec<f32> = convolve(&sound.clip.samples, &self.room).iter().map(|sample| soft * sample).collect();
        self.back.lay(RATE.samples(LEAD), &back);
        self.player.play(cue, sound)
    }
    fn ask_count(&mut self, sounded: u32) {
        self.player.ask_count(sounded);
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        self.player.placed()
    }
    fn hush(&mut self) {
        self.player.hush();
    }
    fn play_back(&mut self, _: &[Arc<Clip>]) {}
}

/// Number of a cue, how many notes were heard, how late, how uneven.
type Row = (u32, usize, Option<f64>, Option<f64>);

/// What was heard for each cue.
fn sitting(room: Room, answers: u32) -> Vec<Row> {
    let mut wanted = settings("five-note-row-up-and-down", Form::Pattern, &ConcertKey::FIFTHS);
    wanted.plan.first_tempo = Tempo(140.0);
    wanted.began.seed = 5;
    let profile = Profile {
        timbre: Timbre::of(wanted.instrument.sounding),
        range: wanted.instrument.advanced,
        skill: Skill::around(ConcertKey::FIFTHS[10], 0.9),
        offset: Cents(5.0),
        faulty: 0.12,
    };
    let player = SimulatedPlayer::new(ChaCha8Rng::seed_from_u64(3), profile);
    let player = SimulatedAudio::new(player, RATE, A440, 3, true);
    let mut corner = Corner { player, back: Stream::default(), room: room.response(&mut Draw(31)) };
    let ear = EarSettings { rate: RATE, lowest: Hertz(110.0), highest: Hertz(1500.0), a4: A440 };
    let drill = Drill::new(Settings { second_task: true, ..wanted }, LearnerModel::new(), Rng::new(5));
    let mut listener = Listener::new(ear, Echo::new(RATE), &mut corner);
    let mut found: Vec<Row> = Vec::new();
    unattended(drill, &mut listener, A440, answers, &mut |event| match event {
        Event::Answered(answer) => found.push((answer.cue, answer.heard.len(), None, None)),
        Event::Judged(judged) => {
            if let Some(row) = found.iter_mut().find(|row| row.0 == judged.cue) {
                (row.2, row.3) = (judged.verdict.late.map(|it| it.0), judged.verdict.scatter.map(|it| it.0));
            }
        }
        _ => {}
    });
    found
}

#[test]
fn before_a_loudspeaker_answers_beside_taps_are_judged_as_with_headphones() {
    let answers = if std::env::var_os("EARFIRST_LONGER").is_some() { 48 } else { 4 };
    let (dry, wet) = (sitting(Room::Headphones, answers), sitting(Room::Decay(0.2), answers));
    let pairs: Vec<_> = dry.iter().filter_map(|one| Some((one, wet.iter().find(|it| it.0 == one.0)?))).collect();
    let same = pairs.iter().filter(|(one, other)| one.1 == other.1).count();
    let off = |of: fn(&Row) -> Option<f64>| {
        median(&pairs.iter().filter_map(|(one, other)| Some((of(one)? - of(other)?).abs())).collect::<Vec<_>>())
    };
    let (late, uneven) = (off(|row| row.2), off(|row| row.3));
    println!("{same} of {} answers with as many notes; off by {late:?} and {uneven:?} s", pairs.len());
    assert!(same * 10 >= pairs.len() * 7, "{dry:?} {wet:?}");
    assert!(late.unwrap() < 0.005 && uneven.unwrap() < 0.005, "{late:?} {uneven:?}");
}
