use super::made::{all_said, assert_pitches, heard, line, noise, note, rate, tone};
use earfirst::outside::notes::{Ear, NoteEvent};
use earfirst::outside::sound::Clip;
use earfirst::outside::units::{SampleRate, Seconds};

const RATE: SampleRate = SampleRate::CD;

#[test]
fn a_tongued_scale_is_heard_note_by_note_where_it_was_played() {
    let scale = [60.0, 62.0, 64.0, 65.0, 67.0, 69.0, 71.0, 72.0];
    let notes = heard(&line(RATE, &scale.map(|m| note(RATE, m, 0.16)), 0.04));
    assert_pitches(&notes, &scale, 3.0);
    for (i, heard) in notes.iter().enumerate() {
        let played = 0.3 + 0.2 * i as f64;
        assert!((heard.onset.0 - played).abs() < 0.01, "note {i} at {:?}", heard.onset);
    }
}

#[test]
fn a_slurred_line_has_no_gap_and_still_every_note() {
    let steps = [60.0, 61.0, 62.0, 64.0, 60.0];
    let sound = tone(RATE, 1.0, |t| steps[((t / 0.2) as usize).min(4)], |_| 1.0);
    let notes = heard(&line(RATE, &[sound], 0.1));
    assert_pitches(&notes, &steps, 3.0);
    for (i, heard) in notes.iter().enumerate() {
        assert!((heard.onset.0 - 0.3 - 0.2 * i as f64).abs() < 0.008, "note {i} at {:?}", heard.onset);
    }
}

#[test]
fn a_repeated_note_is_as_many_notes_as_were_tongued() {
    let notes = heard(&line(RATE, &[62.0, 62.0, 62.0, 62.0].map(|m| note(RATE, m, 0.18)), 0.03));
    assert_pitches(&notes, &[62.0; 4], 3.0);
}

/// A plucked string that is left to ring. It has eight partials, of which the higher ones die sooner; the lowest falls by 12 dB in a
/// quarter of a second. Where strings ring on louder than that, the ear hears fewer of the new notes.
fn plucked(midi: f64) -> Vec<f64> {
    let (hz, count) = (440.0 * ((midi - 69.0) / 12.0).exp2(), RATE.samples(Seconds(2.0)));
    let at = |n: usize| {
        let t = n as f64 / RATE.per_second();
        let partial = |k: f64| (-t * (3.9 + 1.65 * k)).exp() * (std::f64::consts::TAU * hz * k * t).sin() / k;
        0.15 * (t / 0.003).min(1.0) * (1..=8).map(f64::from).map(partial).sum::<f64>()
    };
    (0..count).map(at).collect()
}

#[test]
fn while_old_strings_ring_the_last_new_note_wins() {
    // Chords of E major and A minor, one string after the other, none damped (a guitar as it sounds).
    for chord in [[52.0, 56.0, 59.0, 64.0, 68.0], [45.0, 52.0, 57.0, 60.0, 64.0]] {
        let mut sound = vec![0.0; RATE.samples(Seconds(3.0))];
        for (n, midi) in chord.into_iter().enumerate() {
            let from = RATE.samples(Seconds(0.3 + 0.25 * n as f64));
            sound[from..].iter_mut().zip(plucked(midi)).for_each(|(sum, sample)| *sum += sample);
        }
        let notes = heard(&Clip { rate: RATE, samples: sound.iter().map(|s| *s as f32).collect() });
        assert_pitches(&notes, &chord, 30.0);
        for (n, heard) in notes.iter().enumerate() {
            assert!((heard.onset.0 - 0.3 - 0.25 * n as f64).abs() < 0.02, "string {n} at {:?}", heard.onset);
        }
    }
}

#[test]
fn a_string_plucked_again_while_it_is_being_damped_is_every_pluck_a_note() {
    // There are ten plucks a second, in the bass and in the treble. The finger stills the string over 10 ms, and halfway through that
    // the next pluck sounds.
    for midi in [40.0, 52.0, 69.0, 76.0, 83.0, 88.0] {
        let (mut sound, stopped) = (vec![0.0; RATE.samples(Seconds(2.0))], RATE.samples(Seconds(0.105)));
        for n in 0..8 {
            let from = RATE.samples(Seconds(0.3 + 0.1 * f64::from(n)));
            for (i, sample) in plucked(midi).into_iter().take(stopped).enumerate() {
                sound[from + i] += sample * ((stopped - i) as f64 / RATE.samples(Seconds(0.01)) as f64).min(1.0);
            }
        }
        let notes = heard(&Clip { rate: RATE, samples: sound.iter().map(|s| *s as f32).collect() });
        assert_pitches(&notes, &[midi; 8], 10.0);
        for (n, heard) in notes.iter().enumerate() {
            assert!((heard.onset.0 - 0.3 - 0.1 * n as f64).abs() < 0.02, "pluck {n} of {midi} at {:?}", heard.onset);
        }
    }
}

#[test]
fn a_fingernail_on_a_ringing_string_plucks_nothing() {
    // A string rings on. Every tenth of a second something clicks, 30 dB softer than the string, and the string rings on as before.
    for midi in [52.0, 64.0, 76.0, 88.0] {
        let mut sound = vec![0.0; RATE.samples(Seconds(0.3))];
        sound.extend(plucked(midi));
        for (n, click) in noise(8 * 256, 5).chunks(256).enumerate() {
            let from = RATE.samples(Seconds(0.5 + 0.1 * n as f64));
            for (i, sample) in click.iter().enumerate() {
                sound[from + i] += 0.01 * f64::from(*sample) * (-(i as f64) / 44.0).exp();
            }
        }
        let notes = heard(&Clip { rate: RATE, samples: sound.iter().map(|s| *s as f32).collect() });
        assert_pitches(&notes, &[midi], 10.0);
    }
}

#[test]
fn a_string_hammered_on_or_pulled_off_is_a_note_of_its_own() {
    // One pluck, then the finger alone: the pitch steps, the sound dies on, nothing is struck again.
    let pitches = [57.0, 59.0, 57.0, 60.0];
    let step = |t: f64| pitches[((t / 0.2) as usize).min(3)];
    let notes = heard(&line(RATE, &[tone(RATE, 0.8, step, |t| (-1.5 * t).exp())], 0.1));
    assert_pitches(&notes, &pitches, 5.0);
}

#[test]
fn a_swell_is_one_note() {
    let sound = tone(RATE, 1.5, |_| 55.0, |t| 0.15 + 0.85 * (std::f64::consts::PI * t / 1.5).sin());
    assert_pitches(&heard(&line(RATE, &[sound], 0.1)), &[55.0], 2.0);
}

#[test]
fn a_note_held_to_the_end_of_the_recording_ends_with_it() {
    let mut clip = line(RATE, &[note(RATE, 64.0, 1.0)], 0.0);
    clip.samples.truncate(RATE.samples(earfirst::outside::units::Seconds(1.0)));
    let notes = heard(&clip);
    assert_pitches(&notes, &[64.0], 2.0);
    assert!((notes[0].release.0 - 1.0).abs() < 0.01);
}

#[test]
fn sound_cut_at_the_moment_a_note_was_told_still_gives_the_note() {
    let clip = line(RATE, &[60.0, 67.0, 67.0, 52.0].map(|m| note(RATE, m, 0.2)), 0.03);
    let (_, told) = all_said(&clip, 512);
    let began: Vec<_> = told.iter().filter(|t| matches!(t, NoteEvent::On(_))).map(|t| *t.note()).collect();
    assert_eq!(began.len(), 4);
    for first in began {
        let mut ear = Ear::new(&super::made::settings(RATE));
        let mut said = Vec::new();
        ear.hear(&clip.samples[..RATE.samples(first.announced)], &mut |_| (), &mut |t| said.push(*t));
        assert!(said.iter().any(|t| matches!(t, NoteEvent::On(n) if *n == first)), "{first:?}");
    }
}

#[test]
fn every_note_begins_once_and_ends_once_in_that_order() {
    let clip = line(RATE, &[60.0, 62.0, 62.0, 64.0].map(|m| note(RATE, m, 0.15)), 0.02);
    let (_, told) = all_said(&clip, 441);
    for number in 0..4 {
        let of_it: Vec<_> = told.iter().filter(|t| t.note().number == number).collect();
        assert!(matches!(of_it.first(), Some(NoteEvent::On(_))), "{number}");
        assert!(matches!(of_it.last(), Some(NoteEvent::Off(_))), "{number}");
        assert_eq!(of_it.iter().filter(|t| matches!(t, NoteEvent::Off(_))).count(), 1);
    }
    assert_eq!(told.iter().filter(|t| matches!(t, NoteEvent::On(_))).count(), 4);
}

#[test]
fn a_note_that_was_sounding_before_the_microphone_opened_is_heard() {
    let mut clip = line(rate(48_000), &[note(rate(48_000), 58.0, 0.8)], 0.1);
    clip.samples.drain(..rate(48_000).samples(earfirst::outside::units::Seconds(0.4)));
    assert_pitches(&heard(&clip), &[58.0], 2.0);
}
