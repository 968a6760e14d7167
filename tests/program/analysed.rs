//! The command `analyse`: with files of every kind, with a score and a chart, with JSON, and with sound that is not one line.

use earfirst::outside::files::{read_sound, write_wav};
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

/// Names of the notes and numbers of the habits that are told, without places in seconds, which differ by how a file begins.
fn notes_told(said: &str) -> (Vec<String>, usize) {
    let rows = said.lines().filter(|line| line.get(7..11).is_some_and(|unit| unit == " s  "));
    (rows.map(|row| row[11..].to_owned()).collect(), said.matches("└yours 1").count())
}

#[test]
fn every_kind_of_file_gives_the_same_line_and_a_line_of_ones_own_is_kept_to_practise() {
    // A line of our own with a cell of six notes from three notes, sounded by a small program (six sines) at quarter = 190, packed with
    // ffmpeg 5.1: FLAC, MP3 (24 kbit/s), Ogg Vorbis.
    let desk = Desk::new("kinds");
    for kind in ["flac", "mp3", "ogg", "mid"] {
        let from = format!("tests/data/free/own-cell.{kind}");
        std::fs::copy(from, desk.0.join(format!("own.{kind}"))).unwrap();
    }
    write_wav(&desk.0.join("own.wav"), &read_sound(&desk.0.join("own.flac")).unwrap()).unwrap();
    desk.done("analyse own.mid --instrument flute --musicxml own.musicxml");
    let written = notes_told(&desk.done("analyse own.mid --instrument flute"));
    assert_eq!((written.0.len() > 8, written.1), (true, 3), "{written:?}");
    for kind in ["wav", "flac", "mp3", "ogg", "musicxml"] {
        let told = notes_told(&desk.done(&format!("analyse own.{kind} --instrument flute")));
        assert_eq!(told, written, "{kind}");
    }
    // Its root cannot be known, and the player is asked for it.
    let (code, said) = desk.run("analyse own.flac --instrument flute --learn 1 --name six-to-turn");
    assert!(code == 2 && said.contains("Name its root with --key"), "{said}");
    let said = desk.done("analyse own.flac --instrument flute --learn 1 --name six-to-turn --key C");
    assert!(said.contains("1 4 3 6, 7, 5,") && said.contains("earfirst drill six-to-turn"), "{said}");
    // From now on it is one of the player's patterns, and no longer a line of no library.
    let said = desk.done("analyse own.mp3 --instrument flute").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("six to turn, three times") && !said.contains("Yours, and in no library"), "{said}");
    for key in ["in C at", "in Bb at", "in D at"] {
        assert!(said.contains(key), "{key} in {said}");
    }
}

#[test]
fn over_a_form_its_key_is_told_and_no_other_beside_it() {
    let desk = Desk::new("form-key");
    desk.done("patterns export diatonic-thirds-up --keys Bb --instrument piano --midi thirds.mid");
    let head = |line: &str| desk.done(line).split_whitespace().take(24).collect::<Vec<_>>().join(" ");
    assert!(head("analyse thirds.mid --instrument piano").contains("most of them in the scale of Bb major"));
    // Bb major is a scale that blues in D minor hold on IV; the key of the form stays D minor.
    let over = head("analyse thirds.mid --instrument piano --chart minor-blues --key D");
    assert!(over.contains("over a form in D minor") && !over.contains("Bb major"), "{over}");
}
