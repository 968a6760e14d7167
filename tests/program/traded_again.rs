//! A trade that was recorded is judged again: the band is made anew, taken out of what the microphone heard, and every verdict is the one
//! that was given.

use earfirst::outside::files::read_sessions;
use earfirst::outside::session::{Event, write_line};
use earfirst::outside::units::{SampleRate, Seconds};

use crate::desk::Desk;

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
