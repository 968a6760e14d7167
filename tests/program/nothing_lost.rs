//! Whatever was shown to the player is in the record, even where a key is pressed or a device is lost meanwhile. A screen offers only what
//! the program can do then.

use earfirst::outside::coach::Spared;
use earfirst::outside::cue::{Cue, Form};
use earfirst::outside::drill::{Command, Face};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::pattern::{ExpectedNote, Library, PatternId};
use earfirst::outside::room::{Side, SoundFault};
use earfirst::outside::session::{Event, PauseCause};
use earfirst::outside::units::Seconds;

use crate::rehearsal::{Rehearsal, faithful, settings, silent};
use crate::screens::drawn;

const ALL: [ConcertKey; 12] = ConcertKey::FIFTHS;
const PATTERN: &str = "five-note-row-up-and-down";
const TRIAD: &str = "major-triad-up";

/// The sentences in the record.
fn sentences(room: &Rehearsal) -> Vec<&str> {
    let told = room.events.iter().filter_map(|event| match event {
        Event::Judged(judged) => Some(judged.sentence.as_str()),
        _ => None,
    });
    told.collect()
}

/// A sitting in which the first verdict is on the screen while the last note still sounds.
fn just_judged() -> Rehearsal {
    let mut room = Rehearsal::new(settings(PATTERN, Form::FirstNote, &ALL), faithful(0.5));
    room.run_until(|room| matches!(room.face(), Face::Verdict { .. }));
    assert!(sentences(&room).is_empty(), "the answer is not over yet");
    room
}

#[test]
fn a_verdict_is_drafted_in_the_record_before_the_screen_shows_it_and_written_down_as_it_ends() {
    let mut room = just_judged();
    let sentence = |draft: &[Event; 2]| match draft {
        [Event::Answered(answer), Event::Judged(judged)] => (answer.heard.len(), judged.sentence.clone()),
        other => panic!("an answer and its verdict, not {other:?}"),
    };
    let shown = room.snapshot().judged.as_ref().expect("it stands there");
    let drafted = sentence(room.drafts.last().expect("drafted"));
    assert_eq!(drafted, (shown.heard.len(), shown.sentence.clone()));
    room.run_until(|room| !sentences(room).is_empty());
    assert_eq!(sentences(&room), [sentence(room.drafts.last().expect("drafted")).1.as_str()]);
}

#[test]
fn an_answer_whose_verdict_stands_is_kept_whatever_key_is_pressed() {
    for key in [Command::Pause, Command::Again, Command::Slower, Command::Another, Command::End] {
        let mut room = just_judged();
        room.command(key);
        assert_eq!(sentences(&room).len(), 1, "{key:?}");
        assert!(room.events.iter().any(|event| matches!(event, Event::Answered(_))), "{key:?}");
        assert_eq!(room.snapshot().answers, 1, "{key:?}");
    }
}

#[test]
fn space_holds_a_verdict_from_the_moment_it_is_shown() {
    let mut room = just_judged();
    room.command(Command::Pause);
    assert!(matches!(room.face(), Face::Verdict { stays: true, .. }));
    room.run(30.0);
    assert_eq!(room.cues.len(), 1, "no cue comes while it is held");
    room.command(Command::Pause);
    room.run_until(|room| room.cues.len() >= 2);
}

#[test]
fn a_microphone_that_is_lost_while_a_verdict_stands_takes_no_answer_along() {
    let mut room = just_judged();
    room.trouble(Some(SoundFault::Lost(Side::Input)));
    assert!(matches!(room.face(), Face::Paused { cause: PauseCause::Device, .. }));
    assert_eq!(sentences(&room).len(), 1);
    let shown = room.snapshot().judged.as_ref().expect("it was judged").sentence.clone();
    assert_eq!(sentences(&room), [shown.as_str()]);
}

#[test]
fn a_rest_or_a_pause_that_is_left_by_any_key_is_over_in_the_record() {
    for key in [Command::Again, Command::Slower, Command::Another, Command::Pause] {
        let mut soon = settings(PATTERN, Form::FirstNote, &ALL);
        soon.rests.spared = Spared { first: Some(Seconds(10.0)), ..Spared::USUAL };
        let mut room = Rehearsal::new(soon, faithful(0.5));
        room.run_until(|room| matches!(room.face(), Face::Paused { cause: PauseCause::Rest, .. }));
        let began = room.now;
        room.run(5.0);
        room.command(key);
        let left = room.events.iter().find_map(|event| match event {
            Event::Resumed { at } => Some(at.0 - began),
            _ => None,
        });
        assert!(left.is_some_and(|lasted| (lasted - 5.0).abs() < 0.1), "{key:?}: {left:?}");
    }
}

#[test]
fn before_and_now_at_the_end_are_of_one_pattern_the_one_that_was_answered_most() {
    let mut two = settings(PATTERN, Form::FirstNote, &[ConcertKey::FIFTHS[0]]);
    let triad = Library::builtin().get(&PatternId(TRIAD.to_owned())).expect("in the library").clone();
    two.plan.patterns.push(triad.id.clone());
    two.patterns.push(triad);
    let mut first_day = Rehearsal::new(two.clone(), faithful(0.5));
    let of = |room: &Rehearsal, name: &str| room.cues.iter().filter(|(_, cue, _)| cue.pattern.0 == name).count();
    first_day.run_until(|room| of(room, PATTERN) >= 4 && of(room, TRIAD) >= 4);
    first_day.command(Command::End);
    let known = first_day.drill.learner().clone();
    let reached = |name: &str| {
        known.key_stats(&PatternId(name.to_owned()), ConcertKey::FIFTHS[0]).reached().expect("answered well").0
    };
    assert!((reached(PATTERN) - reached(TRIAD)).abs() > 0.5, "else this would show nothing");
    two.plan.day += 1;
    for (most, other) in [(PATTERN, TRIAD), (TRIAD, PATTERN)] {
        let mut only = two.clone();
        only.plan.patterns = vec![PatternId(most.to_owned()), PatternId(other.to_owned())];
        let mut room = Rehearsal::of_a_known_player(only, known.clone(), faithful(0.5));
        room.run_until(|room| of(room, most) > of(room, other) + 1 && of(room, other) > 0 || room.cues.len() > 60);
        room.command(Command::End);
        let end = room.snapshot();
        let answered = |name: &str| answers_to(&room, name);
        let (shown, also) = if answered(most) >= answered(other) { (most, other) } else { (other, most) };
        let name = |id: &str| name_of(&two, id);
        assert_eq!(end.title, name(shown), "{} to {}", answered(most), answered(other));
        assert_eq!(end.also, [name(also)]);
        let before = end.before[0].reached.expect("known from the first day").0;
        assert!((before - reached(shown)).abs() < 1e-9, "before = {before}, of {shown} it was {}", reached(shown));
        let (text, _) = drawn(end, 80, 24, false);
        assert!(text.contains(&format!("those of {}", name(shown))), "{text}");
    }
}

/// How many answers to a pattern were judged.
fn answers_to(room: &Rehearsal, pattern: &str) -> usize {
    let of = |number: u32| room.cues.iter().any(|(_, cue, _)| cue.number == number && cue.pattern.0 == pattern);
    room.events.iter().filter(|event| matches!(event, Event::Judged(judged) if of(judged.cue))).count()
}

fn name_of(settings: &earfirst::outside::drill::Settings, id: &str) -> String {
    settings.patterns.iter().find(|pattern| pattern.id.0 == id).expect("among them").name.clone()
}

#[test]
fn a_pause_offers_only_the_keys_that_do_something_in_it() {
    let foot = |room: &Rehearsal| {
        let (text, _) = drawn(room.snapshot(), 80, 24, false);
        text.trim_end().lines().last().expect("a last line").trim().to_owned()
    };
    let mut room = Rehearsal::new(settings(PATTERN, Form::FirstNote, &ALL), silent());
    room.run_until(|room| matches!(room.face(), Face::Paused { .. }));
    assert!(!foot(&room).contains("what came out"), "nothing came out yet: {}", foot(&room));
    let mut room = Rehearsal::new(settings(PATTERN, Form::FirstNote, &ALL), faithful(0.5));
    room.run_until(|room| room.cues.len() >= 2);
    room.command(Command::Pause);
    assert!(foot(&room).contains("o what came out"), "{}", foot(&room));
    room.trouble(Some(SoundFault::Lost(Side::Input)));
    room.run(1.5);
    assert_eq!(foot(&room), "q end · ?", "without sound nothing else can be done");
    room.command(Command::PlayBack);
    assert!(room.played_back.is_empty());
}

#[test]
fn the_same_again_waits_for_silence_like_any_cue() {
    for key in [Command::Again, Command::Slower] {
        let mut room = just_judged();
        room.command(key);
        room.run_until(|room| room.cues.len() >= 2);
        let last = room.events.iter().find_map(|event| match event {
            Event::Answered(answer) => answer.heard.last().map(|note| note.release),
            _ => None,
        });
        let silent = room.cues[1].0 - last.expect("it was answered").0;
        assert!(silent >= 0.6 - 1e-9, "{key:?} after {silent:.2} s");
        assert_eq!(room.cues[1].1.key, room.cues[0].1.key);
    }
}

#[test]
fn of_a_long_line_every_note_that_was_not_as_asked_is_shown() {
    const LONG: &str = "half-steps-up-and-down-an-octave";
    for wrong in [2, 12, 24] {
        let player = move |cue: &Cue, end: Seconds, _: Option<Seconds>| {
            let beat = cue.tempo.beat().0;
            let up = |n: usize| if n == wrong { 3.0 } else { 0.0 };
            let notes = cue.line.notes.iter().enumerate();
            let at = |note: &ExpectedNote| end.0 + 0.5 + note.at.0 * beat;
            notes.map(|(n, note)| (at(note), 0.8 * note.length.0 * beat, f64::from(note.pitch.0) + up(n))).collect()
        };
        let mut room = Rehearsal::new(settings(LONG, Form::FirstNote, &ALL), Box::new(player));
        room.run_until(|room| matches!(room.face(), Face::Verdict { settled: true, .. }));
        for (width, height) in [(80, 24), (60, 20), (61, 40), (200, 60)] {
            let (text, _) = drawn(room.snapshot(), width, height, false);
            assert!(text.lines().any(|line| line.contains("half steps") && line.contains("+3")), "{wrong}: {text}");
            let shown = text.lines().filter(|line| line.trim_start().starts_with("played"));
            let notes: usize = shown.map(|line| line.split_whitespace().count() - 1).sum();
            let rest = text.lines().filter(|line| line.contains("as asked")).filter_map(|line| {
                let words: Vec<usize> = line.split_whitespace().filter_map(|word| word.parse().ok()).collect();
                Some(words.get(1)? + 1 - words.first()?)
            });
            assert_eq!(notes + rest.sum::<usize>(), 25, "{width}x{height}: {text}");
        }
    }
}
