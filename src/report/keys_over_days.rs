use std::ops::RangeInclusive;

use crate::coach::LearnerModel;
use crate::music::{ConcertKey, Mode, ReflexUnit};
use crate::pattern::PatternId;
use crate::units::Seconds;
use crate::words::Page;

/// Heights of a bar, from quick to slow.
const BARS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
/// A day on which the key was not answered freely.
const NOTHING: char = '·';

/// Keys in a third of all twelve.
const FOUR: usize = 4;

/// One pattern's twelve keys over the days, as text: one row a written key, round the circle from C, one column a day, tall is
/// slow.
///
/// A bar is the middle of the day's reflex times (geometric mean), on one logarithmic scale for all keys, so that equal
/// heights are equal times. The numbers beside it are the middle of its first and of its last third, in seconds (one day is
/// chance), and the cues of all days; `mode` is the pattern's. Below: whether the keys grew equal, and which keys came more often.
#[must_use]
pub fn keys_over_days(
    learner: &LearnerModel,
    pattern: &PatternId,
    days: RangeInclusive<i32>,
    mode: Mode,
    page: &Page,
) -> String {
    let mut rows = ConcertKey::FIFTHS.map(|key| Course::of(learner, pattern, key, &days));
    rows.sort_by_key(|row| page.place(row.key));
    let all = rows.iter().flat_map(|row| row.times.iter().flatten().copied());
    let (quick, slow) = all.fold((f64::INFINITY, 0.0f64), |(low, high), time| (low.min(time), high.max(time)));
    let mut text = format!("Reflex time, {}: at first, day by day (tall is slow), at last.\n", page.instrument.name);
    for row in &rows {
        let name = page.key(row.key, mode);
        let bars: String = row.times.iter().map(|time| time.map_or(NOTHING, |time| bar(time, quick, slow))).collect();
        let [first, last] = [row.first(), row.last()].map(|time| worded(time, page));
        text.push_str(&format!(
            "{name:<3} {first} {bars} {last} {:>4} cue{}\n",
            row.cues,
            if row.cues == 1 { "" } else { "s" }
        ));
    }
    if let (Some(before), Some(after)) = (apart(&rows, Course::first), apart(&rows, Course::last)) {
        text.push_str(&format!(
            "Slowest and quickest key: {} apart at first, {} at last.\n",
            page.reflex(Seconds(before)),
            page.reflex(Seconds(after))
        ));
    }
    if let Some((slowest, quickest)) = cues_by_need(&rows) {
        text.push_str(&format!(
            "The four keys slowest at first got {slowest:.0} % of the cues, the four quickest {quickest:.0} %.\n"
        ));
    }
    text
}

/// One key over the days.
struct Course {
    key: ConcertKey,
    /// One entry a day, in seconds.
    times: Vec<Option<f64>>,
    cues: u32,
}

impl Course {
    fn of(learner: &LearnerModel, pattern: &PatternId, key: ConcertKey, days: &RangeInclusive<i32>) -> Self {
        let row = learner.key_stats(pattern, key);
        let on = |day: i32| row.days().iter().find(|one| one.day == day)?.reflex().map(|(_, time)| time.0);
        Self { key, times: days.clone().map(on).collect(), cues: row.cues() }
    }
    fn first(&self) -> Option<f64> {
        let known: Vec<f64> = self.times.iter().flatten().copied().collect();
        middle(&known[..third(&known)])
    }
    fn last(&self) -> Option<f64> {
        let known: Vec<f64> = self.times.iter().flatten().copied().collect();
        middle(&known[known.len() - third(&known)..])
    }
}

fn third(known: &[f64]) -> usize {
    known.len().div_ceil(3).min(known.len())
}

fn middle(times: &[f64]) -> Option<f64> {
    (!times.is_empty()).then(|| (times.iter().map(|time| time.ln()).sum::<f64>() / times.len() as f64).exp())
}

/// From the quickest to the slowest key, where two keys are known.
fn apart(rows: &[Course], time: fn(&Course) -> Option<f64>) -> Option<f64> {
    let mut times: Vec<f64> = rows.iter().filter_map(time).collect();
    times.sort_by(f64::total_cmp);
    (times.len() > 1).then(|| times[times.len() - 1] - times[0])
}

/// Per cent of all cues that went to the four keys slowest at first, and to the four quickest; an even share is 33.
fn cues_by_need(rows: &[Course]) -> Option<(f64, f64)> {
    let mut known: Vec<(f64, u32)> = rows.iter().filter_map(|row| Some((row.first()?, row.cues))).collect();
    known.sort_by(|a, b| b.0.total_cmp(&a.0));
    let all: u32 = rows.iter().map(|row| row.cues).sum();
    let share =
        |four: &[(f64, u32)]| 100.0 * f64::from(four.iter().map(|(_, cues)| cues).sum::<u32>()) / f64::from(all);
    (known.len() >= 2 * FOUR && all > 0).then(|| (share(&known[..FOUR]), share(&known[known.len() - FOUR..])))
}

fn bar(time: f64, quick: f64, slow: f64) -> char {
    let place = if slow > quick { (time / quick).ln() / (slow / quick).ln() } else { 0.0 };
    BARS[(place * 8.0).clamp(0.0, 7.0) as usize]
}

fn worded(time: Option<f64>, page: &Page) -> String {
    let width = match page.reading.reflex {
        ReflexUnit::Seconds => 5,
        ReflexUnit::Milliseconds => 7,
    };
    format!("{:>width$}", time.map_or_else(|| "-".to_owned(), |time| page.reflex(Seconds(time))))
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
                held: Some(Tempo(80.0)),
                right: 8,
                of: 8,
                step: TempoStep::Up,
                rule: Rule::Three,
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
}
