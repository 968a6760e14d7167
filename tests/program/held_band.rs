//! The band stops where nothing is played through a whole chorus, and begins again once a note is held; in sound, through the ear.

use std::sync::Arc;

use earfirst::outside::chart::Forms;
use earfirst::outside::coach::Rng;
use earfirst::outside::cue::{Cue, CueSound};
use earfirst::outside::engine::{AudioSource, CueOutput, Listener, PlacedCue, SimulatedAudio, trade};
use earfirst::outside::music::{Concert, ConcertKey, Intonation, PitchClass, Range};
use earfirst::outside::notes::EarSettings;
use earfirst::outside::pattern::{Library, PatternQuery};
use earfirst::outside::phrase::{PhraseMaker, Stock};
use earfirst::outside::room::{Echo, SoundFault};
use earfirst::outside::simulated::{AnswerClock, Profile, SimulatedPlayer, Skill, Timbre};
use earfirst::outside::sound::{Clip, SoundBlock};
use earfirst::outside::trade::{Trade, TradeMoment, TradeWish};
use earfirst::outside::units::{A440, Cents, Hertz, SampleRate, Seconds, Tempo};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

const RATE: SampleRate = SampleRate::CD;

/// A player who is out of the room when the band begins, and answers from its second beginning on.
struct Latecomer {
    audio: SimulatedAudio,
    begun: u32,
}

impl AudioSource for Latecomer {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        self.audio.read(into)
    }
    fn wait(&mut self) {
        self.audio.wait();
    }
    fn trouble(&mut self) -> Option<SoundFault> {
        None
    }
    fn had_xrun(&mut self) -> bool {
        false
    }
    fn dropped(&mut self) -> u64 {
        0
    }
}

impl CueOutput for Latecomer {
    fn output_rate(&mut self) -> Option<SampleRate> {
        self.audio.output_rate()
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        self.audio.play(cue, sound)
    }
    fn play_long(&mut self, first: &Cue, sound: &CueSound, asked: &[(Cue, AnswerClock)]) -> bool {
        self.begun += 1;
        self.audio.play_long(first, sound, if self.begun == 1 { &[] } else { asked })
    }
    fn await_held_note(&mut self) {
        self.audio.await_held_note();
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        self.audio.placed()
    }
    fn hush(&mut self) {
        self.audio.hush();
    }
    fn play_back(&mut self, _clips: &[Arc<Clip>]) {}
}

fn plan() -> Trade {
    let form = Forms::builtin().find("ii-v-i").unwrap();
    let range = Range::new(Concert(58), Concert(82));
    let wish = TradeWish {
        form,
        keys: &[ConcertKey(PitchClass::new(0)), ConcertKey(PitchClass::new(5))],
        bars: 4,
        on_every: None,
        choruses: 2,
        tempo: Tempo(240.0),
        swing: false,
        range,
        rests: false,
    };
    let patterns = PatternQuery { level: Some(1..=2), ..PatternQuery::default() };
    let mut rng = Rng::new(3);
    Trade::plan(&wish, &mut PhraseMaker::new(Stock::of(Library::builtin().select(&patterns))), &mut || rng.uniform())
        .unwrap()
}

fn silence(_: &Trade, rate: SampleRate) -> CueSound {
    CueSound {
        clip: Clip::silence(rate, Seconds(0.1)).into(),
        end: Seconds(0.1),
        beat_zero: None,
        beats: Vec::new(),
        clicks: Vec::new(),
        notes: Vec::new(),
    }
}

#[test]
fn after_a_chorus_of_silence_the_band_waits_and_a_held_note_brings_that_chorus_once_more() {
    let profile = Profile {
        timbre: Timbre::Reed,
        range: Range::new(Concert(52), Concert(88)),
        skill: Skill::around(ConcertKey::FIFTHS[0], 0.95),
        offset: Cents(3.0),
        faulty: 0.12,
    };
    let player = SimulatedPlayer::new(ChaCha8Rng::seed_from_u64(5), profile);
    let audio = SimulatedAudio::new(player, RATE, A440, 5, true);
    let settings = EarSettings { rate: RATE, lowest: Hertz(130.0), highest: Hertz(1800.0), a4: A440 };
    let mut rig = Listener::new(settings, Echo::new(RATE), Latecomer { audio, begun: 0 });
    let mut told = Vec::new();
    let mut heard = Vec::new();
    let mut tell = |moment: Option<TradeMoment>| {
        match moment {
            Some(TradeMoment::LeadIn(round)) => told.push(format!("lead-in to {round}")),
            Some(TradeMoment::Silent(round, _)) => told.push(format!("silence in {round}")),
            Some(TradeMoment::Again(_)) => told.push("a held note".to_owned()),
            Some(TradeMoment::Judged(round, answers)) => {
                told.push(format!("judged {round}"));
                heard.push(
                    answers.iter().map(|answer| (answer.heard.len(), answer.verdict.related)).collect::<Vec<_>>(),
                );
            }
            Some(TradeMoment::End) => told.push("end".to_owned()),
            _ => {}
        }
        true
    };
    trade(&mut rig, &plan(), &silence, (Some(Seconds(0.0)), Intonation::Unscored), &mut tell).unwrap();
    let expected =
        ["lead-in to 0", "judged 0", "silence in 0", "a held note", "lead-in to 0", "judged 0", "judged 1", "end"];
    assert_eq!(told, expected);
    assert_eq!(heard[0], [(0, false)]);
    assert!(heard[1..].iter().flatten().all(|(notes, related)| *notes > 3 && *related), "{heard:?}");
}
