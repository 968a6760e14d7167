use super::made::{assert_pitches, heard, line, note, rate, tone};
use earfirst::outside::units::{A440, Midi, median};
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

#[test]
fn a_slur_down_an_octave_is_two_notes() {
    let sound = tone(rate(44_100), 0.3, |t| if t < 0.12 { 84.0 } else { 72.0 }, |_| 1.0);
    assert_pitches(&heard(&line(rate(44_100), &[sound], 0.1)), &[84.0, 72.0], 5.0);
}

/// Notes of 75 ms with the octave below mixed in, at a share of their level.
fn with_the_octave_below(midi: f64, share: impl Fn(f64) -> f64) -> Vec<f32> {
    let rate = rate(44_100);
    let mut note = note(rate, midi, 0.075);
    note.iter_mut().zip(tone(rate, 0.075, |_| midi - 12.0, share)).for_each(|(sum, low)| *sum += low);
    note
}

#[test]
fn a_short_note_that_speaks_an_octave_low_at_first_is_the_note_it_comes_to() {
    // A saxophone's upper register speaks the octave below first, and does not quite lose it (common practice).
    for (midi, low) in [70.0, 74.0, 78.0].into_iter().flat_map(|midi| [1.0, 1.5, 2.0].map(|low| (midi, low))) {
        let note = with_the_octave_below(midi, |t| 0.2 + low * (-(t / 0.018).powi(2)).exp());
        assert_pitches(&heard(&line(rate(44_100), &vec![note; 4], 0.005)), &[midi; 4], 20.0);
    }
}

#[test]
fn a_short_low_note_that_brightens_stays_the_note_it_was() {
    for (midi, low) in [70.0, 74.0, 78.0].into_iter().flat_map(|midi| [1.0, 1.5, 2.0].map(|low| (midi, low))) {
        let note = with_the_octave_below(midi, |t| 0.4 + low * (-(t / 0.018).powi(2)).exp());
        assert_pitches(&heard(&line(rate(44_100), &vec![note; 4], 0.005)), &[midi - 12.0; 4], 20.0);
    }
}
