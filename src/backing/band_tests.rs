//! The band's sound, measured from its samples: onsets, pitch, level, swing, and that the size of the blocks changes nothing.

use crate::backing::plan::{BandNote, BandSound};
use crate::backing::{BackingBand, BandWish, BassLine, CEILING, TimeKeeping};
use crate::chart::{ChordChart, Chorus, Forms};
use crate::music::PitchClass;
use crate::units::{A440, Decibels, SampleRate, Tempo};

fn draws(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed | 1;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn form(id: &str) -> Chorus {
    Forms::builtin().find(id).unwrap().in_key(PitchClass::new(0), false).chorus()
}

/// The sound of a band to its end, and its notes.
fn sound(form: &Chorus, wish: &BandWish, blocks: &[usize]) -> (Vec<f32>, Vec<BandNote>) {
    let mut band = BackingBand::new(vec![form.clone()], wish, draws(11)).unwrap();
    let length = band.length().unwrap() as usize;
    let mut all = vec![0.0f32; length];
    let mut notes = Vec::new();
    let mut at = 0;
    for block in blocks.iter().cycle() {
        if at >= length {
            break;
        }
        let to = (at + block).min(length);
        notes.extend(band.read(&mut all[at..to]));
        at = to;
    }
    (all, notes)
}

fn alone(tempo: f64, rate: SampleRate) -> BandWish {
    BandWish { bass: None, chords: false, pulse: None, choruses: Some(1), ..BandWish::new(Tempo(tempo), rate) }
}

#[test]
fn the_blocks_in_which_it_is_read_make_no_difference() {
    let wish = BandWish { choruses: Some(1), ..BandWish::new(Tempo(240.0), SampleRate::DEVICE) };
    let form = form("turnaround-vi7");
    let (whole, notes) = sound(&form, &wish, &[1 << 20]);
    for blocks in [&[1024][..], &[441, 1, 4097, 64]] {
        let (parts, same) = sound(&form, &wish, blocks);
        assert!(parts == whole, "{blocks:?}");
        assert_eq!(same, notes);
    }
}

#[test]
fn beats_are_exact_to_the_sample_for_as_long_as_it_plays() {
    // A click on beats 2 and 4: its first sample is the first that is not zero after silence. 137 divides no rate.
    for (tempo, rate) in [(137.0, SampleRate::CD), (40.0, SampleRate::DEVICE), (300.0, SampleRate::DEVICE)] {
        let wish = BandWish { pulse: Some(TimeKeeping::Click), choruses: Some(3), ..alone(tempo, rate) };
        let (samples, _) = sound(&form("blues"), &wish, &[48_000]);
        let quiet = rate.samples(crate::units::Seconds(0.02));
        let mut silent = quiet;
        let mut onsets = Vec::new();
        for (n, sample) in samples.iter().enumerate() {
            if *sample != 0.0 && silent >= quiet {
                onsets.push(n);
            }
            silent = if *sample == 0.0 { silent + 1 } else { 0 };
        }
        let counted = [0.0, 2.0, 4.0, 5.0, 6.0, 7.0].into_iter();
        let light = (0..3 * 48).filter(|beat| beat % 2 == 1).map(|beat| 8.0 + f64::from(beat));
        let expected: Vec<usize> =
            counted.chain(light).map(|beat| (beat * 60.0 / tempo * rate.per_second()).round() as usize).collect();
        assert_eq!(onsets, expected, "{tempo}");
    }
}

#[test]
fn the_bass_is_within_a_cent_of_equal_temperament() {
    // The frequency is measured from the phase of the fundamental in two windows, independently of the synthesis.
    let rate = SampleRate::DEVICE;
    let wish = BandWish { bass: Some(BassLine::Walking), choruses: Some(2), ..alone(60.0, rate) };
    let (samples, notes) = sound(&form("blues-vi7"), &wish, &[48_000]);
    let mut worst = 0.0f64;
    let mut heard = std::collections::BTreeSet::new();
    for note in &notes {
        let BandSound::Bass(pitch) = note.sound else { continue };
        if !heard.insert(pitch) {
            continue;
        }
        let asked = 440.0 * ((f64::from(pitch.0) - 69.0) / 12.0).exp2();
        let (window, hop) = (16_384usize, 8_192usize);
        let phase = |from: usize| {
            let (mut re, mut im) = (0.0, 0.0);
            for n in 0..window {
                let hann = 0.5 - 0.5 * (std::f64::consts::TAU * n as f64 / window as f64).cos();
                let turn = std::f64::consts::TAU * asked * (from + n) as f64 / rate.per_second();
                re += hann * f64::from(samples[from + n]) * turn.cos();
                im += hann * f64::from(samples[from + n]) * turn.sin();
            }
            im.atan2(re)
        };
        let from = note.at.0 as usize + 4_800;
        let turned = phase(from) - phase(from + hop);
        let turned = (turned + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU) - std::f64::consts::PI;
        let hz = asked + turned / std::f64::consts::TAU * rate.per_second() / hop as f64;
        worst = worst.max((1200.0 * (hz / asked).log2()).abs());
    }
    assert!(heard.len() > 12 && worst < 1.0, "{worst} cents, {} pitches", heard.len());
    assert_eq!(wish.a4, A440);
}

/// Where chords begin, from the sound alone: after silence.
fn onsets(samples: &[f32], rate: SampleRate) -> Vec<f64> {
    let quiet = rate.samples(crate::units::Seconds(0.004));
    let mut silent = quiet;
    let mut found = Vec::new();
    for (n, sample) in samples.iter().enumerate() {
        if sample.abs() > 1e-7 && silent >= quiet {
            found.push(n as f64 / rate.per_second());
        }
        silent = if sample.abs() > 1e-7 { 0 } else { silent + 1 };
    }
    found
}

#[test]
fn off_beats_swing_as_the_tempo_has_it() {
    // Friberg & Sundström 2002: long to short falls with the tempo to even eighths; two to one up to 120 is common practice.
    for (tempo, ratio) in [(90.0, 2.0), (120.0, 2.0), (210.0, 1.5), (300.0, 1.0)] {
        let rate = SampleRate::DEVICE;
        let wish = BandWish { chords: true, choruses: Some(4), ..alone(tempo, rate) };
        let (samples, _) = sound(&form("turnaround-vi7"), &wish, &[48_000]);
        let beat = 60.0 / tempo;
        let from = 8.0 * beat;
        let mut off = 0;
        for at in onsets(&samples, rate).into_iter().filter(|at| *at > from - 0.01) {
            let share = ((at - from) / beat).rem_euclid(1.0);
            if share > 0.02 && share < 0.98 {
                let measured = share / (1.0 - share);
                assert!((measured - ratio).abs() < 0.01, "{measured} at {tempo}");
                off += 1;
            }
        }
        assert!(off > 8, "{off} off-beats at {tempo}");
    }
    let even = BandWish { chords: true, swing: false, choruses: Some(2), ..alone(90.0, SampleRate::DEVICE) };
    let (samples, _) = sound(&form("turnaround-vi7"), &even, &[48_000]);
    let shares = onsets(&samples, SampleRate::DEVICE).into_iter().map(|at| (at * 1.5).rem_euclid(0.5));
    assert!(shares.into_iter().all(|share| !(0.001..0.499).contains(&share)), "even eighths stay even");
}

#[test]
fn no_sample_is_beyond_the_level_that_was_asked_for_and_none_beyond_the_ceiling() {
    for (id, tempo, asked) in
        [("rhythm-changes", 240.0, -12.0), ("minor-blues-ii-v", 100.0, -20.0), ("vamp-in-five", 300.0, 0.0)]
    {
        let wish =
            BandWish { choruses: Some(1), level: Decibels(asked), ..BandWish::new(Tempo(tempo), SampleRate::CD) };
        let (samples, _) = sound(&form(id), &wish, &[10_000]);
        let peak = samples.iter().fold(0.0f32, |peak, sample| peak.max(sample.abs()));
        let peak = Decibels::of_amplitude(f64::from(peak)).0;
        let most = CEILING.0.min(asked);
        assert!(peak <= most && peak > most - 8.0, "{id}: {peak} dB");
        // The mean level of the chorus is low, but the band is heard.
        let power: f64 = samples.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / samples.len() as f64;
        let mean = Decibels::of_power(power).0;
        assert!((most - 28.0..most - 9.0).contains(&mean), "{id}: {mean} dB");
    }
}

#[test]
fn parts_that_are_not_asked_for_are_not_played() {
    let form = form("blues");
    for (bass, chords, pulse) in
        [(true, false, false), (false, true, false), (false, false, true), (false, false, false)]
    {
        let wish = BandWish {
            bass: bass.then_some(BassLine::Walking),
            chords,
            pulse: pulse.then_some(TimeKeeping::Brush),
            choruses: Some(1),
            ..BandWish::new(Tempo(300.0), SampleRate::CD)
        };
        let (samples, notes) = sound(&form, &wish, &[44_100]);
        let played = |what: fn(&BandSound) -> bool| notes.iter().any(|note| what(&note.sound));
        assert_eq!(played(|sound| matches!(sound, BandSound::Bass(_))), bass);
        assert_eq!(played(|sound| matches!(sound, BandSound::Chord(_))), chords);
        assert_eq!(played(|sound| matches!(sound, BandSound::Brush(_))), pulse);
        assert!(played(|sound| matches!(sound, BandSound::Click { .. })), "the lead-in is always counted");
        let after = samples[samples.len() / 2..].iter().any(|sample| *sample != 0.0);
        assert_eq!(after, bass || chords || pulse);
    }
}

#[test]
fn a_pick_up_sounds_in_the_last_beats_of_the_lead_in() {
    let form = ChordChart::parse("in C\npick-up G7 -\n| Cmaj7 | % |").unwrap().chorus();
    let wish = BandWish { choruses: Some(1), ..BandWish::new(Tempo(60.0), SampleRate::CD) };
    let (_, notes) = sound(&form, &wish, &[44_100]);
    let low: Vec<(u64, i32)> = notes
        .iter()
        .filter_map(|note| match note.sound {
            BandSound::Bass(pitch) => Some((note.at.0 / 44_100, pitch.0 % 12)),
            _ => None,
        })
        .take(3)
        .collect();
    assert_eq!((low[0], low[2]), ((6, 7), (8, 0)), "G, something that leads, C");
    assert_eq!(low[1].0, 7);
}

#[test]
fn a_band_that_goes_on_and_on_keeps_no_more_than_a_chorus() {
    let wish = BandWish { bass: Some(BassLine::Walking), ..alone(300.0, SampleRate::new(4000).unwrap()) };
    let wish = BandWish { choruses: None, ..wish };
    let mut band = BackingBand::new(vec![form("ii-v-i")], &wish, draws(1)).unwrap();
    let mut block = vec![0.0; 4000];
    let mut most = 0;
    for _ in 0..600 {
        let begun = band.read(&mut block).len();
        assert!(begun <= 6, "five beats a second");
        most = most.max(band.waiting());
    }
    assert!(most <= 16 + 6, "{most} notes waiting");
    assert_eq!(band.length(), None);
}
