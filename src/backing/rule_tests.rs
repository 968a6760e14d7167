//! The band's notes against rules of the walking bass and of voice leading, written here anew in numbers (common practice, as
//! in any handbook of the bass line and of jazz piano).

use std::collections::{BTreeMap, BTreeSet};

use crate::backing::plan::{BandNote, BandSound};
use crate::backing::{BackingBand, BandWish, BassLine};
use crate::chart::{Change, ChordChart, Chorus, Forms};
use crate::music::{Degree, PitchClass};
use crate::units::{SampleRate, Tempo};

/// Numbers evenly spread over 0 to 1 (Knuth's MMIX constants).
fn draws(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn wish(choruses: u32) -> BandWish {
    let usual = BandWish::new(Tempo(300.0), SampleRate::DEVICE);
    BandWish { choruses: Some(choruses), swing: false, pulse: None, ..usual }
}

/// All notes of some choruses, with the beat from the first bar line on which each begins.
fn notes(forms: Vec<Chorus>, wish: &BandWish, seed: u64) -> Vec<(f64, BandNote)> {
    let mut band = BackingBand::new(forms, wish, draws(seed)).unwrap();
    let begins = band.begins().0 as f64;
    let beat = band.beat(1.0).0 as f64;
    let all = band.skip(band.length().unwrap());
    let placed = all.into_iter().map(|note| (((note.at.0 as f64 - begins) / beat * 100.0).round() / 100.0, note));
    placed.filter(|(at, _)| *at >= 0.0).collect()
}

fn bass(notes: &[(f64, BandNote)]) -> Vec<(f64, i32)> {
    let low = notes.iter().filter_map(|(at, note)| match note.sound {
        BandSound::Bass(pitch) => Some((*at, pitch.0)),
        _ => None,
    });
    low.collect()
}

/// Root, chord tones and first-choice scale of a change as pitch classes, from the tables of the handbook by quality.
fn theory(change: &Change) -> (i32, BTreeSet<i32>, BTreeSet<i32>) {
    let chord = change.chord.as_ref().unwrap();
    let root = chord.root.class().get();
    let (tones, scale): (&[i32], &[i32]) = match chord.quality.to_string().as_str() {
        "7" => (&[0, 4, 7, 10], &[0, 2, 4, 5, 7, 9, 10]),
        "maj7" => (&[0, 4, 7, 11], &[0, 2, 4, 5, 7, 9, 11]),
        "m7" => (&[0, 3, 7, 10], &[0, 2, 3, 5, 7, 9, 10]),
        "m7b5" => (&[0, 3, 6, 10], &[0, 1, 3, 5, 6, 8, 10]),
        "7b9" => (&[0, 4, 7, 10], &[0, 1, 4, 5, 7, 8, 10]),
        "m6" => (&[0, 3, 7, 9], &[0, 2, 3, 5, 7, 9, 11]),
        "dim7" => (&[0, 3, 6, 9], &[0, 2, 3, 5, 6, 8, 9, 11]),
        "maj7#11" => (&[0, 4, 7, 11], &[0, 2, 4, 6, 7, 9, 11]),
        "7sus4" => (&[0, 5, 7, 10], &[0, 2, 4, 5, 7, 9, 10]),
        other => panic!("no row for {other}"),
    };
    let on = |steps: &[i32]| steps.iter().map(|step| (root + step) % 12).collect();
    (root, on(tones), on(scale))
}

/// Choruses of each form that are looked at.
const CHORUSES: u32 = 20;

#[test]
fn a_walking_bass_has_roots_on_new_chords_and_steps_into_them() {
    let mut approaches: BTreeMap<i32, u32> = BTreeMap::new();
    for (n, form) in Forms::builtin().all().iter().enumerate() {
        for key in [0, 5, 10, 3, 6] {
            let own = form.in_key(PitchClass::new(key), false).chorus();
            // Twenty choruses in a row: what a chorus ends on must lead into the next one's first note as well.
            let line = bass(&notes(vec![own.clone()], &wish(CHORUSES), n as u64 * 12 + key as u64));
            let place = format!("{} on {key}", form.id);
            let beats = own.beats();
            assert_eq!(line.len() as u32, CHORUSES * beats + 1, "{place}: a note a beat, and the end");
            for (n, (at, pitch)) in line[..(CHORUSES * beats) as usize].iter().enumerate() {
                assert_eq!(*at, n as f64, "{place}");
                assert!((28..=52).contains(pitch), "{place}: {pitch} is out of E1 to E3");
                let beat = n as u32 % beats;
                let change = own.under(beat).unwrap();
                let (root, tones, scale) = theory(change);
                let index = own.changes.iter().position(|other| other.at == change.at).unwrap();
                let fresh = index == 0 || own.changes[index - 1].chord != change.chord;
                if beat == change.at && fresh {
                    assert_eq!(pitch % 12, root, "{place}, beat {beat}: the root of a new chord");
                } else if beat == change.at {
                    assert!(tones.contains(&(pitch % 12)), "{place}, beat {beat}: a chord that goes on");
                }
                let last = beat + 1 == change.at + change.beats;
                if !last {
                    assert!(scale.contains(&(pitch % 12)), "{place}, beat {beat}: {pitch} is not in the scale");
                }
                if beat == change.at + 2 && !last {
                    assert!(tones.contains(&(pitch % 12)), "{place}, beat {beat}: the third beat is strong");
                }
                let followed = line.get(n + 1).filter(|_| n + 1 < (CHORUSES * beats) as usize);
                if let Some((_, after)) = followed {
                    let leap = (after - pitch).abs();
                    if last && change.beats > 1 {
                        *approaches.entry(after - pitch).or_default() += 1;
                        let step = leap == 1 || (leap == 2 && scale.contains(&(pitch % 12)));
                        assert!(step, "{place}, beat {beat}: {pitch} into {after}");
                    }
                    assert!(leap <= 12, "{place}, beat {beat}: a leap of {leap}");
                    if change.beats > 1 {
                        assert!(leap > 0, "{place}, beat {beat}: {pitch} twice running");
                    }
                }
            }
        }
    }
    // From below and above, by half and whole steps: none of the four is rare.
    let all: u32 = approaches.values().sum();
    for step in [-2, -1, 1, 2] {
        assert!(approaches[&step] * 20 > all, "{approaches:?}");
    }
}

#[test]
fn root_and_fifth_are_what_they_say() {
    let own = Forms::builtin().find("blues-ii-v").unwrap().in_key(PitchClass::new(5), false).chorus();
    let wish = BandWish { bass: Some(BassLine::RootAndFifth), ..wish(2) };
    for (at, pitch) in bass(&notes(vec![own.clone()], &wish, 5)) {
        if at >= f64::from(2 * own.beats()) {
            continue;
        }
        let beat = at as u32 % own.beats();
        let change = own.under(beat).unwrap();
        let root = change.chord.as_ref().unwrap().root.class().get();
        let above = (pitch - root).rem_euclid(12);
        assert!(above == if beat == change.at { 0 } else { 7 }, "beat {beat}: {above}");
        assert!(beat == change.at || beat == change.at + 2);
        assert!((28..=52).contains(&pitch));
    }
}

#[test]
fn in_three_one_note_a_bar_is_root_or_fifth_in_turn_under_a_chord_that_goes_on() {
    // Common practice: a waltz in one.
    let own = ChordChart::parse("in C 3/4 | C | C | C | C | Am7 | % | D7 | G7 |").unwrap().chorus();
    let wish = BandWish { bass: Some(BassLine::RootAndFifth), ..wish(1) };
    for seed in 0..20 {
        let played: Vec<(f64, i32)> = bass(&notes(vec![own.clone()], &wish, seed));
        let classes: Vec<i32> = played.iter().take(8).map(|(_, pitch)| pitch % 12).collect();
        assert_eq!(classes, [0, 7, 0, 7, 9, 4, 2, 7], "seed {seed}");
        assert!(played.iter().take(8).enumerate().all(|(n, (at, _))| *at == 3.0 * n as f64), "on the first beat");
    }
}

/// The chords as they are struck: place and voices, lowest first.
fn struck(notes: &[(f64, BandNote)]) -> Vec<(f64, Vec<i32>)> {
    let mut all: Vec<(f64, Vec<i32>)> = Vec::new();
    for (at, note) in notes {
        let BandSound::Chord(pitch) = note.sound else { continue };
        match all.last_mut().filter(|last| last.0 == *at) {
            Some(last) => last.1.push(pitch.0),
            None => all.push((*at, vec![pitch.0])),
        }
    }
    all
}

#[test]
fn thirds_and_sevenths_are_led_by_step_where_roots_move_by_fourths() {
    // Common practice: the seventh falls to the third by a half or whole step, the third is held as the seventh or falls.
    let mut led = 0;
    let mut lifted = 0;
    for id in
        ["ii-v-i-round-fourths", "cycle-of-dominants", "minor-ii-v-i-round-fourths", "rhythm-changes", "blues-vi7"]
    {
        for seed in 0..4 {
            let own = Forms::builtin().find(id).unwrap().in_key(PitchClass::new(3 * seed), false).chorus();
            let chords = struck(&notes(vec![own.clone()], &wish(3), seed as u64));
            for pair in chords.windows(2).filter(|pair| pair[1].0 < f64::from(3 * own.beats())) {
                let under = |at: f64| own.under(at as u32 % own.beats()).unwrap();
                let (from, to) = (under(pair[0].0), under(pair[1].0));
                let root = |change: &Change| change.chord.as_ref().unwrap().root.class().get();
                assert!(pair[1].1.iter().all(|voice| (50..=72).contains(voice)), "{id}: {pair:?}");
                let degrees = to.chord.as_ref().unwrap().quality.degrees();
                let guides: BTreeSet<i32> = degrees
                    .iter()
                    .filter(|degree| matches!(degree.letters, 1..=3 | 5..=6))
                    .map(|degree: &Degree| (root(to) + degree.half_steps) % 12)
                    .collect();
                let sounded: BTreeSet<i32> = pair[1].1[..2].iter().map(|voice| voice % 12).collect();
                assert_eq!(sounded, guides, "{id}: third and seventh of {:?}", to.chord);
                if (root(to) - root(from)).rem_euclid(12) == 5 {
                    let mut moved: Vec<i32> = pair[0].1[..2]
                        .iter()
                        .zip(&pair[1].1[..2])
                        .map(|(before, after)| (after - before).abs())
                        .collect();
                    moved.sort_unstable();
                    if moved.iter().all(|step| *step <= 2) {
                        led += 1;
                    } else {
                        // A voice that would leave the range is moved by an octave, so the step is looked for in any octave.
                        let near = |after: &i32| {
                            pair[0].1[..2].iter().any(|before| {
                                let away = (after - before).rem_euclid(12);
                                away.min(12 - away) <= 2
                            })
                        };
                        assert!(pair[1].1[..2].iter().all(near), "{id}: {pair:?}");
                        lifted += 1;
                    }
                }
            }
        }
    }
    // In a cycle of dominants both voices fall a half step with every root, so each has to be taken back once in twelve.
    assert!(led > 500 && lifted * 6 < led, "{led} by step, {lifted} taken back into the reach");
}

#[test]
fn every_chord_of_a_form_is_struck_and_no_chord_on_another() {
    for form in Forms::builtin().all() {
        let own = form.in_key(PitchClass::new(0), false).chorus();
        let chords = struck(&notes(vec![own.clone()], &wish(1), 9));
        for change in &own.changes {
            let (from, to) = (f64::from(change.at), f64::from(change.at + change.beats));
            assert!(chords.iter().any(|(at, _)| (from..to).contains(at)), "{}: {change:?}", form.id);
        }
    }
}

#[test]
fn no_two_choruses_are_alike_and_the_same_seed_makes_the_same_ones() {
    for (id, kind) in
        [("blues", BassLine::Walking), ("turnaround-vi7", BassLine::Walking), ("blues", BassLine::RootAndFifth)]
    {
        let own = Forms::builtin().find(id).unwrap().in_key(PitchClass::new(7), false).chorus();
        let wish = BandWish { bass: Some(kind), ..wish(24) };
        let all = notes(vec![own.clone()], &wish, 3);
        assert_eq!(all, notes(vec![own.clone()], &wish, 3));
        assert_ne!(all, notes(vec![own.clone()], &wish, 4));
        let beats = f64::from(own.beats());
        let chorus = |n: u32| -> Vec<String> {
            let from = f64::from(n) * beats;
            let own = all.iter().filter(|(at, _)| (from..from + beats).contains(at));
            own.map(|(at, note)| format!("{:.2} {:?}", at - from, note.sound)).collect()
        };
        let different: BTreeSet<Vec<String>> = (0..24).map(chorus).collect();
        assert_eq!(different.len(), 24, "{id}");
    }
}

#[test]
fn the_band_moves_to_its_next_key_at_the_end_of_a_chorus() {
    let form = Forms::builtin().find("ii-v-i").unwrap();
    let keys = [0, 5, 10];
    let forms: Vec<Chorus> = keys.iter().map(|key| form.in_key(PitchClass::new(*key), false).chorus()).collect();
    let line = bass(&notes(forms, &wish(4), 1));
    for (n, key) in [0, 5, 10, 0].iter().enumerate() {
        let first = line.iter().find(|(at, _)| *at == n as f64 * 16.0).unwrap();
        assert_eq!(first.1 % 12, (key + 2) % 12, "the second degree of the key of chorus {n}");
        let before = line.iter().find(|(at, _)| *at == n as f64 * 16.0 - 1.0);
        assert!(before.is_none_or(|before| (before.1 - first.1).abs() <= 2), "and it is led into");
    }
}

#[test]
fn a_bass_after_a_slash_and_silence_are_played_as_written() {
    let own = ChordChart::parse("in C | C/E | N.C. | F6 | G7/B C |").unwrap().chorus();
    let all = notes(vec![own], &wish(1), 2);
    let at = |beat: f64| bass(&all).into_iter().find(|note| note.0 == beat).map(|note| note.1 % 12);
    assert_eq!([at(0.0), at(8.0), at(12.0), at(14.0)], [Some(4), Some(5), Some(11), Some(0)]);
    assert!(!all.iter().any(|(at, _)| (4.0..8.0).contains(at)), "nothing sounds where no chord is");
}
