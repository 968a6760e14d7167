//! Trades in sound, through the ear: the band stops where nothing is played through a whole chorus and begins again once a note is held;
//! a wait at a seam is found, and no seam is accused that came in time.

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
use earfirst::outside::units::{A440, Beats, Cents, Hertz, SampleRate, Seconds, Tempo};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

const RATE: SampleRate = SampleRate::CD;

/// A player who misses some beginnings of the band, and waits at the first seam of every other phrase.
struct Latecomer {
    audio: SimulatedAudio,
    misses: u32,
    waits: Seconds,
}

impl Latecomer {
    /// What this player sets out to play.
    fn meant(&self, asked: &[(Cue, AnswerClock)]) -> Vec<(Cue, AnswerClock)> {
        let mut meant = asked.to_vec();
        for (cue, _) in meant.iter_mut().step_by(2) {
            let (seam, later) = (cue.seam_notes()[0], Beats(self.waits.0 / cue.tempo.beat().0));
            cue.line.notes.iter_mut().skip(seam).for_each(|note| note.at = note.at + later);
        }
        meant
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
        let meant = if self.misses > 0 { Vec::new() } else { self.meant(asked) };
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

fn plan(choruses: u32, tempo: f64) -> Trade {
    let form = Forms::builtin().find("ii-v-i").unwrap();
    let range = Range::new(Concert(58), Concert(82));
    let wish = TradeWish {
        form,
        keys: &[ConcertKey(PitchClass::new(0)), ConcertKey(PitchClass::new(5))],
        bars: 4,
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

fn rig(misses: u32, waits: Seconds) -> Listener<Latecomer> {
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
    Listener::new(settings, Echo::new(RATE), Latecomer { audio, misses, waits })
}

#[test]
fn after_a_chorus_of_silence_the_band_waits_and_a_held_note_brings_that_chorus_once_more() {
    let mut rig = rig(1, Seconds(0.0));
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
    trade(&mut rig, &plan(2, 240.0), &silence, (Some(Seconds(0.0)), Intonation::Unscored), &mut tell).unwrap();
    let expected =
        ["lead-in to 0", "judged 0", "silence in 0", "a held note", "lead-in to 0", "judged 0", "judged 1", "end"];
    assert_eq!(told, expected);
    assert_eq!(heard[0], [(0, false)]);
    assert!(heard[1..].iter().flatten().all(|(notes, related)| *notes > 3 && *related), "{heard:?}");
}

#[test]
fn a_wait_at_a_seam_is_found_in_sound_and_no_seam_is_accused_that_came_in_time() {
    let wait = Seconds(0.13);
    let mut rig = rig(0, wait);
    let mut judged = Vec::new();
    let mut tell = |moment: Option<TradeMoment>| {
        if let Some(TradeMoment::Judged(_, answers)) = moment {
            judged.extend(answers);
        }
        true
    };
    trade(&mut rig, &plan(10, 150.0), &silence, (Some(Seconds(0.0)), Intonation::Unscored), &mut tell).unwrap();
    let (mut late, mut found, mut in_time, mut accused) = (0, 0, 0, 0);
    for (n, answer) in judged.iter().enumerate() {
        let number = answer.exchange.cue.number;
        let (_, truth) = rig.audio().audio.truths().iter().find(|(cue, _)| *cue == number).unwrap();
        if !truth.faults.is_empty() {
            continue;
        }
        for (place, seam) in answer.seams.iter().enumerate() {
            if n % 2 == 0 && place == 0 {
                late += 1;
                let near = seam.gap.is_some_and(|gap| (gap - wait).abs().0 < 0.06);
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
