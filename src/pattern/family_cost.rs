//! What a stretch of a line costs as a fragment of a family. Costs depend on the distances between notes alone, not on the key.

use std::sync::LazyLock;

use crate::music::scale;
use crate::pattern::model::Family;
use crate::pattern::quality::Quality;

/// The cost of every fragment. The three below are added: for having only two notes, for each move, and for each repeated note.
const FRAGMENT: f64 = 1.0;
const TWO_NOTES: f64 = 0.35;
const MOVE: f64 = 0.01;
const REPEATED: f64 = 0.05;
/// The cost of each half step in a stepwise fragment, so that a run of half steps is rather taken for a fragment by half steps.
pub(super) const HALF_STEP: f64 = 0.06;
/// The cost of a target that the line reaches after notes on both sides of it.
const TURN: f64 = 0.12;
/// The cost of a fragment by skips that lies in no single chord: thirds in a key, broken thirds, or equal fourths or fifths.
const CHAIN: f64 = 0.25;
/// The most notes of a fragment: a scale over four octaves, up and down, has 57.
pub(super) const LONGEST: usize = 64;
/// The chords in which a fragment by skips may lie.
const CHORDS: [&str; 10] = ["maj7", "7", "m7", "m7b5", "dim7", "mMaj7", "maj7#5", "7#5", "6", "7sus4"];
/// The scales in which a stepwise fragment may lie, each with its cost.
const SCALES: [(&str, f64); 5] =
    [("ionian", 0.0), ("melodic-minor", 0.15), ("harmonic-minor", 0.15), ("whole-tone", 0.30), ("half-whole", 0.30)];

/// The families that a fragment may have; code that counts families uses their index here.
pub(super) const FAMILIES: [Family; 3] = [Family::Stepwise, Family::HalfSteps, Family::Skips];

/// A stretch that may be a fragment.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    /// The index of the note after the last one of the stretch.
    pub end: usize,
    /// The index of the family of the stretch in [`FAMILIES`].
    pub place: usize,
    /// What the stretch costs as a line of that family.
    pub cost: f64,
}

/// In which scales and chords, on any of the twelve roots, a set of pitch classes lies.
#[derive(Debug, Clone, Copy, Default)]
struct Within {
    /// The cost of the cheapest of [`SCALES`] that holds the set; `None` where none does.
    scale: Option<f64>,
    /// Whether a major scale holds the set.
    major: bool,
    /// Whether one of [`CHORDS`] holds the set.
    chord: bool,
}

/// The scales and chords of each of the 4096 sets of pitch classes; bit n of an index stands for the class n.
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

/// All stretches of two to [`LONGEST`] notes that begin with the first of these notes and do not stay on one pitch: for each end, one for
/// each family that can account for the stretch.
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

/// The account of a stretch as steps within a scale; `dead` once a move wider than a whole step has come.
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

/// The account of a stretch as a line by half steps: half steps that no major scale has, and turns round a target. A turn goes over
/// the target by a move of two or three half steps and then back to it; one of the two sides lies a half step from the target.
#[derive(Default)]
struct Halves {
    dead: bool,
    turns: u32,
    /// The move over a target that the line has not reached yet.
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

/// The account of a stretch as skips within one chord, or as a chain of skips.
#[derive(Default)]
struct SkipMoves {
    /// Whether a move came that is neither a skip (3 to 12 half steps) nor a repeated note.
    stepped: bool,
    /// Whether a move wider than a major third came.
    wide: bool,
    /// The first move.
    equal: Option<i32>,
    unequal: bool,
    /// Whether a move came that broken thirds do not have.
    unbroken: bool,
    /// The move before this one.
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
        // Broken thirds: all thirds go in one direction, with a step back after each.
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
