//! Sixty-four bars of the band with a change of key, as a player writes them into a file: pitch, time and form, measured from the sound.

use crate::band_heard::{BandHeard, TEMPO, chart};
use crate::desk::Desk;

/// Two choruses of thirty-two bars, in C and in F, with these parts.
fn sounded(desk: &Desk, parts: &str) -> BandHeard {
    let file = desk.file("chart.txt", chart(32).as_bytes());
    desk.done(&format!(
        "charts sound {file} --key C --concert --moves fourths --choruses 2 --tempo {TEMPO} --seed 4 {parts} --wav out.wav"
    ));
    let wav = hound::WavReader::open(desk.0.join("out.wav")).unwrap();
    let spec = wav.spec();
    let samples: Vec<f32> = match spec.sample_format {
        hound::SampleFormat::Float => wav.into_samples::<f32>().map(Result::unwrap).collect(),
        hound::SampleFormat::Int => {
            let full = f64::from(1u32 << (spec.bits_per_sample - 1));
            wav.into_samples::<i32>().map(|sample| (f64::from(sample.unwrap()) / full) as f32).collect()
        }
    };
    assert_eq!(spec.channels, 1);
    BandHeard { rate: f64::from(spec.sample_rate), samples, begins: 0.0 }
}

#[test]
fn bass_and_chords_keep_pitch_time_and_form_over_sixty_four_bars_and_a_change_of_key() {
    let desk = Desk::new("sixty-four-bars");
    let low = sounded(&desk, "--bass walking --no-chords --pulse click").bass_over(32, 2);
    let chords = sounded(&desk, "--bass none --pulse click").chords_over(32, 2);
    println!("bass {low:?}, chords {chords:?}");
    for off in [low, chords] {
        assert!(off.bars == 64 && off.wrong.is_empty() && off.cents < 1.0 && off.ms < 1.0, "{off:?}");
    }
}
