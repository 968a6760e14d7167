use std::sync::Arc;

use super::*;
use crate::room::Owner;
use crate::sound::{Clip, Partials, convolve, room_response};
use crate::units::SampleRate;
use crate::units::{A440, Hertz, Midi};

const RATE: SampleRate = SampleRate::CD;
/// The lead-in of the band.
const LEAD_IN: Seconds = Seconds(4.0);
/// Beats of the band, seconds.
const BEAT: f64 = 0.5;

fn draws() -> impl FnMut() -> f64 {
    let mut state = 11u64;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// A steady tone.
fn tone(midi: f64, gain: f64, length: Seconds) -> Vec<f32> {
    let pitch = Midi(midi).hertz(A440);
    let partials = Partials::mellow(pitch, RATE);
    let (count, scale) = (RATE.samples(length), gain / partials.peak());
    let wave = |n: usize| {
        let (t, left) = (n as f64 / RATE.per_second(), (count - n) as f64 / RATE.per_second());
        let shape = (t / 0.01).min(1.0) * (left / 0.02).min(1.0);
        (scale * shape * partials.value(pitch.0 * t)) as f32
    };
    (0..count).map(wave).collect()
}

fn mix(into: &mut [f32], at: Seconds, samples: &[f32]) {
    into.iter_mut().skip(RATE.samples(at)).zip(samples).for_each(|(into, sample)| *into += sample);
}

/// A bass in quarters and a chord of two tones on every other one.
fn band(length: Seconds) -> CueSound {
    let mut clip = Clip::silence(RATE, length);
    for n in 0..(length.0 / BEAT) as usize {
        let at = Seconds(n as f64 * BEAT);
        let root = 36.0 + [0.0, 7.0, 2.0, 9.0, 5.0, 0.0, 11.0, 4.0][n % 8];
        mix(&mut clip.samples, at, &tone(root, 0.1, Seconds(0.9 * BEAT)));
        if n % 2 == 0 {
            [16.0, 22.0].iter().for_each(|up| mix(&mut clip.samples, at, &tone(root + up, 0.1, Seconds(0.7 * BEAT))));
        }
    }
    let (beats, clicks, notes) = (Vec::new(), Vec::new(), Vec::new());
    CueSound { end: clip.length(), clip: Arc::new(clip), beat_zero: None, beats, clicks, notes }
}

/// The band in a microphone, its clock fast by so many millionths, its delay longer by `jump` from 7 s on.
fn through(sound: &CueSound, ppm: f64, jump: f64) -> Vec<f32> {
    let wet = convolve(&sound.clip.samples, &room_response(RATE, Seconds(0.3), Decibels(3.0), &mut draws()));
    let mut noise = draws();
    (0..sound.clip.samples.len())
        .map(|n| {
            let t = n as f64 / RATE.per_second();
            let late = 0.03 + if t > 7.0 { jump } else { 0.0 };
            let place = (t - late) * (1.0 + 1e-6 * ppm) * RATE.per_second();
            let (whole, part) = (place.floor(), place.rem_euclid(1.0) as f32);
            let at = |n: f64| if n >= 0.0 { wet.get(n as usize).copied().unwrap_or(0.0) } else { 0.0 };
            let [a, b, c, d] = [-1.0, 0.0, 1.0, 2.0].map(|by| at(whole + by));
            let bent =
                b + 0.5 * part * (c - a + part * (2.0 * a - 5.0 * b + 4.0 * c - d + part * (3.0 * (b - c) + d - a)));
            bent + 0.0005 * (noise() as f32 - 0.5)
        })
        .collect()
}

/// What the ear is given of `heard`, cut into parts of `block` samples. The band is told of after the first second.
fn cleaned(heard: &[f32], sound: &CueSound, echo: &mut Echo, block: usize) -> Vec<f32> {
    let (mut out, mut done) = (Vec::new(), 0);
    for part in heard.chunks(block) {
        if done == RATE.samples(Seconds(1.0)) {
            echo.band(sound, Placement::at(Seconds(0.0)), LEAD_IN);
        }
        let (mut part, at) = (part.to_vec(), RATE.seconds(done));
        done += part.len();
        echo.clean(&mut part, at);
        out.extend(part);
        assert_eq!(out.len() + echo.delayed(), done);
    }
    out
}

fn level(samples: &[f32], from: Seconds, to: Seconds) -> f64 {
    let part = &samples[RATE.samples(from)..RATE.samples(to)];
    10.0 * (part.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / part.len() as f64).log10()
}

#[test]
fn the_band_is_taken_out_and_a_tone_of_the_players_on_its_chord_is_left() {
    let sound = band(Seconds(12.0));
    let echo_alone = through(&sound, 60.0, 0.0);
    let mut heard = echo_alone.clone();
    // The player's tone has the band's own sound and stands exactly on a tone of its chords, as loud as the band.
    let own = tone(52.0, 0.2, Seconds(4.0));
    mix(&mut heard, Seconds(7.0), &own);
    let mut listener = Echo::new(RATE);
    let clean = cleaned(&heard, &sound, &mut listener, 441);
    assert_eq!(listener.learned().presence, Presence::Heard);
    let [before, after] = [&heard, &clean].map(|all| level(all, Seconds(5.0), Seconds(6.9)));
    assert!(after < before - 12.0, "{before:.1} dB to {after:.1} dB");
    // Three seconds of the tone have passed.
    let [wanted, kept] = [level(&own, Seconds(3.0), Seconds(3.8)), level(&clean, Seconds(10.0), Seconds(10.8))];
    assert!((kept - wanted).abs() < 6.0, "{wanted:.1} dB to {kept:.1} dB");
    let pace = listener.band_pace().map(|pace| 1e6 * pace);
    assert!(pace.is_some_and(|ppm| (ppm - 60.0).abs() < 5.0), "{pace:?}");
}

/// The player answers with tones of his own, as loud as the band, and the clock is found in spite of them, and of a jump of the delay.
#[test]
fn the_clock_of_the_loudspeaker_is_known_after_ten_seconds_while_the_player_plays() {
    let sound = band(Seconds(10.0));
    for (ppm, jump) in [(200.0, 0.0), (-150.0, 0.003)] {
        let mut heard = through(&sound, ppm, jump);
        for n in 0..14 {
            let midi = 58.0 + [0.0, 3.0, 7.0, 1.0, 10.0][n % 5];
            mix(&mut heard, Seconds(4.2 + 0.4 * n as f64), &tone(midi, 0.2, Seconds(0.35)));
        }
        let mut listener = Echo::new(RATE);
        cleaned(&heard, &sound, &mut listener, 441);
        let pace = listener.band_pace().map(|pace| 1e6 * pace);
        println!("{ppm} millionths: {pace:.1?}");
        assert!(pace.is_some_and(|found| (found - ppm).abs() < 5.0), "{ppm}: {pace:?}");
    }
}

/// How long after a jump the band is lower by ten decibels again over half a second.
fn followed_after(jump: f64) -> Option<Seconds> {
    let sound = band(Seconds(12.0));
    let heard = through(&sound, 0.0, jump);
    let clean = cleaned(&heard, &sound, &mut Echo::new(RATE), 441);
    let out = |from: f64| {
        let [before, after] = [&heard, &clean].map(|all| level(all, Seconds(from), Seconds(from + 0.5)));
        after < before - 10.0
    };
    (0..=30).map(|n| 7.0 + 0.1 * f64::from(n)).find(|from| out(*from)).map(|from| Seconds(from - 6.5))
}

/// Jumps of both signs, take by take; with `EARFIRST_LONGER` thirteen of them.
#[test]
fn a_delay_that_jumps_is_followed_within_a_second_and_a_half() {
    let longer = std::env::var_os("EARFIRST_LONGER").is_some();
    let all = [4.0, -2.5, 1.5, -6.5, 1.0, 2.0, 3.0, 5.5, 7.8, -1.2, -1.8, -3.5, -5.0];
    let jumps = &all[..if longer { all.len() } else { 3 }];
    let after: Vec<Option<f64>> = jumps.iter().map(|ms| followed_after(1e-3 * ms).map(|after| after.0)).collect();
    jumps.iter().zip(&after).for_each(|(ms, after)| println!("{ms} ms: {after:.1?} s"));
    assert!(after.iter().all(|after| after.is_some_and(|seconds| seconds < 1.5)), "{after:?}");
}

/// Nobody plays, and frames are lost in the middle: the tones that the band begins next are not taken for a player's.
#[test]
fn what_the_band_plays_after_its_delay_jumped_is_not_the_players() {
    let sound = band(Seconds(10.0));
    for jump in [4.0, -6.5] {
        let mut listener = Echo::new(RATE);
        let mut owners = Vec::new();
        for (n, part) in through(&sound, 0.0, 1e-3 * jump).chunks(441).enumerate() {
            if n == 100 {
                listener.band(&sound, Placement::at(Seconds(0.0)), LEAD_IN);
            }
            let mut part = part.to_vec();
            listener.clean(&mut part, RATE.seconds(441 * n));
            // Bass and chord of each beat from the jump on, an eighth of a second after they began.
            for (beat, bass) in (14..20).zip([11.0, 4.0, 0.0, 7.0, 2.0, 9.0]) {
                let begun = Seconds(f64::from(beat) * BEAT + 0.03);
                if n != ((begun.0 + 0.125) * 100.0) as usize {
                    continue;
                }
                let tones = if beat % 2 == 0 { vec![0.0, 16.0, 22.0] } else { vec![0.0] };
                let notes = tones.iter().map(|up| short_note(begun, 36.0 + bass + up));
                owners.extend(notes.map(|note| (jump, note.onset, note.pitch, listener.owner(&note, false, A440))));
            }
        }
        assert!(owners.iter().all(|it| it.3 != Owner::Player), "{owners:#?}");
    }
}

fn short_note(onset: Seconds, midi: f64) -> HeardNote {
    HeardNote {
        number: 0,
        onset,
        release: onset + Seconds(0.2),
        pitch: Midi(midi),
        spread: None,
        loudness: Decibels(-20.0),
        confidence: 1.0,
        announced: onset + Seconds(0.05),
        announced_pitch: Midi(midi),
    }
}

#[test]
fn the_same_samples_come_out_over_a_band_however_the_input_is_cut() {
    let sound = band(Seconds(6.0));
    let heard = through(&sound, 0.0, 0.0);
    let [one, other] = [150, 50].map(|block| cleaned(&heard, &sound, &mut Echo::new(RATE), block));
    let both = one.len().min(other.len());
    assert!(one[..both] == other[..both]);
}

#[test]
fn with_headphones_a_band_leaves_every_sample_as_it_was() {
    let sound = band(Seconds(6.0));
    let mut noise = draws();
    let mut heard: Vec<f32> = (0..sound.clip.samples.len()).map(|_| 0.0005 * (noise() as f32 - 0.5)).collect();
    mix(&mut heard, Seconds(4.5), &tone(60.0, 0.1, Seconds(1.0)));
    let mut listener = Echo::new(RATE);
    let clean = cleaned(&heard, &sound, &mut listener, 441);
    assert_eq!(listener.learned().presence, Presence::Absent);
    assert!(heard.iter().zip(&clean).all(|(heard, clean)| heard.to_bits() == clean.to_bits()));
}

#[test]
fn a_band_that_is_cut_off_leaves_no_sound_behind() {
    let sound = band(Seconds(10.0));
    let mut heard = through(&sound, 0.0, 0.0);
    let cut = RATE.samples(Seconds(7.0));
    heard[cut..].fill(0.0);
    let mut listener = Echo::new(RATE);
    let mut clean = Vec::new();
    for (n, part) in heard.chunks(441).enumerate() {
        match n {
            100 => listener.band(&sound, Placement::at(Seconds(0.0)), LEAD_IN),
            700 => listener.hush(),
            _ => {}
        }
        let mut part = part.to_vec();
        listener.clean(&mut part, RATE.seconds(441 * n));
        clean.extend(part);
    }
    let left = level(&clean, Seconds(8.0), Seconds(9.5));
    assert!(left < -80.0, "{left:.1} dB");
}

#[test]
fn a_note_is_told_from_the_band_by_what_sounds_beside_it() {
    let sound = band(Seconds(9.0));
    let mut heard = through(&sound, 0.0, 0.0);
    mix(&mut heard, Seconds(7.0), &tone(64.0, 0.2, Seconds(0.5)));
    let mut listener = Echo::new(RATE);
    let mut owners = Vec::new();
    for (n, part) in heard.chunks(441).enumerate() {
        if n == 100 {
            listener.band(&sound, Placement::at(Seconds(0.0)), LEAD_IN);
        }
        let mut part = part.to_vec();
        listener.clean(&mut part, RATE.seconds(441 * n));
        // The player's note, and a bass note of the band.
        for (at, midi) in [(7.0, 64.0), (6.5, 40.0)] {
            if n == (100.0 * at) as usize + 20 {
                let note = short_note(Seconds(at), midi);
                owners.push(listener.owner(&note, false, Hertz(440.0)));
            }
        }
    }
    assert_eq!(owners, [Owner::Ours, Owner::Player]);
}
