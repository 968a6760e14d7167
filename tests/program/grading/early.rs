//! A verdict is shown as soon as the last note begins. These tests count how often it has to be changed afterwards.

use super::generator;
use super::made::{asked_at, note};
use super::planted::{LEVEL_1, LEVEL_2, cases, kind, list};
use crate::rehearsal::{Player, Rehearsal, faithful, settings};
use earfirst::outside::cue::Form;
use earfirst::outside::drill::Face;
use earfirst::outside::music::ConcertKey;
use earfirst::outside::notes::HeardNote;
use earfirst::outside::session::Event;
use earfirst::outside::units::Seconds;
use earfirst::outside::verdict::{Expectation, TimeOrigin, judge, ready};
use serde_json::{Value, json};

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// What a case asks and what was heard for it.
pub fn read(case: &Value) -> (Expectation, Vec<HeardNote>) {
    let pitches: Vec<i32> = list(&case["expected"]).iter().map(|note| number(&note["pitch"]) as i32).collect();
    let beats: Vec<f64> = list(&case["expected"]).iter().map(|note| number(&note["beat"])).collect();
    let cue_end = Seconds(number(&case["cue_end"]));
    let clock = match case["beat0"].as_f64() {
        None => TimeOrigin::Free { cue_end },
        Some(beat_zero) => TimeOrigin::InTempo { cue_end, beat_zero: Seconds(beat_zero) },
    };
    let one = |n: &Value| {
        let length = number(&n["offset"]) - number(&n["onset"]);
        HeardNote { confidence: number(&n["conf"]), ..note(number(&n["pitch"]), number(&n["onset"]), length) }
    };
    let asked = Expectation { clock, ..asked_at(&pitches, &beats, number(&case["tempo"])) };
    (asked, list(&case["played"]).iter().map(one).collect())
}

/// After how many notes a verdict may first be shown, and whether its labels, shift and attempts are those of the final verdict. The last
/// of these notes still sounds then: the ear has heard 60 ms of it.
fn first_shown(asked: &Expectation, heard: &[HeardNote]) -> Option<(usize, bool)> {
    let labels = |heard: &[HeardNote]| {
        let verdict = judge(asked, heard);
        let of_notes: Vec<_> = verdict.expected.iter().map(|note| note.label).collect();
        (of_notes, verdict.shift, verdict.attempts, verdict)
    };
    let last = labels(heard);
    (1..=heard.len()).find_map(|count| {
        let mut begun = heard[..count].to_vec();
        let newest = &mut begun[count - 1];
        newest.release = newest.release.min(newest.onset + Seconds(0.06));
        let now = labels(&begun);
        ready(asked, &begun, &now.3).then_some((count, (now.0, now.1, now.2) == (last.0.clone(), last.1, last.2)))
    })
}

/// Checks that at most 2 % of the verdicts have to be changed after they were shown, and that most are shown at once.
#[track_caller]
fn seldom_taken_back(cases: &[Value]) {
    let (mut shown, mut withdrawn, mut perfect, mut perfect_shown) = (0, 0, 0, 0);
    for case in cases {
        let (asked, heard) = read(case);
        let first = first_shown(&asked, &heard);
        let clean = kind(case) == "clean";
        perfect += u32::from(clean);
        if let Some((count, same)) = first {
            shown += 1;
            perfect_shown += u32::from(clean);
            let more = list(&case["truth"]["played"])[count..].iter().any(|label| *label != json!("artefact"));
            withdrawn += u32::from(more || !same);
        }
    }
    println!("{shown} of {} shown at once, {withdrawn} taken back", cases.len());
    assert!(f64::from(withdrawn) <= 0.02 * cases.len() as f64, "{withdrawn} of {} withdrawn", cases.len());
    assert!(2 * shown > cases.len(), "most answers need not wait for silence: {shown} of {}", cases.len());
    assert_eq!(perfect_shown, perfect, "a clean answer is told at once");
}

#[test]
fn a_verdict_shown_at_once_is_seldom_taken_back() {
    let stored: Vec<Value> = cases(LEVEL_1).into_iter().chain(cases(LEVEL_2)).collect();
    seldom_taken_back(&stored);
}

#[test]
fn a_verdict_shown_at_once_is_seldom_taken_back_whatever_is_played() {
    for level in [1, 2] {
        seldom_taken_back(&generator::cases(20_262, 20, level));
    }
}

#[test]
fn who_plays_on_after_the_verdict_has_it_taken_back_and_is_graded_anew() {
    let mut whole = faithful(0.5);
    let and_one_more: Player = Box::new(move |cue, end, beat| {
        let mut notes = whole(cue, end, beat);
        let &(onset, length, pitch) = notes.last().unwrap();
        notes.push((onset + length + 0.2, length, pitch + 2.0));
        notes
    });
    let asked = settings("five-note-row-up-and-down", Form::FirstNote, &ConcertKey::FIFTHS);
    let mut room = Rehearsal::new(asked, and_one_more);
    let is_verdict = |face: Face| matches!(face, Face::Verdict { .. });
    room.run_until(|room| is_verdict(room.face()));
    assert!(room.snapshot().judged.as_ref().unwrap().verdict.whole(), "told as soon as the last note began");
    room.run_until(|room| !is_verdict(room.face()));
    assert!(matches!(room.face(), Face::YourTurn { heard: true, .. }), "the answer goes on");
    room.run_until(|room| is_verdict(room.face()));
    let judged = room.events.iter().filter_map(|event| if let Event::Judged(it) = event { Some(it) } else { None });
    let extra: Vec<u32> = judged.map(|judged| judged.verdict.extra).collect();
    assert_eq!(extra, [1], "only what holds in the end is written down");
    assert_eq!(room.snapshot().judged.as_ref().unwrap().verdict.extra, 1);
}
