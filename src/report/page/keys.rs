//! The keys as a table: for each key the way from the first days to the last, its course over true dates, and the figures.

use maud::{Markup, html};

use crate::music::ReflexUnit;
use crate::report::date::{date, dates};
use crate::report::page::axis::LogAxis;
use crate::report::page::page_data::{KeyLine, KeyMeasure, KeyTable};
use crate::report::page::staff::typeset;
use crate::units::Seconds;

/// Smallest number of days from one value of a key to its next at which the line is broken: a gap is shown, not bridged.
const GAP: i32 = 7;

impl KeyMeasure {
    const fn heading(self) -> &'static str {
        match self {
            Self::Reflex(_) => "The keys by reflex time",
            Self::Pace => "The keys by pace",
        }
    }

    fn explained(self) -> String {
        match self {
            Self::Reflex(_) => format!(
                "From the end of the cue to the first right note, in {}. Further left is quicker; equal steps are equal ratios.",
                self.unit()
            ),
            Self::Pace => {
                "Quarters a minute held in answers in tempo that went up; further right is faster.".to_owned()
            }
        }
    }

    /// A bare number in the measure's unit; `value` is in seconds or quarters a minute.
    fn shown(self, value: f64) -> String {
        match self {
            Self::Reflex(ReflexUnit::Seconds) if value >= 10.0 => format!("{value:.0}"),
            Self::Reflex(unit) => unit.number(Seconds(value), false),
            Self::Pace => format!("{value:.0}"),
        }
    }

    /// A value with its unit: "1.3 s", "quarter = 96".
    pub(super) fn worded(self, value: f64) -> String {
        let number = self.shown(value);
        match self {
            Self::Reflex(unit) => format!("{number} {}", unit.sign()),
            Self::Pace => format!("quarter = {number}"),
        }
    }

    /// Whether less is quicker.
    pub(in crate::report) const fn is_time(self) -> bool {
        matches!(self, Self::Reflex(_))
    }

    const fn unit(self) -> &'static str {
        match self {
            Self::Reflex(unit) => unit.name(),
            Self::Pace => "quarter =",
        }
    }
}

/// One table, with its heading and its legend; `marks` explains the marks, once on a page.
pub(super) fn table(table: &KeyTable, marks: bool) -> Markup {
    let values = table.lines.iter().flat_map(|line| {
        [line.first, line.last].into_iter().flatten().chain(line.days.iter().map(|(_, value)| *value))
    });
    let axis = LogAxis::over(values.chain([table.goal]));
    let measure = table.measure;
    // A single day has no way and no course.
    let more = table.days.0 != table.days.1;
    html! {
        section {
            h2 { (measure.heading()) }
            p.legend {
                (measure.explained()) " "
                @if marks {
                    @if more {
                        svg.key width="14" height="12" aria-hidden="true" { circle.then cx="6" cy="6" r="4" {} }
                        "the first third of the days, "
                    }
                    svg.key width="14" height="12" aria-hidden="true" { rect.now x="2" y="2" width="8" height="8" {} }
                    @if more {
                        "the last third; the bar widens toward it. Day by day, "
                        @if measure.is_time() { "lower is quicker. " } @else { "higher is faster. " }
                    } @else { "the middle of the day. " }
                }
                "Dotted: the goal, "
                (measure.worded(table.goal)) "."
            }
            table.keys {
                thead {
                    tr {
                        th scope="col" { "Key" }
                        th.wide scope="col" { (measure.unit()) @if let Some(axis) = axis { (ruler(axis, measure)) } }
                        @if more {
                            th.wide scope="col" { "day by day" span.dates { ", " (dates(table.days.0, table.days.1)) } }
                            th.figure scope="col" { "first" }
                        }
                        th.figure scope="col" { @if more { "last" } @else { "middle" } }
                        th.figure scope="col" { "first\u{a0}tries right" }
                        th.figure.less scope="col" { "notes right" }
                        th.figure.less scope="col" { "answers" }
                    }
                }
                tbody { @for line in &table.lines { (row(line, table, axis)) } }
            }
        }
    }
}

fn ruler(axis: LogAxis, measure: KeyMeasure) -> Markup {
    html! {
        svg.ruler width="100%" height="14" aria-hidden="true" {
            @for mark in axis.marks() {
                text.tick x=(per_cent(axis.place(mark))) y="11" { (measure.shown(mark)) }
            }
        }
    }
}

fn row(line: &KeyLine, table: &KeyTable, axis: Option<LogAxis>) -> Markup {
    let measure = table.measure;
    let shown = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), |value| measure.shown(value));
    let (whole, tries) = line.first_tries;
    let (right, of) = line.right;
    html! {
        tr {
            th scope="row" { (typeset(&line.name)) }
            td.wide { @if let Some(axis) = axis { (way(line, table, axis)) } }
            @if table.days.0 != table.days.1 {
                td.wide { @if let Some(axis) = axis { (course(line, table, axis)) } }
                td.figure { (shown(line.first)) }
            }
            td.figure { strong { (shown(line.last)) } }
            td.figure { (whole) " of " (tries) }
            td.figure.less { @if of > 0 { (format!("{:.0} %", f64::from(right) / f64::from(of) * 100.0)) } @else { "–" } }
            td.figure.less { (line.answers) }
        }
    }
}

fn per_cent(place: f64) -> String {
    format!("{place:.2}%")
}

/// The way of a key from the first days (a ring) to the last (a square), as a bar that grows toward the last.
fn way(line: &KeyLine, table: &KeyTable, axis: LogAxis) -> Markup {
    let places = (line.first.map(|value| axis.place(value)), line.last.map(|value| axis.place(value)));
    html! {
        svg.cell width="100%" height="22" role="img" aria-label=(way_spoken(line, table)) {
            (grid(table, axis, 22))
            @if let (Some(from), Some(to)) = places {
                svg x=(per_cent(from.min(to))) y="6" width=(per_cent((to - from).abs().max(0.01))) height="10"
                    viewBox="0 0 100 10" preserveAspectRatio="none" {
                    path.way d=(if to >= from { "M0 4.2L100 1v8L0 5.8z" } else { "M100 4.2L0 1v8l100 -3.2z" }) {}
                }
            }
            @if let Some(from) = places.0 { circle.then cx=(per_cent(from)) cy="11" r="4" {} }
            @if let Some(to) = places.1 {
                svg x=(per_cent(to)) y="0" width="1" height="22" overflow="visible" { rect.now x="-4.5" y="6.5" width="9" height="9" {} }
            }
        }
    }
}

fn way_spoken(line: &KeyLine, table: &KeyTable) -> String {
    let shown =
        |value: Option<f64>| value.map_or_else(|| "not measured".to_owned(), |value| table.measure.shown(value));
    let (first, last, unit) = (shown(line.first), shown(line.last), table.measure.unit());
    if table.days.0 == table.days.1 {
        return format!("{}: {last}, {unit}.", line.name);
    }
    format!("{}: {first} at first, {last} at last, {unit}.", line.name)
}

fn grid(table: &KeyTable, axis: LogAxis, height: u32) -> Markup {
    let goal = per_cent(axis.place(table.goal));
    html! {
        @for mark in axis.marks() {
            @let x = per_cent(axis.place(mark));
            line.grid x1=(x) x2=(x) y1="0" y2=(height) {}
        }
        line.goal x1=(goal) x2=(goal) y1="0" y2=(height) {}
    }
}

/// The key's course over true dates; the line is broken where the next value came a week later or more.
fn course(line: &KeyLine, table: &KeyTable, axis: LogAxis) -> Markup {
    let (first, last) = table.days;
    let length = f64::from(last.saturating_sub(first).max(1));
    // Marks at the edges of the cell keep their whole width.
    let x = |day: i32| 3.0 + 94.0 * if first == last { 0.5 } else { f64::from(day.saturating_sub(first)) / length };
    let y = |value: f64| 20.0 - 18.0 * axis.place(value) / 100.0;
    let mut stretches: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut before: Option<i32> = None;
    for (day, value) in &line.days {
        if before.is_none_or(|before| day.saturating_sub(before) >= GAP) {
            stretches.push(Vec::new());
        }
        before = Some(*day);
        if let Some(stretch) = stretches.last_mut() {
            stretch.push((x(*day), y(*value)));
        }
    }
    // The dots of many days would run together.
    let dot = if line.days.len() > 30 { "1.2" } else { "1.9" };
    html! {
        svg.cell width="100%" height="22" role="img" aria-label=(course_spoken(line, table)) {
            @let goal = format!("{:.1}", y(table.goal));
            line.goal x1="0" x2="100%" y1=(goal) y2=(goal) {}
            svg width="100%" height="22" viewBox="0 0 100 22" preserveAspectRatio="none" {
                @for stretch in stretches.iter().filter(|stretch| stretch.len() > 1) {
                    polyline.course points=(stretch.iter().map(|(x, y)| format!("{x:.2},{y:.2}")).collect::<Vec<_>>().join(" ")) {}
                }
            }
            @for (x, y) in stretches.iter().flatten() { circle.day cx=(per_cent(*x)) cy=(format!("{y:.1}")) r=(dot) {} }
        }
    }
}

fn course_spoken(line: &KeyLine, table: &KeyTable) -> String {
    let values: Vec<String> =
        line.days.iter().map(|(day, value)| format!("{} on {}", table.measure.shown(*value), date(*day))).collect();
    format!("{} day by day, {}: {}.", line.name, table.measure.unit(), values.join(", "))
}
