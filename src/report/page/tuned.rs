//! Intonation, high notes above and sharp to the right.

use maud::{Markup, html};

use crate::report::page::page_data::PitchLine;
use crate::report::page::staff::typeset;
use crate::report::tuning::{ALL, OFTEN, RARE};
use crate::units::Cents;
use crate::words::numbers::signed;

/// The picture shows at least so many cents either way.
const LEAST: f64 = 15.0;

/// The section on intonation; nothing where no pitch is scored.
pub(super) fn intonation(pitches: &[PitchLine]) -> Markup {
    let farthest = pitches.iter().flat_map(|line| {
        let ends = [line.row.all.0 - line.half.0, line.row.all.0 + line.half.0];
        ends.into_iter().chain(line.row.up.map(|cents| cents.0)).chain(line.row.down.map(|cents| cents.0))
    });
    let reach = (farthest.fold(LEAST, |most, cents| most.max(cents.abs())) / 5.0).ceil() * 5.0;
    html! {
        @if !pitches.is_empty() {
            section.tuned {
                h2 { "Intonation of the written notes" }
                p.legend {
                    "Cents, each answer's general offset taken out; right is sharp. "
                    svg.key width="14" height="12" aria-hidden="true" { path.up d="M1 10l5 -9l5 9z" {} }
                    "where the line came up to the note, "
                    svg.key width="14" height="12" aria-hidden="true" { path.down d="M1 2l5 9l5 -9z" {} }
                    "where it came down; the band holds the middle half of all. "
                    (ALL)
                    @if pitches.iter().any(|line| line.row.times < OFTEN) { " " (RARE) }
                }
                div.halves { table.keys {
                    thead { tr {
                        th scope="col" { "Note" }
                        th.wide scope="col" { "cents" (ruler(reach)) }
                        th.figure scope="col" { "up" } th.figure scope="col" { "down" } th.figure scope="col" { "all" }
                        th.figure.less scope="col" { "times" }
                    } }
                    tbody { @for line in pitches { (row(line, reach)) } }
                } }
            }
        }
    }
}

fn place(cents: f64, reach: f64) -> f64 {
    (50.0 + 47.0 * cents / reach).clamp(0.0, 100.0)
}

fn ruler(reach: f64) -> Markup {
    html! {
        svg.ruler width="100%" height="14" aria-hidden="true" {
            @for (cents, text) in [(-reach, format!("−{reach:.0}")), (0.0, "0".to_owned()), (reach, format!("+{reach:.0}"))] {
                text.tick.at-end[cents > 0.0].at-start[cents < 0.0] x=(format!("{:.2}%", place(cents, reach))) y="11" { (text) }
            }
        }
    }
}

fn row(line: &PitchLine, reach: f64) -> Markup {
    let shown = |cents: Option<Cents>| cents.map_or_else(|| "–".to_owned(), signed);
    let at = |cents: f64| format!("{:.2}%", place(cents, reach));
    let (low, high) = (line.row.all.0 - line.half.0, line.row.all.0 + line.half.0);
    html! {
        tr {
            th scope="row" { (typeset(&line.name)) }
            td.wide {
                svg.cell width="100%" height="20" role="img" aria-label=(spoken(line)) {
                    line.zero x1=(at(0.0)) x2=(at(0.0)) y1="0" y2="20" {}
                    rect.band x=(at(low)) width=(format!("{:.2}%", place(high, reach) - place(low, reach))) y="7" height="6" {}
                    @if let Some(up) = line.row.up { (mark(&at(up.0), "up", "M-5 14l5 -9l5 9z")) }
                    @if let Some(down) = line.row.down { (mark(&at(down.0), "down", "M-5 6l5 9l5 -9z")) }
                }
            }
            td.figure { (shown(line.row.up)) }
            td.figure { (shown(line.row.down)) }
            td.figure { strong { (signed(line.row.all)) } }
            td.figure.less { (line.row.times) }
        }
    }
}

fn mark(x: &str, class: &str, path: &str) -> Markup {
    html! { svg x=(x) y="0" width="1" height="20" overflow="visible" { path.(class) d=(path) {} } }
}

fn spoken(line: &PitchLine) -> String {
    let line_of =
        |way: &str, cents: Option<Cents>| cents.map_or_else(String::new, |cents| format!(", {way} {}", signed(cents)));
    format!(
        "{}: {} cents of all{}{}.",
        line.name,
        signed(line.row.all),
        line_of("coming up", line.row.up),
        line_of("coming down", line.row.down)
    )
}
