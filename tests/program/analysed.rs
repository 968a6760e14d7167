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
    // Nothing else was played, so nothing stands out; who plays it wants to read its name all the same.
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("Your line is diatonic thirds up: in C at 0.0 s, from C5 to C6."), "{said}");
    assert!(words.contains("└diatonic thirds up") && !words.contains("none came out"), "{said}");
    // What a file says is not heard, clearly or not.
    assert!(said.contains("all of its 11 moves by skips") && !said.contains("heard"), "{said}");
    let said = desk.done("analyse thirds.mid --instrument flute --chart |Imaj7|%|%|%| --key C");
    assert!(said.contains("Over the form, bar 1 at") && said.contains("Cmaj7"), "{said}");
    let told: serde_json::Value =
        serde_json::from_str(&desk.done("analyse thirds.mid --instrument flute --json")).unwrap();
    assert_eq!(told["parts"][0]["family"], "skips");
}

#[test]
fn of_silence_of_drums_and_of_one_note_no_line_is_made_up() {
    let desk = Desk::new("no-line");
    let rate = SampleRate::CD;
    // Strokes of noise, two a second, that die away.
    let mut seed = 5u32;
    let stroke = |n: usize| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (seed as f32 / u32::MAX as f32 - 0.5) * (-((n % 22_050) as f32) / 2_000.0).exp()
    };
    write_wav(&desk.0.join("drums.wav"), &Clip { rate, samples: (0..132_300).map(stroke).collect() }).unwrap();
    let (code, said) = desk.run("analyse drums.wav");
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        code == 4 && words.contains("no single pitch that lasts") && words.contains("one line of one instrument"),
        "{said}"
    );
    write_wav(&desk.0.join("silence.wav"), &Clip::silence(rate, Seconds(2.0))).unwrap();
    let (code, said) = desk.run("analyse silence.wav");
    assert!(code == 4 && said.contains("no note was heard"), "{said}");
    let turn = |n: usize| (n as f32 * 440.0 * std::f32::consts::TAU / 44_100.0).sin() * 0.2;
    write_wav(&desk.0.join("one.wav"), &Clip { rate, samples: (0..88_200).map(turn).collect() }).unwrap();
    let (code, said) = desk.run("analyse one.wav");
    assert!(code == 4 && said.contains("only one note can be told in it: too few to take apart"), "{said}");
}
