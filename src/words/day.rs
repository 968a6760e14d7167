//! The plan of a day in lines.

use crate::coach::{DayPart, DayPlan};
use crate::music::Mode;
use crate::pattern::PatternId;
use crate::units::Seconds;
use crate::words::Page;
use crate::words::numbers::{count, counted};
use crate::words::wrap::wrapped;

/// Columns of a usual terminal.
const COLUMNS: usize = 80;

/// One line for each part of the day, more where names are long: until when the part lasts, in minutes and seconds, and what is done.
/// `named` gives the plain name and the mode of a pattern. `worn` says that the band goes to headphones: whoever has chosen them is reminded
/// of them where a band plays. From a loudspeaker it is taken out of what the microphone hears, and no microphone hears it beside keys.
#[must_use]
pub fn lines(plan: &DayPlan, page: &Page, named: &dyn Fn(&PatternId) -> (String, Mode), worn: bool) -> Vec<String> {
    let part = |(part, until): &(DayPart, Seconds)| {
        let first = format!("  to {:>5}  ", clock(*until));
        let band = matches!(part, DayPart::Phrases | DayPart::FreeChorus { .. });
        let worn = if band && worn { ", in headphones" } else { "" };
        wrapped(&(said(part, plan, page, named) + worn), COLUMNS, &first, &" ".repeat(first.len()))
    };
    plan.parts.iter().flat_map(part).collect()
}

/// A time as minutes and seconds: "12:05".
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
        DayPart::Round => "what goes well, in a round through the keys without a stop".to_owned(),
        DayPart::Phrases => "joined phrases over ii-V-I round the keys".to_owned(),
        DayPart::FreeChorus { chart } => format!("a free chorus over {chart}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{self, Reading};

    #[test]
    fn whoever_has_chosen_headphones_is_reminded_of_them_where_a_band_plays() {
        let parts = vec![(DayPart::Closing, Seconds(60.0)), (DayPart::Phrases, Seconds(1200.0))];
        let plan = DayPlan { patterns: Vec::new(), drilled: Seconds(60.0), parts };
        let page = Page::new(music::instrument("piano").unwrap().clone(), Reading::default());
        let told = |worn| lines(&plan, &page, &|id| (id.0.clone(), Mode::Major), worn).pop().unwrap();
        assert_eq!(told(false), "  to 20:00  joined phrases over ii-V-I round the keys");
        assert_eq!(told(true), told(false) + ", in headphones");
        let chorus = |worn| {
            let parts = vec![(DayPart::FreeChorus { chart: "my-tune".to_owned() }, Seconds(1200.0))];
            let plan = DayPlan { patterns: Vec::new(), drilled: Seconds(60.0), parts };
            lines(&plan, &page, &|id| (id.0.clone(), Mode::Major), worn)
        };
        assert_eq!(chorus(false), ["  to 20:00  a free chorus over my-tune"]);
        assert!(chorus(true)[0].ends_with(", in headphones"), "the band plays under it too");
    }
}
