//! A trade that was recorded is judged again: the band is made anew, taken out of what the microphone heard, and every verdict is the one
//! that was given.

use earfirst::outside::backing::BandWish;
use earfirst::outside::coach::Rng;
use earfirst::outside::cue::CueSound;
use earfirst::outside::engine::{trade, trade_again};
use earfirst::outside::files::read_sessions;
use earfirst::outside::music::{ConcertKey, Intonation};
use earfirst::outside::notes::EarSettings;
use earfirst::outside::room::Echo;
use earfirst::outside::session::{Event, write_line};
use earfirst::outside::simulated::Timbre;
use earfirst::outside::sound::{InputStretch, Placement};
use earfirst::outside::trade::{JudgedExchange, Trade, TradeMoment, TradeWish, sound};
use earfirst::outside::units::{A440, Hertz, SampleRate, Seconds, Tempo};

use crate::desk::Desk;
use crate::trade_stage::{LoudRoom, RATE, TradeStage, planned, player, wish};

/// What a file keeps of a stretch: 16 bits a sample.
fn stored(mut stretch: InputStretch) -> InputStretch {
    for sample in &mut stretch.clip.samples {
        *sample = (*sample * 32_768.0).round().clamp(-32_768.0, 32_767.0) / 32_768.0;
    }
    stretch
}

fn labels(answer: &JudgedExchange) -> String {
    let labels: Vec<_> = answer.verdict.expected.iter().map(|note| note.label).collect();
    format!("{} {labels:?} {:?} {}", answer.exchange.cue.number, answer.verdict.shift, answer.verdict.extra)
}

/// A trade before a loudspeaker, whose band comes back through a room, and the sound that was kept of it.
struct Loud {
    plan: Trade,
    seed: u64,
    place: Placement,
    kept: Vec<InputStretch>,
    /// What was said at once.
    then: Vec<String>,
}

const JUDGED_BY: (Option<Seconds>, Intonation) = (Some(Seconds(0.0)), Intonation::Unscored);

impl Loud {
    fn new(form: &str, seed: u64) -> Self {
        let keys = &ConcertKey::FIFTHS;
        let plan = planned(&TradeWish { keys, bars: 2, choruses: 2, tempo: Tempo(160.0), ..wish(form) }, seed);
        let stage = TradeStage::new(player(seed, Timbre::Reed, 0.3), seed, |_, _| ());
        // About as loud as the player.
        let stage = stage.in_room(Some(LoudRoom::new(0.0, 0.01)));
        let mut rig = stage.heard_through(Echo::new(RATE)).keeping_no_sound().keeping_input();
        let (mut place, mut kept, mut then) = (Placement::at(Seconds(0.0)), Vec::new(), Vec::new());
        let mut tell = |moment: Option<TradeMoment>| {
            match moment {
                Some(TradeMoment::LeadIn(_, at)) => place = at,
                Some(TradeMoment::Sound(stretch)) => kept.push(stored(stretch)),
                Some(TradeMoment::Judged(_, answers)) => then.extend(answers.iter().map(labels)),
                _ => {}
            }
            true
        };
        trade(&mut rig, &plan, &|plan, _| band(plan, seed), JUDGED_BY, &mut tell).unwrap();
        Self { plan, seed, place, kept, then }
    }

    /// What is said of the kept sound, where the band of this seed is taken out.
    fn again(&self, seed: u64) -> Vec<String> {
        let ear = EarSettings { rate: RATE, lowest: Hertz(130.0), highest: Hertz(1800.0), a4: A440 };
        let made = band(&self.plan, seed);
        let again = trade_again(&self.plan, self.place, &made, self.kept.clone(), &ear, JUDGED_BY);
        again.iter().map(labels).collect()
    }
}

fn band(plan: &Trade, seed: u64) -> CueSound {
    let mut rng = Rng::new(seed);
    sound(plan, &BandWish::new(plan.tempo, RATE), move || rng.uniform()).unwrap()
}

#[test]
fn before_a_loudspeaker_the_band_is_taken_out_again_and_every_verdict_stays() {
    let (form, seeds) = if std::env::var_os("EARFIRST_LONGER").is_some() { ("blues", 6) } else { ("ii-v-i", 2) };
    let (mut answers, mut differ) = (0, Vec::new());
    for seed in 0..seeds {
        let loud = Loud::new(form, seed);
        assert!(
            loud.kept.iter().all(|it| it.whole) && loud.kept[0].from < loud.place.from,
            "from before the lead-in on"
        );
        let now = loud.again(loud.seed);
        assert_eq!(loud.then.len(), now.len());
        answers += now.len();
        // Another band than the one that sounded leaves the true one in, so this test can fail.
        assert!(seed > 0 || loud.again(seed + 1) != now, "nothing was taken out");
        differ.extend(loud.then.into_iter().zip(now).filter(|(then, now)| then != now));
    }
    assert!(answers >= 8, "{answers}");
    assert!(differ.is_empty(), "{} of {answers} differ: {differ:#?}", differ.len());
}

#[test]
fn a_trade_that_kept_its_sound_is_judged_again_and_one_of_an_older_program_says_that_it_cannot_be() {
    let desk = Desk::new("traded-again");
    let line = "trade blues --instrument flute --tempo 240 --choruses 1 --seed 3 --up-to 2 --simulated --fast";
    desk.done(line);
    let again = desk.done("review data/sessions --again");
    assert!(again.contains("judged again: 3 answers") && again.contains("nothing differs"), "{again}");
    let found = read_sessions(&[desk.0.join("data/sessions")]);
    let session = found.sessions[0].session().unwrap();
    let band = &session.band[0];
    let kept = band.sound.unwrap();
    let samples = (kept.until - kept.from).0 * f64::from(SampleRate::DEVICE.hz());
    assert!((samples - kept.count as f64).abs() < 2.0 && kept.from.0 < band.lead_in.0);
    // Two bars of lead-in and twenty-four bars of four quarters, at a quarter of a second each.
    assert!((band.begins - band.lead_in - Seconds(2.0)).0.abs() < 1e-9);
    assert!((band.ends - band.begins - Seconds(24.0)).0.abs() < 1e-9);
    let answer = session.traded[1].answer.as_ref().unwrap();
    let (first, count) = answer.sound.unwrap();
    assert!(first > kept.first && first + count < kept.first + kept.count, "the answer is a part of the chorus");

    // As a program wrote it that knew of no band.
    let old: String = found.sessions[0]
        .events
        .iter()
        .filter(|event| !matches!(event, Event::Band(_)))
        .map(|event| match event {
            Event::Began(began) => {
                let mut began = began.clone();
                began.trade.iter_mut().for_each(|trade| trade.band = None);
                write_line(&Event::Began(began))
            }
            other => write_line(other),
        })
        .collect();
    std::fs::remove_dir_all(desk.0.join("data/sessions")).unwrap();
    std::fs::create_dir_all(desk.0.join("data/sessions")).unwrap();
    desk.file("data/sessions/old.jsonl", old.as_bytes());
    let again = desk.done("review data/sessions --again");
    assert!(again.contains("traded over blues") && again.contains("3 have no sound"), "{again}");
    let (code, said) = desk.run("review data/sessions --musicxml old.musicxml");
    assert!(code == 2 && said.contains("does not tell where in the form"), "{said}");
}

#[test]
fn where_no_sound_is_to_be_kept_a_trade_keeps_none() {
    let desk = Desk::new("traded-numbers");
    desk.done("trade ii-v-i --instrument flute --tempo 280 --choruses 1 --seed 3 --up-to 2 --keep-sound none --simulated --fast");
    let found = read_sessions(&[desk.0.join("data/sessions")]);
    let session = found.sessions[0].session().unwrap();
    assert!(!session.began.keeps_sound && session.band.len() == 1 && session.band[0].sound.is_none());
    let again = desk.done("review data/sessions --again");
    assert!(again.contains("1 has no sound"), "{again}");
}
