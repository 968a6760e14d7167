//! Counts, ordinals, lists and distances in words.

use crate::music::HalfSteps;
use crate::units::Cents;

const COUNTS: [&str; 21] = [
    "none",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
    "twenty",
];
const ORDINALS: [&str; 20] = [
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
    "fourteenth",
    "fifteenth",
    "sixteenth",
    "seventeenth",
    "eighteenth",
    "nineteenth",
    "twentieth",
];

/// A count in words up to twenty, in figures beyond; "none" for nothing.
#[must_use]
pub fn count(number: usize) -> String {
    COUNTS.get(number).map_or_else(|| number.to_string(), |word| (*word).to_owned())
}

/// The ordinal of a place counted from 0: "first" for 0; figures beyond the twentieth.
#[must_use]
pub fn ordinal(place: usize) -> String {
    let number = place + 1;
    ORDINALS.get(place).map_or_else(
        || {
            let end = match (number % 10, number % 100) {
                (_, 11..=13) => "th",
                (1, _) => "st",
                (2, _) => "nd",
                (3, _) => "rd",
                _ => "th",
            };
            format!("{number}{end}")
        },
        |word| (*word).to_owned(),
    )
}

/// The words as a list: "a", "a and b", "a, b and c".
#[must_use]
pub fn list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// A distance without its direction, as musicians name it: "a half step", "a whole step", "a minor third".
#[must_use]
pub fn distance(by: HalfSteps) -> String {
    let size = by.0.unsigned_abs() as usize;
    match by.interval() {
        Some(name) => name.to_owned(),
        None if size == 0 => "no step".to_owned(),
        None if size.is_multiple_of(12) => format!("{} octaves", count(size / 12)),
        None => {
            let beyond = HalfSteps((size % 12) as i32).interval().unwrap_or("a step");
            let octaves = if size < 24 { "an octave".to_owned() } else { format!("{} octaves", count(size / 12)) };
            format!("{octaves} and {beyond}")
        }
    }
}

/// A count of things: "no skip", "a skip", "two skips".
#[must_use]
pub fn counted(number: usize, thing: &str) -> String {
    match number {
        0 => format!("no {thing}"),
        1 => format!("{} {thing}", if thing.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }),
        many => format!("{} {thing}{}", count(many), plural(thing)),
    }
}

/// How many of so many lines are listed where there is room for `most`: a line that says "and 1 more" takes the room of that one.
#[must_use]
pub const fn listed(all: usize, most: usize) -> usize {
    if all == most + 1 { all } else { most }
}

/// A number of things in figures, for short lines: "0 answers", "1 answer", "12 answers".
#[must_use]
pub fn numbered(number: usize, thing: &str) -> String {
    format!("{number} {thing}{}", if number == 1 { "" } else { plural(thing) })
}

/// The ending of several of a thing: phrases, choruses.
fn plural(thing: &str) -> &'static str {
    if thing.ends_with('s') { "es" } else { "s" }
}

/// Whole cents with their sign; 0 has none.
#[must_use]
pub fn signed(cents: Cents) -> String {
    let whole = cents.0.round() as i64;
    if whole == 0 { "0".to_owned() } else { format!("{whole:+}") }
}

/// The direction in a word: "low" or "high".
#[must_use]
pub const fn direction(by: HalfSteps) -> &'static str {
    if by.0 < 0 { "low" } else { "high" }
}

/// The text with a capital as its first letter.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_have_their_usual_names() {
        // Names of intervals: common practice.
        for (half_steps, name) in [
            (-1, "a half step"),
            (2, "a whole step"),
            (3, "a minor third"),
            (-6, "a tritone"),
            (7, "a fifth"),
            (12, "an octave"),
            (-24, "two octaves"),
            (14, "an octave and a whole step"),
            (19, "an octave and a fifth"),
        ] {
            assert_eq!(distance(HalfSteps(half_steps)), name);
        }
    }

    #[test]
    fn cents_are_whole_and_signed_and_nothing_has_no_sign() {
        assert_eq!([9.4, -1.6, 0.4, -0.4].map(|cents| signed(Cents(cents))), ["+9", "-2", "0", "0"]);
    }

    #[test]
    fn places_beyond_the_twentieth_are_figures() {
        assert_eq!(ordinal(0), "first");
        assert_eq!([ordinal(20), ordinal(21), ordinal(110)], ["21st", "22nd", "111th"]);
    }

    #[test]
    fn only_one_thing_is_in_the_singular() {
        assert_eq!([0, 1, 2].map(|n| counted(n, "answer")), ["no answer", "an answer", "two answers"]);
        assert_eq!([0, 1, 2].map(|n| numbered(n, "answer")), ["0 answers", "1 answer", "2 answers"]);
    }

    #[test]
    fn a_list_ends_in_and() {
        assert_eq!(list(&["third".to_owned(), "fifth".to_owned(), "sixth".to_owned()]), "third, fifth and sixth");
    }
}
