//! Properties of verdicts that hold for any answer.

use super::made::{asked_at, note};
use earfirst::outside::music::{HalfSteps, Intonation};
use earfirst::outside::notes::HeardNote;
use earfirst::outside::units::{Cents, Midi};
use earfirst::outside::verdict::{Expectation, NoteLabel, PlayedLabel, Verdict, judge, ready};
use proptest::prelude::*;

/// Draws a line of up to sixteen notes with their beats, and a tempo at which no two notes are nearer than a fifth of a second.
fn lines() -> impl Strategy<Value = (Vec<i32>, Vec<f64>, f64)> {
    let notes = prop::collection::vec((40..84i32, 1..5u32), 1..=16);
    (notes, 50.0..150.0f64).prop_map(|(notes, tempo)| {
        let mut at = 0.0;
        let beats = notes.iter().map(|(_, halves)| {
            let here = at;
            at += 0.5 * f64::from(*halves);
            here
        });
        let beats: Vec<f64> = beats.collect();
        (notes.iter().map(|(pitch, _)| *pitch).collect(), beats, tempo)
    })
}

fn played(asked: &Expectation) -> Vec<HeardNote> {
    let eighth_s = 0.5 * asked.tempo.beat().0;
    let one = |n: &earfirst::outside::pattern::ExpectedNote| {
        note(f64::from(n.pitch.0), 2.6 + asked.tempo.lasting(n.at).0, 0.9 * eighth_s)
    };
    asked.line.notes.iter().map(one).collect()
}

fn labels(verdict: &Verdict) -> Vec<NoteLabel> {
    verdict.expected.iter().map(|note| note.label).collect()
}

/// Draws a line and an answer to it, in which notes are changed, left out or added.
fn answers() -> impl Strategy<Value = (Expectation, Vec<HeardNote>)> {
    let changes = prop::collection::vec((0..16usize, -7..8i32, 0..4u8), 0..4);
    (lines(), changes).prop_map(|((pitches, beats, tempo), changes)| {
        let asked = asked_at(&pitches, &beats, tempo);
        let mut heard = played(&asked);
        for (place, by, what) in changes {
            let place = place % heard.len().max(1);
            match what {
                _ if heard.is_empty() => {}
                0 => {
                    heard.remove(place);
                }
                1 => heard[place].confidence = 0.3,
                _ => heard[place].pitch = Midi(heard[place].pitch.0 + f64::from(by)),
            }
        }
        (asked, heard)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn a_line_played_as_it_stands_is_all_right((pitches, beats, tempo) in lines()) {
        let asked = asked_at(&pitches, &beats, tempo);
        let heard = played(&asked);
        let verdict = judge(&asked, &heard);
        prop_assert!(verdict.whole() && verdict.enough_in_format_1 && verdict.shift == HalfSteps(0), "{verdict:?}");
        prop_assert!(ready(&asked, &heard, &verdict));
    }

    #[test]
    fn transposing_both_sides_keeps_the_verdict((asked, heard) in answers(), up in -11..12i32) {
        let moved = Expectation { line: asked.line.transposed(HalfSteps(up)), ..asked.clone() };
        let lifted: Vec<HeardNote> =
            heard.iter().map(|n| HeardNote { pitch: Midi(n.pitch.0 + f64::from(up)), ..*n }).collect();
        let (one, mut other) = (judge(&asked, &heard), judge(&moved, &lifted));
        // Cents come out of sums that round differently; all the rest is the same to the last bit.
        let near = |a: Option<Cents>, b: Option<Cents>| a.zip(b).map_or(a == b, |(a, b)| (a - b).abs().0 < 1e-6);
        prop_assert!(near(one.centre, other.centre) && near(one.spread, other.spread));
        (other.centre, other.spread) = (one.centre, one.spread);
        for (here, there) in one.expected.iter().zip(&mut other.expected) {
            prop_assert!(near(here.cents, there.cents));
            there.cents = here.cents;
        }
        prop_assert_eq!(one, other);
    }

    #[test]
    fn the_order_of_arrival_changes_nothing((asked, heard) in answers(), seed in any::<u64>()) {
        // Onsets differ, so order is a matter of time alone.
        let mut places: Vec<usize> = (0..heard.len()).collect();
        places.sort_by_key(|&place| (place as u64 + 1).wrapping_mul(seed | 1));
        let shuffled: Vec<HeardNote> = places.iter().map(|&place| heard[place]).collect();
        let (one, other) = (judge(&asked, &heard), judge(&asked, &shuffled));
        prop_assert_eq!(labels(&one), labels(&other));
        for (here, &there) in other.played.iter().zip(&places) {
            prop_assert_eq!(*here, one.played[there]);
        }
        prop_assert_eq!((one.reflex, one.pace, one.centre), (other.reflex, other.pace, other.centre));
    }

    #[test]
    fn every_verdict_adds_up((asked, heard) in answers()) {
        let verdict = judge(&asked, &heard);
        prop_assert_eq!(verdict.expected.len(), asked.line.notes.len());
        prop_assert_eq!(verdict.played.len(), heard.len());
        let answering: Vec<usize> = verdict.expected.iter().filter_map(|note| note.heard).collect();
        prop_assert!(answering.windows(2).all(|pair| pair[0] < pair[1]), "no note answers twice, none out of order");
        prop_assert!(answering.iter().all(|&index| verdict.played[index] == PlayedLabel::Note));
        if verdict.related {
            let right = verdict.expected.iter().filter(|n| matches!(n.label, NoteLabel::Right | NoteLabel::Merged));
            prop_assert_eq!(verdict.right as usize, right.count());
        }
    }

    #[test]
    fn without_intonation_nothing_is_said_in_cents((asked, heard) in answers()) {
        let keys = Expectation { intonation: Intonation::Unscored, ..asked.clone() };
        let verdict = judge(&keys, &heard);
        prop_assert_eq!((verdict.centre, verdict.spread), (None, None));
        prop_assert!(verdict.expected.iter().all(|note| note.cents.is_none()));
        prop_assert_eq!(labels(&verdict), labels(&judge(&asked, &heard)));
    }
}
