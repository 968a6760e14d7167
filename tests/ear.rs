//! The ear holds its bars on a small draw of the corpus that `cargo bench --bench ear` makes whole.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]
#![allow(dead_code, reason = "the bench uses the rest")]

#[path = "../benches/ear/around.rs"]
mod around;
#[path = "program/chance.rs"]
mod chance;
#[path = "../benches/ear/corpus.rs"]
mod corpus;
#[path = "../benches/ear/hard.rs"]
mod hard;
#[path = "../benches/ear/measure.rs"]
mod measure;
#[path = "../benches/ear/recorded.rs"]
mod recorded;
#[path = "../benches/ear/score.rs"]
mod score;
#[path = "../benches/ear/sing.rs"]
mod sing;
#[path = "../benches/ear/source.rs"]
mod source;

use corpus::{Heard, Take};
use earfirst::outside::notes::Rules;
use score::Tally;
use sing::Note;

/// What was heard of the takes of some parts.
fn tally(takes: &[Take], parts: &[&str]) -> Tally {
    let mut tally = Tally::default();
    for take in takes.iter().filter(|take| parts.contains(&take.part.as_str())) {
        tally.add(take, &corpus::hear(&take.sound, &Rules::default()));
    }
    tally
}

#[test]
fn plain_lines_and_lines_in_a_room_are_heard_note_for_note() {
    let takes = corpus::few(1);
    let (plain, played) = (tally(&takes, &["A"]), tally(&takes, &["P"]));
    assert!(plain.notes > 80 && played.notes > 40, "{} and {} notes", plain.notes, played.notes);
    assert!(plain.f1() >= 0.96, "plain lines: {}", plain.line());
    assert!(played.f1() >= 0.95, "as played: {}", played.line());
}

#[test]
fn a_trill_stays_a_trill_and_noise_is_no_note() {
    let takes = corpus::few(1);
    let (trills, noises) = (tally(&takes, &["X trill"]), tally(&takes, &["E"]));
    assert!(trills.f1() >= 0.95, "trills: {}", trills.line());
    assert_eq!(noises.told, 0, "notes in breath, hum, clatter and whisper");
}

#[test]
fn a_note_is_matched_once_and_only_within_fifty_milliseconds_and_fifty_cents() {
    // Worked by hand after the definition of note matching in Raffel and others, "mir_eval", 2014.
    let note = |onset: f64, midi: f64| Note { onset, release: onset + 0.2, midi };
    let heard =
        |onset: f64, midi: f64| Heard { onset, release: onset + 0.2, midi, known: onset, first: midi, confidence: 1.0 };
    let notes = vec![note(0.0, 60.0), note(0.04, 60.0), note(1.0, 62.0), note(2.0, 64.0)];
    let take = Take { name: String::new(), part: String::new(), sound: Vec::new(), notes };
    // The first fits both of the first two notes, the second the first alone: both are matched.
    let told = [heard(0.03, 60.2), heard(-0.01, 60.0), heard(1.06, 62.0), heard(2.0, 64.6)];
    assert_eq!(score::matching(&take, &told, (0.05, 0.5)), [Some(1), Some(0), None, None]);
}

#[test]
fn the_ear_is_sure_of_what_is_right_and_doubts_what_it_makes_of_talk() {
    let takes = corpus::few(1);
    let sure = |parts: &[&str]| {
        let heard = takes.iter().filter(|take| parts.contains(&take.part.as_str()));
        let sure: Vec<f64> =
            heard.flat_map(|take| corpus::hear(&take.sound, &Rules::default())).map(|note| note.confidence).collect();
        sure.iter().sum::<f64>() / sure.len() as f64
    };
    let (lines, talk) = (sure(&["A", "P"]), sure(&["E talk"]));
    assert!(lines > 0.96, "of lines nearly every note is right: {lines:.3}");
    assert!(talk < 0.5, "of notes heard in talk none is right: {talk:.3}");
}
