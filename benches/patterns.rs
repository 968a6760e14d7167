//! Takes ten thousand notes apart (wanted: below 1 s), realises ten thousand lines (wanted: below .1 s) and reads the whole library
//! (wanted: below 10 ms).
#![allow(missing_docs, clippy::unwrap_used, reason = "a bench that cannot go on stops")]

use earfirst::outside::music::{Concert, ConcertKey, Range};
use earfirst::outside::pattern::{self, Between, Library, Register, split};

fn main() {
    divan::main();
}

const FILES: [(&str, &str); 4] = [
    ("stepwise.toml", include_str!("../assets/patterns/stepwise.toml")),
    ("half-steps.toml", include_str!("../assets/patterns/half-steps.toml")),
    ("skips.toml", include_str!("../assets/patterns/skips.toml")),
    ("phrase.toml", include_str!("../assets/patterns/phrase.toml")),
];

#[divan::bench]
fn load_the_library() -> usize {
    Library::load(FILES).0.patterns().len()
}

#[divan::bench]
fn realise_ten_thousand_lines() -> usize {
    let range = Range { low: Concert(40), high: Concert(84) };
    let patterns = Library::builtin().patterns().iter().cycle();
    let keys = ConcertKey::FIFTHS.iter().cycle();
    patterns
        .zip(keys)
        .take(10_000)
        .filter_map(|(pattern, key)| pattern::realise(pattern, *key, None, range, Register::Middle).ok())
        .map(|line| line.notes.len())
        .sum()
}

/// Takes ten thousand notes apart: the library's patterns one after another, as one line.
#[divan::bench]
fn take_ten_thousand_notes_apart() -> usize {
    let notes = Library::builtin().patterns().iter().flat_map(|pattern| pattern.notes());
    let heights: Vec<i32> = notes.map(|note| note.degree.half_steps).cycle().take(10_000).collect();
    split(&heights, &vec![Between::Joined; heights.len() - 1]).parts.len()
}
