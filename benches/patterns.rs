//! Takes ten thousand notes apart and names what came in them (wanted: below 1 s together), realises ten thousand lines (wanted: below .1 s) and reads the whole library
//! (wanted: below 10 ms).
#![allow(missing_docs, clippy::unwrap_used, reason = "a bench that cannot go on stops")]

use earfirst::outside::coach::Rng;
use earfirst::outside::free::{FreeLine, FreeVocabulary, LookedFor};
use earfirst::outside::music::{Concert, ConcertKey, Range};
use earfirst::outside::pattern::{self, Between, ExpectedNote, Library, Line, Pattern, Register, split};
use earfirst::outside::units::{Beats, Tempo};

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

/// The library's patterns one after another, as one line of ten thousand notes.
fn ten_thousand_notes() -> Vec<i32> {
    let notes = Library::builtin().patterns().iter().flat_map(|pattern| pattern.notes());
    notes.map(|note| note.degree.half_steps).cycle().take(10_000).collect()
}

#[divan::bench]
fn take_ten_thousand_notes_apart() -> usize {
    let heights = ten_thousand_notes();
    split(&heights, &vec![Between::Joined; heights.len() - 1]).parts.len()
}

#[divan::bench]
fn name_what_came_in_ten_thousand_notes() -> usize {
    let eighth = |(n, height): (usize, i32)| ExpectedNote {
        pitch: Concert(60 + height),
        at: Beats(0.5 * n as f64),
        length: Beats(0.5),
        named: None,
    };
    let notes: Vec<ExpectedNote> = ten_thousand_notes().into_iter().enumerate().map(eighth).collect();
    let line = FreeLine::written(&Line { length: Beats(5000.0), notes }, Tempo(160.0)).unwrap();
    let patterns: Vec<&Pattern> = Library::builtin().patterns().iter().collect();
    let mut rng = Rng::new(1);
    let wanted = LookedFor { patterns: &patterns, practised: false };
    FreeVocabulary::of(&line, wanted, Library::builtin(), &mut || rng.uniform()).patterns.len()
}
