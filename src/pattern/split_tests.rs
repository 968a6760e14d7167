use std::ops::Range;

use super::quality::Quality;
use super::{Between, Family, LinePart, split};
use crate::music::Spelled;

/// Phrases whose parts are marked by hand (common practice); the head of the file says how to read them.
const PHRASES: &str = include_str!("../../tests/data/free/phrases.tsv");
const CHORDS: [&str; 8] = ["maj7", "7", "m7", "m7b5", "dim7", "mMaj7", "maj7#5", "7#5"];

const fn sign(family: Family) -> char {
    match family {
        Family::Stepwise => 'S',
        Family::HalfSteps => 'H',
        _ => 'K',
    }
}

/// The heights of notes that are written as words, with a dot for each eighth of rest, and what lies between them.
fn read(notes: &str) -> (Vec<i32>, Vec<Between>) {
    let (mut heights, mut between, mut dots) = (Vec::new(), Vec::new(), 0);
    for word in notes.split(' ') {
        if word == "." {
            dots += 1;
            continue;
        }
        let rest = [Between::Joined, Between::Rest, Between::Rest, Between::Parting][dots];
        between.extend((!heights.is_empty()).then_some(rest));
        heights.push(word.parse::<Spelled>().unwrap().written().0);
        dots = 0;
    }
    (heights, between)
}

fn marked(parts: &[LinePart]) -> String {
    let one = |part: &LinePart| format!("{} {}-{}", sign(part.family), part.notes.start + 1, part.notes.end);
    parts.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// How many found parts are right: a marked part has the same family, and begins and ends at most `within` notes away.
fn right(found: &[LinePart], truth: &[LinePart], within: usize) -> usize {
    let near =
        |a: &Range<usize>, b: &Range<usize>| a.start.abs_diff(b.start) <= within && a.end.abs_diff(b.end) <= within;
    let same = |part: &&LinePart| truth.iter().any(|one| one.family == part.family && near(&one.notes, &part.notes));
    found.iter().filter(same).count()
}

fn f1(right: usize, found: usize, truth: usize) -> f64 {
    2.0 * right as f64 / (found + truth) as f64
}

#[test]
fn phrases_marked_by_hand_come_apart_so() {
    let (mut whole, mut hits, mut found, mut truth) = (0, 0, 0, 0);
    let rows = || PHRASES.lines().filter(|line| !line.starts_with('#'));
    for row in rows() {
        let cells: Vec<&str> = row.split('\t').collect();
        let (heights, between) = read(cells[1]);
        let parts = split(&heights, &between).parts;
        if marked(&parts) == cells[2] {
            whole += 1;
        } else {
            println!("{}: marked {}, found {}", cells[0], cells[2], marked(&parts));
        }
        let by_hand: Vec<&str> = cells[2].split(", ").collect();
        hits += marked(&parts).split(", ").filter(|part| by_hand.contains(part)).count();
        (found, truth) = (found + parts.len(), truth + by_hand.len());
    }
    println!("{whole} of {} whole, F1 {:.3}", rows().count(), f1(hits, found, truth));
    assert!(whole >= 22 && f1(hits, found, truth) >= 0.98);
}

#[test]
fn the_key_does_not_matter() {
    for row in PHRASES.lines().filter(|line| !line.starts_with('#')) {
        let (heights, between) = read(row.split('\t').nth(1).unwrap());
        let here = split(&heights, &between);
        for up in [-12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11] {
            let moved: Vec<i32> = heights.iter().map(|height| height + up).collect();
            assert_eq!(split(&moved, &between), here);
        }
    }
}

#[test]
fn a_stretch_that_two_families_explain_is_told_twice() {
    // A run up to C and a half step on to C# and D: the scale may take the half steps, or they may stand alone (common practice).
    let (heights, between) = read("G4 A4 B4 C5 C#5 D5");
    let taken = split(&heights, &between);
    let all: Vec<&LinePart> = taken.parts.iter().chain(&taken.others).collect();
    assert!(all.iter().any(|part| part.family == Family::Stepwise), "{taken:?}");
    assert!(all.iter().any(|part| part.family == Family::HalfSteps), "{taken:?}");
    let (heights, between) = read("C4 E4 G4 B4 C5 B4 A4 G4");
    assert_eq!(split(&heights, &between).others, [], "a chord and a scale are plain");
}

/// A line of fragments that are joined at random, each on the last note of the one before: its heights, and the parts.
fn joined(mut below: impl FnMut(usize) -> usize) -> (Vec<i32>, Vec<LinePart>) {
    let (mut heights, mut truth) = (vec![below(24) as i32], Vec::<LinePart>::new());
    for _ in 0..2 + below(3) {
        let families = [Family::Stepwise, Family::HalfSteps, Family::Skips];
        let last = truth.last().map(|part| part.family);
        let others: Vec<Family> = families.into_iter().filter(|family| Some(*family) != last).collect();
        let family = others[below(others.len())];
        // A chord is taken whole, from the root up or from the seventh down; of any other ladder, any stretch.
        let mut chord =
            || Quality::parse(CHORDS[below(8)]).unwrap().tones().iter().map(|tone| tone.half_steps).collect();
        let (ladder, more): (Vec<i32>, usize) = match family {
            Family::Stepwise => (vec![0, 2, 4, 5, 7, 9, 11], 3 + below(3)),
            Family::HalfSteps => ((0..12).collect(), 3 + below(3)),
            _ => (chord(), 3),
        };
        let (size, up) = (ladder.len() as i32, if below(2) == 0 { 1 } else { -1 });
        let from = match family {
            Family::Skips if up > 0 => 0,
            Family::Skips => 3,
            _ => below(ladder.len()) as i32,
        };
        let at = |place: i32| ladder[place.rem_euclid(size) as usize] + 12 * place.div_euclid(size);
        let (start, base) = (heights.len() - 1, heights[heights.len() - 1]);
        heights.extend((1..=more as i32).map(|n| base + at(from + up * n) - at(from)));
        truth.push(LinePart { family, notes: start..heights.len() });
    }
    (heights, truth)
}

#[test]
fn lines_joined_at_random_come_apart_where_they_were_joined() {
    let mut seed = 20_261_126u64;
    let mut below = |n: usize| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as usize % n
    };
    let (mut whole, mut hits, mut found, mut marked) = (0, 0, 0, 0);
    for _ in 0..300 {
        let (heights, truth) = joined(&mut below);
        let parts = split(&heights, &vec![Between::Joined; heights.len() - 1]).parts;
        let near = right(&parts, &truth, 1);
        whole += usize::from(near == truth.len() && parts.len() == truth.len());
        (hits, found, marked) = (hits + near, found + parts.len(), marked + truth.len());
    }
    println!("{whole} of 300 whole, F1 {:.3}", f1(hits, found, marked));
    assert!(whole >= 285, "{whole} of 300");
    assert!(f1(hits, found, marked) >= 0.98);
}

#[test]
fn a_scale_played_twice_is_not_parted_within_itself() {
    let scale = [53, 55, 57, 58, 60, 62, 64, 65, 67, 65, 64, 62, 60, 58, 57, 55, 53];
    let parts = |heights: &[i32]| split(heights, &vec![Between::Joined; heights.len() - 1]).parts;
    // Twice over the same note and with the note struck again: one run. Four times: parted where it turns, not at a half step.
    assert_eq!(parts(&[&scale[..], &scale[1..]].concat()).len(), 1);
    assert_eq!(parts(&scale.repeat(2)).len(), 1);
    let long = scale.repeat(4);
    let ends: Vec<usize> = parts(&long).iter().map(|part| part.notes.end % scale.len()).collect();
    assert_eq!(ends, [0, 0]);
}
