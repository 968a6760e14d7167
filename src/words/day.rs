//! The plan of a day in lines.

use crate::coach::{DayPart, DayPlan};
use crate::music::Mode;
use crate::pattern::PatternId;
use crate::units::Seconds;
use crate::words::Page;
use crate::words::numbers::{count, counted};
use crate::words::wrap::wrapped;

/// A usual terminal.
const COLUMNS: usize = 80;

/// A line a part, where the names are not too long for it: until which minute, and what. `named` gives the plain name and the mode of
/// a pattern.
#[must_use]
pub fn lines(plan: &DayPlan, page: &Page, named: &dyn Fn(&PatternId) -> (String, Mode)) -> Vec<String> {
    let part = |(part, until): &(DayPart, Seconds)| {
        let first = format!("  to {:>5}  ", clock(*until));
        wrapped(&said(part, plan, page, named), COLUMNS, &first, &" ".repeat(first.len()))
    };
    plan.parts.iter().flat_map(part).collect()
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
            let others = match plan.patterns.len() {
                0 | 1 => String::new(),
                2 => " and another".to_owned(),
                more => format!(" and {} others", count(more - 1)),
            };
            format!("low and easy first: {}{others}", plan.patterns.first().map(name).unwrap_or_default())
        }
        DayPart::Back { keys, longest: None } => format!("{}, once each", counted(*keys, "key")),
        DayPart::Back { keys, longest: Some((pattern, key, days)) } => {
            let (key, days) = (page.key(*key, named(pattern).1), counted((*days).max(0) as usize, "day"));
            format!("what comes back: {}, once each; longest away {key}, {days}", counted(*keys, "key"))
        }
        DayPart::New { pattern, begun: false } => format!("one new thing: {}; then what needs it most", name(pattern)),
        DayPart::New { pattern, begun: true } => {
            format!("what is new yet: {}; then what needs it most", name(pattern))
        }
        DayPart::Work => "what needs it most".to_owned(),
        DayPart::Closing => "something that goes well".to_owned(),
        DayPart::Phrases => "joined phrases over ii-V-I round the keys, in headphones".to_owned(),
    }
}
