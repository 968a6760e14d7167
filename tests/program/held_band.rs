//! Trades in sound, through the ear: the band stops where nothing is played through a whole chorus and begins again once a note is held;
//! a wait at a seam is found, and no seam is accused that came in time; a phrase is finished and varied.

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
use earfirst::outside::trade::{JudgedExchange, Trade, TradeMoment, TradeWay, TradeWish};
use earfirst::outside::units::{A440, Beats, Cents, Hertz, SampleRate, Seconds, Tempo};
use earfirst::outside::verdict::VariedAs;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

const RATE: SampleRate = SampleRate::CD;

/// A player who misses some beginnings of the band, and sets out to play something else than is asked.
struct Latecomer {
    audio: SimulatedAudio,
    misses: u32,
    change: fn(usize, &mut Cue),
}

const WAIT: Seconds = Seconds(0.13);

/// Waits at the first seam of every other phrase.
fn waits(n: usize, cue: &mut Cue) {
    if n.is_multiple_of(2) {
        let (seam, later) = (cue.seam_notes()[0], Beats(WAIT.0 / cue.tempo.beat().0));
        cue.line.notes.iter_mut().skip(seam).for_each(|note| note.at = note.at + later);
    }
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
        self.audio.hush();
    }
    fn play_back(&mut self, _clips: &[Arc<Clip>]) {}
}

fn plan(way: TradeWay, choruses: u32, tempo: f64) -> Trade {
    let form = Forms::builtin().find("ii-v-i").unwrap();
    let range = Range::new(Concert(58), Concert(82));
    let wish = TradeWish {
        form,
        keys: &[ConcertKey(PitchClass::new(0)), ConcertKey(PitchClass::new(5))],
        bars: 4,
        way,
        on_every: None,
        choruses,
        tempo: Tempo(tempo),
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

fn rig(misses: u32, change: fn(usize, &mut Cue)) -> Listener<Latecomer> {
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
    Listener::new(settings, Echo::new(RATE), Latecomer { audio, misses, change })
}

#[test]
fn after_a_chorus_of_silence_the_band_waits_and_a_held_note_brings_that_chorus_once_more() {
    let mut rig = rig(1, |_, _| ());
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
    trade(&mut rig, &plan(TradeWay::Answer, 2, 240.0), &silence, (Some(Seconds(0.0)), Intonation::Unscored), &mut tell)
        .unwrap();
    let expected =
        ["lead-in to 0", "judged 0", "silence in 0", "a held note", "lead-in to 0", "judged 0", "judged 1", "end"];
    assert_eq!(told, expected);
    assert_eq!(heard[0], [(0, false)]);
    assert!(heard[1..].iter().flatten().all(|(notes, related)| *notes > 3 && *related), "{heard:?}");
}

/// A trade in sound; of each answer what the player truly did wrong is told beside.
fn traded(way: TradeWay, choruses: u32, change: fn(usize, &mut Cue)) -> Vec<(JudgedExchange, bool)> {
    let mut rig = rig(0, change);
    let mut judged = Vec::new();
    let mut tell = |moment: Option<TradeMoment>| {
        if let Some(TradeMoment::Judged(_, answers)) = moment {
            judged.extend(answers);
        }
        true
    };
    trade(&mut rig, &plan(way, choruses, 150.0), &silence, (Some(Seconds(0.0)), Intonation::Unscored), &mut tell)
        .unwrap();
    let truths = rig.audio().audio.truths();
    let clean = |number: u32| truths.iter().any(|(cue, truth)| *cue == number && truth.faults.is_empty());
    judged.into_iter().map(|answer| (answer.exchange.cue.number, answer)).map(|(n, it)| (it, clean(n))).collect()
}

#[test]
fn a_wait_at_a_seam_is_found_in_sound_and_no_seam_is_accused_that_came_in_time() {
    let (mut late, mut found, mut in_time, mut accused) = (0, 0, 0, 0);
    for (n, (answer, _)) in traded(TradeWay::Answer, 10, waits).iter().enumerate().filter(|(_, (_, clean))| *clean) {
        for (place, seam) in answer.seams.iter().enumerate() {
            if n % 2 == 0 && place == 0 {
                late += 1;
                let near = seam.gap.is_some_and(|gap| (gap - WAIT).abs().0 < 0.06);
                found += usize::from(seam.stands_out && near && !seam.passed());
            } else {
                in_time += 1;
                accused += usize::from(seam.stands_out);
            }
        }
    }
    println!("{found} of {late} waits found, {accused} of {in_time} seams in time accused");
    assert!(late >= 3 && in_time >= 10, "{late} {in_time}");
    assert!(found == late && accused * 20 <= in_time, "{found} of {late} found, {accused} of {in_time} accused");
}

#[test]
fn a_phrase_is_finished_in_sound() {
    let answers = traded(TradeWay::Finish, 6, |_, _| ());
    let clean: Vec<bool> = answers.iter().filter(|(_, clean)| *clean).map(|(answer, _)| answer.whole()).collect();
    assert!(clean.len() >= 3 && clean.iter().all(|whole| *whole), "{clean:?}");
}

#[test]
fn a_phrase_is_varied_in_sound_by_shape_and_by_rhythm_and_repeating_it_is_no_variation() {
    let answers = traded(TradeWay::Vary, 9, |_, _| ());
    // As the simulated player sets out to play them, from the first phrase on.
    let expected = [VariedAs::Shape, VariedAs::Rhythm, VariedAs::Repeated];
    let mut met = [0; 3];
    for (n, (answer, _)) in answers.iter().enumerate().filter(|(_, (_, clean))| *clean) {
        let varied = answer.varied.unwrap();
        assert_eq!(varied.taken, expected[n % 3], "phrase {n}: {varied:?}");
        met[n % 3] += 1;
    }
    assert!(met.iter().all(|times| *times > 0), "{met:?}");
}
