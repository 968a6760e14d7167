use super::made::{assert_pitches, heard, line, note, rate, tone};
use earfirst::units::{A440, Midi, median};
use pitch_detection::detector::PitchDetector;
use pitch_detection::detector::yin::YINDetector;

#[test]
fn a_tone_from_the_lowest_bass_to_the_top_of_the_piano_is_heard_to_a_cent_at_every_rate() {
    for hz in [8000, 16_000, 22_050, 44_100, 48_000, 96_000, 192_000] {
        for midi in [21.3, 28.0, 40.0, 52.4, 60.0, 69.0, 69.43, 76.2, 84.0, 88.77, 96.0, 105.0, 108.0] {
            let f = Midi(midi).hertz(A440).0;
            if f > 0.2 * f64::from(hz) {
                continue; // fewer than five samples a period: the band does not allow it
            }
            let notes = heard(&line(rate(hz), &[note(rate(hz), midi, 0.5)], 0.1));
            assert_eq!(notes.len(), 1, "{hz} Hz, {midi}: {notes:?}");
            let off = (notes[0].pitch.0 - midi).abs() * 100.0;
            assert!(off < 1.0, "{hz} Hz, {midi}: {off} cents off");
            assert!((notes[0].onset.0 - 0.3).abs() < 0.012, "{hz} Hz, {midi}: {:?}", notes[0].onset);
        }
    }
}

#[test]
fn a_vibrato_of_fifty_cents_is_one_note_at_its_centre() {
    let clip = line(
        rate(44_100),
        &[tone(rate(44_100), 1.6, |t| 69.0 + 0.5 * (std::f64::consts::TAU * 6.0 * t).sin(), |_| 1.0)],
        0.1,
    );
    assert_pitches(&heard(&clip), &[69.0], 2.0);
}

#[test]
fn a_scoop_belongs_to_the_note_it_leads_to() {
    let clip = line(rate(44_100), &[tone(rate(44_100), 0.5, |t| 65.0 - 0.8 * (-t / 0.02).exp(), |_| 1.0)], 0.1);
    let notes = heard(&clip);
    assert_pitches(&notes, &[65.0], 3.0);
    assert!((notes[0].onset.0 - 0.3).abs() < 0.01);
}

#[test]
fn an_independent_detector_hears_the_same_pitch() {
    // YIN of the pitch-detection crate (de Cheveigne and Kawahara, 2002).
    for midi in [45.1, 57.0, 66.6, 74.2] {
        let clip = line(rate(44_100), &[note(rate(44_100), midi, 0.6)], 0.1);
        let notes = heard(&clip);
        let mut yin = YINDetector::new(2048, 1024);
        let pitches: Vec<f64> = (0..8)
            .filter_map(|i| yin.get_pitch(&clip.samples[16_000 + 1024 * i..][..2048], 44_100, 0.0, 0.8))
            .map(|p| 69.0 + 12.0 * (f64::from(p.frequency) / 440.0).log2())
            .collect();
        let theirs = median(&pitches).unwrap();
        assert_eq!(notes.len(), 1);
        assert!((notes[0].pitch.0 - theirs).abs() < 0.03, "{:?} and {theirs}", notes[0].pitch);
        assert!(notes[0].confidence > 0.8);
    }
}
