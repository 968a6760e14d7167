//! A pattern in words: what makes it hard, its level, its family.

use crate::pattern::{Fragment, Pattern, RhythmFeature};
use crate::words::numbers::counted;

/// What makes a pattern easy or hard, in plain words counted on the tonic: "two flats and a skip", "all by step".
///
/// Flats and sharps are the different degrees of the major scale that are lowered or raised; a skip is a move of three to
/// seven half steps, a leap is wider.
#[must_use]
pub fn level_words(pattern: &Pattern) -> String {
    let mut altered: Vec<(i32, i32)> = pattern
        .notes()
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

/// The features of a pattern's rhythm: "off-beats, over the bar".
#[must_use]
pub fn rhythm_words(pattern: &Pattern) -> String {
    pattern.rhythm().into_iter().map(RhythmFeature::name).collect::<Vec<_>>().join(", ")
}

/// The one feature that says most about a pattern's rhythm: its meter if that is not 4/4, else the hardest feature.
#[must_use]
pub fn rhythm_word(pattern: &Pattern) -> &'static str {
    let order = [
        RhythmFeature::SixEight,
        RhythmFeature::ThreeFour,
        RhythmFeature::OverTheBar,
        RhythmFeature::OffBeats,
        RhythmFeature::Triplets,
        RhythmFeature::Rests,
        RhythmFeature::PickUp,
        RhythmFeature::LongAndShort,
    ];
    let rhythm = pattern.rhythm();
    order.into_iter().find(|own| rhythm.contains(own)).unwrap_or(RhythmFeature::Even).name()
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

/// The parts of a line by the bars they begin in: "bar 1: half steps, then skips; bar 2: stepwise". A line of one family is named by that
/// family alone; the text is empty where no part was found.
#[must_use]
pub fn parts(parts: &[Fragment]) -> String {
    if let Some((first, rest)) = parts.split_first()
        && rest.iter().all(|part| part.family == first.family)
    {
        return first.family.name().to_owned();
    }
    let bars = parts.chunk_by(|one, next| one.bar == next.bar).map(|bar| {
        let mut names: Vec<&str> = bar.iter().map(|part| part.family.name()).collect();
        names.dedup();
        let name = if bar[0].bar == 0 { "pick-up".to_owned() } else { format!("bar {}", bar[0].bar) };
        format!("{name}: {}", names.join(", then "))
    });
    bars.collect::<Vec<_>>().join("; ")
}

/// Sizes of the moves from note to note, in half steps.
fn moves(pattern: &Pattern) -> Vec<i32> {
    pattern.notes().windows(2).map(|pair| (pair[1].degree.half_steps - pair[0].degree.half_steps).abs()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::{Family, read};

    fn said(notes: &str) -> String {
        let text =
            format!("[[pattern]]\nid='a'\nname='a'\nfamily='stepwise'\nlevel=1\ntempo=[60, 90]\nnotes='{notes}'\n");
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
    fn parts_are_named_bar_by_bar() {
        let part = |family, bar| Fragment { family, notes: 0..2, bar };
        let built = [(Family::HalfSteps, 1), (Family::Skips, 1), (Family::Stepwise, 2)].map(|(f, b)| part(f, b));
        assert_eq!(parts(&built), "bar 1: half steps, then skips; bar 2: stepwise");
        assert_eq!(parts(&built[1..2]), "skips");
        assert_eq!(parts(&[part(Family::Skips, 1), part(Family::Skips, 2)]), "skips");
        assert_eq!(parts(&[part(Family::Stepwise, 0), part(Family::Skips, 1)]), "pick-up: stepwise; bar 1: skips");
        assert_eq!(parts(&[]), "");
    }
}
