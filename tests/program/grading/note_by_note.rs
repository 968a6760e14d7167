//! A judge that follows an answer note by note must give the same verdicts as one that sees all notes at once.

use super::early::read;
use super::generator;
use super::planted::{LEVEL_1, LEVEL_2, cases};
use crate::chance::Chance;
use earfirst::outside::notes::HeardNote;
use earfirst::outside::units::{Midi, Seconds};
use earfirst::outside::verdict::{Expectation, Judge, Verdict, judge, ready};

/// About how long after its onset a note is announced.
const ANNOUNCED: Seconds = Seconds(0.06);

/// The verdict that may be shown at once, by a judge who has not followed the answer.
fn at_once(asked: &Expectation, heard: &[HeardNote]) -> Option<Verdict> {
    let verdict = judge(asked, heard);
    ready(asked, heard, &verdict).then_some(verdict)
}

/// A note as the ear announces it, just after it began.
fn begun(note: &HeardNote) -> HeardNote {
    HeardNote { release: note.release.min(note.onset + ANNOUNCED), ..*note }
}

#[test]
fn an_answer_that_was_followed_is_judged_like_one_heard_afterwards() {
    let (mut shown, mut answers) = (0, 0);
    for case in cases(LEVEL_1).into_iter().chain(cases(LEVEL_2)) {
        let (asked, played) = read(&case);
        let mut follower = Judge::new(asked.clone());
        let mut heard: Vec<HeardNote> = Vec::new();
        let mut early = None;
        for note in &played {
            heard.push(begun(note));
            early = follower.at_once(&heard);
            assert_eq!(early, at_once(&asked, &heard), "{} after {} notes", case["id"], heard.len());
            heard.pop();
            heard.push(*note);
            assert_eq!(follower.verdict(&heard), judge(&asked, &heard), "{} after {} notes", case["id"], heard.len());
        }
        answers += 1;
        shown += u32::from(early.is_some());
    }
    assert!(2 * shown > answers, "most are told as soon as the last note begins: {shown} of {answers}");
}

/// Makes one of the changes that the ear may make to what it has heard: a note begins, perhaps one before the latest; or a note is taken
/// back, gets another pitch or less confidence, or is told in full.
fn tell(heard: &mut Vec<HeardNote>, to_come: &mut Vec<HeardNote>, played: &[HeardNote], chance: &mut Chance) {
    let newest = heard.len().saturating_sub(1);
    let place = (newest as i32 - chance.whole(0, 2)).max(0) as usize;
    match chance.whole(0, 9) {
        0 if heard.len() > 1 => to_come.push(heard.remove(place)),
        1 if !heard.is_empty() => {
            heard[place].pitch = Midi(heard[place].pitch.0 + f64::from(chance.pick(&[-12, -1, 1, 12])));
        }
        2 if !heard.is_empty() => heard[place].confidence = chance.between(0.2, 0.6),
        3..=5 if !heard.is_empty() => {
            let number = heard[place].number;
            heard[place] = *played.iter().find(|note| note.number == number).unwrap_or(&heard[place]);
        }
        _ if to_come.is_empty() => {}
        _ => {
            // Nearly always the next one.
            let skipped = if chance.happens(0.15) { 1 } else { 0 };
            let note = to_come.remove(skipped.min(to_come.len() - 1));
            heard.push(begun(&note));
            if chance.happens(0.9) {
                heard.sort_by(|a, b| a.onset.0.total_cmp(&b.onset.0));
            }
        }
    }
}

#[test]
fn whatever_the_ear_takes_back_the_verdict_is_on_what_is_left() {
    let mut shown = 0;
    for (n, case) in [1, 2].into_iter().flat_map(|level| generator::cases(20_263, 2, level)).enumerate() {
        let (asked, mut played) = read(&case);
        played.iter_mut().enumerate().for_each(|(number, note)| note.number = number as u32);
        let (mut heard, mut to_come) = (Vec::new(), played.clone());
        let mut chance = Chance::new(n as u64);
        let mut follower = Judge::new(asked.clone());
        for step in 0..3 * played.len() {
            tell(&mut heard, &mut to_come, &played, &mut chance);
            let early = follower.at_once(&heard);
            shown += u32::from(early.is_some());
            assert_eq!(early, at_once(&asked, &heard), "{}, step {step}: {heard:?}", case["id"]);
            // Whether a verdict was asked for in between changes nothing either.
            if chance.happens(0.5) {
                assert_eq!(follower.verdict(&heard), judge(&asked, &heard), "{}, step {step}: {heard:?}", case["id"]);
            }
        }
    }
    assert!(shown > 50, "verdicts were shown and taken back on the way: {shown}");
}
