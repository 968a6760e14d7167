use std::collections::BTreeSet;

use super::line::FreeLine;
use super::plain::plain_chance;
use super::stock::PatternStock;
use super::vocabulary::moves_of;
use crate::music::{ConcertKey, PitchClass};
use crate::pattern::Pattern;

/// A pattern counts as played where a plain line of so many notes has it less than once in this many lines.
const ONE_IN: f64 = 20.0;

/// The keys in which each of these patterns came whole, in any of its ways, round the circle of fifths.
///
/// [`FreeVocabulary`](super::FreeVocabulary) names what came more often than the motion of the same line explains. A player who plays
/// little else than a pattern has made that pattern the motion of the line, so it is not named there. Here a pattern is weighed against
/// a plain line instead: short ones that any line has, such as four half steps, are passed over.
#[must_use]
pub fn came_whole(line: &FreeLine, patterns: &[&Pattern]) -> Vec<Vec<ConcertKey>> {
    let (heights, moves) = (line.heights(), moves_of(line));
    let stock = PatternStock::of(patterns.iter().copied());
    let mut by_chance = vec![0.0; stock.patterns.len()];
    stock.ways.iter().for_each(|way| by_chance[way.pattern] += plain_chance(&way.moves) * moves.len() as f64);
    let mut came: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); stock.patterns.len()];
    for hit in stock.hits(&moves).into_iter().filter(|hit| hit.changed.is_none()) {
        let way = &stock.ways[hit.way];
        if by_chance[way.pattern] * ONE_IN < 1.0 {
            came[way.pattern].insert(ConcertKey(PitchClass::new(heights[hit.at] - way.first)).place());
        }
    }
    // Patterns that are too short to be looked for are not in the stock.
    let of = |pattern: &&Pattern| {
        let place = stock.patterns.iter().position(|other| std::ptr::eq(*other, *pattern));
        let places = place.map(|place| came[place].iter().map(|place| ConcertKey::FIFTHS[*place]).collect());
        places.unwrap_or_default()
    };
    patterns.iter().map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Concert;
    use crate::pattern::{ExpectedNote, Library, Line};
    use crate::units::{Beats, Tempo};

    #[test]
    fn who_plays_nothing_but_a_pattern_has_used_it_and_a_few_half_steps_are_no_pattern() {
        // 1 2 3 5 3 2 1 in C, F and Bb, again and again, with four half steps up between.
        let library = Library::builtin();
        let named = ["1-2-3-5-3-2-1-arch", "four-half-steps-up"];
        let patterns: Vec<&Pattern> =
            named.iter().map(|name| library.patterns().iter().find(|it| it.id.0 == *name).unwrap()).collect();
        let mut heights = Vec::new();
        for tonic in [60, 65, 58, 60, 65, 58] {
            heights.extend([0, 2, 4, 7, 4, 2, 0].map(|up| tonic + up));
            heights.extend([0, 1, 2, 3].map(|up| tonic + 9 + up));
        }
        let note = |(n, pitch): (usize, &i32)| ExpectedNote {
            pitch: Concert(*pitch),
            at: Beats(0.5 * n as f64),
            length: Beats(0.5),
            named: None,
        };
        let notes: Vec<ExpectedNote> = heights.iter().enumerate().map(note).collect();
        let line = FreeLine::written(&Line { length: Beats(40.0), notes }, Tempo(120.0)).unwrap();
        let came = came_whole(&line, &patterns);
        let names: Vec<&str> = came[0].iter().map(|key| key.name()).collect();
        assert_eq!(names, ["C", "Bb", "F"]);
        assert_eq!(came[1], []);
    }
}
