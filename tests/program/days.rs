//! The plan of a day: it is said in five lines, and the sitting keeps to it.

use earfirst::outside::files::read_sessions;
use earfirst::outside::session::Session;

use crate::desk::Desk;

#[test]
fn a_day_is_said_in_five_lines_and_lasts_as_long_as_was_said() {
    let desk = Desk::new("day");
    let shown = desk.done("today --minutes 20 --show --simulated");
    let said: Vec<&str> = shown.lines().collect();
    assert_eq!((said.len(), said[0]), (6, "Today, 20 minutes:"), "{shown}");
    for (line, part) in said[1..].iter().zip(["low and easy", "once each", "needs it most", "goes well", "joined"]) {
        assert!(line.contains(part) && line.chars().count() <= 80, "{shown}");
    }
    assert!(said[5].starts_with("  to 20:00"), "{shown}");
    // The keys that fit, and no time for more.
    let shown = desk.done("today --minutes 5 --show --simulated --seed 4");
    let said: Vec<&str> = shown.lines().collect();
    assert!(said.len() == 5 && !shown.contains("needs it most") && said[4].starts_with("  to  5:00"), "{shown}");
    if std::env::var_os("EARFIRST_LONGER").is_none() {
        return;
    }
    let text = desk.done("today --minutes 5 --simulated --fast --plain --seed 4");
    assert!(text.starts_with(&shown) && text.contains("Now joined phrases") && text.contains("is over."), "{text}");
    let clock = |line: &str| {
        let (minutes, seconds) = line[5..10].trim().split_once(':').unwrap();
        60.0 * minutes.parse::<f64>().unwrap() + seconds.parse::<f64>().unwrap()
    };
    let stored = read_sessions(&[desk.0.join("data/sessions")]).sessions.remove(0);
    let lasted = Session::of(stored.events).unwrap().until.0;
    // What follows it is as long as its choruses are, so the day keeps to its minutes within 5 %.
    assert!((lasted - clock(said[3])).abs() < 0.05 * 300.0, "{lasted} s, {shown}");
}

#[test]
fn a_day_ends_with_a_free_chorus_over_a_chart_of_ones_own_where_there_is_time() {
    let desk = Desk::new("day-chorus");
    desk.file("tune.txt", b"| Dm7 | G7 | Cmaj7 | % |");
    desk.done("charts import tune.txt --name my-tune");
    let shown = desk.done("today --minutes 20 --show --simulated");
    let said: Vec<&str> = shown.lines().collect();
    assert!(said[5].contains("joined phrases") && !said[5].starts_with("  to 20:00"), "{shown}");
    assert_eq!(said[6], "  to 20:00  a free chorus over my-tune, in headphones", "{shown}");
    // 200 bars at 120 last 400 s: longer than the end of any day.
    let long = "| Dm7 | G7 ".repeat(100) + "|";
    let other = Desk::new("day-no-chorus");
    other.file("long.txt", long.as_bytes());
    other.done("charts import long.txt --name my-epic");
    assert!(!other.done("today --minutes 20 --show --simulated").contains("free chorus"), "no time for it");
}

#[test]
fn a_day_too_short_for_a_plan_is_a_drill() {
    let (code, said) = Desk::new("short-day").run("today --minutes 3 --show");
    assert!(code == 2 && said.contains("cannot be planned") && said.contains("earfirst drill --minutes"), "{said}");
}
