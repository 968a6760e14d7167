//! What a stretch of a line costs as a fragment of a family. Only distances enter, never the key.

use std::sync::LazyLock;

use crate::music::scale;
use crate::pattern::model::Family;
use crate::pattern::quality::Quality;

/// A fragment, and what it costs more for having two notes only, for each move, for each repeated note.
const FRAGMENT: f64 = 1.0;
const TWO_NOTES: f64 = 0.35;
const MOVE: f64 = 0.01;
const REPEATED: f64 = 0.05;
/// A half step inside a stepwise fragment, so that runs by half steps take what they can.
const HALF_STEP: f64 = 0.06;
/// A target gone round from both sides.
const TURN: f64 = 0.12;
/// A chain of thirds in a key, broken thirds, or equal fourths or fifths, instead of one chord.
const CHAIN: f64 = 0.25;
/// No fragment has more notes.
pub(super) const LONGEST: usize = 32;
/// Chords that a fragment by skips may lie in.
const CHORDS: [&str; 10] = ["maj7", "7", "m7", "m7b5", "dim7", "mMaj7", "maj7#5", "7#5", "6", "7sus4"];
/// Scales that a fragment by step may lie in, with what they cost.
const SCALES: [(&str, f64); 5] =
    [("ionian", 0.0), ("melodic-minor", 0.15), ("harmonic-minor", 0.15), ("whole-tone", 0.30), ("half-whole", 0.30)];

/// The families a fragment may have, in the order of their places.
pub(super) const FAMILIES: [Family; 3] = [Family::Stepwise, Family::HalfSteps, Family::Skips];

/// A stretch that may be a fragment.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    /// The note after its last one.
    pub end: usize,
    /// The family, as a place in [`FAMILIES`].
    pub place: usize,
    /// What the stretch costs as a line of that family.
    pub cost: f64,
}

/// What a set of pitch classes lies in, on any of the twelve roots.
#[derive(Debug, Clone, Copy, Default)]
struct Within {
    /// The cheapest scale.
    scale: Option<f64>,
    /// A major scale.
    major: bool,
    /// A chord.
    chord: bool,
}

/// For each of the 4096 sets.
static SETS: LazyLock<Vec<Within>> = LazyLock::new(|| {
    let set = |heights: Vec<i32>| heights.into_iter().fold(0u16, |set, height| set | class(height));
    let turned = |set: u16| (0..12).map(move |up| (set << up | set >> (12 - up)) & 0xfff);
    let named =
        |name: &str| scale(name).ok().map(|scale| scale.degrees.iter().map(|degree| degree.half_steps).collect());
    let mut sets = vec![Within::default(); 4096];
    for (place, (name, cost)) in SCALES.into_iter().enumerate() {
        for whole in named(name).into_iter().flat_map(|heights| turned(set(heights))) {
            for (part, within) in sets.iter_mut().enumerate().filter(|(part, _)| *part as u16 & !whole == 0) {
                debug_assert!(part < 4096);
                within.major |= place == 0;
                within.scale = Some(within.scale.map_or(cost, |there| there.min(cost)));
            }
        }
    }
    for quality in CHORDS.into_iter().filter_map(Quality::parse) {
        for whole in turned(set(quality.tones().iter().map(|tone| tone.half_steps).collect())) {
            let parts = sets.iter_mut().enumerate().filter(|(part, _)| *part as u16 & !whole == 0);
            parts.for_each(|(_, within)| within.chord = true);
        }
    }
    sets
});

const fn class(height: i32) -> u16 {
    1 << height.rem_euclid(12)
}

/// All stretches that begin with the first of these notes, cheapest account of each family for each end.
pub(super) fn stretches(heights: &[i32]) -> Vec<Stretch> {
    let mut found = Vec::new();
    let Some(&first) = heights.first() else { return found };
    let (mut set, mut repeated, mut moved) = (class(first), 0u32, false);
    let (mut steps, mut halves, mut skips) = (Steps::default(), Halves::default(), SkipMoves::default());
    for n in 1..heights.len().min(LONGEST) {
        let by = heights[n] - heights[n - 1];
        set |= class(heights[n]);
        repeated += u32::from(by == 0);
        moved |= by != 0;
        steps.go(by);
        halves.go(by);
        skips.go(by);
        if steps.dead && halves.dead && skips.dead() {
            break;
        }
        if !moved {
            continue;
        }
        let within = SETS[usize::from(set)];
        let two = if n == 1 { TWO_NOTES } else { 0.0 };
        let all = FRAGMENT + two + MOVE * n as f64 + REPEATED * f64::from(repeated);
        let fits = [steps.cost(within), halves.cost(within), skips.cost(within, n)];
        let offered = fits.into_iter().enumerate().filter_map(|(place, fits)| Some((place, fits?)));
        found.extend(offered.map(|(place, fits)| Stretch { end: n + 1, place, cost: all + fits }));
    }
    found
}

/// Steps within a scale.
#[derive(Default)]
struct Steps {
    dead: bool,
    half_steps: u32,
}

impl Steps {
    fn go(&mut self, by: i32) {
        self.dead |= by.abs() > 2;
        self.half_steps += u32::from(by.abs() == 1);
    }
    fn cost(&self, within: Within) -> Option<f64> {
        let scale = within.scale.filter(|_| !self.dead)?;
        Some(scale + HALF_STEP * f64::from(self.half_steps))
    }
}

/// Half steps that no major scale has, and targets gone round from both sides: two or three half steps over the target,
/// then back to it, one of the sides a half step away.
#[derive(Default)]
struct Halves {
    dead: bool,
    turns: u32,
    /// A move over a target that is not yet reached.
    over: Option<i32>,
}

impl Halves {
    fn go(&mut self, by: i32) {
        match self.over.take() {
            Some(over) => {
                let sides = (over.abs() - by.abs(), by.abs());
                let back = matches!(by, -2..=-1 | 1..=2) && by.signum() != over.signum();
                self.dead |= !(back && (sides.0 == 1 || sides.1 == 1) && (1..=2).contains(&sides.0));
                self.turns += 1;
            }
            None if matches!(by.abs(), 2..=3) => self.over = Some(by),
            None => self.dead |= by.abs() > 1,
        }
    }
    fn cost(&self, within: Within) -> Option<f64> {
        let whole = !self.dead && self.over.is_none() && (self.turns > 0 || !within.major);
        whole.then(|| TURN * f64::from(self.turns))
    }
}

/// Skips within one chord, or a chain of them.
#[derive(Default)]
struct SkipMoves {
    /// A move that is no skip came, other than a repeated note.
    stepped: bool,
    /// Something wider than a third came.
    wide: bool,
    /// The first move, while all are equal to it.
    equal: Option<i32>,
    unequal: bool,
    /// A move came that broken thirds do not have.
    unbroken: bool,
    /// The move before, in broken thirds.
    before: Option<i32>,
    third: i32,
}

impl SkipMoves {
    const fn dead(&self) -> bool {
        self.stepped && self.unbroken
    }
    fn go(&mut self, by: i32) {
        let size = by.abs();
        self.stepped |= size != 0 && !(3..=12).contains(&size);
        self.wide |= size > 4;
        match self.equal {
            None => self.equal = Some(by),
            Some(first) => self.unequal |= first != by,
        }
        // Thirds all in one direction, a step back after each.
        let third = matches!(size, 3..=4);
        match self.before {
            None => (self.unbroken, self.third) = (!third, by.signum()),
            Some(before) if matches!(before.abs(), 3..=4) => {
                self.unbroken |= !(matches!(size, 1..=2) && by.signum() == -self.third);
            }
            Some(_) => self.unbroken |= !(third && by.signum() == self.third),
        }
        self.before = Some(by);
    }
    fn cost(&self, within: Within, moves: usize) -> Option<f64> {
        let equal = !self.unequal && matches!(self.equal.map(i32::abs), Some(5 | 7));
        match (self.stepped, within.chord) {
            (false, true) => Some(0.0),
            (false, false) => ((!self.wide && within.major) || equal).then_some(CHAIN),
            (true, _) => (!self.unbroken && moves >= 3 && within.major).then_some(CHAIN),
        }
    }
}
