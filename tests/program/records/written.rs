//! The format of records: every record that is written reads back, and no file that is read does harm.

use std::fs;
use std::path::Path;

use arbtest::arbtest;
use earfirst::outside::session::{ChorusRecord, Event, Session, TradeMark, read, write_line};
use earfirst::outside::units::{Cents, Decibels, Seconds, Tempo};

use crate::records::{beside, made};

fn schema() -> jsonschema::Validator {
    let text = fs::read_to_string("assets/schema/session.schema.json").unwrap();
    let schema: serde_json::Value = serde_json::from_str(&text).unwrap();
    jsonschema::draft202012::meta::validate(&schema).unwrap();
    jsonschema::draft202012::new(&schema).unwrap()
}

fn check_schema(schema: &jsonschema::Validator, lines: &[u8]) {
    for line in lines.split(|byte| *byte == b'\n').filter(|line| !line.is_empty()) {
        let value: serde_json::Value = serde_json::from_slice(line).unwrap();
        if let Err(error) = schema.validate(&value) {
            panic!("{error} at {} in {value}", error.instance_path());
        }
    }
}

#[test]
fn a_sitting_that_was_written_reads_the_same_and_fits_its_schema() {
    let schema = schema();
    arbtest(|u| {
        let events = made::any_sitting(u)?;
        let bytes = made::file(&events);
        assert_eq!(read(&bytes), (events, None));
        check_schema(&schema, &bytes);
        Ok(())
    })
    .budget_ms(2000);
}

/// Lines whose field `event` stands first are read by a faster way.
#[test]
fn a_line_means_the_same_wherever_its_kind_stands() {
    arbtest(|u| {
        let events = made::any_sitting(u)?;
        let (first, rest) = events.split_at(1);
        let moved: String = rest.iter().map(write_line).map(|line| kind_last(&line)).collect();
        assert_eq!(read(&[made::file(first), moved.into_bytes()].concat()), (events, None));
        Ok(())
    })
    .budget_ms(2000);
}

fn kind_last(line: &str) -> String {
    let (kind, others) = line.split_once(',').unwrap();
    format!("{{{},{}}}\n", others.trim_end().strip_suffix('}').unwrap(), &kind[1..])
}

#[test]
fn every_float_comes_back_bit_for_bit() {
    arbtest(|u| {
        let cents = f64::from_bits(u.arbitrary()?);
        if !(-1e6..=1e6).contains(&cents) {
            return Ok(());
        }
        let mut judgement = made::judgement(1);
        judgement.verdict.centre = Some(Cents(cents));
        let (events, _) = read(&made::file(&[Event::Began(made::began()), Event::Judged(judgement)]));
        let Event::Judged(back) = &events[1] else { panic!("{events:?}") };
        assert_eq!(back.verdict.centre.unwrap().0.to_bits(), cents.to_bits());
        Ok(())
    })
    .budget_ms(500);
}

#[test]
fn the_reader_survives_any_bytes() {
    arbtest(|u| {
        let bytes: Vec<u8> = u.arbitrary()?;
        let (events, damage) = read(&bytes);
        assert!(!events.is_empty() || damage.is_some());
        Ok(())
    })
    .budget_ms(1000);
}

#[test]
fn the_reader_survives_a_true_file_with_bytes_changed() {
    let whole = made::file(&made::sitting(3));
    arbtest(|u| {
        let mut bytes = whole.clone();
        for _ in 0..u.int_in_range(1..=8)? {
            let at = u.choose_index(bytes.len())?;
            match u.int_in_range(0..=2)? {
                0 => bytes[at] = u.arbitrary()?,
                1 => drop(bytes.remove(at)),
                _ => bytes.insert(at, *u.choose(b"\n{}[]\"0129eE-.,nul")?),
            }
        }
        let (events, damage) = read(&bytes);
        if let Some(damage) = damage {
            assert_eq!(damage.kept, events.len());
        }
        drop(Session::from_events(&events));
        drop(read(&made::file(&events)));
        Ok(())
    })
    .budget_ms(1000);
}

#[test]
fn numbers_that_are_none_are_never_written() {
    let mut answer = made::answer(1);
    answer.heard[0].loudness = Decibels(f64::NEG_INFINITY);
    answer.heard[1].release = Seconds(f64::NAN);
    let mut judgement = made::judgement(1);
    judgement.verdict.pace = Some(Tempo(f64::NAN));
    judgement.sentence = "F\u{1b}[2Jsharp\n".to_owned();
    let events = [Event::Began(made::began()), Event::Answered(answer), Event::Judged(judgement)];
    let (back, damage) = read(&made::file(&events));
    assert_eq!(damage, None);
    let (Event::Answered(answer), Event::Judged(judgement)) = (&back[1], &back[2]) else { panic!("{back:?}") };
    assert_eq!(answer.heard[0].loudness, Decibels(-1000.0));
    assert_eq!(answer.heard[1].release, Seconds(0.0));
    assert_eq!(judgement.verdict.pace, None);
    assert_eq!(judgement.sentence, "F [2Jsharp ");
}

#[test]
fn a_line_in_the_middle_that_is_spoilt_costs_that_line_only() {
    let events = made::sitting(2);
    let mut lines: Vec<String> = events.iter().map(write_line).collect();
    lines[2] = "{\"event\":\"answered\",\"at_s\":1e999}\n".to_owned();
    let (kept, damage) = read(lines.concat().as_bytes());
    let damage = damage.unwrap();
    assert_eq!((damage.line, damage.kept, damage.lost), (3, events.len() - 1, 1));
    let session = Session::from_events(&kept).unwrap();
    assert_eq!(session.trials.len(), 2);
    assert!(session.trials[0].answer.is_none());
    assert!(session.trials[1].answer.is_some());
}

#[test]
fn cut_anywhere_a_file_loses_at_most_the_line_that_was_being_written() {
    let events = made::sitting(2);
    let bytes = made::file(&events);
    for length in 0..=bytes.len() {
        let (kept, damage) = read(&bytes[..length]);
        let whole = bytes[..length].iter().filter(|byte| **byte == b'\n').count();
        // The last line counts without its line end as well.
        let complete = whole + usize::from(bytes.get(length) == Some(&b'\n'));
        assert_eq!(kept, events[..complete], "cut at {length}");
        assert_eq!(
            damage.is_some(),
            length == 0 || (bytes[length - 1] != b'\n' && complete == whole),
            "cut at {length}"
        );
    }
}

#[test]
fn a_file_of_the_first_format_is_read_as_on_its_first_day() {
    let bytes = fs::read("tests/data/sessions/format-1.jsonl").unwrap();
    check_schema(&schema(), &bytes);
    let mut sitting = made::sitting(3);
    for event in &mut sitting {
        match event {
            Event::Judged(judgement) => judgement.step = None,
            Event::Began(began) => began.ear = 1,
            _ => {}
        }
    }
    assert_eq!(read(&bytes), (sitting, None));
}

#[test]
fn a_trade_is_of_the_third_format_and_a_drill_still_of_the_second() {
    let mut sitting = made::sitting(2);
    assert!(made::file(&sitting).starts_with(b"{\"event\":\"began\",\"format\":2,"));
    if let Event::Began(began) = &mut sitting[0] {
        let chart = "| Dm7 | G7 |".to_owned();
        began.trade = Some(TradeMark { chart, tempo: Tempo(132.5), bars: 4, choruses: 2, free: None, band: None });
    }
    let bytes = made::file(&sitting);
    assert!(bytes.starts_with(b"{\"event\":\"began\",\"format\":3,"));
    check_schema(&schema(), &bytes);
    assert_eq!(read(&bytes), (sitting, None));
}

#[test]
fn what_the_band_of_a_trade_plays_reads_the_same() {
    let schema = schema();
    arbtest(|u| {
        let mut began = made::began();
        let (chart, band) = ("blues".to_owned(), Some(beside::band_mark(u)?));
        began.trade = Some(TradeMark { chart, tempo: Tempo(120.0), bars: 4, choruses: 2, free: None, band });
        let events = vec![Event::Began(began)];
        let bytes = made::file(&events);
        check_schema(&schema, &bytes);
        assert_eq!(read(&bytes), (events, None));
        Ok(())
    })
    .budget_ms(300);
}

#[test]
fn free_choruses_are_of_the_fourth_format_with_their_form_and_count_as_playing() {
    let mut began = made::began();
    let (chart, free) = ("blues".to_owned(), Some("in C | C7 | F7 |".to_owned()));
    began.trade = Some(TradeMark { chart, tempo: Tempo(120.0), bars: 0, choruses: 1, free, band: None });
    let heard = made::answer(1).heard;
    let [begins, ends] = [Seconds(2.0), Seconds(6.0)];
    let chorus = ChorusRecord {
        at: ends,
        chorus: 1,
        key: began.keys[0],
        begins,
        ends,
        heard: heard.clone(),
        drilled: Vec::new(),
    };
    let sitting = vec![Event::Began(began), Event::FreeChorus(chorus)];
    let bytes = made::file(&sitting);
    assert!(bytes.starts_with(b"{\"event\":\"began\",\"format\":4,"), "an older program must not read on");
    check_schema(&schema(), &bytes);
    assert_eq!(read(&bytes), (sitting.clone(), None));
    let session = Session::from_events(&sitting).unwrap();
    assert!(!session.is_empty() && session.trials.is_empty() && session.traded.is_empty());
    let sounding: f64 = heard.iter().map(|note| note.length().0).sum();
    assert!((session.sounding().0 - sounding).abs() < 1e-9 && session.until == ends);
    let backwards = String::from_utf8(bytes).unwrap().replace("\"ends_s\":6.0", "\"ends_s\":1.0");
    assert!(read(backwards.as_bytes()).1.unwrap().why.contains("ends before it begins"));
}

#[test]
fn a_file_of_a_format_to_come_is_refused_with_the_reason() {
    let line = write_line(&Event::Began(made::began())).replace("\"format\":2", "\"format\":5");
    let (events, damage) = read(line.as_bytes());
    assert!(events.is_empty());
    assert!(damage.unwrap().why.contains("a newer one is needed"));
}

#[test]
fn what_a_later_program_added_is_passed_over() {
    let line =
        write_line(&Event::Began(made::began())).replace("\"format\":2", "\"format\":2,\"weather\":{\"warm\":true}");
    assert_eq!(read(line.as_bytes()), (vec![Event::Began(made::began())], None));
}

#[test]
fn hostile_files_are_refused_line_by_line() {
    let mut seen = 0;
    for entry in fs::read_dir("tests/data/hostile").unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|end| end == "jsonl") {
            seen += 1;
            check_hostile(&path);
        }
    }
    assert!(seen >= 10, "{seen}");
}

/// Reads a hostile file after a true header, so that the program reads the rest of it.
fn check_hostile(path: &Path) {
    let mut bytes = write_line(&Event::Began(made::began())).into_bytes();
    bytes.extend(fs::read(path).unwrap());
    let (events, damage) = read(&bytes);
    let damage = damage.unwrap_or_else(|| panic!("{} was believed", path.display()));
    assert_eq!(events.len(), 1, "{}", path.display());
    assert!(damage.why.len() < 300 && !damage.why.chars().any(char::is_control), "{}: {}", path.display(), damage.why);
}

#[test]
fn more_notes_than_anyone_sounds_are_refused_and_never_written() {
    let mut answer = made::answer(1);
    answer.heard = vec![answer.heard[0]; 5000];
    let line = write_line(&Event::Answered(answer));
    let header = write_line(&Event::Began(made::began()));
    let (events, damage) = read(format!("{header}{line}").as_bytes());
    assert_eq!((events.len(), damage), (2, None));
    let (from, until) = (line.find('[').unwrap() + 1, line.rfind(']').unwrap());
    let twice = format!("{},{}", &line[..until], &line[from..]);
    let (events, damage) = read(format!("{header}{twice}").as_bytes());
    assert_eq!(events.len(), 1);
    assert!(damage.unwrap().why.contains("more than 4096"));
}

#[test]
fn a_later_judgement_of_a_cue_replaces_the_earlier() {
    let mut events = made::sitting(2);
    let mut mended = made::judgement(1);
    mended.sentence = "Second note flat.".to_owned();
    events.insert(5, Event::Judged(mended.clone()));
    let session = Session::from_events(&events).unwrap();
    assert_eq!(session.trials[0].judgement, Some(mended));
    assert_eq!(session.trials[1].judgement, Some(made::judgement(2)));
}
