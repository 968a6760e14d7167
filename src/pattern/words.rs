use crate::pattern::model::{Family, Pattern};

/// What makes a pattern easy or hard, in plain words counted on the tonic: "two flats and a skip", "all by step".
///
/// Flats and sharps are the different degrees of the major scale that are lowered or raised; a skip is a move of three to
/// seven half steps, a leap is wider.
#[must_use]
pub fn level_words(pattern: &Pattern) -> String {
    let mut altered: Vec<(i32, i32)> = pattern
        .steps()
        .iter()
        .map(|step| (step.degree.letters.rem_euclid(7), step.degree.alteration()))
        .filter(|(_, alteration)| *alteration != 0)
        .collect();
    altered.sort_unstable();
    altered.dedup();
    let flats = altered.iter().filter(|(_, alteration)| *alteration < 0).count();
    let moves = moves(pattern);
    let skips = moves.iter().filter(|size| (3..=7).contains(*size)).count();
    let leaps = moves.iter().filter(|size| **size > 7).count();
    let parts: Vec<String> = [(flats, "flat"), (altered.len() - flats, "sharp"), (skips, "skip"), (leaps, "leap")]
        .into_iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, thing)| counted(count, thing))
        .collect();
    match &parts[..] {
        _ if moves.iter().all(|size| *size <= 1) => "all by half steps".into(),
        [] => "all by step".into(),
        [only] if skips + leaps == 0 => format!("{only}, all by step"),
        [rest @ .., last] if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        all => all.join(""),
    }
}

/// A level from 1 to 5 in plain words.
#[must_use]
pub const fn level_name(level: u8) -> &'static str {
    match level {
        0 | 1 => "first weeks",
        2 => "first year",
        3 => "second year on",
        4 => "advanced",
        _ => "long work",
    }
}

/// One sentence for a list: "arpeggio, advanced: five notes within an octave, a flat and three skips; wide leaps in tune".
#[must_use]
pub fn describe(pattern: &Pattern) -> String {
    let family = match pattern.family {
        Family::Scale => "scale",
        Family::Chromatic => "half steps",
        Family::Arpeggio => "arpeggio",
        Family::Phrase => "phrase",
    };
    let notes = counted(pattern.steps().len(), "note");
    let within = interval(pattern.span().0);
    let trains = if pattern.trains.is_empty() { String::new() } else { format!("; {}", pattern.trains) };
    format!("{family}, {}: {notes} within {within}, {}{trains}", level_name(pattern.level), level_words(pattern))
}

/// Sizes of the moves from note to note, in half steps.
fn moves(pattern: &Pattern) -> Vec<i32> {
    pattern.steps().windows(2).map(|pair| (pair[1].degree.half_steps - pair[0].degree.half_steps).abs()).collect()
}

fn counted(count: usize, thing: &str) -> String {
    const WORDS: [&str; 13] =
        ["no", "a", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    let plural = if count == 1 { "" } else { "s" };
    match WORDS.get(count) {
        Some(word) => format!("{word} {thing}{plural}"),
        None => format!("{count} {thing}s"),
    }
}

/// The name of an interval with its article.
fn interval(half_steps: i32) -> String {
    const NAMES: [&str; 13] = [
        "one pitch",
        "a half step",
        "a whole step",
        "a minor third",
        "a major third",
        "a fourth",
        "a tritone",
        "a fifth",
        "a minor sixth",
        "a major sixth",
        "a minor seventh",
        "a major seventh",
        "an octave",
    ];
    match usize::try_from(half_steps).unwrap_or(0) {
        within @ 0..=12 => NAMES[within].into(),
        beyond @ 13..=23 => format!("an octave and {}", NAMES[beyond - 12]),
        _ => format!("{} octaves and more", half_steps / 12),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::file::read;

    fn said(notes: &str) -> String {
        let text = format!("[[pattern]]\nid='a'\nname='a'\nfamily='scale'\nlevel=1\ntempo=[60, 90]\nnotes='{notes}'\n");
        let (patterns, troubles) = read(&text, "a");
        assert_eq!(troubles, []);
        level_words(&patterns[0])
    }

    #[test]
    fn what_is_hard_is_counted_on_the_tonic() {
        assert_eq!(said("1 2 3 4 5"), "all by step");
        assert_eq!(said("1 b2 1 7, 1"), "all by half steps");
        assert_eq!(said("1 2 3 5"), "a skip");
        assert_eq!(said("1 b3 b7 b3 8"), "two flats, three skips and a leap");
        assert_eq!(said("#4 5 #5 8"), "two sharps and a skip");
        assert_eq!(said("1 2 b3 4"), "a flat, all by step");
        assert_eq!(said("1 8 1"), "two leaps");
    }

    #[test]
    fn spans_have_the_names_of_intervals() {
        assert_eq!(interval(7), "a fifth");
        assert_eq!(interval(14), "an octave and a whole step");
        assert_eq!(interval(26), "2 octaves and more");
    }
}
