//! Trades in sound, through the ear: the band stops where nothing is played through a whole chorus and begins again once a note is held;
//! a wait at a seam is found, and no seam is accused that came in time; a phrase is finished and varied.

use earfirst::outside::cue::{Cue, CueSound};
use earfirst::outside::engine::{Listener, trade};
use earfirst::outside::music::{ConcertKey, Intonation, PitchClass};
use earfirst::outside::room::Echo;
use earfirst::outside::simulated::Timbre;
use earfirst::outside::sound::Clip;
use earfirst::outside::trade::{JudgedExchange, Trade, TradeMoment, TradeWay, TradeWish};
use earfirst::outside::units::{Beats, SampleRate, Seconds, Tempo};
use earfirst::outside::verdict::VariedAs;

use crate::trade_stage::{RATE, TradeStage, planned, player, traded, wish};

const WAIT: Seconds = Seconds(0.13);

/// Waits at the first seam of every other phrase.
fn waits(n: usize, cue: &mut Cue) {
    if n.is_multiple_of(2) {
        let (seam, later) = (cue.seam_notes()[0], Beats(WAIT.0 / cue.tempo.beat().0));
        cue.line.notes.iter_mut().skip(seam).for_each(|note| note.at = note.at + later);
    }
}

fn plan(way: TradeWay, choruses: u32, tempo: f64) -> Trade {
    let keys = [0, 5].map(|class| ConcertKey(PitchClass::new(class)));
    planned(&TradeWish { keys: &keys, way, choruses, tempo: Tempo(tempo), ..wish("ii-v-i") }, 3)
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

/// A player who misses so many beginnings of the band, and sets out to play something else than is asked.
fn rig(misses: u32, change: fn(usize, &mut Cue)) -> Listener<TradeStage> {
    TradeStage::new(player(5, Timbre::Reed, 0.12), 5, change).missing(misses).heard_through(Echo::new(RATE))
}

#[test]
fn after_a_chorus_of_silence_the_band_waits_and_a_held_note_brings_that_chorus_once_more() {
    let mut rig = rig(1, |_, _| ());
    let mut told = Vec::new();
    let mut heard = Vec::new();
    let mut tell = |moment: Option<TradeMoment>| {
        match moment {
            Some(TradeMoment::LeadIn(round, _)) => told.push(format!("lead-in to {round}")),
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

/// A trade in sound; of each answer is told beside whether the player truly did nothing wrong.
fn played(way: TradeWay, choruses: u32, change: fn(usize, &mut Cue)) -> Vec<(JudgedExchange, bool)> {
    let answers = traded(&mut rig(0, change), &plan(way, choruses, 150.0), &silence);
    answers.into_iter().map(|(answer, truth)| (answer, truth.faults.is_empty())).collect()
}

#[test]
fn a_wait_at_a_seam_is_found_in_sound_and_no_seam_is_accused_that_came_in_time() {
    let (mut late, mut found, mut in_time, mut accused) = (0, 0, 0, 0);
    for (n, (answer, _)) in played(TradeWay::Answer, 10, waits).iter().enumerate().filter(|(_, (_, clean))| *clean) {
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
    let answers = played(TradeWay::Finish, 6, |_, _| ());
    let clean: Vec<bool> = answers.iter().filter(|(_, clean)| *clean).map(|(answer, _)| answer.whole()).collect();
    assert!(clean.len() >= 3 && clean.iter().all(|whole| *whole), "{clean:?}");
}

#[test]
fn a_phrase_is_varied_in_sound_by_shape_and_by_rhythm_and_repeating_it_is_no_variation() {
    let answers = played(TradeWay::Vary, 9, |_, _| ());
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
