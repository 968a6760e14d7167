use std::ops::RangeInclusive;

use crate::coach::LearnerModel;
use crate::music::{ConcertKey, Mode, ReflexUnit};
use crate::pattern::PatternId;
use crate::report::page::{KeyLine, KeyMeasure, KeyTable};
use crate::units::{Seconds, rank};
use crate::words::Page;

/// Heights of a bar, low to tall.
const BARS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
/// The sign of a day on which the key was not measured.
const NOTHING: char = '·';

/// Number of keys in a third of all twelve.
const FOUR: usize = 4;
/// Largest number of days that are drawn of a table of the teacher's page, the latest ones: a picture of more does not fit a screen.
const MOST_DAYS: i32 = 45;

/// One pattern's twelve keys over the days, as text: one row for each key as the player reads it, round the circle from C, and one column
/// for each day; tall is slow.
///
/// A bar is the middle of the day's reflex times (geometric mean), on one logarithmic scale for all keys, so that equal heights are equal
/// times. Before the bars stands the middle of the first third of the days on which the key was measured, behind them that of the last
/// third, as one day alone is chance, and the number of the key's cues. `mode` is the pattern's. Below stands, where enough keys were
/// measured, whether the keys grew equal and which keys came more often.
#[must_use]
pub fn keys_over_days(
    learner: &LearnerModel,
    pattern: &PatternId,
    days: RangeInclusive<i32>,
    mode: Mode,
    page: &Page,
) -> String {
    let mut keys = ConcertKey::FIFTHS;
    keys.sort_by_cached_key(|key| page.place(*key));
    let rows: Vec<Course> =
        keys.iter().map(|key| Course::of(learner, pattern, *key, &days, page.key(*key, mode))).collect();
    picture(KeyMeasure::Reflex(page.reading.reflex), &page.instrument.name, &rows, "cue")
}

/// The keys of one table of the teacher's page as the same picture: its own middles at first, day by day and at last. A pace is
/// drawn tall where it is fast.
pub(super) fn table_over_days(table: &KeyTable, instrument: &str) -> String {
    let days = table.days.0.max(table.days.1.saturating_sub(MOST_DAYS - 1))..=table.days.1;
    let row = |line: &KeyLine| Course {
        name: line.name.clone(),
        values: days.clone().map(|day| line.days.iter().find(|one| one.0 == day).map(|one| one.1)).collect(),
        first: line.first,
        last: line.last,
        asked: line.answers,
    };
    let mut text = picture(table.measure, instrument, &table.lines.iter().map(row).collect::<Vec<_>>(), "answer");
    // The days of "at first" may lie before those that are drawn.
    if *days.start() > table.days.0 {
        text.push_str(&format!("Drawn: the last {MOST_DAYS} days.\n"));
    }
    text
}

/// One key over the days.
struct Course {
    /// The key, as the player reads it.
    name: String,
    /// One entry for each day, in seconds or quarters a minute; `None` where the key was not measured.
    values: Vec<Option<f64>>,
    first: Option<f64>,
    last: Option<f64>,
    /// Number of the key's cues; on a teacher's page of its answers that count.
    asked: u32,
}

impl Course {
    fn of(
        learner: &LearnerModel,
        pattern: &PatternId,
        key: ConcertKey,
        days: &RangeInclusive<i32>,
        name: String,
    ) -> Self {
        let row = learner.key_stats(pattern, key);
        let on = |day: i32| row.days().iter().find(|one| one.day == day)?.reflex().map(|(_, time)| time.0);
        let values: Vec<Option<f64>> = days.clone().map(on).collect();
        let known: Vec<f64> = values.iter().flatten().copied().collect();
        let third = known.len().div_ceil(3);
        let (first, last) = (middle(&known[..third]), middle(&known[known.len() - third..]));
        Self { name, values, first, last, asked: row.cues() }
    }
}

/// The geometric mean: times are skewed to the long side, so their logarithms are averaged (common practice).
fn middle(times: &[f64]) -> Option<f64> {
    (!times.is_empty()).then(|| (times.iter().map(|time| time.ln()).sum::<f64>() / times.len() as f64).exp())
}

/// The picture of all keys; `asked` names what the last column counts.
fn picture(measure: KeyMeasure, instrument: &str, rows: &[Course], asked: &str) -> String {
    let all = rows.iter().flat_map(|row| row.values.iter().flatten().copied());
    let (low, high) = all.fold((f64::INFINITY, 0.0f64), |(low, high), value| (low.min(value), high.max(value)));
    let (what, tall, quickest) = match measure {
        KeyMeasure::Reflex(_) => ("Reflex time", "slow", "quickest"),
        KeyMeasure::Pace => ("Pace (quarter =)", "fast", "fastest"),
    };
    let mut text = format!("{what}, {instrument}: at first, day by day (tall is {tall}), at last.\n");
    let names = rows.iter().map(|row| row.name.len()).max().unwrap_or_default().max(3);
    for row in rows {
        let bars: String =
            row.values.iter().map(|value| value.map_or(NOTHING, |value| bar(value, low, high))).collect();
        let [first, last] = [row.first, row.last].map(|value| worded(measure, value));
        let plural = if row.asked == 1 { "" } else { "s" };
        text.push_str(&format!("{:<names$} {first} {bars} {last} {:>4} {asked}{plural}\n", row.name, row.asked));
    }
    if let (Some(before), Some(after)) = (apart(rows, |row| row.first), apart(rows, |row| row.last)) {
        let apart = [before, after].map(|value| match measure {
            KeyMeasure::Reflex(unit) => format!("{} {}", unit.number(Seconds(value), false), unit.sign()),
            KeyMeasure::Pace => format!("{value:.0}"),
        });
        text.push_str(&format!("Slowest and {quickest} key: {} apart at first, {} at last.\n", apart[0], apart[1]));
    }
    if let Some((slowest, quick)) = share_by_need(measure, rows) {
        text.push_str(&format!(
            "The four keys slowest at first got {slowest:.0} % of the {asked}s, the four {quickest} {quick:.0} %.\n"
        ));
    }
    text
}

/// Distance from the quickest to the slowest key, where two keys are known.
fn apart(rows: &[Course], value: fn(&Course) -> Option<f64>) -> Option<f64> {
    let mut values: Vec<f64> = rows.iter().filter_map(value).collect();
    values.sort_by(f64::total_cmp);
    (values.len() > 1).then(|| values[values.len() - 1] - values[0])
}

/// Per cent of all cues (or answers) that went to the four keys slowest at first, and to the four quickest; an even share is 33.
fn share_by_need(measure: KeyMeasure, rows: &[Course]) -> Option<(f64, f64)> {
    let mut known: Vec<(f64, u32)> = rows.iter().filter_map(|row| Some((row.first?, row.asked))).collect();
    known.sort_by_cached_key(|it| rank(-it.0));
    if !measure.is_time() {
        known.reverse();
    }
    let all: u32 = rows.iter().map(|row| row.asked).sum();
    let share =
        |four: &[(f64, u32)]| 100.0 * f64::from(four.iter().map(|(_, asked)| asked).sum::<u32>()) / f64::from(all);
    (known.len() >= 2 * FOUR && all > 0).then(|| (share(&known[..FOUR]), share(&known[known.len() - FOUR..])))
}

fn bar(value: f64, low: f64, high: f64) -> char {
    let place = if high > low { (value / low).ln() / (high / low).ln() } else { 0.0 };
    BARS[(place * 8.0).clamp(0.0, 7.0) as usize]
}

fn worded(measure: KeyMeasure, value: Option<f64>) -> String {
    let width = match measure {
        KeyMeasure::Reflex(ReflexUnit::Seconds) => 5,
        KeyMeasure::Reflex(ReflexUnit::Milliseconds) => 7,
        KeyMeasure::Pace => 3,
    };
    let shown = value.map_or_else(
        || "-".to_owned(),
        |value| match measure {
            KeyMeasure::Reflex(unit) => format!("{} {}", unit.number(Seconds(value), false), unit.sign()),
            KeyMeasure::Pace => format!("{value:.0}"),
        },
    );
    format!("{shown:>width$}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coach::{AnswerEvidence, Rule};
    use crate::cue::{Form, Timing};
    use crate::pattern::Register;
    use crate::units::Tempo;
    use crate::verdict::TempoStep;

    #[test]
    fn a_key_that_grew_quick_falls_from_left_to_right_in_the_players_own_key() {
        let pattern = PatternId("five notes".to_owned());
        let mut learner = LearnerModel::new();
        let mut answer = |key: usize, day, time| {
            learner.learn(&AnswerEvidence {
                pattern: pattern.clone(),
                key: ConcertKey::FIFTHS[key],
                register: Register::Middle,
                form: Form::FirstNote,
                timing: Timing::Free,
                tempo: Tempo(80.0),
                kept_tempo: Some(Tempo(80.0)),
                right: 8,
                of: 8,
                step: TempoStep::Up,
                rule: Rule::UpStayDown,
                reflex: Some(Seconds(time)),
                day,
                at: Seconds(0.0),
            });
        };
        [(0, 3.2), (1, 1.6), (3, 0.8)].into_iter().for_each(|(day, time)| answer(0, day, time));
        [(0, 0.4), (3, 0.4)].into_iter().for_each(|(day, time)| answer(1, day, time));
        let trumpet = crate::music::instrument("trumpet").unwrap();
        let text = keys_over_days(
            &learner,
            &pattern,
            0..=3,
            Mode::Major,
            &Page::new(trumpet.clone(), crate::music::Reading::default()),
        );
        let row = |name: &str| text.lines().find(|line| line.starts_with(name)).unwrap().to_owned();
        // Sounding C is a trumpet's D, sounding G its A.
        assert_eq!(row("D "), "D   3.2 s █▆·▃ 0.8 s    0 cues");
        assert_eq!(row("A "), "A   0.4 s ▁··▁ 0.4 s    0 cues");
        assert_eq!(row("E "), "E       - ····     -    0 cues");
        assert!(text.ends_with("Slowest and quickest key: 2.8 s apart at first, 0.4 s at last.\n"), "{text}");
    }
    #[test]
    fn of_tempo_alone_the_pace_is_drawn_with_the_middles_of_the_page() {
        let line = |name: &str, days: &[(i32, f64)]| KeyLine {
            held_out: false,
            best: None,
            left_since: None,
            name: name.to_owned(),
            first: days.first().map(|day| day.1),
            last: days.last().map(|day| day.1),
            days: days.to_vec(),
            first_tries: (1, 1),
            right: (9, 9),
            answers: 3,
        };
        let lines = vec![line("C", &[(100, 60.0), (102, 120.0)]), line("F#", &[(101, 80.0)])];
        let table = KeyTable { measure: KeyMeasure::Pace, goal: 144.0, days: (100, 102), missing: Vec::new(), lines };
        assert_eq!(
            table_over_days(&table, "tenor trombone"),
            "Pace (quarter =), tenor trombone: at first, day by day (tall is fast), at last.\n\
             C    60 ▁·█ 120    3 answers\nF#   80 ·▄·  80    3 answers\n\
             Slowest and fastest key: 20 apart at first, 40 at last.\n"
        );
    }
}
