//! Turns away from the instrument: a cue is sung or fingered in silence, lips rest, and nothing is judged.

use earfirst::outside::coach::SparedTurn;
use earfirst::outside::cue::{Form, SoundSign};
use earfirst::outside::drill::{Command, Face, RestRules, Settings, SparedPart};
use earfirst::outside::music::{ConcertKey, instrument};
use earfirst::outside::report::{review, to_text};
use earfirst::outside::session::{Event, LessonMark, PauseCause, Session, SparedRecord, read, write_line};
use earfirst::outside::tui::Plain;
use earfirst::outside::units::{Seconds, Tempo};

use crate::desk::Desk;
use crate::rehearsal::{Rehearsal, faithful, settings};
use crate::screens::{drawn, look};

fn offered() -> Settings {
    let mut settings = settings("five-note-row-up-and-down", Form::Pattern, &ConcertKey::FIFTHS);
    settings.plan.first_tempo = Tempo(140.0);
    Settings { rests: RestRules { share: None, ..RestRules::usual(true) }, ..settings }
}

fn in_turn(room: &Rehearsal) -> bool {
    matches!(room.face(), Face::Spared { .. })
}

fn written(room: &Rehearsal) -> Vec<SparedRecord> {
    let of = |event: &Event| if let Event::Spared(it) = event { Some(it.clone()) } else { None };
    room.events.iter().filter_map(of).collect()
}

fn judged(room: &Rehearsal) -> usize {
    room.events.iter().filter(|event| matches!(event, Event::Judged(_))).count()
}

/// A trumpeter who practises until the first spared turn.
fn until_the_first(settings: Settings) -> Rehearsal {
    let mut room = Rehearsal::new(settings, faithful(0.02));
    room.run_until(|room| in_turn(room) || room.now > 900.0);
    room
}

#[test]
fn after_sixteen_answers_a_cue_is_sung_and_later_one_is_fingered_and_nothing_heard_meanwhile_counts() {
    let mut calm = offered();
    calm.rests.spared.first = None;
    let mut room = until_the_first(calm);
    assert_eq!((judged(&room), room.cues.len()), (16, 16));
    let (known, answers, sound) = (room.drill.learner().clone(), room.snapshot().answers, room.snapshot().sounding);
    room.run_until(|room| matches!(room.face(), Face::Spared { part: SparedPart::Yours, .. }));
    let (at, cue) = room.spared[0].clone();
    assert!(room.cues.iter().any(|(_, asked, _)| asked.key == cue.key && asked.line == cue.line), "answered before");
    // The time of the answer is that of the line: a count, the cue's bars and as many again.
    let bar = cue.tempo.lasting(cue.meter.bar()).0;
    let bars = cue.tempo.lasting(cue.meter.whole_bars(cue.line.length)).0;
    assert!((room.now - at - bar - bars).abs() < 0.1, "{at} {}", room.now);
    // The player sings what the microphone takes for the answer, a note too many, and one note is long.
    let now = room.now;
    for n in 0..6 {
        room.play(now + 0.3 * f64::from(n), 0.2, 60.0 + f64::from(n));
    }
    room.run_until(|room| !in_turn(room));
    assert!((room.now - at - bar - 2.0 * bars - 0.8).abs() < 0.1, "{at} {}", room.now);
    room.run(0.3);
    assert_eq!((judged(&room), room.snapshot().answers, room.snapshot().sounding), (16, answers, sound));
    assert_eq!(room.drill.learner(), &known);
    let sung = SparedRecord {
        at: written(&room)[0].at,
        turn: SparedTurn::Sing,
        pattern: cue.pattern.clone(),
        key: cue.key,
        left: false,
    };
    assert_eq!(written(&room), [sung]);
    room.run_until(|room| room.cues.len() > 16);
    assert_ne!(room.cues[16].1.key, cue.key, "what is asked next was not heard just before");
    room.run_until(in_turn);
    assert!(matches!(room.face(), Face::Spared { turn: SparedTurn::Finger, first: false, .. }), "{:?}", room.face());
}

#[test]
fn a_planned_rest_begins_with_a_turn_and_is_no_longer_for_it() {
    let mut soon = offered();
    soon.rests.spared.first = Some(Seconds(80.0));
    let mut room = until_the_first(soon);
    let begun = room.now;
    assert!((80.0..100.0).contains(&begun), "{begun}");
    room.run_until(|room| !in_turn(room));
    assert!(matches!(room.face(), Face::Paused { cause: PauseCause::Rest, .. }), "{:?}", room.face());
    room.run_until(|room| !matches!(room.face(), Face::Paused { .. }));
    assert!((room.now - begun - 60.0).abs() < 0.1, "{}", room.now - begun);
    assert!(!written(&room)[0].left);
}

#[test]
fn a_turn_fills_the_wait_that_lips_need_and_costs_no_time() {
    let ends = |turns: bool| {
        let mut tiring = offered();
        tiring.rests = RestRules { share: Some(0.1), turns, ..tiring.rests };
        (tiring.rests.spared.first, tiring.rests.window) = (None, Seconds(60.0));
        let mut room = Rehearsal::new(tiring, faithful(0.02));
        room.run_until(|room| room.cues.len() == 30);
        (room.now, written(&room).len())
    };
    let ((with, turns), (without, none)) = (ends(true), ends(false));
    assert!(turns >= 2 && none == 0, "{turns}");
    assert!((with - without).abs() < 3.0, "{with} {without}");
}

#[test]
fn n_leaves_a_turn_and_a_pause_or_the_end_breaks_it_off() {
    let mut calm = offered();
    calm.rests.spared.first = None;
    for command in [Command::Another, Command::Pause, Command::End] {
        let mut room = until_the_first(calm.clone());
        room.run(2.0);
        room.command(command);
        room.run(0.1);
        assert!(!in_turn(&room) && written(&room)[0].left, "{command:?}");
        assert_eq!(room.hushed, 1, "{command:?}");
        if command == Command::Another {
            room.run(3.0);
            assert_eq!(room.cues.len(), 17, "the next cue comes");
        }
    }
}

#[test]
fn singers_lessons_and_whoever_wants_none_are_left_alone() {
    let singer = Settings { instrument: instrument("soprano").unwrap().clone(), ..offered() };
    let mut taught = offered();
    let lesson = LessonMark {
        name: "week".to_owned(),
        sha256: "0".repeat(64),
        days: 1,
        by: None,
        trial: false,
        charts: Vec::new(),
    };
    taught.began.lesson = Some(lesson);
    let unwanted = Settings { rests: RestRules { turns: false, ..offered().rests }, ..offered() };
    for settings in [singer, taught, unwanted] {
        let room = until_the_first(settings);
        assert!(room.now > 900.0 && written(&room).is_empty());
    }
}

#[test]
fn it_is_told_on_the_screen_in_lines_in_the_record_and_in_the_review() {
    let mut room = until_the_first(offered());
    let text = drawn(room.snapshot(), 80, 24, false).0;
    for told in ["listen, then sing it", "lips rest; nothing is judged", "12:757052", "five-note row", "n leaves it"] {
        assert!(text.contains(told), "{told} in {text}");
    }
    let small = drawn(room.snapshot(), 60, 20, false).0;
    let words = small.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("a reflex is not known."), "it has room: {small}");
    room.run_until(|room| room.cues.len() > 45);
    let mut plain = Plain::new(look(false));
    let lines: Vec<String> = room.shown.iter().flat_map(|(_, snapshot)| plain.lines(snapshot)).collect();
    let said = |what: &str| lines.iter().filter(|line| line.contains(what)).count();
    let turns = written(&room).len();
    assert!(turns >= 2, "{turns}");
    assert_eq!((said("sing it · ") + said("finger it · "), said("12:757052")), (turns, 1), "{lines:?}");
    assert_eq!(said("now sing") + said("now, in silence"), turns);
    let file: String = room.events.iter().map(write_line).collect();
    // An older program passes over an aside that it does not know.
    assert!(file.lines().filter(|line| line.starts_with("{\"event\":\"spared\",\"aside\":true,")).count() == turns);
    let (events, damage) = read(file.as_bytes());
    assert_eq!((damage, &events), (None, &room.events));
    let found = review(&[Session::from_events(&events).unwrap()]);
    let (sung, fingered) = found.parts[0].sittings[0].spared;
    assert_eq!((sung + fingered) as usize, turns);
    let text = to_text(&found).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains(&format!("away from the instrument {sung} sung, {fingered} fingered")), "{text}");
}

#[test]
fn by_ear_a_sign_says_sing_and_the_screen_hides_the_key() {
    let mut room = until_the_first(Settings { by_ear: true, ..offered() });
    let (told, signs) = room.signs.last().unwrap().clone();
    assert_eq!(signs, [SoundSign::Sing]);
    let text = drawn(room.snapshot(), 80, 24, false).0;
    assert!(text.contains("sing it in time") && !text.contains("five-note row"), "{text}");
    room.run_until(|room| !room.spared.is_empty());
    assert!(room.spared[0].1.by_ear && room.spared[0].0 > told + 1.0);
}

#[test]
fn the_simulated_player_leaves_them_be_and_they_are_counted_in_json() {
    let desk = Desk::new("spared");
    let told = desk.done("demo major-triad-up --fast --plain --seed 4 --answers 18 --tempo 160");
    assert!(told.contains("sing it · ") && told.contains("now sing"), "{told}");
    let json = desk.done("review data/sessions --json");
    assert!(json.contains("\"sung\": 1") || json.contains("\"sung\":1"), "{json}");
    desk.file("data/settings.toml", b"instrument = \"trumpet\"\n[rests]\nsing_and_finger = false\n");
    let told = desk.done("demo major-triad-up --fast --plain --seed 4 --answers 18 --tempo 160");
    assert!(!told.contains("sing it"), "{told}");
}
