//! Three months of three simulated players: one improves, one stands still, one is away for a month. What `log`, `review` and the page
//! say of the players is compared with what they truly played.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use earfirst::outside::music::ConcertKey;
use earfirst::outside::session::write_line;
use serde_json::Value;

use crate::desk::Desk;
use crate::records::months::{Course, Student};
use crate::records::recounted::paged::{between, plain, rows};
use crate::records::recounted::raw::{RawSitting, RawTurn, first_tries, median, middle, num, turns};
use crate::records::recounted::reviewed::KEYS;

const PATTERN: &str = "five-note-row-up-and-down";
/// When the third player was away, in days before the last Sunday.
const AWAY: std::ops::Range<i32> = 22..56;

/// What log, review and page say of a player, and the records.
struct Season {
    log: Value,
    log_text: String,
    review: Value,
    review_text: String,
    page: String,
    truth: Vec<RawSitting>,
    today: i32,
    /// The written key that is held out of practice.
    out: Option<&'static str>,
}

fn season(name: &str, course: Course, seed: u64, away: std::ops::Range<i32>, out: Option<usize>) -> Season {
    let desk = Desk::new(&format!("season-{name}"));
    let folder = desk.0.join("data/sessions");
    fs::create_dir_all(&folder).unwrap();
    let today = i32::try_from(std::time::SystemTime::UNIX_EPOCH.elapsed().unwrap().as_secs() / 86_400).unwrap();
    // The last Sunday, so that it is the same on every day of the week; 1970-01-01 was a Thursday.
    let today = today - (today - 3).rem_euclid(7);
    let student = Student::new(course, seed, None);
    let mut student = match out {
        Some(place) => student.without(ConcertKey::FIFTHS[place], today + 7),
        None => student,
    };
    let mut truth = Vec::new();
    // Five days a week.
    for before in (0..90).rev().filter(|before| before % 7 < 5 && !away.contains(before)) {
        let text: String = student.sitting(PATTERN, today - before, 0, 36).iter().map(write_line).collect();
        fs::write(folder.join(format!("{:03}.jsonl", 90 - before)), &text).unwrap();
        truth.push(RawSitting::read(&text));
    }
    let json = |line: &str| -> Value { serde_json::from_str::<Value>(&desk.done(line)).unwrap()["parts"][0].take() };
    let (log, review) = (json("log --json"), json("review data/sessions --json"));
    desk.done("review data/sessions --html page.html");
    let page = fs::read_to_string(desk.0.join("page.html")).unwrap();
    if let Some(keep) = std::env::var_os("EARFIRST_PAGES") {
        fs::write(std::path::Path::new(&keep).join(format!("{name}.html")), &page).unwrap();
    }
    let (log_text, review_text) = (desk.done("log"), desk.done("review data/sessions"));
    Season { log, log_text, review, review_text, page, truth, today, out: out.map(|place| KEYS[(place + 2) % 12]) }
}

impl Season {
    fn turns(&self) -> Vec<RawTurn> {
        turns(&self.truth.iter().collect::<Vec<_>>())
    }

    /// The median reflex time, in seconds, of the sittings within this range of days before the last one.
    fn reflex(&self, before: std::ops::Range<i32>) -> f64 {
        let turns = self.turns();
        let day = |before: i32| i64::from(self.today - before);
        let mine: Vec<&RawTurn> =
            turns.iter().filter(|it| it.counts() && it.day <= day(before.start) && it.day > day(before.end)).collect();
        middle(&mine, RawTurn::reflex).unwrap()
    }

    /// The reflex times of the log's weeks, the oldest first.
    fn weeks(&self) -> Vec<f64> {
        self.log["weeks"].as_array().unwrap().iter().rev().map(|week| num(&week["reflex_s"])).collect()
    }

    /// The first and the last reflex time of each key, as the page has them.
    fn first_and_last(&self) -> Vec<(f64, f64)> {
        let table = between(&self.page, "The keys by reflex time", "</section>");
        rows(table).iter().map(|(_, cells, _)| (cells[0].parse().unwrap(), cells[1].parse().unwrap())).collect()
    }

    /// Into how many lines the page breaks the course of each key.
    fn stretches(&self) -> Vec<usize> {
        let table = between(&self.page, "The keys by reflex time", "</section>");
        rows(table).iter().map(|(_, _, row)| row.matches("<polyline").count()).collect()
    }

    /// By written key: the median reflex time on the last third of the days, and the first tries.
    fn keys(&self) -> BTreeMap<&'static str, (f64, (usize, usize))> {
        let turns = self.turns();
        let answers: Vec<&RawTurn> = turns.iter().filter(|it| it.counts()).collect();
        let days: BTreeSet<i64> = answers.iter().filter(|it| it.reflex().is_some()).map(|it| it.day).collect();
        let last: Vec<i64> = days.iter().rev().take(days.len().div_ceil(3)).copied().collect();
        let of = |(place, key): (usize, &&str)| {
            let mine: Vec<&RawTurn> = answers.iter().filter(|it| it.key() == *key).copied().collect();
            let late: Vec<&RawTurn> = mine.iter().filter(|it| last.contains(&it.day)).copied().collect();
            (KEYS[(place + 2) % 12], (middle(&late, RawTurn::reflex).unwrap(), first_tries(&mine)))
        };
        KEYS.iter().enumerate().map(of).collect()
    }

    /// Whether these are all the practised keys with the smallest share of first tries all right: all that are equally unsure are named, or
    /// none of them.
    fn unsure(&self, named: &[&str]) -> bool {
        let keys = self.keys();
        let practised = || keys.iter().filter(|(key, _)| Some(**key) != self.out);
        let least = practised().map(|(_, (_, tries))| share(*tries)).fold(1.0, f64::min);
        let there: Vec<&str> =
            practised().filter(|(_, (_, tries))| share(*tries) <= least).map(|(key, _)| *key).collect();
        named.len() == there.len() && there.iter().all(|key| named.contains(key))
    }

    /// Checks that what the sentences of page and review say of keys is true.
    fn is_true(&self) {
        let keys = self.keys();
        let times: Vec<f64> = keys.values().map(|(time, _)| *time).collect();
        let (middle, shown) = (median(&times).unwrap(), |time: f64| format!("{time:.1} s"));
        let practised = || keys.iter().filter(|(key, _)| Some(**key) != self.out);
        let unsure = |named: &[&str]| self.unsure(named);
        let mut checked = 0;
        let advice = plain(&between(&self.page, "What to work on", "</ol>").replace("<li>", "\n"));
        for sentence in advice.lines().map(str::trim).filter(|line| !line.is_empty()) {
            checked += 1;
            if let Some((named, rest)) =
                sentence.split_once(" first tries of a day").map(|(said, _)| said.split_once(": ").unwrap())
            {
                let named = listed(named);
                let tries: Vec<String> = named.iter().map(|key| told(keys[*key].1)).collect();
                let alike = tries.iter().all(|it| *it == tries[0]) && rest == tries[0];
                assert!(unsure(&named) && (alike || listed(rest) == tries), "{sentence}");
            } else if let Some((said, rest)) = sentence.split_once(" take ") {
                let key = said.split(" and ").next().unwrap();
                let ratio = keys[key].0 / middle;
                assert!(practised().all(|(_, (time, _))| *time <= keys[key].0) && ratio >= 1.25, "{sentence}");
                assert!(
                    said.ends_with(", in this order,") && rest.starts_with(&format!("{ratio:.1} and ")),
                    "{sentence}"
                );
            } else if let Some((key, rest)) = sentence.split_once(" takes ") {
                let ratio = keys[key].0 / middle;
                assert!(practised().all(|(_, (time, _))| *time <= keys[key].0) && ratio >= 1.25, "{sentence}");
                assert!(
                    rest.starts_with(&format!("{ratio:.1} times as long to begin as the middle key")),
                    "{sentence}"
                );
            } else if let Some(rest) = sentence.strip_prefix("All keys: the middle one begins after ") {
                assert!(
                    rest.starts_with(&format!("{}, the goal is 0.8 s", shown(middle))) && middle > 0.8,
                    "{sentence}"
                );
            } else {
                panic!("a sentence that nobody checks: {sentence}");
            }
            assert!(self.review_text.replace("\n      ", " ").contains(sentence), "the review says it too: {sentence}");
        }
        assert!((1..=3).contains(&checked), "{advice}");
        let head = plain(between(&self.page, "<p class=\"first\">", "</p>"));
        for part in head.trim_end_matches('.').split("; ") {
            let (what, named) = part.split_once(": ").unwrap_or((part, ""));
            let told_of: Vec<(&str, &str)> =
                listed(named).into_iter().filter_map(|one| one.trim_end_matches(')').split_once(" (")).collect();
            let named: Vec<&str> = told_of.iter().map(|(key, _)| *key).collect();
            for (key, figure) in told_of {
                let ratio = keys[key].0 / middle;
                match what.to_lowercase().as_str() {
                    "slowest to begin" => assert!(figure == shown(keys[key].0) && ratio >= 1.25, "{head}"),
                    "quickest" => assert!(figure == shown(keys[key].0) && 1.0 / ratio >= 1.25, "{head}"),
                    _ => assert!(unsure(&named) && figure == told(keys[key].1) + " right", "{head}"),
                }
            }
        }
    }
}

/// The entries of a list in words: "a, b and c".
fn listed(text: &str) -> Vec<&str> {
    text.split(" and ").flat_map(|part| part.split(", ")).collect()
}

fn told((whole, tries): (usize, usize)) -> String {
    format!("{whole} of {tries}")
}

fn share((whole, tries): (usize, usize)) -> f64 {
    whole as f64 / tries as f64
}

#[test]
fn of_one_who_improves_log_review_and_page_say_so() {
    let it = season("improves", Course::Improves, 41, 0..0, None);
    let (now, then) = (it.reflex(0..21), it.reflex(69..90));
    assert!(now < 0.65 * then, "so it truly was: {then:.2} s, then {now:.2} s");
    let weeks = it.weeks();
    let said = |weeks: &[f64]| median(weeks).unwrap();
    let (first, last) = (said(&weeks[..3]), said(&weeks[weeks.len() - 3..]));
    assert!((first / then - 1.0).abs() < 0.1 && (last / now - 1.0).abs() < 0.1, "{weeks:?} {then} {now}");
    let keys = it.first_and_last();
    assert!(keys.len() == 12 && keys.iter().all(|(first, last)| last <= first), "{keys:?}");
    // Those next to the home key were nearly a reflex from the beginning.
    assert!(keys.iter().filter(|(first, last)| last < first).count() >= 9, "{keys:?}");
    assert!(it.stretches().iter().all(|lines| *lines == 1), "one who never stayed away has unbroken lines");
    assert!(!it.log_text.contains("without a sitting") && !it.log_text.contains("Kept:"), "{}", it.log_text);
    it.is_true();
}

#[test]
fn of_one_who_stands_still_nothing_says_otherwise() {
    let it = season("still", Course::StandsStill, 42, 0..0, None);
    let (now, then) = (it.reflex(0..21), it.reflex(69..90));
    assert!((now / then - 1.0).abs() < 0.1, "so it truly was: {then:.2} s, then {now:.2} s");
    let weeks = it.weeks();
    let usual = median(&weeks).unwrap();
    assert!(weeks.iter().all(|week| (week / usual - 1.0).abs() < 0.15), "{weeks:?}");
    let ratios: Vec<f64> = it.first_and_last().iter().map(|(first, last)| last / first).collect();
    assert!(ratios.len() == 12 && ratios.iter().all(|ratio| (0.7..1.4).contains(ratio)), "{ratios:?}");
    assert!((median(&ratios).unwrap() - 1.0).abs() < 0.1, "{ratios:?}");
    it.is_true();
}

#[test]
fn of_one_who_was_away_the_gap_is_seen_and_what_was_kept_is_told() {
    let it = season("away", Course::Improves, 43, AWAY, None);
    assert!(it.log_text.contains("    (4 weeks without a sitting)\n"), "{}", it.log_text);
    assert!(it.page.contains("longest time away: 35 days"));
    assert!(
        it.stretches().iter().all(|lines| *lines == 2),
        "{:?}: broken where the month was, and bridged nowhere",
        it.stretches()
    );
    let (before, back) = (it.reflex(56..63), it.reflex(14..22));
    assert!(back > 1.05 * before, "so it truly was: {before:.2} s, and after the month {back:.2} s");
    let weeks = it.weeks();
    let at = |days: i64| {
        let until = |week: &Value| week["until_day"].as_i64().unwrap();
        let day = i64::from(it.today) - days;
        let all = it.log["weeks"].as_array().unwrap().iter().rev();
        weeks[all.clone().position(|week| (until(week) - 6..=until(week)).contains(&day)).unwrap()]
    };
    assert!(at(21) > at(56), "the log's week of the return is slower than the last before: {weeks:?}");
    let turns = it.turns();
    let long: Vec<&RawTurn> = turns
        .iter()
        .filter(|turn| turn.counts() && turn.cue["reason"]["days"].as_i64().is_some_and(|days| days >= 30))
        .collect();
    let whole = long.iter().filter(|turn| turn.whole()).count();
    assert!(long.len() >= 10 && long.iter().all(|turn| turn.cue["reason"]["days"] == 35));
    assert!(
        it.log_text.contains(&format!("  after a month or more away: {whole} of {}\n", long.len())),
        "{}",
        it.log_text
    );
    let back = it.review["back"].as_array().unwrap();
    assert_eq!(back.iter().filter(|row| row["days"] == 35).count(), long.len());
    it.is_true();
}

#[test]
fn of_one_who_leaves_a_key_out_it_is_told_how_that_key_came_all_the_same() {
    // Sounding F#, a trumpet's written Ab.
    let it = season("held-out", Course::Improves, 44, 0..0, Some(6));
    let turns = it.turns();
    let held = |it: &&&RawTurn| it.cue["reason"].get("held_out_until_day").is_some();
    let asked: Vec<&RawTurn> = turns.iter().filter(|it| held(&it)).collect();
    assert!(asked.len() >= 11 && asked.windows(2).all(|two| two[1].day - two[0].day >= 7), "{}", asked.len());
    assert!(turns.iter().filter(|it| it.key() == asked[0].key()).all(|it| held(&&it)), "asked by nothing else");
    let mine: Vec<&RawTurn> = asked.into_iter().filter(|it| it.counts()).collect();
    let whole = mine.iter().filter(|it| it.whole()).count();
    let told = format!("{whole} of {} all right, reflex {:.1} s;", mine.len(), middle(&mine, RawTurn::reflex).unwrap());
    assert!(plain(&it.page).contains("Ab, held out of practice and asked once a week until "), "{}", it.review_text);
    for text in [plain(&it.page), it.log_text.replace("\n  ", " "), it.review_text.replace("\n  ", " ")] {
        assert!(text.contains(&told), "{told}\n{text}");
    }
    // This simulated player learns each key by itself, so the key without practice stays behind. With a person it may be otherwise.
    let row = &it.review["held_out"][0];
    assert!(num(&row["answers"]["reflex_s"]) > 1.2 * num(&row["others_first_tries"]["reflex_s"]), "{row}");
    it.is_true();
}
