use std::collections::BTreeSet;

use crate::music::{Concert, Degree};
use crate::pattern::Line;

/// How hard a line is, 1 to 5, near the levels that the library gives. It is 1, and one more for each of these: more than six notes;
/// more than sixteen; a note outside the major scale on the tonic; two or more moves by a third to a fifth; a leap wider than a
/// fifth or a span beyond a ninth. It stays 5 where all of them hold.
#[must_use]
pub fn level(line: &Line, tonic: Concert) -> u8 {
    let pitches: Vec<i32> = line.notes.iter().map(|note| note.pitch.0).collect();
    let moves: Vec<u32> = pitches.windows(2).map(|pair| pair[1].abs_diff(pair[0])).collect();
    let major: BTreeSet<i32> = (0..7).map(|letters| Degree::altered(letters, 0).half_steps).collect();
    let outside = pitches.iter().any(|pitch| !major.contains(&(pitch - tonic.0).rem_euclid(12)));
    let skips = moves.iter().filter(|size| (3..=7).contains(*size)).count();
    let wide = moves.iter().any(|size| *size > 7) || line.range().span().0 > 14;
    1 + [pitches.len() > 6, pitches.len() > 16, outside, skips >= 2, wide].map(u8::from).iter().sum::<u8>().min(4)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{ConcertKey, Range};
    use crate::pattern::{Library, Register, realise};

    #[test]
    fn the_level_of_a_line_is_near_the_one_the_library_gives_it() {
        let range = Range { low: Concert(0), high: Concert(127) };
        let patterns = Library::builtin().patterns();
        let near = patterns.iter().filter(|pattern| {
            let line = realise(pattern, ConcertKey::FIFTHS[0], None, range, Register::Middle).unwrap();
            let tonic = Concert(line.notes[0].pitch.0 - pattern.notes()[0].degree.half_steps);
            level(&line, tonic).abs_diff(pattern.level) <= 1
        });
        let near = near.count();
        assert!(near * 20 >= patterns.len() * 19, "{near} of {} within one level", patterns.len());
    }
}
