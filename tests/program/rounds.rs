//! Rounds through the keys without a stop. One click goes through the round, nothing is told before its end, and the keys that were not
//! right come first in the next round.

use earfirst::outside::coach::RoundOrder;
use earfirst::outside::cue::{Cue, Form, Rendering, Timing, round};
use earfirst::outside::drill::{Command, Face, Settings};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::pattern::{PatternId, Register};
use earfirst::outside::report::{review, to_text};
use earfirst::outside::session::{Session, read, replay, write_line};
use earfirst::outside::trade::vamp;
use earfirst::outside::tui::Plain;
use earfirst::outside::units::{Midi, SampleRate, Seconds, Tempo};

use crate::asking;
use crate::desk::Desk;
use crate::rehearsal::{Player, Rehearsal, faithful, settings, silent};
use crate::screens::{drawn, look};

const PATTERN: &str = "five-note-row-up-and-down";
const ALL: [ConcertKey; 12] = ConcertKey::FIFTHS;

fn in_fourths(keys: &[ConcertKey]) -> Settings {
    Settings { round: Some(RoundOrder::Fourths), timing: Timing::InTempo, ..settings(PATTERN, Form::Pattern, keys) }
}

/// Plays in time, a half step high in one key.
fn weak_in(key: ConcertKey) -> Player {
    let mut whole = faithful(0.02);
    Box::new(move |cue, end, beat| {
        let off = f64::from(u8::from(cue.key == key));
        whole(cue, end, beat).into_iter().map(|(at, length, pitch)| (at, length, pitch + off)).collect()
    })
}

/// Up to the end of so many rounds.
fn rounds_told(room: &mut Rehearsal, count: u32) {
    room.run_until(|room| {
        let last = room.shown.last().map(|(_, snapshot)| snapshot);
        last.is_some_and(|it| {
            matches!(it.face, Face::RoundOver { .. }) && it.round.as_ref().is_some_and(|told| told.number == count)
        })
    });
}

/// The keys of a round, in the order in which they were asked.
fn keys_of(room: &Rehearsal, number: u32) -> Vec<&'static str> {
    room.cues.iter().filter(|(_, cue, _)| cue.round == Some(number)).map(|(_, cue, _)| cue.key.name()).collect()
}

#[test]
fn one_click_goes_on_from_the_count_in_to_the_last_answer() {
    let row = asking::cue(&[60, 62, 64, 65, 67, 65, 64, 62], 120.0, Form::Pattern, Timing::InTempo);
    let cues: Vec<Cue> = (1..=3).map(|number| Cue { number, ..row.clone() }).collect();
    let made = round(&cues, &Rendering::new(SampleRate::new(8000).unwrap()));
    // A bar of count-in; then three times a bar of cue and a bar of answer; and the beat after.
    let clicks = &made.sound.clicks;
    assert_eq!(clicks.len(), 4 + 3 * 8 + 1);
    assert!(clicks.windows(2).all(|two| (two[1].0 - two[0].0 - 0.5).abs() < 1e-9), "{clicks:?}");
    for (place, next) in made.places.iter().zip(&made.places[1..]) {
        assert_eq!(place.until, next.from, "the next cue comes on the next beat");
        assert_eq!(place.until.0 - place.beat_zero.0, 2.0, "as many bars for the answer");
    }
    assert_eq!(made.sound.notes.len(), 24);
}

/// How strongly a pitch sounds from an instant on, for half a second, among the notes of a bass (E1 to E3).
fn bass(samples: &[f32], rate: SampleRate, from: Seconds, class: i32) -> f64 {
    let part = &samples[rate.samples(from)..rate.samples(from + Seconds(0.4))];
    let power = |midi: i32| {
        let step =
            std::f64::consts::TAU * Midi(f64::from(midi)).hertz(earfirst::outside::units::A440).0 / rate.per_second();
        let sum = part.iter().enumerate().fold((0.0, 0.0), |sum, (n, sample)| {
            let (sin, cos) = (step * n as f64).sin_cos();
            (sum.0 + f64::from(*sample) * cos, sum.1 + f64::from(*sample) * sin)
        });
        sum.0.hypot(sum.1)
    };
    (28..=52).filter(|midi| (midi - class).rem_euclid(12) == 0).map(power).fold(0.0, f64::max)
}

/// The root on the first beat of every chord: common practice.
#[test]
fn over_a_vamp_each_key_has_its_own_chord_and_the_beat_stays_where_it_was() {
    let row = asking::cue(&[60, 64, 67, 72], 120.0, Form::Pattern, Timing::InTempo);
    let up = |by: i32| asking::cue(&[60 + by, 64 + by, 67 + by, 72 + by], 120.0, Form::Pattern, Timing::InTempo);
    let cues: Vec<Cue> = [row, up(5), up(10)].into_iter().zip(1..).map(|(cue, number)| Cue { number, ..cue }).collect();
    let how = Rendering::new(SampleRate::new(8000).unwrap());
    let bare = round(&cues, &how);
    let made = vamp(&cues, bare.clone(), &how);
    assert_eq!((&made.places, &made.sound.clicks), (&bare.places, &bare.sound.clicks));
    assert_eq!(vamp(&cues, bare, &how).sound.clip, made.sound.clip, "the same each time");
    assert!(made.sound.clip.peak().0 <= -11.0, "{:?}", made.sound.clip.peak());
    for (place, root) in made.places.iter().zip([0, 5, 10]) {
        let strong = |class: i32| bass(&made.sound.clip.samples, how.rate, place.beat_zero, class);
        // On the first beat of the answer's bar.
        let others = [1, 6, 11].map(|by| strong(root + by));
        assert!(
            others
                .iter()
                .all(|other| strong(root) > 2.0 * other || strong(root + 4).max(strong(root + 7)) > 2.0 * other)
        );
    }
}

#[test]
fn rounds_go_down_and_up_the_range_unless_one_register_is_asked_for() {
    let registers = |only: Option<Register>| -> Vec<Register> {
        let mut wanted = in_fourths(&ALL[..1]);
        wanted.plan.first_tempo = Tempo(240.0);
        wanted.plan.registers = only.map_or(wanted.plan.registers, |only| vec![only]);
        let mut room = Rehearsal::new(wanted, faithful(0.02));
        rounds_told(&mut room, 4);
        room.cues.iter().map(|(_, cue, _)| cue.register).collect()
    };
    assert_eq!(registers(None), [Register::Middle, Register::Low, Register::Middle, Register::High]);
    assert_eq!(registers(Some(Register::Low)), [Register::Low; 4]);
}

#[test]
fn all_keys_go_by_without_a_stop_and_what_failed_comes_first_in_the_next_round() {
    let mut room = Rehearsal::new(in_fourths(&ALL), weak_in(ALL[8]));
    rounds_told(&mut room, 1);
    assert_eq!(keys_of(&room, 1).join(" "), "C F Bb Eb Ab Db F# B E A D G");
    let begun: Vec<f64> = room.cues.iter().map(|(at, ..)| *at).collect();
    let bars = begun[2] - begun[1];
    assert!(begun[1..].windows(2).all(|two| (two[1] - two[0] - bars).abs() < 1e-6), "no stop: {begun:?}");
    assert!(
        room.shown.iter().all(|(_, it)| !matches!(it.face, Face::Verdict { .. })),
        "nothing is told before the end"
    );
    let snapshot = room.snapshot().clone();
    let told = snapshot.round.as_ref().unwrap();
    let missed: Vec<&str> = told.answers.iter().filter(|it| !it.right).map(|it| it.key.name()).collect();
    assert_eq!((told.answers.len(), missed), (12, vec!["Ab"]));
    let screen = drawn(&snapshot, 80, 24, false).0;
    // On the trumpet's page a sounding Ab is Bb.
    assert!(screen.contains("all right and in time in round 1") && screen.contains("Bb · "), "{screen}");
    let mut plain = Plain::new(look(false));
    let lines: Vec<String> = room.shown.iter().flat_map(|(_, snapshot)| plain.lines(snapshot)).collect();
    assert!(lines.contains(&"round 1 · 11 of 12 all right and in time".to_owned()), "{lines:?}");
    rounds_told(&mut room, 2);
    assert_eq!(keys_of(&room, 2).join(" "), "Ab C F Bb Eb Ab Db F# B E A D G");
}

#[test]
fn a_round_stands_in_the_record_and_is_learnt_from_as_it_was_played() {
    let mut room = Rehearsal::new(in_fourths(&ALL[..3]), weak_in(ALL[1]));
    rounds_told(&mut room, 2);
    let file: String = room.events.iter().map(write_line).collect();
    let (events, damage) = read(file.as_bytes());
    assert_eq!((damage, &events), (None, &room.events));
    assert_eq!(&replay(&events), room.drill.learner());
    let found = review(&[Session::from_events(&events).unwrap()]);
    assert_eq!(found.parts[0].sittings[0].rounds, [(2, 3), (2, 4)]);
    let text = to_text(&found).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("2 rounds without a stop, all right and in time: 2 of 3, 2 of 4"), "{text}");
    let desk = Desk::new("rounds-reviewed");
    desk.file("sitting.jsonl", file.as_bytes());
    let json: String = desk.done("review sitting.jsonl --json").split_whitespace().collect();
    assert!(json.contains("\"right_in_time\":2"), "{json}");
}

#[test]
fn a_pause_breaks_the_round_off_and_it_goes_on_with_the_key_that_was_lost() {
    let mut room = Rehearsal::new(in_fourths(&ALL), faithful(0.02));
    room.run_until(|room| {
        let asked = room.shown.last().and_then(|(_, snapshot)| snapshot.cue.as_ref());
        asked.is_some_and(|cue| cue.key == ALL[10])
    });
    room.command(Command::Pause);
    assert_eq!(room.hushed, 1);
    room.run(2.0);
    room.command(Command::Pause);
    rounds_told(&mut room, 1);
    let told: Vec<&str> =
        room.snapshot().round.as_ref().unwrap().answers.iter().map(|answer| answer.key.name()).collect();
    assert_eq!(told.join(" "), "C F Bb Eb Ab Db F# B E A D G");
    let numbers: Vec<u32> = room
        .events
        .iter()
        .filter_map(|event| match event {
            earfirst::outside::session::Event::Cued { cue, .. } => Some(cue.number),
            _ => None,
        })
        .collect();
    assert!(numbers.windows(2).all(|two| two[1] == two[0] + 1), "{numbers:?}");
}

#[test]
fn two_patterns_come_in_turn_and_change_places_in_the_next_round() {
    let mut both = in_fourths(&ALL[..2]);
    let other = settings("major-triad-up", Form::Pattern, &ALL).patterns.remove(0);
    both.plan.patterns.push(other.id.clone());
    both.patterns.push(other);
    let mut room = Rehearsal::new(both, faithful(0.02));
    rounds_told(&mut room, 2);
    let asked = |number: u32| -> Vec<&PatternId> {
        room.cues.iter().filter(|(_, cue, _)| cue.round == Some(number)).map(|(_, cue, _)| &cue.pattern).collect()
    };
    let (first, second) = (asked(1), asked(2));
    assert_eq!((first[0], first[1]), (second[1], second[0]));
    assert_ne!(first[0], first[1]);
}

#[test]
fn where_nobody_plays_a_round_the_drill_waits() {
    let mut room = Rehearsal::new(in_fourths(&ALL[..2]), silent());
    room.run_until(|room| matches!(room.face(), Face::Paused { .. }));
    assert_eq!(keys_of(&room, 1).len(), 2, "and begins no other");
}

#[test]
fn the_simulated_player_is_heard_through_a_round() {
    let desk = Desk::new("rounds");
    let told = desk.done(
        "demo major-triad-up --round fourths --keys C,F,Bb --instrument flute --fast --plain --seed 4 --tempo 160 --minutes 0.5",
    );
    for word in ["listen · C", "listen · F", "listen · Bb", "your turn", "round 1 · ", " of 3 all right and in time"]
    {
        assert!(told.contains(word), "{word} in {told}");
    }
    let (log, json) = (desk.done("log"), desk.done("log --json"));
    assert!(log.contains(" without a stop, all right and on the beat: "), "{log}");
    assert!(json.contains("\"rounds\":[{") && json.contains("\"told_late\":null"), "{json}");
    let over = desk.done("demo major-triad-up-from-3 --round half-steps --vamp --cue first-note --keys C,Db --instrument flute --fast --plain --seed 4 --tempo 160 --answers 2");
    assert!(over.contains("round 1 · "), "{over}");
    let (code, said) = desk.run("demo --fast --plain --round fourths --warning-beats 2");
    assert!(code == 2 && said.contains("--warning-beats"), "{said}");
}
