//! The order of all elements of a page, and the file round them.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::report::in_use::{IN_USE, JOINS, UsedSentences};
use crate::report::page::chorus::choruses;
use crate::report::page::chorus_data::ChorusPicture;
use crate::report::page::keys::table;
use crate::report::page::page_data::TeacherPage;
use crate::report::page::staff::{typeset, typeset_words};
use crate::report::page::takes::takes;
use crate::report::page::tuned::intonation;
use crate::report::traded_text::WRONG;
use crate::words::numbers::capital;

/// The page loads nothing and runs nothing; its own style and the sounds inside it are all it may use.
const POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; media-src data:; base-uri 'none'; form-action 'none'";
const STYLE: &str = include_str!("../../../assets/page.css");
/// Number of ruled lines on paper, to write on in the lesson.
const LINES: usize = 5;

/// The whole file, one part for each player and instrument.
#[must_use]
pub fn to_html(pages: &[TeacherPage]) -> String {
    let title = pages.first().map_or_else(|| "No answers yet".to_owned(), heading);
    let none = html! { h1 { "No answers yet" } p { "These sittings hold no answer that could be judged." } };
    let pages: Vec<Option<&TeacherPage>> = pages.iter().map(Some).collect();
    framed(
        &title,
        &if pages.is_empty() {
            none
        } else {
            html! {}
        },
        &pages,
    )
}

/// The page of a line, or of several choruses, that were taken apart.
#[must_use]
pub fn choruses_to_html(title: &str, pictures: &[ChorusPicture]) -> String {
    let page = html! {
        header { h1 { (title) } }
        (choruses(pictures, "What was played"))
    };
    framed(title, &page, &[])
}

/// The file: `first`, then the parts that are there, each under its number.
pub(in crate::report) fn framed(title: &str, first: &Markup, pages: &[Option<&TeacherPage>]) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    (first)
                    @for (number, page) in pages.iter().enumerate() {
                        @if let Some(page) = page { (part(page, number)) }
                    }
                }
            }
        }
    };
    page.into_string()
}

fn heading(page: &TeacherPage) -> String {
    format!("{}, {}", page.player, page.instrument)
}

/// The name of an instrument with its signs set, for it may end with a key: "trumpet in Bb".
fn instrument(name: &str) -> String {
    let words: Vec<String> = name.split(' ').map(typeset).collect();
    words.join(" ")
}

fn part(page: &TeacherPage, number: usize) -> Markup {
    html! {
        div.part id=(format!("part-{number}")) {
        header {
            h1 { bdi { (page.player) } span.instrument { " · " (instrument(&page.instrument)) } }
            p.facts { (capital(&page.facts.join(" · "))) }
            @if !page.sentence.is_empty() { p.first { (page.sentence) } }
            @if let Some(week) = &page.week { p.week { (week) } }
        }
        @if !page.comments.is_empty() {
            section.work {
                h2 { "Comments" }
                ul { @for (about, text) in &page.comments { li { (comment_typeset(about, text)) } } }
            }
        }
        @if !page.work_on.is_empty() {
            section.work {
                h2 { "What to work on" }
                ol { @for sentence in &page.work_on { li { (sentence) } } }
            }
        }
        @for (n, keys) in page.tables.iter().enumerate() { (table(keys, n == 0)) }
        @if !page.firm.is_empty() {
            section {
                h2 { "How firm it is" }
                @for sentence in &page.firm { p { (typeset_words(sentence)) } }
            }
        }
        @if page.drilled {
            (takes(
                "To hear again",
                "Hollow: asked. Filled: played as asked. Diamond: played instead, or too many.",
                &page.again,
                "Every answer was right.",
            ))
            (takes(
                "At their best",
                "Right, steady, in tune and at the goal; one answer a key.",
                &page.best,
                "None of these answers was right, steady, in tune and at the goal together.",
            ))
        }
        (intonation(&page.pitches))
        (went_wrong(&page.went_wrong))
        @if let Some(used) = &page.in_use { (in_phrases(used)) }
        @if !page.came_out.is_empty() {
            section {
                h2 { "Drilled, and in free choruses" }
                @for sentence in &page.came_out { p { (typeset_words(sentence)) } }
            }
        }
        (choruses(&page.choruses, "Played freely"))
        section.lesson {
            h2 { "For the lesson" }
            @for _ in 0..LINES { div.rule {} }
        }
        }
    }
}

/// The phrases over a form that went wrong; nothing where none did.
fn went_wrong(sentences: &[String]) -> Markup {
    html! {
        @if !sentences.is_empty() {
            section {
                h2 { (WRONG) }
                @for sentence in sentences { p { (typeset_words(&capital(sentence))) } }
            }
        }
    }
}

/// What passed in phrases over a form.
fn in_phrases(used: &UsedSentences) -> Markup {
    html! {
        section {
            h2 { (IN_USE) }
            @for sentence in used.patterns.iter().chain(&used.held) { p { (typeset_words(sentence)) } }
            @if used.has_joins() { h3 { (JOINS) } }
            @for sentence in used.joins.iter().chain(&used.joined) { p { (typeset_words(sentence)) } }
            p { (typeset_words(&used.keys)) }
        }
    }
}

/// A comment with ♭ and ♯ in what it is about. What its writer typed stays as it is: "Lab" may be a room.
fn comment_typeset(about: &str, text: &str) -> String {
    format!("{}: {text}", typeset_words(about))
}

#[cfg(test)]
mod tests {
    use super::comment_typeset;

    #[test]
    fn a_comment_has_the_sign_of_its_key_and_the_words_of_its_writer() {
        let wanted = "29 November 2026, E♭, five notes: Fab! Play it in the Lab: slowly.";
        assert_eq!(comment_typeset("29 November 2026, Eb, five notes", "Fab! Play it in the Lab: slowly."), wanted);
    }
}
