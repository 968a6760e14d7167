//! The sound of a cue is measured: pitch, order, time, level, and that no edge clicks.

use std::f64::consts::TAU;

use earfirst::outside::cue::{Cue, CueSound, Form, Loudness, Rendering, Timing, sound};
use earfirst::outside::music::{Concert, ConcertKey, Range};
use earfirst::outside::pattern::{Library, Register, realise};
use earfirst::outside::units::{A440, Decibels, Hertz, Midi, SampleRate, Seconds, Tempo};
use pitch_detection::detector::PitchDetector;
use pitch_detection::detector::yin::YINDetector;

use crate::asking::cue;

const RATES: [SampleRate; 2] = [SampleRate::CD, SampleRate::DEVICE];

/// The frequency of a tone from its phase in two Hann windows, measured without the program's ear and synthesis.
fn by_phase(samples: &[f32], rate: SampleRate, near: Hertz) -> f64 {
    let half = samples.len() / 2;
    let look = |from: usize| {
        let (mut re, mut im) = (0.0, 0.0);
        for index in 0..half {
            let window = 0.5 - 0.5 * (TAU * index as f64 / half as f64).cos();
            let turn = TAU * near.0 * (from + index) as f64 / rate.per_second();
            re += window * f64::from(samples[from + index]) * turn.cos();
            im -= window * f64::from(samples[from + index]) * turn.sin();
        }
        im.atan2(re)
    };
    let turned = (look(half) - look(0)) / TAU;
    near.0 + (turned - turned.round()) * rate.per_second() / half as f64
}

fn part(sounded: &CueSound, from: f64, to: f64) -> &[f32] {
    let rate = sounded.clip.rate;
    &sounded.clip.samples[rate.samples(Seconds(from))..rate.samples(Seconds(to))]
}

fn cents(hz: f64, pitch: Midi, a4: Hertz) -> f64 {
    1200.0 * (hz / pitch.hertz(a4).0).log2()
}

fn in_tempo(pitches: &[i32]) -> Cue {
    cue(pitches, 60.0, Form::Pattern, Timing::InTempo)
}

#[test]
fn every_note_of_the_cue_is_within_a_cent_in_its_order_at_its_time() {
    let pitches = [28, 40, 52, 60, 67, 69, 76, 84, 96];
    for rate in RATES {
        for a4 in [Hertz(415.0), A440, Hertz(466.0)] {
            let sounded = sound(&in_tempo(&pitches), &Rendering { a4, ..Rendering::new(rate) });
            assert_eq!(sounded.notes.len(), pitches.len());
            for (index, (note, pitch)) in sounded.notes.iter().zip(pitches).enumerate() {
                assert_eq!(note.pitch, Midi(f64::from(pitch)));
                assert!((note.at.0 - 0.5 * index as f64).abs() < 1e-9);
                let middle = part(&sounded, note.at.0 + 0.06, note.until.0 - 0.02);
                let off = cents(by_phase(middle, rate, note.pitch.hertz(a4)), note.pitch, a4);
                assert!(off.abs() < 1.0, "{pitch}: {off} cents");
            }
        }
    }
}

#[test]
fn an_outside_tracker_hears_the_same_pitches() {
    // pitch-detection's YIN (de Cheveigne and Kawahara, JASA 111, 2002).
    let pitches = [45, 52, 60, 67, 69, 76];
    let sounded = sound(&in_tempo(&pitches), &Rendering::new(SampleRate::DEVICE));
    for note in &sounded.notes {
        let middle = part(&sounded, note.at.0 + 0.1, note.at.0 + 0.1 + 4096.0 / 48_000.0);
        let heard = YINDetector::new(middle.len(), middle.len() / 2).get_pitch(middle, 48_000, 0.0, 0.3);
        let off = cents(f64::from(heard.expect("a tone").frequency), note.pitch, A440);
        assert!(off.abs() < 8.0, "{}: {off} cents", note.pitch.0);
    }
}

#[test]
fn a_cue_peaks_at_minus_twelve_in_every_form() {
    for rate in RATES {
        for form in Form::ALL {
            for count_in in [false, true] {
                let asked = Cue { click: count_in, ..cue(&[60, 64, 67, 72], 96.0, form, Timing::InTempo) };
                let sounded = sound(&asked, &Rendering { count_in, ..Rendering::new(rate) });
                assert!((sounded.clip.peak().0 + 12.0).abs() < 0.1, "{form:?}: {:?}", sounded.clip.peak());
            }
        }
    }
}

#[test]
fn the_first_cue_ever_is_sounded_at_minus_thirty() {
    let level = Loudness::first().step();
    let asked = cue(&[60], 96.0, Form::FirstNote, Timing::Free);
    let sounded = sound(&asked, &Rendering { level, ..Rendering::new(SampleRate::DEVICE) });
    assert!((sounded.clip.peak().0 + 30.0).abs() < 0.1);
}

#[test]
fn the_end_of_a_cue_is_known_to_the_sample() {
    for rate in RATES {
        let asked = cue(&[60, 62, 64, 65, 67, 65, 64, 62], 100.0, Form::Pattern, Timing::Free);
        let sounded = sound(&asked, &Rendering::new(rate));
        // Eight eighths at 100 last 2.4 s (30000 / bpm milliseconds each).
        let end = rate.samples(Seconds(2.4));
        assert_eq!(rate.samples(sounded.end), end);
        // Full sound until there, then the fall, and not a sample more.
        let turn = rate.samples(Seconds(0.004));
        assert!(sounded.clip.mean(end - turn, end).0 > sounded.clip.mean(end - 10 * turn, end - 9 * turn).0 - 2.0);
        assert_eq!(sounded.clip.samples.len(), end + rate.samples(Seconds(0.03)));
        assert!(sounded.clip.mean(sounded.clip.samples.len() - 20, sounded.clip.samples.len()).0 < -70.0);
    }
}

#[test]
fn an_answer_in_tempo_is_due_on_the_next_bar_after_a_bar_counted_in() {
    let counted = Rendering { count_in: true, ..Rendering::new(SampleRate::DEVICE) };
    // Five eighths at 120: a bar of four, counted in 2 s, then one bar of 2 s.
    let sounded = sound(&cue(&[60, 62, 64, 65, 67], 120.0, Form::Pattern, Timing::InTempo), &counted);
    assert_eq!(sounded.beats, [0.0, 0.5, 1.0, 1.5].map(Seconds));
    assert!((sounded.notes[0].at.0 - 2.0).abs() < 1e-9);
    assert!((sounded.end.0 - 3.25).abs() < 1e-4);
    assert_eq!(sounded.beat_zero, Some(Seconds(4.0)));
    // Nine eighths reach into a second bar.
    let nine = sound(&cue(&[60, 62, 64, 65, 67, 65, 64, 62, 60], 120.0, Form::Pattern, Timing::InTempo), &counted);
    assert_eq!(nine.beat_zero, Some(Seconds(6.0)));
    // Free answers have no beat to be due on.
    assert_eq!(sound(&cue(&[60], 120.0, Form::FirstNote, Timing::Free), &counted).beat_zero, None);
}

#[test]
fn the_click_goes_on_through_the_answer_only_where_asked() {
    let rendering = Rendering { count_in: true, ..Rendering::new(SampleRate::DEVICE) };
    let asked = cue(&[60, 62, 64, 65], 120.0, Form::Pattern, Timing::InTempo);
    assert_eq!(sound(&asked, &rendering).clicks.len(), 4);
    let clicked = sound(&Cue { click: true, ..asked }, &rendering);
    assert_eq!(clicked.clicks.len(), 4 + 4 + 4 + 1);
    assert_eq!(clicked.beats.len(), 4);
}

#[test]
fn no_note_begins_or_ends_with_a_click() {
    // Low tones have nothing above 7 kHz; a step would spread there. Measured against the note's own level.
    for form in Form::ALL.into_iter().filter(|form| *form != Form::NameOnly) {
        let sounded =
            sound(&cue(&[48, 52, 55, 55, 60], 120.0, form, Timing::Free), &Rendering::new(SampleRate::DEVICE));
        let samples = &sounded.clip.samples;
        // Sixth differences are a steep high-pass: 1 at a third of 7 kHz' octave, 64 at half the rate, .04 at 2 kHz.
        let mut bent: Vec<f64> = std::iter::repeat_n(0.0, 8).chain(samples.iter().map(|s| f64::from(*s))).collect();
        bent.extend([0.0; 8]);
        for _ in 0..6 {
            bent = bent.windows(2).map(|pair| pair[1] - pair[0]).collect();
        }
        let worst = bent.iter().fold(0.0f64, |top, s| top.max(s.abs())) / 64.0;
        assert!(Decibels::of_amplitude(worst).0 < -12.0 - 60.0, "{form:?}: {:?}", Decibels::of_amplitude(worst));
        assert!(samples[0].abs() < 1e-5);
    }
}

#[test]
fn a_chord_is_struck_or_rolled_and_ends_together() {
    let asked = cue(&[60, 64, 67], 90.0, Form::Chord, Timing::Free);
    let struck = sound(&asked, &Rendering::new(SampleRate::DEVICE));
    let rolled = sound(&asked, &Rendering { rolled: true, ..Rendering::new(SampleRate::DEVICE) });
    assert!(struck.notes.iter().all(|note| note.at == Seconds(0.0)));
    assert!(rolled.notes.windows(2).all(|pair| pair[0].at < pair[1].at));
    assert!(rolled.notes.iter().all(|note| note.until == rolled.notes[0].until));
    assert_eq!(struck.end, rolled.end);
}

#[test]
fn a_low_cue_can_sound_an_octave_up() {
    let asked = cue(&[34, 38, 41], 90.0, Form::Pattern, Timing::Free);
    let up = sound(&asked, &Rendering { octave_up: true, ..Rendering::new(SampleRate::DEVICE) });
    let heard: Vec<f64> = up.notes.iter().map(|note| note.pitch.0).collect();
    assert_eq!(heard, [46.0, 50.0, 53.0]);
}

#[test]
fn in_tempo_a_pick_up_stands_before_the_bar_line_of_the_count() {
    let pattern = Library::builtin().find("ii-v-i-from-a-three-note-pick-up").unwrap();
    let range = Range { low: Concert(48), high: Concert(84) };
    let line = realise(pattern, ConcertKey::FIFTHS[0], None, range, Register::Middle).unwrap();
    let free = Cue::new(pattern, ConcertKey::FIFTHS[0], Register::Middle, Tempo(60.0), line);
    let cue = Cue { timing: Timing::InTempo, ..free.clone() }.with_pickup(pattern.pickup());
    // The pick-up is three eighths, swung two to one at this tempo: it begins with the second half of the third beat and leads to
    // the first beat of the next bar.
    let places: Vec<f64> = cue.line.notes[..4].iter().map(|note| (note.at.0 * 3.0).round()).collect();
    assert_eq!(places, [8.0, 9.0, 11.0, 12.0], "in thirds of a beat");
    let sounded = sound(&cue, &Rendering { count_in: true, ..Rendering::new(SampleRate::CD) });
    assert!((sounded.notes[3].at.0 - 8.0).abs() < 1e-9, "a bar counted in, the pick-up's bar, then the first beat");
    // The pick-up's bar and two of the phrase, then the answer on the next bar.
    assert!((sounded.beat_zero.unwrap().0 - 16.0).abs() < 1e-9, "{:?}", sounded.beat_zero);
    assert_eq!(free.clone().with_pickup(pattern.pickup()), free, "answered freely nothing waits for a bar");
}

#[test]
fn a_bar_is_counted_in_as_its_meter_has_it_and_the_answer_begins_on_a_bar() {
    // Three beats in 3/4, two dotted quarters in 6/8 (common practice); a quarter lasts a second here.
    for (id, clicks) in [
        ("major-scale-up", vec![0.0, 1.0, 2.0, 3.0]),
        ("major-scale-in-three", vec![0.0, 1.0, 2.0]),
        ("major-scale-in-six-eight", vec![0.0, 1.5]),
    ] {
        let pattern = Library::builtin().find(id).unwrap();
        let range = Range { low: Concert(48), high: Concert(84) };
        let line = realise(pattern, ConcertKey::FIFTHS[0], None, range, Register::Middle).unwrap();
        let free = Cue::new(pattern, ConcertKey::FIFTHS[0], Register::Middle, Tempo(60.0), line);
        let cue = Cue { timing: Timing::InTempo, ..free };
        let sounded = sound(&cue, &Rendering { count_in: true, ..Rendering::new(SampleRate::CD) });
        let counted: Vec<f64> = sounded.beats.iter().map(|click| click.0).collect();
        assert_eq!(counted, clicks, "{id}");
        let bar = pattern.meter().bar().0;
        assert!((sounded.notes[0].at.0 - bar).abs() < 1e-9, "{id}: a bar is counted in");
        let zero = sounded.beat_zero.unwrap().0;
        assert!(
            (zero / bar - (zero / bar).round()).abs() < 1e-9 && zero >= sounded.notes.last().unwrap().until.0,
            "{id}"
        );
    }
    let six = Library::builtin().find("six-eight-from-a-pick-up").unwrap();
    let range = Range { low: Concert(48), high: Concert(84) };
    let line = realise(six, ConcertKey::FIFTHS[0], None, range, Register::Middle).unwrap();
    let free = Cue::new(six, ConcertKey::FIFTHS[0], Register::Middle, Tempo(60.0), line);
    let cue = Cue { timing: Timing::InTempo, ..free }.with_pickup(six.pickup());
    assert_eq!(
        cue.line.notes[..2].iter().map(|note| note.at.0).collect::<Vec<_>>(),
        [2.5, 3.0],
        "an eighth before the bar"
    );
}
