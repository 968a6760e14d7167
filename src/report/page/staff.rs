//! An answer on a staff. A note that was played as asked is one filled head. Where another note was played, the one that was asked is a
//! hollow head, and the one that was played is a diamond a little to the right of it.

use maud::{Markup, html};

use crate::music::{Clef, Spelled};
use crate::report::page::chosen::{StaffColumn, WrittenNote};

/// Distance between two lines of the staff, in units of the drawing.
const SPACE: f64 = 10.0;
/// Distance between two columns of a system. `WIDE_COLUMN` is the distance in a system where some note was not played as asked: the
/// diamond and its sign need room before the next column.
const COLUMN: f64 = 43.0;
const WIDE_COLUMN: f64 = 49.0;
/// Where the first column stands, behind the clef.
const FIRST: f64 = 64.0;
/// Largest number of columns in one system: what a telephone's width shows without shrinking it much.
const SYSTEM: usize = 9;
/// How far the diamond of the note played stands to the right of the note asked. `SIGNED_ASIDE` is the distance where a sharp, flat or
/// natural stands before the diamond.
const ASIDE: f64 = 13.0;
const SIGNED_ASIDE: f64 = 22.0;

/// The whole answer, on as many systems below one another as it needs.
pub(super) fn staff(columns: &[StaffColumn], clef: Clef) -> Markup {
    let bass = clef_of(columns, clef);
    // The columns are shared out evenly over the systems, because a single note on a line of its own looks like a mistake.
    let systems = columns.len().div_ceil(SYSTEM).max(1);
    let length = columns.len().div_ceil(systems).max(1);
    html! {
        div.systems {
            @for system in columns.chunks(length) { (one_system(system, bass, clef == Clef::TrebleOctaveDown)) }
        }
    }
}

/// Whether the answer is drawn in the bass clef and not in the treble clef; there are only these two here, so a tenor clef becomes a
/// bass clef and an alto clef a treble clef. For an instrument of two staves it is the bass clef where the notes lie below C4 in the
/// mean.
fn clef_of(columns: &[StaffColumn], clef: Clef) -> bool {
    let steps: Vec<i32> = columns
        .iter()
        .filter_map(|column| column.asked.as_ref().or(column.played.as_ref()))
        .map(|note| step(note.spelled))
        .collect();
    let middle = steps.iter().sum::<i32>() / i32::try_from(steps.len().max(1)).unwrap_or(1);
    match clef {
        Clef::Bass | Clef::Tenor => true,
        Clef::Treble | Clef::TrebleOctaveDown | Clef::Alto => false,
        Clef::Grand => middle < 4 * 7,
    }
}

/// How many letters a note stands above C0, whatever its sign.
fn step(note: Spelled) -> i32 {
    note.octave * 7 + note.letter as i32
}

/// The middle line: B4 in the treble clef, D3 in the bass clef, in letters above C0.
const fn middle_line(bass: bool) -> i32 {
    if bass { 3 * 7 + 1 } else { 4 * 7 + 6 }
}

/// One system: a staff with its clef, the notes, and their names below. With `octave_down` an 8 stands below the clef.
fn one_system(columns: &[StaffColumn], bass: bool, octave_down: bool) -> Markup {
    let height = |note: Spelled| -f64::from(step(note) - middle_line(bass)) * SPACE / 2.0;
    let all =
        columns.iter().flat_map(|column| [&column.asked, &column.played]).flatten().map(|note| height(note.spelled));
    let (top, bottom) = all.fold((-2.0 * SPACE, 2.0 * SPACE), |(top, bottom), y| (top.min(y), bottom.max(y)));
    let (top, bottom) = (top - 1.8 * SPACE, bottom + 2.2 * SPACE);
    let names = bottom + 12.0;
    let differs = columns.iter().any(|column| column.asked != column.played);
    let apart = if differs { WIDE_COLUMN } else { COLUMN };
    let width = FIRST + apart * columns.len() as f64;
    // The drawing is as wide as a full system even where there are fewer columns, so that a browser shows a short one as large.
    let whole = FIRST + apart * SYSTEM as f64;
    let low = names + if differs { 24.0 } else { 8.0 };
    html! {
        svg.staff viewBox=(format!("0 {top:.0} {whole:.0} {:.0}", low - top)) width=(format!("{whole:.0}"))
            role="img" aria-label=(spoken(columns)) {
            @for line in -2..=2 {
                line.ruled x1="0" x2=(format!("{width:.0}")) y1=(f64::from(line) * SPACE) y2=(f64::from(line) * SPACE) {}
            }
            (clef_drawn(bass))
            @if octave_down { text.who x="15" y="43" { "8" } }
            @for (at, column) in columns.iter().enumerate() {
                (column_drawn(column, FIRST + apart * at as f64, &height))
                (names_drawn(column, FIRST + apart * at as f64, names))
            }
            text.who x="0" y=(names) { "asked" }
            @if differs { text.who.did x="0" y=(names + 17.0) { "played" } }
        }
    }
}

fn column_drawn(column: &StaffColumn, x: f64, height: &dyn Fn(Spelled) -> f64) -> Markup {
    let same = column.asked == column.played;
    html! {
        @if let Some(asked) = column.asked.as_ref().map(|note| note.spelled) {
            (ledgers(x, height(asked)))
            (sign(asked, None, x - 11.0, height(asked), "asked"))
            ellipse.head.(if same { "right" } else { "asked" }) cx=(f(x)) cy=(f(height(asked))) rx="6.2" ry="4.5"
                transform=(format!("rotate(-18 {x:.1} {:.1})", height(asked))) {}
        }
        @if let (Some(played), false) = (column.played.as_ref().map(|note| note.spelled), same) {
            @let beside = column.asked.as_ref().map(|note| note.spelled);
            @let aside = if has_sign(played, beside) { SIGNED_ASIDE } else { ASIDE };
            @let x = if column.asked.is_some() { x + aside } else { x };
            @let y = height(played);
            (ledgers(x, y))
            (sign(played, beside, x - 8.0, y, "did"))
            path.did d=(format!("M{:.1} {y:.1}l6 -6l6 6l-6 6z", x - 6.0)) {}
        }
    }
}

/// A number with one decimal place.
fn f(number: f64) -> String {
    format!("{number:.1}")
}

/// The short lines that lead from the staff to a note above or below it.
fn ledgers(x: f64, y: f64) -> Markup {
    let count = ((y.abs() - 2.0 * SPACE) / SPACE + 1e-6).floor() as i32;
    html! {
        @for line in 1..=count {
            @let y = y.signum() * (2.0 + f64::from(line)) * SPACE;
            line.ruled x1=(f(x - 10.0)) x2=(f(x + 10.0)) y1=(f(y)) y2=(f(y)) {}
        }
    }
}

/// Whether a sharp, flat or natural stands before a note; `beside` is the note that stands in the same column.
fn has_sign(note: Spelled, beside: Option<Spelled>) -> bool {
    note.alter != 0 || beside.is_some_and(|other| other.letter == note.letter && other.alter != 0)
}

/// The sign before a note: its own sharp or flat, or a natural where the note beside it is on the same letter and has a sharp or flat.
fn sign(note: Spelled, beside: Option<Spelled>, x: f64, y: f64, class: &str) -> Markup {
    let cancels = beside.is_some_and(|other| other.letter == note.letter && other.alter != 0);
    let sign = match note.alter {
        0 if cancels => "♮",
        0 => "",
        1 => "♯",
        2 => "𝄪",
        -1 => "♭",
        -2 => "♭♭",
        _ => "?",
    };
    html! { @if !sign.is_empty() { text.sign.(class) x=(f(x)) y=(f(y + 5.0)) { (sign) } } }
}

fn names_drawn(column: &StaffColumn, x: f64, y: f64) -> Markup {
    let name = |note: &Option<WrittenNote>| note.as_ref().map_or_else(|| "–".to_owned(), |note| typeset(&note.name));
    let same = column.asked == column.played;
    html! {
        text.name x=(f(x)) y=(f(y)) { (name(&column.asked)) }
        @if !same { text.name.did x=(f(x)) y=(f(y + 17.0)) { (name(&column.played)) } }
    }
}

/// The names of the notes in a sentence, for those who have the page read aloud to them.
fn spoken(columns: &[StaffColumn]) -> String {
    let names = |pick: fn(&StaffColumn) -> &Option<WrittenNote>| {
        let names: Vec<String> = columns
            .iter()
            .map(|column| pick(column).as_ref().map_or("nothing", |note| &note.name).to_owned())
            .collect();
        names.join(" ")
    };
    let (asked, played) = (names(|column| &column.asked), names(|column| &column.played));
    if asked == played { format!("Asked and played: {asked}.") } else { format!("Asked: {asked}. Played: {played}.") }
}

/// The sentence with ♭ and ♯ in the names of notes. A name is a word that is only a note with its signs, with or without an octave.
pub(super) fn typeset_words(sentence: &str) -> String {
    let name = |word: &str| {
        let signs = stem(word).map_or("", |stem| &word[stem.len()..]);
        matches!(signs.trim_end_matches(|sign: char| sign.is_ascii_digit()), "b" | "bb" | "#" | "##")
    };
    let ends = |letter: char| !letter.is_alphanumeric() && letter != '#';
    let words = sentence.split_inclusive(ends).map(|piece| {
        let word = piece.trim_end_matches(ends);
        if name(word) { typeset(word) + &piece[word.len()..] } else { piece.to_owned() }
    });
    words.collect()
}

/// The part of a note's name that `b` or `#` may follow: a letter, or a syllable of do re mi. German names say their signs as a syllable
/// ("Fis"), so nothing after their letter is replaced.
fn stem(name: &str) -> Option<&'static str> {
    const STEMS: [&str; 14] = ["Do", "Re", "Mi", "Fa", "Sol", "La", "Si", "A", "B", "C", "D", "E", "F", "G"];
    STEMS.into_iter().find(|stem| name.starts_with(stem))
}

/// The name of a note or key with ♭ and ♯ where it has `b` and `#` after its letter or syllable: "Bb" is B♭, "F#" is F♯, "Sib" is Si♭.
pub(super) fn typeset(name: &str) -> String {
    let Some(stem) = stem(name) else { return name.to_owned() };
    stem.to_owned() + &name[stem.len()..].replace('b', "♭").replace('#', "♯")
}

fn clef_drawn(bass: bool) -> Markup {
    html! {
        @if bass {
            // The curl begins on the F line, the second from above; two dots stand about it.
            path.clef d="M12 -10c0 -4.2 4 -6 7.2 -4.6c1.5 -3.4 -2.6 -6.2 -6.6 -5c-6.3 1.9 -6.6 9.6 -1.2 10.9c2.6 .6 5 -1.2 5 -3.7c0 -2.2 -2.2 -3.6 -4.4 -2.6c2.6 -6 16.5 -6.3 15.6 6.2c-.7 9.6 -9.4 15.6 -18.4 19.4l-.5 -1c8.2 -4.2 14 -9.4 14.4 -18c.3 -6.8 -3.2 -9.6 -6.8 -9.2" {}
            circle.clef cx="33" cy="-15" r="1.9" {}
            circle.clef cx="33" cy="-5" r="1.9" {}
        } @else {
            // The curl goes round the G line, the second from below.
            path.stroke d="M17.5 10.5c-2.6 -1.2 -3.4 -5.4 .4 -7.2c5.2 -2.2 10.2 1.4 9.8 6.6c-.4 5.6 -6 9 -11.6 7.4c-6.8 -2 -9 -9.6 -5.4 -15.4c3.4 -5.4 9.4 -8.6 11.4 -15c1.4 -4.8 .4 -9.6 -1.2 -9.4c-3.2 .4 -4.6 9.4 -3.4 15.4l5.8 32c1 5.6 -2.2 8.4 -5.4 8.2c-2.6 -.2 -4.2 -2.4 -3.6 -4.4" {}
            circle.clef cx="15.8" cy="29.5" r="2.4" {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::typeset_words;

    #[test]
    fn names_in_a_sentence_have_the_signs_of_the_trade_and_words_keep_their_letters() {
        let sentence = "You played in Ab, the cue asked for F#; Bb4 was left out, A and B came (abbey, Cab, 3 dB).";
        let wanted = "You played in A♭, the cue asked for F♯; B♭4 was left out, A and B came (abbey, Cab, 3 dB).";
        assert_eq!(typeset_words(sentence), wanted);
    }
}
