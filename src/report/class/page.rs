//! The page of a class: the rows in one table, and below it a part for each player.

use std::borrow::Cow;

use maud::{Markup, html};

use crate::report::class::ClassRow;
use crate::report::class::reason_text::reason_words;
use crate::report::class::text::{SEVEN, WEAK, heading, lesson_words, of};
use crate::report::page::{TeacherPage, framed, pages};
use crate::report::part_page::page;
use crate::report::whose::{Whose, together, whose};
use crate::session::Session;
use crate::words::numbers::capital;

/// One file: the table, then the part of each row. `pages` has a place for each row, in their order.
#[must_use]
pub fn class_to_html(rows: &[ClassRow], pages: &[Option<TeacherPage>], today: i32) -> String {
    let parts: Vec<Option<&TeacherPage>> = pages.iter().map(Option::as_ref).collect();
    framed("A class", &table(rows, pages, today), &parts)
}

fn table(rows: &[ClassRow], pages: &[Option<TeacherPage>], today: i32) -> Markup {
    html! {
        div.part {
            h1 { "A class" }
            p.facts { (heading(rows, today)) }
            table.keys.class {
                thead {
                    tr {
                        @for name in ["Player", "Days", "Minutes", "All right", "Last", "Weakest keys"] { th scope="col" { (name) } }
                    }
                }
                tbody { @for (number, row) in rows.iter().enumerate() { (line(number, row, pages, today)) } }
            }
            p.legend { (capital(SEVEN)) " " (WEAK) " Nobody is measured by another." }
        }
    }
}

fn line(number: usize, row: &ClassRow, pages: &[Option<TeacherPage>], today: i32) -> Markup {
    let Some((names, _)) = page(&row.instrument, row.reading) else { return html! {} };
    let [player, days, minutes, whole, last, weakest] = of(row, &names);
    let there = pages.get(number).is_some_and(Option::is_some);
    html! {
        tr.player {
            th scope="row" {
                @if there { a href=(format!("#part-{number}")) { (player) } } @else { (player) }
            }
            @for cell in [days, minutes, whole, last, weakest] { td { (cell) } }
        }
        @for sentence in row.reasons.iter().map(|reason| reason_words(reason, &names)) {
            tr.why { td colspan="6" { (sentence) } }
        }
        @for sentence in row.lessons.iter().map(|done| lesson_words(done, today)) {
            tr.set { td colspan="6" { (sentence) } }
        }
    }
}

/// The pages of the sittings up to `today`, one for each row; none where the instrument is not known.
#[must_use]
pub fn class_pages(sessions: &[Session], rows: &[ClassRow], today: i32) -> Vec<Option<TeacherPage>> {
    let mut sessions = Cow::Borrowed(sessions);
    if sessions.iter().any(|it| it.began.day > today) {
        sessions.to_mut().retain(|it| it.began.day <= today);
    }
    let groups = together(&sessions);
    let mut known: Vec<(Whose<'_>, Option<TeacherPage>)> = groups
        .iter()
        .zip(pages(&sessions, Some(today)))
        .filter_map(|(group, page)| Some((whose(&sessions.get(*group.first()?)?.began), page)))
        .collect();
    let mut of = |row: &ClassRow| {
        let id = row.player.as_ref().map(|player| player.id);
        let mine = known.iter_mut().find(|(whose, _)| *whose == (id, row.instrument.as_str(), row.simulated));
        mine.and_then(|(_, page)| page.take())
    };
    rows.iter().map(&mut of).collect()
}
