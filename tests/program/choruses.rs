//! Choruses of the simulated player, in sound, with planted fragments. What `analyse` finds of each kind is compared with what was
//! planted. The fragments are patterns of the library, whole, with one note changed or broken off, and a cell that is in no library.
//! The notes between them go along the scale, with a skip now and then.
//!
//! `EARFIRST_LONGER=1` plays twenty choruses of each instrument, from the seed `EARFIRST_SEED` on; else one is played. `--nocapture`
//! shows the figures.

use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::LazyLock;

use earfirst::outside::coach::Rng;
use earfirst::outside::cue::{Form, Timing};
use earfirst::outside::free::{FreeLine, FreeParts, FreeVocabulary, LookedFor};
use earfirst::outside::music::{Concert, ConcertKey, Degree, Range as Compass};
use earfirst::outside::notes::{EarSettings, hear_clip};
use earfirst::outside::pattern::{Library, Pattern, from_degree, starts};
use earfirst::outside::simulated::{AnswerClock, Profile, SimulatedPlayer, Skill, Timbre};
use earfirst::outside::units::{A440, Cents, Hertz, SampleRate, Seconds, Tempo};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::asking::{self, cue};

const RATE: SampleRate = SampleRate::CD;
const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];
const LOW: i32 = 56;
const HIGH: i32 = 80;

/// A fragment that was planted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Planted {
    Whole,
    Changed,
    Broken,
    Habit,
}

const KINDS: [Planted; 4] = [Planted::Whole, Planted::Changed, Planted::Broken, Planted::Habit];

struct Chorus {
    heights: Vec<i32>,
    planted: Vec<(Planted, Range<usize>)>,
    rng: Rng,
    key: i32,
    /// The notes with which the fragment before would go on.
    goes_on: Vec<i32>,
}

impl Chorus {
    fn below(&mut self, n: usize) -> usize {
        (self.rng.uniform() * n as f64) as usize % n
    }

    fn place(&self, height: i32) -> i32 {
        (-40..80).min_by_key(|place| (self.degree(*place) - height).abs()).unwrap()
    }

    fn degree(&self, place: i32) -> i32 {
        36 + self.key + 12 * place.div_euclid(7) + MAJOR[place.rem_euclid(7) as usize]
    }

    /// Adds a few notes along the scale, with a skip now and then, towards the middle of the compass.
    fn fill(&mut self) {
        let last = *self.heights.last().unwrap_or(&68);
        let mut place = self.place(last);
        let mut way = if last > (LOW + HIGH) / 2 { -1 } else { 1 };
        for _ in 0..4 + self.below(5) {
            if self.below(4) == 0 {
                way = -way;
            }
            place += way * [1, 1, 1, 1, 2, 2, 3][self.below(7)];
            let next = self.degree(place).clamp(LOW, HIGH);
            place = self.place(next);
            let next = self.degree(place);
            // A fragment that goes on as its pattern does has not broken off, nor has one that does so after one other note: that is the
            // pattern with a note changed.
            if self.heights.last() != Some(&next) && self.goes_on.first() != Some(&next) {
                self.heights.push(next);
                self.goes_on = self.goes_on.drain(..).skip(1).collect();
            }
        }
    }

    /// Plants a fragment; of one that broke off, `goes_on` are the notes with which its pattern goes on.
    fn plant(&mut self, kind: Planted, shape: &[i32], goes_on: &[i32]) {
        self.fill();
        let (low, high) = (shape.iter().min().unwrap(), shape.iter().max().unwrap());
        let mut base = LOW - low + self.below((HIGH - LOW - (high - low)).max(1) as usize) as i32;
        if self.heights.last() == Some(&(base + shape[0])) {
            base += 1;
        }
        let first = self.heights.len();
        self.heights.extend(shape.iter().map(|height| base + height));
        self.planted.push((kind, first..self.heights.len()));
        self.goes_on = goes_on.iter().map(|height| base + height).collect();
    }
}

/// A chorus in which two patterns of the library are planted, each three times as it is, once with a note changed and once broken off;
/// and four times a cell that is in no library.
fn chorus(seed: u64) -> Chorus {
    let mut made = Chorus {
        heights: Vec::new(),
        planted: Vec::new(),
        rng: Rng::new(seed),
        key: (seed % 12) as i32,
        goes_on: Vec::new(),
    };
    let whole_when_broken = |pattern: &Pattern| {
        let heights = heights_of(pattern, None);
        is_pattern(&heights[..heights.len() - 2])
    };
    let fits = |pattern: &&Pattern| {
        (7..=12).contains(&pattern.notes().len())
            && pattern.span().0 <= 16
            && varied(pattern)
            && !whole_when_broken(pattern)
    };
    let all: Vec<&Pattern> = Library::builtin().patterns().iter().filter(fits).collect();
    let shapes: Vec<Vec<i32>> = (0..2)
        .map(|_| all[made.below(all.len())].notes().iter().map(|note| note.degree.half_steps).collect())
        .collect();
    let habit = [0, 3, 1, -4, -2, 5].map(|height| height + [0, 0, 1][made.below(3)]);
    let mut plan: Vec<(Planted, Vec<i32>, Vec<i32>)> = Vec::new();
    for shape in &shapes {
        plan.extend((0..3).map(|_| (Planted::Whole, shape.clone(), Vec::new())));
        let changed = loop {
            let mut changed = shape.clone();
            let note = 1 + made.below(shape.len() - 2);
            changed[note] += if made.below(2) == 0 { 1 } else { -1 };
            if !is_pattern(&changed) {
                break changed;
            }
        };
        plan.push((Planted::Changed, changed, Vec::new()));
        let (begun, left) = shape.split_at(shape.len() - 2);
        plan.push((Planted::Broken, begun.to_vec(), left.to_vec()));
    }
    plan.extend((0..4).map(|_| (Planted::Habit, habit.to_vec(), Vec::new())));
    while !plan.is_empty() {
        let (kind, shape, goes_on) = plan.swap_remove(made.below(plan.len()));
        made.plant(kind, &shape, &goes_on);
    }
    made.fill();
    made
}

fn heights_of(pattern: &Pattern, start: Option<Degree>) -> Vec<i32> {
    from_degree(pattern, start).iter().map(|degree| degree.half_steps).collect()
}

/// The moves of every pattern of the library, begun on each of its degrees.
static PATTERNS: LazyLock<BTreeSet<Vec<i32>>> = LazyLock::new(|| {
    let ways = Library::builtin().patterns().iter().flat_map(|pattern| {
        let starts = std::iter::once(None).chain(starts(pattern).into_iter().map(Some));
        starts.map(|start| moves(&heights_of(pattern, start))).collect::<Vec<_>>()
    });
    ways.collect()
});

fn moves(heights: &[i32]) -> Vec<i32> {
    heights.windows(2).map(|pair| pair[1] - pair[0]).collect()
}

/// Whether these notes are a pattern of the library. A pattern that broke off, or has a note changed, may be another one, whole: half steps
/// up a seventh that break off after a sixth are half steps up a sixth, and it would be wrong to say otherwise.
fn is_pattern(heights: &[i32]) -> bool {
    PATTERNS.contains(&moves(heights))
}

/// Whether no note of a pattern comes twice running. The ear may hear two equal notes as one, and here only the search is tested.
fn varied(pattern: &Pattern) -> bool {
    pattern.notes().windows(2).all(|pair| pair[0].degree.half_steps != pair[1].degree.half_steps)
}

/// The chorus as the simulated player sounds it and the ear hears it; one that goes wrong on purpose is played again.
fn heard(heights: &[i32], timbre: Timbre, seed: u64) -> (FreeLine, Tempo) {
    let tempo = Tempo(160.0);
    let asked = cue(heights, tempo.0, Form::FirstNote, Timing::InTempo);
    for again in 0.. {
        let profile = Profile {
            timbre,
            range: Compass::new(Concert(LOW - 6), Concert(HIGH + 6)),
            skill: Skill::around(ConcertKey::FIFTHS[0], 0.95),
            offset: Cents(6.0),
            faulty: 0.12,
        };
        let mut player = SimulatedPlayer::new(ChaCha8Rng::seed_from_u64(seed * 100 + again), profile);
        let clock = AnswerClock { cue_end: Seconds(0.0), beat_zero: Some(Seconds(0.5)) };
        let sounded = player.answer(&asked, clock, RATE, A440);
        if sounded.truth.faults.is_empty() {
            let settings = EarSettings { rate: RATE, lowest: Hertz(130.0), highest: Hertz(1400.0), a4: A440 };
            let line = FreeLine::heard(&hear_clip(&settings, &sounded.clip), Some(tempo)).unwrap();
            return (line, sounded.truth.pace);
        }
    }
    unreachable!()
}

/// Numbers of fragments: right, found, and planted.
#[derive(Default, Clone, Copy)]
struct Counted(usize, usize, usize);

impl Counted {
    fn told(self) -> String {
        let share = |of: usize| if of == 0 { 1.0 } else { self.0 as f64 / of as f64 };
        format!("precision {:.2}, recall {:.2} of {}", share(self.1), share(self.2), self.2)
    }
}

/// The index of the note that was truly played when the heard note sounds.
fn true_note(line: &FreeLine, pace: Tempo, place: usize, count: usize) -> usize {
    let first = line.notes.first().map_or(0.0, |note| note.onset.0);
    let eighth = pace.beat().0 / 2.0;
    (((line.notes[place].onset.0 - first) / eighth).round() as usize).min(count - 1)
}

fn parts_of(parts: &FreeParts) -> Vec<(earfirst::outside::pattern::Family, Range<usize>)> {
    parts.parts.iter().map(|part| (part.family, part.notes.clone())).collect()
}

fn first_seed() -> u64 {
    std::env::var("EARFIRST_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(1)
}

#[test]
fn planted_fragments_are_found_in_sound() {
    let longer = std::env::var_os("EARFIRST_LONGER").is_some();
    let seeds = if longer { first_seed()..first_seed() + 20 } else { 3..4 };
    let library = Library::builtin();
    let patterns: Vec<&Pattern> = library.patterns().iter().collect();
    let mut kinds = [Counted::default(); 4];
    let mut families = Counted::default();
    for timbre in if longer { vec![Timbre::Brass, Timbre::Reed] } else { vec![Timbre::Reed] } {
        for seed in seeds.clone() {
            let made = chorus(seed);
            let (line, pace) = heard(&made.heights, timbre, seed);
            let mut rng = Rng::new(seed);
            let wanted = LookedFor { patterns: &patterns, practised: false };
            let found = FreeVocabulary::of(&line, wanted, library, &mut || rng.uniform());
            let there = |notes: &Range<usize>| {
                let count = made.heights.len();
                true_note(&line, pace, notes.start, count)..true_note(&line, pace, notes.end - 1, count) + 1
            };
            let mut told: Vec<(Planted, Range<usize>)> = Vec::new();
            for place in found.patterns.iter().flat_map(|one| &one.places) {
                let kind = match (place.broken, place.changed) {
                    (true, _) => Planted::Broken,
                    (_, Some(_)) => Planted::Changed,
                    _ => Planted::Whole,
                };
                told.push((kind, there(&place.notes)));
            }
            told.extend(found.habits.iter().flat_map(|one| &one.places).map(|notes| (Planted::Habit, there(notes))));
            for (n, kind) in KINDS.into_iter().enumerate() {
                let over = |a: &Range<usize>, b: &Range<usize>| a.end.min(b.end).saturating_sub(a.start.max(b.start));
                let same = |a: &Range<usize>, b: &Range<usize>| 4 * over(a, b) >= 3 * a.len().max(b.len());
                let of = |all: &[(Planted, Range<usize>)]| -> Vec<Range<usize>> {
                    all.iter().filter(|one| one.0 == kind).map(|one| one.1.clone()).collect()
                };
                let (mine, truth) = (of(&told), of(&made.planted));
                let right = truth.iter().filter(|one| mine.iter().any(|other| same(one, other))).count();
                kinds[n].0 += right;
                kinds[n].1 += right.max(mine.len());
                kinds[n].2 += truth.len();
            }
            let truth = FreeParts::of(&FreeLine::written(&asking::line(&made.heights, 0.5), Tempo(160.0)).unwrap());
            let mine: Vec<_> =
                parts_of(&FreeParts::of(&line)).into_iter().map(|(family, notes)| (family, there(&notes))).collect();
            let truth = parts_of(&truth);
            let near =
                |a: &Range<usize>, b: &Range<usize>| a.start.abs_diff(b.start) <= 1 && a.end.abs_diff(b.end) <= 1;
            families.0 +=
                truth.iter().filter(|one| mine.iter().any(|two| two.0 == one.0 && near(&one.1, &two.1))).count();
            families.1 += mine.len();
            families.2 += truth.len();
        }
    }
    for (kind, counted) in KINDS.iter().zip(kinds) {
        println!("{kind:?}: {}", counted.told());
    }
    println!("families: {}", families.told());
    let bar = if longer { 0.9 } else { 0.75 };
    let enough = |counted: Counted| counted.0 as f64 >= bar * counted.1.max(counted.2) as f64;
    assert!(enough(kinds[0]) && enough(kinds[3]), "whole patterns and habits");
    // Of one chorus there are two of each of these, too few for a share.
    assert!(!longer || enough(kinds[1]) && enough(kinds[2]), "a note changed, and broken off");
    assert!(families.0 as f64 >= 0.9 * families.2 as f64, "families as of true notes");
}
