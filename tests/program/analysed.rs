//! The command `analyse`: with a score and a chart, with JSON, and with sound that is not one line.

use earfirst::outside::files::write_wav;
use earfirst::outside::sound::Clip;
use earfirst::outside::units::{SampleRate, Seconds};

use crate::desk::Desk;

#[test]
fn thirds_are_told_as_skips_within_eighty_columns_and_over_their_chart() {
    let desk = Desk::new("analysed");
    desk.done("patterns export diatonic-thirds-up --keys C --instrument flute --midi thirds.mid");
    let said = desk.done("analyse thirds.mid --instrument flute");
    assert!(said.contains("skips") && said.contains('▲') && !said.contains("stepwise, up"), "{said}");
    assert!(said.lines().all(|line| line.chars().count() <= 80), "{said}");
    let said = desk.done("analyse thirds.mid --instrument flute --chart |Imaj7|%|%|%| --key C");
    assert!(said.contains("Over the form, bar 1 at") && said.contains("Cmaj7"), "{said}");
    let told: serde_json::Value =
        serde_json::from_str(&desk.done("analyse thirds.mid --instrument flute --json")).unwrap();
    assert_eq!(told["parts"][0]["family"], "skips");
}

#[test]
fn of_silence_and_of_one_note_no_line_is_made_up() {
    let desk = Desk::new("no-line");
    let rate = SampleRate::CD;
    write_wav(&desk.0.join("silence.wav"), &Clip::silence(rate, Seconds(2.0))).unwrap();
    let (code, said) = desk.run("analyse silence.wav");
    assert!(code == 4 && said.contains("no note was heard"), "{said}");
    let turn = |n: usize| (n as f32 * 440.0 * std::f32::consts::TAU / 44_100.0).sin() * 0.2;
    write_wav(&desk.0.join("one.wav"), &Clip { rate, samples: (0..88_200).map(turn).collect() }).unwrap();
    let (code, said) = desk.run("analyse one.wav");
    assert!(code == 4 && said.contains("nothing to take apart"), "{said}");
}
