//! The command `class`: one line for each player. Players who give the teacher a reason to look stand first, and every reason agrees with
//! the records.

use arbtest::arbitrary::{Result, Unstructured};
use earfirst::outside::cue::Timing;
use earfirst::outside::music::HalfSteps;
use earfirst::outside::session::{Began, Ended, Event, LessonMark, NamedPlayer, PauseCause};
use earfirst::outside::units::{Seconds, Tempo};
use earfirst::outside::verdict::{NoteLabel, TempoStep, TimeOrigin};
use serde_json::Value;

use crate::desk::Desk;
use crate::records::made;
use crate::records::who::{player, record};

/// 30 November 2026 by GNU date.
const TODAY: i32 = 20_787;
const CLASS: &str = "class students --day 2026-11-30";

/// Draws charts, by name or by their chords.
fn any_charts(u: &mut Unstructured) -> Result<Vec<String>> {
    let charts = ["blues", "| Dm7 | G7 |", "\"x\\"];
    (0..u.int_in_range(0..=3)?).map(|_| Ok((*u.choose(&charts)?).to_owned())).collect()
}

/// Draws a lesson as the record of a sitting names it.
pub fn any_lesson(u: &mut Unstructured) -> Result<LessonMark> {
    let by = u.arbitrary::<bool>()?.then(|| "2028-02-29".to_owned());
    let name = format!("lesson {}", u.arbitrary::<u8>()?);
    Ok(LessonMark {
        name,
        sha256: "ab".repeat(32),
        days: u.arbitrary()?,
        by,
        trial: u.arbitrary()?,
        charts: any_charts(u)?,
    })
}

/// One answer: the place of its key on the circle of fifths, and whether its second note came a half step low.
pub type Played = (u32, bool);

/// A sitting of these answers that lasts `minutes`, with a pause in its middle where one is asked for.
pub fn sitting(whose: &NamedPlayer, day: i32, answers: &[Played], minutes: f64, pause: bool) -> Vec<Event> {
    let started = format!("2026-11-{:02}T18:00:00+01:00", day - 20_757);
    let began = Began { player: Some(whose.clone()), day, started, simulated: false, ..made::began() };
    let mut events = vec![Event::Began(began)];
    for (number, (place, low)) in (1..).zip(answers) {
        let mut cue = made::cue(*place);
        cue.number = number;
        events.push(Event::Cued {
            at: Seconds(f64::from(number) * 6.0),
            cue,
            reason: earfirst::outside::coach::Reason::Even,
        });
        events.push(Event::Answered(made::answer(number)));
        let mut judgement = made::judgement(number);
        if *low {
            judgement.verdict.expected[1].label = NoteLabel::Wrong(HalfSteps(-1));
            (judgement.verdict.right, judgement.step) = (2, Some(TempoStep::Stay));
        }
        events.push(Event::Judged(judgement));
    }
    let end = 60.0 * minutes;
    if pause {
        events.push(Event::Paused { at: Seconds(end / 2.0), cause: PauseCause::Asked });
        events.push(Event::Resumed { at: Seconds(end / 2.0 + 60.0) });
    }
    events.push(Event::Ended(Ended { at: Seconds(end), sounding: Seconds(120.0), dropped: 0 }));
    events
}

/// A sitting in tempo: of each answer the place of its key on the circle of fifths, and the tempo that was asked and held.
pub fn in_tempo(whose: &NamedPlayer, day: i32, answers: &[(u32, f64)]) -> Vec<Event> {
    let played: Vec<Played> = answers.iter().map(|(place, _)| (*place, false)).collect();
    let mut events = sitting(whose, day, &played, 20.0, true);
    let tempo = |number: u32| Tempo(answers[number as usize - 1].1);
    for event in &mut events {
        match event {
            Event::Cued { cue, .. } => (cue.tempo, cue.timing) = (tempo(cue.number), Timing::InTempo),
            Event::Answered(answer) => {
                answer.clock = TimeOrigin::InTempo { cue_end: Seconds(1.0), beat_zero: Seconds(2.0) };
            }
            Event::Judged(judgement) => judgement.verdict.pace = Some(tempo(judgement.cue)),
            _ => {}
        }
    }
    events
}

pub fn keep(desk: &Desk, whose: &NamedPlayer, name: &str, day: i32, events: &[Event]) {
    let folder = desk.0.join("students").join(name);
    let file = format!("{day}-{}.jsonl", whose.id.short());
    record(&folder, &file, events);
}

fn rows(desk: &Desk) -> Vec<Value> {
    let said = desk.done(&format!("{CLASS} --json"));
    let class: Value = serde_json::from_str(&said).unwrap_or_else(|why| panic!("{why}\n{said}"));
    class["players"].as_array().unwrap().clone()
}

fn reasons(rows: &[Value], name: &str) -> Vec<Value> {
    let row = rows.iter().find(|row| row["player"]["name"] == name).unwrap();
    row["reasons"].as_array().unwrap().clone()
}

/// Answers that are right in all twelve keys.
fn well() -> Vec<Played> {
    (0..12).map(|place| (place, false)).collect()
}

#[test]
fn who_gives_a_reason_stands_first_and_nobody_else_does() {
    let desk = Desk::new("class");
    let [anna, bert, cora, dora, emil] =
        [(1, "Anna"), (2, "Bert"), (3, "Cora"), (4, "Dora"), (5, "Emil")].map(|(id, name)| player(id, name).unwrap());
    for day in [TODAY - 8, TODAY - 3, TODAY - 1] {
        keep(&desk, &anna, "anna", day, &sitting(&anna, day, &well(), 20.0, true));
    }
    keep(&desk, &bert, "bert", TODAY - 9, &sitting(&bert, TODAY - 9, &well(), 20.0, true));
    // On four days of practice the second note was a half step low in four of six keys.
    let low: Vec<Played> = (0..6).map(|place| (place, place < 4)).collect();
    for day in [TODAY - 6, TODAY - 4, TODAY - 3, TODAY] {
        keep(&desk, &cora, "cora", day, &sitting(&cora, day, &low, 20.0, true));
    }
    // C and G failed, and never came again on three days.
    let failing: Vec<Played> = (0..12).chain(0..12).chain([0, 1]).map(|place| (place, place < 2)).collect();
    let others: Vec<Played> = (2..12).map(|place| (place, false)).collect();
    keep(&desk, &dora, "dora", TODAY - 7, &sitting(&dora, TODAY - 7, &[failing.clone(), failing].concat(), 20.0, true));
    for day in [TODAY - 5, TODAY - 2, TODAY - 1] {
        keep(&desk, &dora, "dora", day, &sitting(&dora, day, &others, 20.0, true));
    }
    keep(&desk, &emil, "emil", TODAY - 2, &sitting(&emil, TODAY - 2, &well(), 45.0, false));

    let rows = rows(&desk);
    let order: Vec<&str> = rows.iter().map(|row| row["player"]["name"].as_str().unwrap()).collect();
    assert_eq!(order, ["Bert", "Cora", "Dora", "Emil", "Anna"], "with a reason by name, then the others by name");
    let bert = reasons(&rows, "Bert");
    assert_eq!((bert.len(), &bert[0]["reason"], &bert[0]["days"]), (1, &"stopped".into(), &9.into()));
    let cora = reasons(&rows, "Cora");
    assert_eq!((cora.len(), &cora[0]["reason"], &cora[0]["note"]), (1, &"same_fault".into(), &2.into()));
    assert_eq!(cora[0]["days"], serde_json::json!([TODAY - 6, TODAY - 4, TODAY - 3, TODAY]));
    let dora = reasons(&rows, "Dora");
    assert_eq!((dora.len(), &dora[0]["reason"]), (1, &"left_behind".into()));
    let keys = serde_json::json!([
        { "concert_key": "C", "last_day": TODAY - 7, "lacks": "right", "whole": 0, "of": 6,
          "best_quarter_per_minute": null, "others_best_quarter_per_minute": null },
        { "concert_key": "G", "last_day": TODAY - 7, "lacks": "right", "whole": 0, "of": 6,
          "best_quarter_per_minute": null, "others_best_quarter_per_minute": null },
    ]);
    assert_eq!(dora[0]["keys"], keys);
    let emil = reasons(&rows, "Emil");
    assert_eq!((emil.len(), &emil[0]["reason"], &emil[0]["longest_s"]), (1, &"no_rest".into(), &2700.0.into()));

    let text = desk.done(CLASS);
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    let anna = text.lines().find(|line| line.starts_with("Anna")).unwrap();
    // Two days of these seven, one of the seven before; four minutes of sound against two; 29 November.
    assert!(anna.contains("2 (1)") && anna.contains("4 (2)") && anna.contains("29 Nov"), "{anna}");
    for told in [
        "No sitting for 9 days: the last was on 21 November 2026.",
        "The same fault on each of the last 4 days of practice, of which the latest is 30 November 2026, in First three \
         notes up. The second note was a half step low in",
        "Weak keys without an answer on the last three days of First three notes up: D (0 of its latest 6 answers all \
         right, the last on 23 November 2026); A (0 of its latest 6 answers all right, the last on 23 November 2026).",
        "Went on for 45 minutes without a rest, on 28 November 2026.",
    ] {
        assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains(told), "{told}\n{text}");
    }
}

/// All twelve keys at this tempo, once.
fn all_at(tempo: f64) -> Vec<(u32, f64)> {
    (0..12).map(|place| (place, tempo)).collect()
}

/// The words of a text, one blank between them.
fn words(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_key_is_slow_by_its_best_and_not_because_each_day_begins_there_slowly() {
    let desk = Desk::new("class-slow");
    let anna = player(1, "Anna").unwrap();
    for day in [TODAY - 5, TODAY - 3, TODAY - 1] {
        // The day begins in C and climbs; G never gets beyond 100. The goal of these records is 126.
        let answers = [(0, 60.0), (0, 60.0), (0, 80.0), (0, 126.0), (1, 100.0), (1, 100.0), (1, 95.0)];
        keep(&desk, &anna, "anna", day, &in_tempo(&anna, day, &answers));
    }
    let weakest = serde_json::json!([
        { "concert_key": "G", "lacks": "pace", "quarter_per_minute": 100.0, "goal_quarter_per_minute": 126.0 },
    ]);
    assert_eq!(rows(&desk)[0]["weakest"], weakest);
    let text = words(&desk.done(CLASS));
    assert!(text.contains("29 Nov A q100/126"), "{text}");
    assert!(text.contains("each by the latest three days on which it was answered"), "{text}");
}

#[test]
fn slow_keys_that_are_not_asked_any_more_are_a_reason_and_keys_nearly_as_quick_are_none() {
    let desk = Desk::new("class-left");
    let [anna, bert] = [(1, "Anna"), (2, "Bert")].map(|(id, name)| player(id, name).unwrap());
    for (whose, now) in [(&anna, 120.0), (&bert, 110.0)] {
        for day in [TODAY - 12, TODAY - 10] {
            keep(&desk, whose, &whose.name, day, &in_tempo(whose, day, &all_at(90.0)));
        }
        for day in [TODAY - 6, TODAY - 4, TODAY - 2] {
            keep(&desk, whose, &whose.name, day, &in_tempo(whose, day, &[(0, now), (1, now)]));
        }
    }
    let rows = rows(&desk);
    // By hand: 120 is 1.33 times 90, and 110 is 1.22 times.
    assert_eq!(reasons(&rows, "Bert"), [] as [Value; 0]);
    let anna = reasons(&rows, "Anna");
    assert_eq!(
        (anna.len(), &anna[0]["reason"], anna[0]["keys"].as_array().unwrap().len()),
        (1, &"left_behind".into(), 10)
    );
    let d = serde_json::json!({
        "concert_key": "D", "last_day": TODAY - 10, "lacks": "pace", "whole": 2, "of": 2, "best_quarter_per_minute": 90.0,
        "others_best_quarter_per_minute": 120.0,
    });
    assert_eq!(anna[0]["keys"][0], d);
    let text = words(&desk.done(CLASS));
    let told = "Weak keys without an answer on the last three days of First three notes up: E, B, F#, Db, Ab, Eb, Bb, F, C and G \
                (slow: best quarter = 90, the middle one of the keys answered since 120; last answered on 20 November 2026).";
    assert!(text.contains(told), "{text}");
    // On the third day of practice without them they are left behind, and not before.
    let earlier: Value = serde_json::from_str(&desk.done("class students --day 2026-11-27 --json")).unwrap();
    assert!(earlier["players"].as_array().unwrap().iter().all(|row| row["reasons"] == serde_json::json!([])));
}

#[test]
fn of_three_days_without_a_rest_all_three_are_told() {
    let desk = Desk::new("class-rests");
    let anna = player(1, "Anna").unwrap();
    for (back, minutes) in [(9, 60.0), (5, 33.0), (3, 31.0), (2, 29.0), (1, 45.0)] {
        let day = TODAY - back;
        keep(&desk, &anna, "anna", day, &sitting(&anna, day, &well(), minutes, false));
    }
    let told = &reasons(&rows(&desk), "Anna")[0];
    assert_eq!((&told["days"], &told["day"], &told["longest_s"]), (&3.into(), &(TODAY - 1).into(), &2700.0.into()));
    let text = words(&desk.done(CLASS));
    let told = "Went on for half an hour or more without a rest on 3 of these seven days; the longest was 45 minutes, on 29 \
                November 2026.";
    assert!(text.contains(told), "{text}");
}

#[test]
fn two_players_of_one_long_name_are_told_apart() {
    let desk = Desk::new("class-names");
    for id in [1, 2] {
        let whose = player(id, "Maximiliane Sonnenschein").unwrap();
        let mut events = sitting(&whose, TODAY - 1, &well(), 20.0, true);
        if let (2, Event::Began(began)) = (id, &mut events[0]) {
            began.simulated = true;
        }
        keep(&desk, &whose, &format!("folder-{id}"), TODAY - 1, &events);
    }
    let text = desk.done(CLASS);
    let lines: Vec<&str> = text.lines().filter(|line| line.starts_with("Maximiliane")).collect();
    assert_eq!(
        lines,
        ["Maximiliane Sonnenschein (0101), trumpet", "Maximiliane Sonnenschein (0202) (simulated), trumpet"],
        "{text}"
    );
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    assert_eq!(
        text.lines().filter(|line| line.starts_with("          ") && line.contains("29 Nov")).count(),
        2,
        "{text}"
    );
}

#[test]
fn the_page_of_a_class_counts_its_weeks_and_the_time_away_to_one_day() {
    let desk = Desk::new("class-weeks");
    let [anna, bert] = [(1, "Anna"), (2, "Bert")].map(|(id, name)| player(id, name).unwrap());
    for (whose, back) in [(&anna, 9), (&anna, 8), (&anna, 1), (&anna, -3), (&bert, 11), (&bert, 9)] {
        let day = TODAY - back;
        let mut events = sitting(whose, day, &well(), 20.0, true);
        if let (Event::Began(began), -3) = (&mut events[0], back) {
            began.started = "2026-12-03T18:00:00+01:00".to_owned();
        }
        keep(&desk, whose, &whose.name, day, &events);
    }
    desk.done(&format!("{CLASS} --html class.html"));
    let page = std::fs::read_to_string(desk.0.join("class.html")).unwrap();
    // The last sitting was on 29 November, and the seven days of table and part end on the 30th.
    assert!(page.contains("The seven days to 30 November 2026 (in brackets the seven before): 1 day with"), "{page}");
    assert!(!page.contains("The last seven days") && !page.contains("seven days to 29"));
    assert!(
        page.contains("No sitting for 9 days") && page.contains("longest time away: the 9 days to 30 November 2026")
    );
    assert!(page.contains("3 sittings on 3 days"), "a sitting after the day that is looked at counts nowhere");
}

#[test]
fn what_was_set_stands_against_what_was_done() {
    let desk = Desk::new("class-set");
    let [anna, bert] = [(1, "Anna"), (2, "Bert")].map(|(id, name)| player(id, name).unwrap());
    desk.done("lesson new major-triad-up --name Triads --days 3 --by 2026-11-29 --to week.toml");
    let told = desk.done("lesson show week.toml");
    let sha256 = told.lines().find_map(|line| line.trim().strip_prefix("SHA-256 ")).unwrap().to_owned();
    let by = Some("2026-11-29".into());
    let lesson = LessonMark { name: "Triads".into(), sha256, days: 3, by, trial: false, charts: Vec::new() };
    // Two days in time, and one too late.
    for day in [TODAY - 3, TODAY - 1, TODAY] {
        let mut events = sitting(&anna, day, &[(0, false), (1, false), (2, true)], 20.0, true);
        if let Event::Began(began) = &mut events[0] {
            began.lesson = Some(lesson.clone());
        }
        keep(&desk, &anna, "anna", day, &events);
    }
    keep(&desk, &bert, "bert", TODAY - 1, &sitting(&bert, TODAY - 1, &well(), 20.0, true));
    let text = desk.done(&format!("{CLASS} --lesson week.toml"));
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let done = "Lesson \"Triads\": on 2 of 3 days, 3 of 12 keys answered, was due by 29 November 2026; practised after it \
                too, on 1 day.";
    assert!(text.contains(done), "{text}");
    assert!(text.contains("Lesson \"Triads\": not begun, was due by 29 November 2026."), "{text}");
    // Another task is another lesson.
    let week = std::fs::read_to_string(desk.0.join("week.toml")).unwrap();
    desk.file("other.toml", week.replace("days = 3", "days = 2").as_bytes());
    desk.file("blanks.toml", week.replace("days = 3", "# three\ndays   =   3").as_bytes());
    let same = |file: &str| desk.done(&format!("lesson show {file}")).contains(&lesson.sha256);
    assert_eq!([same("blanks.toml"), same("other.toml")], [true, false]);
    let text = desk.done(&format!("{CLASS} --lesson other.toml"));
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("on 1 day. This is another text than the lesson that is set."), "{text}");
    // A lesson that students may have is not written over.
    let (code, said) = desk.run("lesson new minor-triad-up --to week.toml");
    assert!(code == 2 && said.contains("another lesson lies in week.toml"), "{said}");
    assert_eq!(std::fs::read_to_string(desk.0.join("week.toml")).unwrap(), week);
}

#[test]
fn a_folder_of_photographs_does_not_hide_the_class() {
    let desk = Desk::new("class-photographs");
    let anna = player(1, "Anna").unwrap();
    for day in [TODAY - 9, TODAY - 1] {
        keep(&desk, &anna, "anna", day, &sitting(&anna, day, &well(), 20.0, true));
    }
    for n in 0..12 {
        desk.file(&format!("students/photograph-{n:02}.zip"), b"no zip at all");
    }
    let text = desk.done(CLASS);
    assert!(text.contains("Anna"), "{text}");
    assert_eq!(text.matches("photograph-").count(), 5, "{text}");
    assert!(text.contains("and 7 files more could not be read, or not all of it"), "{text}");
    // The day before, the sitting had not been played: that is no fault of a clock.
    let text = desk.done(&format!("class students --day {}", "2026-11-25"));
    assert!(text.contains("1 sitting after 25 November 2026 not looked at") && !text.contains("clock"), "{text}");
}

#[test]
fn the_page_of_a_class_has_a_part_a_player_and_loads_nothing() {
    let desk = Desk::new("class-page");
    for (id, name) in [(1, "Anna"), (2, "<b>Bert</b>")] {
        let whose = player(id, name).unwrap();
        keep(&desk, &whose, &format!("folder-{id}"), TODAY - 9, &sitting(&whose, TODAY - 9, &well(), 20.0, true));
    }
    desk.done(&format!("{CLASS} --html class.html"));
    let page = std::fs::read_to_string(desk.0.join("class.html")).unwrap();
    assert_eq!(page.matches("id=\"part-").count(), 2);
    assert_eq!(page.matches("No sitting for 9 days").count(), 2);
    assert!(!page.contains("<b>") && !page.contains("http://") && !page.contains("<script"));
    assert!(!page.contains("<audio"), "it holds no sound");
}
