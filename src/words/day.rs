//! The plan of a day in lines.

use crate::coach::{DayPart, DayPlan};
use crate::music::{ConcertKey, Mode};
use crate::pattern::PatternId;
use crate::units::Seconds;
use crate::words::Page;
use crate::words::numbers::counted;

/// A line a part: until which minute, and what. `named` gives the plain name and the mode of a pattern.
#[must_use]
pub fn lines(plan: &DayPlan, page: &Page, named: &dyn Fn(&PatternId) -> (String, Mode)) -> Vec<String> {
    let part =
        |(part, until): &(DayPart, Seconds)| format!("  to {:>5}  {}", clock(*until), said(part, plan, page, named));
    plan.parts.iter().map(part).collect()
}

/// Minutes and seconds.
fn clock(at: Seconds) -> String {
    let seconds = at.0.max(0.0).round() as u64;
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

fn said(part: &DayPart, plan: &DayPlan, page: &Page, named: &dyn Fn(&PatternId) -> (String, Mode)) -> String {
    let name = |pattern: &PatternId| named(pattern).0;
    match part {
        DayPart::Easy => {
            let names: Vec<String> = plan.patterns.iter().map(name).collect();
            format!("low and easy first, with what goes well: {}", names.join(", "))
        }
        DayPart::Back { keys, longest } => {
            let away = longest
                .as_ref()
                .map_or_else(String::new, |(pattern, key, days)| away(pattern, *key, *days, page, named));
            format!("what comes back, {} once each{away}", counted(*keys, "key"))
        }
        DayPart::New { pattern, begun: false } => format!("one new thing, {}, then what needs it most", name(pattern)),
        DayPart::New { pattern, begun: true } => {
            format!("{} goes on, for it is new yet, then what needs it most", name(pattern))
        }
        DayPart::Work => "what needs it most".to_owned(),
        DayPart::Closing => "something that goes well".to_owned(),
        DayPart::Phrases => "joined phrases over ii-V-I round the keys, in headphones".to_owned(),
    }
}

fn away(
    pattern: &PatternId,
    key: ConcertKey,
    days: i32,
    page: &Page,
    named: &dyn Fn(&PatternId) -> (String, Mode),
) -> String {
    format!("; longest away {}, {}", page.key(key, named(pattern).1), counted(days.max(0) as usize, "day"))
}
