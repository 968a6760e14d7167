//! Keys that are told late: when the player hears and reads the key, in which order the keys come, and what is said of the time that is
//! enough.

use std::collections::BTreeSet;

use earfirst::outside::cue::{Cue, Form, Rendering, Timing, sound};
use earfirst::outside::drill::{Face, Settings};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::report::{review, to_text};
use earfirst::outside::session::{Event, Session, read, replay, write_line};
use earfirst::outside::tui::Plain;
use earfirst::outside::units::{SampleRate, Tempo};

use crate::asking;
use crate::desk::Desk;
use crate::rehearsal::{Player, Rehearsal, faithful, settings};
use crate::screens::{drawn, look};

const PATTERN: &str = "five-note-row-up-and-down";
const ALL: [ConcertKey; 12] = ConcertKey::FIFTHS;

fn late(keys: &[ConcertKey]) -> Settings {
    let mut told_late = settings(PATTERN, Form::Chord, keys);
    told_late.plan.first_tempo = Tempo(120.0);
    Settings { timing: Timing::InTempo, warnings: vec![4, 2, 1, 0], ..told_late }
}

/// A player who needs `seconds` (by the key) from the chord to the first note. With less time this player plays a half step too high, but
/// in time.
fn needs(seconds: impl Fn(ConcertKey) -> f64 + 'static) -> Player {
    let mut whole = faithful(0.02);
    Box::new(move |cue, end, beat| {
        let allowed = f64::from(cue.warning.unwrap_or(4)) * cue.tempo.beat().0;
        let off = if allowed + 0.05 < seconds(cue.key) { 1.0 } else { 0.0 };
        whole(cue, end, beat).into_iter().map(|(at, length, pitch)| (at, length, pitch + off)).collect()
    })
}

/// The sitting as it is read from the file of its record.
fn recorded(room: &Rehearsal) -> Session {
    let file: String = room.events.iter().map(write_line).collect();
    let (events, damage) = read(file.as_bytes());
    assert_eq!((damage, &events), (None, &room.events));
    Session::from_events(&events).unwrap()
}

#[test]
fn four_clicks_lead_to_the_answer_and_the_chord_sounds_so_many_beats_before_it() {
    let at = |cue: &Cue| sound(cue, &Rendering::new(SampleRate::new(8000).unwrap()));
    for warning in 0..=4u32 {
        let cue = Cue {
            warning: Some(warning),
            ..asking::cue(&[60, 62, 64, 65, 67, 65, 64, 62], 60.0, Form::Chord, Timing::InTempo)
        };
        let made = at(&cue);
        let due = made.beat_zero.unwrap();
        assert_eq!((made.beats.len(), due.0), (4, 4.0), "the same count whatever the warning");
        assert!(made.notes.iter().all(|note| (due.0 - note.at.0 - f64::from(warning)).abs() < 1e-9), "{warning}");
        assert!(made.notes.len() == 3 && made.end <= due, "an answer in time is never early");
    }
    let name = Cue { warning: Some(1), form: Form::NameOnly, ..asking::cue(&[60], 60.0, Form::Chord, Timing::InTempo) };
    assert!(at(&name).notes.is_empty());
}

#[test]
fn nobody_reads_a_key_before_its_warning() {
    let mut room = Rehearsal::new(late(&ALL), faithful(0.02));
    room.run_until(|room| room.cues.len() > 12);
    let (mut plain, mut hidden, mut told) = (Plain::new(look(false)), 0, 0);
    for (at, snapshot) in &room.shown {
        let lines = plain.lines(snapshot);
        let Some(cue) = &snapshot.cue else { continue };
        let listening = matches!(snapshot.face, Face::Listen { .. } | Face::YourTurn { .. });
        let of_cue = room.cues.iter().find(|(_, asked, _)| asked.number == cue.number).filter(|_| listening);
        let Some((from, cue, _)) = of_cue else { continue };
        let beat = cue.tempo.beat().0;
        let due = from + 0.05 + 4.0 * beat;
        let key = due - f64::from(cue.warning.unwrap()) * beat;
        if (at - key).abs() > 1e-6 {
            assert_eq!(snapshot.key_known, *at >= key, "{at:.2} s of a key that is told at {key:.2} s");
        }
        let text = drawn(snapshot, 80, 24, false).0;
        // The key that is asked stands in brackets above the table, or behind a sign.
        assert_eq!(text.contains('[') || text.contains('>'), snapshot.key_known, "{text}");
        let named = lines.iter().any(|line| line.starts_with("key · "));
        assert!(!named || snapshot.key_known, "{lines:?}");
        hidden += u32::from(!snapshot.key_known);
        told += u32::from(named);
    }
    assert!(hidden > 12 && told >= 12, "{hidden} {told}");
    assert!(room.shown.iter().all(|(_, it)| it.next.is_none()), "nor while the verdict stands");
}

#[test]
fn who_is_at_home_in_c_and_thinks_in_f_sharp_is_told_so_key_by_key() {
    let (home, far) = (ALL[0], ALL[6]);
    // At a quarter = 120: at once in C, after two beats in every other key, never in F sharp.
    let player = needs(move |key| {
        if key == home {
            0.0
        } else if key == far {
            9.0
        } else {
            1.0
        }
    });
    let mut room = Rehearsal::new(late(&[home, ALL[3], far]), player);
    room.run_until(|room| room.cues.len() > 12 * 16);
    let session = recorded(&room);
    let found = review(std::slice::from_ref(&session));
    let rows = &found.parts[0].warnings;
    let row = |key| rows.iter().find(|row| row.key == key).unwrap();
    let enough = |key| (row(key).shortest.no_shorter_than, row(key).shortest.no_longer_than);
    assert_eq!(enough(Some(home)), (Some(0), Some(0)), "{rows:?}");
    assert_eq!(enough(Some(ALL[3])), (Some(2), Some(2)));
    assert_eq!(enough(Some(far)), (None, None));
    let counts: BTreeSet<u32> =
        rows.iter().filter(|row| row.key.is_some()).flat_map(|row| &row.shares).map(|it| it.of).collect();
    assert!(counts.iter().max().unwrap() - counts.iter().min().unwrap() <= 1, "balanced: {counts:?}");
    assert!(row(Some(home)).shares.iter().all(|share| share.between.0 < 1.0 && share.between.1 > share.between.0));
    let text = to_text(&found);
    for told in ["Keys told late", "16/16 81-100", "0/16 0-19", "none", "Wilson"] {
        assert!(text.contains(told), "{told} in {text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert!(
        text.contains(" keys told late") && !text.contains("0 cues"),
        "what was asked, and no cue that was not: {text}"
    );
    let desk = Desk::new("late-reviewed");
    let file: String = room.events.iter().map(write_line).collect();
    desk.file("sitting.jsonl", file.as_bytes());
    let json: String = desk.done("review sitting.jsonl --json").split_whitespace().collect();
    assert!(json.contains("\"warning_beats\":4") && json.contains("\"enough_from_beats\":2"), "{json}");
}

#[test]
fn two_answers_a_warning_say_nothing_for_sure() {
    let mut room = Rehearsal::new(late(&ALL), needs(|_| 0.0));
    room.run_until(|room| room.cues.len() > 96);
    let rows = review(&[recorded(&room)]).parts.remove(0).warnings;
    assert!(rows[..12].iter().all(|row| row.shortest.no_longer_than.is_none()), "{rows:?}");
    assert_eq!(rows[12].shortest.no_longer_than, Some(0), "all twelve together: 24 of 24");
}

#[test]
fn a_key_told_too_late_costs_it_no_tempo_and_no_other_figure() {
    let mut room = Rehearsal::new(late(&ALL), needs(|_| 9.0));
    let known = room.drill.learner().clone();
    room.run_until(|room| room.cues.len() > 24);
    assert_eq!(room.drill.learner(), &known);
    assert_eq!(replay(&room.events), known, "nor when the record is read");
    let asked: BTreeSet<u32> = room.cues.iter().map(|(_, cue, _)| cue.number).collect();
    assert_eq!(asked.len(), room.cues.len(), "one try each, nothing taken apart");
    let found = review(&[recorded(&room)]);
    let sitting = &found.parts[0].sittings[0];
    assert_eq!((sitting.cues, sitting.answered, sitting.told_late), (0, 0, 25));
}

#[test]
fn a_record_with_keys_told_late_is_read_by_who_does_not_know_of_them() {
    let mut room = Rehearsal::new(late(&ALL), faithful(0.02));
    room.run_until(|room| room.cues.len() > 3);
    let line = |event: &Event| write_line(event);
    let cued = room.events.iter().find(|event| matches!(event, Event::Cued { .. })).map(line).unwrap();
    assert!(cued.contains("\"warning_beats\":"), "{cued}");
    // An older program passes over the field: the line without it is one of its own.
    let mut old: serde_json::Value = serde_json::from_str(&cued).unwrap();
    old.as_object_mut().unwrap().remove("warning_beats");
    let began = line(&room.events[0]);
    assert_eq!(read(format!("{began}{old}\n").as_bytes()).1, None);
    let wild = cued.replace("\"warning_beats\":", "\"warning_beats\":9");
    assert!(read(format!("{began}{wild}").as_bytes()).1.is_some(), "no warning is longer than four beats");
}

#[test]
fn the_simulated_player_is_heard_and_counted_by_warning() {
    let desk = Desk::new("late-keys");
    let told = desk.done("demo major-triad-up --fast --plain --seed 4 --answers 8 --tempo 120 --warning-beats 4,0");
    for word in
        ["listen · the key comes late · quarter = 120", "key · ", "Told 4 beats before: ", "Told on the beat: 0 of"]
    {
        assert!(told.contains(word), "{word} in {told}");
    }
    // Once from the record, once from the index.
    let (log, json) = (desk.done("log"), desk.done("log --json"));
    assert!(log.contains("Keys told late. Told 4 beats before: "), "{log}");
    assert!(json.contains("\"told_late\":{") && json.contains("\"warning_beats\":0"), "{json}");
    let (code, said) = desk.run("demo --fast --plain --cue pattern --warning-beats 2");
    assert!(code == 2 && said.contains("--cue chord"), "{said}");
}
