//! Some instruments pull some notes sharp or flat. The player is told of that after an answer and never before it, and of each note only
//! once.

use earfirst::outside::cue::{Cue, Form};
use earfirst::outside::drill::{Face, Hints, Snapshot, ToScreen};
use earfirst::outside::music::{Written, WrittenKey, instrument};
use earfirst::outside::pattern::Register;
use earfirst::outside::session::Event;
use earfirst::outside::tui::{Appearance, Model, Plain, ScreenEvent, draw};
use earfirst::outside::units::Seconds;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use crate::rehearsal::{Player, Rehearsal, settings};

/// Written D4 on a trumpet in Bb, first and third valves: 17 cents sharp by valve arithmetic.
const LOW_D: f64 = 60.0;

/// A player who plays what was asked, with each low D as many cents off as `off` says for the number of the cue.
fn playing(off: impl Fn(u32) -> f64 + 'static) -> Player {
    Box::new(move |cue: &Cue, end: Seconds, _| {
        let beat = cue.tempo.beat().0;
        let notes = cue.line.notes.iter().map(|note| {
            let pitch = f64::from(note.pitch.0);
            let bent = if pitch == LOW_D { pitch + off(cue.number) / 100.0 } else { pitch };
            (end.0 + 0.4 + note.at.0 * beat, note.length.0 * beat * 0.9, bent)
        });
        notes.collect()
    })
}

/// A sitting in written C in the low register, where the five notes go from C4 to G4.
fn sitting(off: impl Fn(u32) -> f64 + 'static, answers: u32) -> Rehearsal {
    let trumpet = instrument("trumpet").unwrap();
    let c = trumpet.concert_key(WrittenKey::C);
    let mut settings = settings("five-note-row-up-and-down", Form::FirstNote, &[c]);
    settings.plan.registers = vec![Register::Low];
    assert_eq!(trumpet.concert(Written(62)).0, LOW_D as i32);
    let mut room = Rehearsal::new(settings, playing(off));
    room.run_until(|room| room.shown.last().is_some_and(|(_, shown)| shown.answers > answers));
    room
}

/// The hint of each answer, by the number of its cue.
fn told(room: &Rehearsal) -> Vec<(u32, Option<String>)> {
    let mut told: Vec<(u32, Option<String>)> = Vec::new();
    for (_, shown) in &room.shown {
        let Some(judged) = shown.judged.as_ref().filter(|_| matches!(shown.face, Face::Verdict { settled: true, .. }))
        else {
            continue;
        };
        told.retain(|(cue, _)| *cue != judged.cue.number);
        told.push((judged.cue.number, judged.hint.clone()));
    }
    told
}

fn drawn(snapshot: &Snapshot, width: u16, height: u16) -> String {
    let look = Appearance {
        page: earfirst::outside::words::Page::new(
            instrument("trumpet").unwrap().clone(),
            earfirst::outside::music::Reading::default(),
        ),
        range: None,
        today: None,
        colour: false,
    };
    let mut model = Model::new(look);
    model.update(ScreenEvent::Shown(ToScreen::Snapshot(Box::new(snapshot.clone()))));
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| draw(frame, &model)).unwrap();
    let rows = terminal.backend().buffer().content.chunks(usize::from(width));
    rows.map(|row| row.iter().map(ratatui::buffer::Cell::symbol).collect::<String>() + "\n").collect()
}

#[test]
fn a_sharp_low_d_is_explained_once_in_a_sitting_and_a_flat_one_never() {
    let room = sitting(|_| 45.0, 6);
    let told: Vec<Option<String>> = told(&room).into_iter().map(|(_, hint)| hint).collect();
    let first = told[0].as_deref().unwrap();
    assert!(first.starts_with("written D: first and third valves run sharp here"), "{first}");
    assert!(told[1..].iter().all(Option::is_none), "{told:?}");
    let flat = sitting(|_| -45.0, 3);
    assert!(self::told(&flat).iter().all(|(_, hint)| hint.is_none()), "the horn runs sharp: flat is the player's own");
    let in_tune = sitting(|_| 4.0, 3);
    assert!(self::told(&in_tune).iter().all(|(_, hint)| hint.is_none()));
}

#[test]
fn a_fault_that_was_cured_and_returns_is_explained_again() {
    let room = sitting(|cue| if (2..=4).contains(&cue) { 3.0 } else { 45.0 }, 7);
    let told: Vec<u32> = told(&room).into_iter().filter_map(|(cue, hint)| hint.map(|_| cue)).collect();
    assert_eq!(told, [1, 5]);
}

#[test]
fn no_face_before_the_verdict_shows_a_fingering() {
    let room = sitting(|_| 45.0, 4);
    let mut explained = 0;
    for (_, shown) in &room.shown {
        let text = drawn(shown, 80, 24);
        if matches!(shown.face, Face::Verdict { .. }) {
            explained += u32::from(text.contains("valves run sharp"));
        } else {
            assert!(!text.contains("valve") && !text.contains("common practice"), "{text}");
        }
    }
    assert!(explained > 0);
}

#[test]
fn on_a_small_screen_the_hint_leaves_room_for_what_comes_next() {
    let room = sitting(|_| 45.0, 2);
    let has = |shown: &&(f64, Snapshot)| {
        let settled = matches!(shown.1.face, Face::Verdict { settled: true, .. }) && shown.1.next.is_some();
        settled && shown.1.judged.as_ref().is_some_and(|judged| judged.hint.is_some())
    };
    let (_, snapshot) = room.shown.iter().find(has).unwrap();
    for (width, height) in [(80, 24), (60, 20)] {
        let text = drawn(snapshot, width, height);
        assert!(text.contains("third-valve slide") && text.contains("next   "), "{text}");
    }
}

#[test]
fn the_plain_page_says_it_after_the_sentence() {
    let room = sitting(|_| 45.0, 3);
    let trumpet = instrument("trumpet").unwrap().clone();
    let mut page = Plain::new(Appearance {
        page: earfirst::outside::words::Page::new(trumpet, earfirst::outside::music::Reading::default()),
        range: None,
        today: None,
        colour: false,
    });
    let lines: Vec<String> = room.shown.iter().flat_map(|(_, shown)| page.lines(shown)).collect();
    let hints: Vec<usize> = (0..lines.len()).filter(|n| lines[*n].starts_with("Written D: first and third")).collect();
    assert_eq!(hints.len(), 1, "{lines:?}");
    let turn = lines[..hints[0]].iter().rposition(|line| line == "your turn");
    assert!(turn.is_some_and(|turn| turn + 1 < hints[0]), "the sentence stands between: {lines:?}");
}

#[test]
fn every_hint_is_made_again_from_the_record() {
    let room = sitting(|cue| if (2..=4).contains(&cue) { 3.0 } else { 45.0 }, 7);
    let trumpet = instrument("trumpet").unwrap();
    let mut hints = Hints::default();
    let mut again = Vec::new();
    for event in &room.events {
        let Event::Judged(judgement) = event else { continue };
        let asked = |event: &Event| matches!(event, Event::Cued { cue, .. } if cue.number == judgement.cue);
        let Some(Event::Cued { cue, .. }) = room.events.iter().find(|event| asked(event)) else { panic!("no cue") };
        let explained = hints.of(&judgement.verdict, &cue.line, trumpet);
        hints.enter(&judgement.verdict, &cue.line, trumpet, explained.as_ref());
        again.extend(explained.map(|_| judgement.cue));
    }
    let shown: Vec<u32> = told(&room).into_iter().filter_map(|(cue, hint)| hint.map(|_| cue)).collect();
    assert_eq!(again, shown);
}

#[test]
fn an_instrument_without_a_chart_and_a_keyboard_are_told_nothing() {
    for id in ["piano", "vibraphone", "oboe"] {
        let player = instrument(id).unwrap();
        assert_eq!(earfirst::outside::music::tendency(player, player.developing.low), None, "{id}");
    }
}
