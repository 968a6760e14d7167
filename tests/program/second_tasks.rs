//! The mind elsewhere: taps beside answers, counted in every other block, and what counting costs.

use earfirst::outside::cue::{Cue, Form, Rendering, TapSound, Timing, sound};
use earfirst::outside::drill::{Command, Face, Settings};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::report::{review, to_text};
use earfirst::outside::session::{Event, Session, read, replay, write_line};
use earfirst::outside::tui::Plain;
use earfirst::outside::units::{SampleRate, Tempo};

use crate::desk::Desk;
use crate::rehearsal::{Player, Rehearsal, faithful, settings};
use crate::screens::{drawn, look};

fn beside_taps(keys: &[ConcertKey]) -> Settings {
    let mut settings = settings("five-note-row-up-and-down", Form::Pattern, keys);
    settings.plan.first_tempo = Tempo(160.0);
    settings.began.second_task = true;
    Settings { second_task: true, ..settings }
}

fn counting(cue: &Cue) -> Option<TapSound> {
    cue.second_task.as_ref().and_then(|task| task.counted)
}

fn recorded(room: &Rehearsal) -> Session {
    let file: String = room.events.iter().map(write_line).collect();
    let (events, damage) = read(file.as_bytes());
    assert_eq!((damage, &events), (None, &room.events));
    Session::from_events(&events).unwrap()
}

/// Sits through blocks until so many answers came, and says `number` of the true one, in notes.
fn sat(player: Player, answers: usize, number: impl Fn(u32) -> Option<u32>) -> Rehearsal {
    let mut room = Rehearsal::new(beside_taps(&ConcertKey::FIFTHS), player);
    let mut sounded = 0;
    while room.cues.len() <= answers {
        let before = room.cues.len();
        room.run_until(|room| room.cues.len() > before || room.face() == Face::HowMany);
        if room.cues.len() > before {
            let (_, cue, _) = room.cues.last().unwrap();
            let Some(counted) = counting(cue) else { continue };
            let taps = &cue.second_task.as_ref().unwrap().taps;
            sounded += taps.iter().filter(|tap| tap.sound == counted).count() as u32;
            continue;
        }
        assert_eq!(room.asked_count.last(), Some(&sounded));
        let from = room.now + 0.5;
        for n in 0..number(sounded).unwrap_or(0) {
            room.play(from + 0.4 * f64::from(n), 0.2, 62.0);
        }
        sounded = 0;
        room.run_until(|room| room.face() != Face::HowMany);
    }
    room
}

/// Eight notes that stray from their pulse by so much while something is counted, and by 6 ms otherwise.
fn strays(by: f64) -> Player {
    let (mut whole, mut n) = (faithful(0.02), 0u32);
    Box::new(move |cue, end, beat| {
        n += 1;
        let off = if counting(cue).is_some() { by } else { 0.006 };
        let answer = whole(cue, end, beat).into_iter().enumerate();
        let sign = |at: usize| if (at as u32 * 5 + n).is_multiple_of(3) { 1.0 } else { -0.6 };
        answer.map(|(at, (from, length, pitch))| (from + sign(at) * off, length, pitch)).collect()
    })
}

#[test]
fn the_taps_lie_beside_the_answer_on_no_click_and_are_heard_but_never_louder_than_the_cue() {
    let mut room = Rehearsal::new(beside_taps(&ConcertKey::FIFTHS), faithful(0.02));
    room.run_until(|room| room.cues.len() > 6);
    for (_, cue, _) in &room.cues {
        let task = cue.second_task.as_ref().unwrap();
        assert_eq!(cue.timing, Timing::InTempo);
        let how = Rendering { count_in: true, ..Rendering::new(SampleRate::CD) };
        let (with, without) = (sound(cue, &how), sound(&Cue { second_task: None, ..cue.clone() }, &how));
        let due = with.beat_zero.unwrap();
        let length = cue.tempo.lasting(cue.line.length);
        assert!(task.taps.iter().all(|tap| tap.at.0 > 0.0 && cue.tempo.lasting(tap.at) < length));
        let peak = |from: f64, clip: &[f32]| {
            let from = (from * 44_100.0) as usize;
            clip.iter().skip(from).fold(0.0_f32, |most, sample| most.max(sample.abs()))
        };
        // What sounds before the answer is the cue as ever; the taps are less than 3 dB softer, and no louder.
        let (before, beside) = (peak(0.0, &without.clip.samples), peak(due.0 + 0.02, &with.clip.samples));
        assert!(task.taps.is_empty() || (beside > 0.71 * before && beside < 0.95 * before), "{beside} {before}");
    }
}

#[test]
fn who_counts_right_and_pays_nothing_is_told_so() {
    let room = sat(faithful(0.02), 48, Some);
    let session = recorded(&room);
    assert!(session.counted.iter().all(|it| it.said == Some(it.sounded)), "{:?}", session.counted);
    let found = review(&[session]);
    let second = found.parts[0].second_task.as_ref().unwrap();
    assert!(second.counts.counted() && second.counts.blocks == 4 && second.all.right.pairs >= 22, "{second:?}");
    let costs = [second.all.of_right(), second.all.of_late(), second.all.of_uneven()];
    assert!(costs.iter().all(|cost| cost.shown().is_none() && cost.between.is_some()), "{costs:?}");
    let text = to_text(&found);
    for told in ["While taps were counted", "4 of 4 numbers right", "so nothing is shown", "may only make you good"] {
        assert!(text.contains(told), "{told} in {text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    // The screen says what the record says.
    let shown = room.snapshot().second_task.unwrap();
    assert_eq!((shown.cost, shown.counts), (second.all, second.counts));
}

#[test]
fn who_does_not_count_is_not_taken_for_skilled() {
    let guesses = review(&[recorded(&sat(faithful(0.02), 48, |_| Some(5)))]);
    let silent = review(&[recorded(&sat(faithful(0.02), 26, |_| None))]);
    for found in [guesses, silent] {
        let second = found.parts[0].second_task.as_ref().unwrap();
        assert!(!second.counts.counted(), "{second:?}");
        let text = to_text(&found).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains("who does not count pays nothing"), "{text}");
    }
}

#[test]
fn an_evenness_that_suffers_is_found_and_nothing_else() {
    let session = recorded(&sat(strays(0.024), 48, Some));
    let second = review(&[session]).parts[0].second_task.clone().unwrap();
    let uneven = second.all.of_uneven();
    assert_eq!(uneven.shown(), Some(true), "{uneven:?}");
    assert_eq!((second.all.of_right().shown(), second.patterns.len()), (None, 1));
}

#[test]
fn nothing_is_learnt_beside_taps_and_a_block_that_stops_begins_anew() {
    let mut room = Rehearsal::new(beside_taps(&ConcertKey::FIFTHS), faithful(0.02));
    let known = room.drill.learner().clone();
    room.run_until(|room| room.cues.len() > 3);
    room.command(Command::Again);
    room.command(Command::Pause);
    room.run(1.0);
    assert!(matches!(room.face(), Face::Paused { .. } | Face::Verdict { stays: true, .. }), "{:?}", room.face());
    room.command(Command::Pause);
    let blocks = |room: &Rehearsal| {
        room.cues.iter().map(|(_, cue, _)| cue.second_task.clone().unwrap().block).collect::<Vec<_>>()
    };
    room.run_until(|room| room.cues.len() > 9);
    let all = blocks(&room);
    assert!(all.iter().filter(|block| **block == 2).count() >= 6, "{all:?}");
    assert_eq!(room.drill.learner(), &known);
    assert_eq!(replay(&room.events), known, "nor when the record is read");
    let row = &review(&[recorded(&room)]).parts[0].sittings[0];
    assert_eq!((row.cues, row.answered, row.second_task as usize), (0, 0, room.cues.len()));
}

#[test]
fn the_task_and_the_question_stand_on_screen_and_in_lines_and_a_digit_answers() {
    let mut room = Rehearsal::new(beside_taps(&ConcertKey::FIFTHS), faithful(0.02));
    room.run_until(|room| room.face() == Face::HowMany);
    let text = drawn(room.snapshot(), 80, 24, false).0;
    assert!(text.contains("How many") && text.contains("0 to 9 your count"), "{text}");
    room.command(Command::Count(4));
    room.run(0.1);
    let text = drawn(room.snapshot(), 80, 24, false).0;
    assert!(text.contains("sounded") && text.contains("block "), "{text}");
    let counted = room.events.iter().find_map(|event| if let Event::Counted(it) = event { Some(*it) } else { None });
    assert_eq!(counted.unwrap().said, Some(4));
    let mut plain = Plain::new(look(false));
    let lines: Vec<String> = room.shown.iter().flat_map(|(_, snapshot)| plain.lines(snapshot)).collect();
    for told in ["block 1 · ", "count · How many", "counted · ", "let wood and brush pass"] {
        assert!(lines.iter().any(|line| line.starts_with(told) || line.contains(told)), "{told} in {lines:?}");
    }
}

#[test]
fn the_simulated_player_counts_is_heard_and_pays() {
    let desk = Desk::new("second-tasks");
    let told = desk.done("demo major-triad-up --fast --plain --seed 4 --answers 13 --tempo 160 --second-task");
    for word in ["count the ", "count · How many", " sounded, ", "Taps counted: ", "pairs of answers"] {
        assert!(told.contains(word), "{word} in {told}");
    }
    // Once from the record, once from the index.
    let (log, json) = (desk.done("log"), desk.done("log --json"));
    assert!(log.contains("Beside taps. Taps counted: ") && json.contains("\"truly_counted\":"), "{log}");
    let (code, _) = desk.run("demo --fast --plain --second-task --round fourths");
    assert_eq!(code, 2);
}
