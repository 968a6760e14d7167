use crate::learn::LineNote;
use crate::learn::unit_grid::{ALLOWED, Grid, kept, laid};
use crate::music::NamedBy;
use crate::pattern::{ExpectedNote, Line, Ticks};
use crate::units::{Beats, Seconds, Tempo, greatest_common, median};

/// The numbers of units that a quarter note may have, the plainest first.
const SHARES: [i64; 6] = [1, 2, 3, 4, 6, 8];
/// The number of thirds in a beat. Eighths swing where they divide the beat as a triplet does, give or take [`ALLOWED`] of a third,
/// which is a fifteenth of a beat: long to short may be anything from 3:2 to 11:4.
const THIRDS: i64 = 3;
/// A plain note value is a half, a third or a fourth of a quarter at the shortest.
const PLAIN: i64 = 4;
/// The least number of beats with a long and a short note in a line that swings: a single pair may be part of a triplet.
const PAIRS: usize = 2;
/// A guessed unit is about the shortest distance between two notes (the median of the distances below 1.3 times the shortest), or a half,
/// third or fourth of that.
const PARTS: [f64; 4] = [1.0, 2.0, 3.0, 4.0];
/// The share by which the tempo that was played may differ from the given one, up or down.
const AWAY: f64 = 0.15;
/// A note of a file lies on a place of the grid where it is less than this many units away from it: instants in seconds are rounded.
const SAME: f64 = 1e-3;
/// The most units in a quarter that a written line may need: 315, which groups of five, seven and nine have in common.
const MOST_UNITS: i64 = 315;
/// Without a given tempo, the unit is taken for an eighth where that makes a tempo within these bounds, in quarters a minute. Where it
/// makes a slower tempo the unit is a quarter, where it makes a quicker one a sixteenth, or, beyond that, the next shorter value of
/// [`QUICKER`] (common practice for lines of this kind).
const USUAL: (f64, f64) = (70.0, 260.0);
/// The numbers of units in a quarter that a unit too quick for an eighth may have.
const QUICKER: [i64; 2] = [4, 8];
/// A unit shorter than a sixteenth at the quickest usual tempo is guessed only where the notes themselves lie as near together.
const SHORTEST_S: f64 = 60.0 / (4.0 * USUAL.1);
/// The shortest unit that may be one of two values of a line, and the most units in the usual distance between two notes: beyond them
/// quick notes are ornaments sooner than note values.
const VALUES: (f64, f64) = (0.09, 4.2);

/// A line quantised to units of a pulse.
#[derive(Debug, Clone, PartialEq)]
pub struct QuantizedLine {
    /// Notes in quarters from the first one.
    pub line: Line,
    /// The tempo that was played.
    pub tempo: Tempo,
    /// Number of units in a quarter note.
    pub share: i64,
    /// Whether the eighths were played long and short; the line has them even, as they are written.
    pub swing: bool,
    /// How much of the line lies before its first beat: an eighth where a line that swings begins with the short one, else nothing.
    pub pickup: Beats,
    /// Whether every note lies where the file has it, so that none was moved.
    pub exact: bool,
    /// Whether the tempo is taken from the notes, because the player did not tell it.
    pub guessed: bool,
    /// The furthest that any note lay from its place, counted from the note before.
    pub moved: Seconds,
    /// The number of the note that lies so far from its place, counted from 1.
    pub furthest: usize,
    /// The furthest that is allowed ([`ALLOWED`] of a unit).
    pub allowed: Seconds,
}

impl QuantizedLine {
    /// Whether every note lay near enough to the place at which it is written ([`QuantizedLine::allowed`]).
    #[must_use]
    pub fn even(&self) -> bool {
        self.moved <= self.allowed
    }
    /// How long a unit was played.
    #[must_use]
    pub fn unit(&self) -> Seconds {
        Seconds(self.allowed.0 / ALLOWED)
    }
    /// Whether the line is in note values that somebody may have meant, so that nothing need be taken for an ornament. A unit is none where it
    /// is far quicker than the usual distance between two notes, however well it fits: a fine grid fits all.
    #[must_use]
    pub fn plain(&self) -> bool {
        let unit_s = self.unit().0;
        let gaps: Vec<f64> =
            self.line.notes.windows(2).map(|pair| self.tempo.lasting(pair[1].at - pair[0].at).0).collect();
        let usual_s = median(&gaps).unwrap_or(unit_s);
        self.exact || self.even() && (self.swing || unit_s >= VALUES.0 && usual_s <= VALUES.1 * unit_s)
    }
    /// Whether the notes lie nearer to their places than in the other reading, or in units that are note values.
    #[must_use]
    pub fn plainer_than(&self, other: &Self) -> bool {
        let misfit = |it: &Self| it.moved.0 / it.allowed.0;
        self.plain() || misfit(self) < misfit(other)
    }
    /// The pulse of the grid.
    #[must_use]
    pub fn pulse(&self) -> Pulse {
        let share = if self.swing { THIRDS } else { self.share };
        if self.exact { Pulse::written(self.tempo) } else { Pulse { share, ..Pulse::given(self.tempo) } }
    }
}

/// A pulse that the player or a file gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pulse {
    /// Quarter notes a minute.
    pub tempo: Tempo,
    /// Number of units in a quarter note, or a divisor of that number; 1 where nothing is given.
    pub share: i64,
    /// Where it comes from.
    pub by: PulseBy,
}

/// Who gives a pulse.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PulseBy {
    /// The player.
    Player,
    /// A file that counts in beats: the onsets are taken as written where all of them lie on units.
    File,
    /// A file into which somebody played by hand: whether to its beats, only the onsets can tell.
    FileByHand,
}

impl Pulse {
    /// The pulse of a line that is played.
    #[must_use]
    pub const fn given(tempo: Tempo) -> Self {
        Self { tempo, share: 1, by: PulseBy::Player }
    }
    /// The pulse of a line that was read from a file.
    #[must_use]
    pub const fn written(tempo: Tempo) -> Self {
        Self { tempo, share: 1, by: PulseBy::File }
    }
}

/// Quantises a line to units of a pulse: of the given one, or else of one guessed from the shortest distance between two notes, as also where
/// somebody played into a file by hand and not to its beats.
/// The plainest unit is taken of which every note is within [`ALLOWED`]; where there is none, the unit that comes nearest to that,
/// and [`QuantizedLine::even`] is then false. `None` without notes.
///
/// A note lasts up to the next one unless a silence fills at least half of the way and a whole unit: that is a rest. In a line that is
/// taken as a file has it, a note that ends on a unit keeps its length. Where notes lie on thirds of a beat, but never on the middle third,
/// and two beats at least have a long and a short note, they are eighths that swing ([`QuantizedLine::swing`]).
#[must_use]
pub fn quantize(played: &[LineNote], pulse: Option<Pulse>) -> Option<QuantizedLine> {
    lay(played, pulse, true)
}

/// Quantises a line as [`quantize`] does, for a player who says that it does not swing: long and short are written as they sound.
#[must_use]
pub fn quantize_unswung(played: &[LineNote], pulse: Option<Pulse>) -> Option<QuantizedLine> {
    lay(played, pulse, false)
}

fn lay(played: &[LineNote], pulse: Option<Pulse>, may_swing: bool) -> Option<QuantizedLine> {
    let first = played.first()?;
    let gaps: Vec<f64> = played.windows(2).map(|pair| (pair[1].onset - pair[0].onset).0.max(1e-3)).collect();
    let exact = pulse.filter(|pulse| pulse.by == PulseBy::File).and_then(|it| exact(&gaps, it.tempo.beat().0));
    let as_written = exact.is_some();
    let told = pulse.is_some_and(|pulse| pulse.by == PulseBy::Player);
    let only = first.release - first.onset;
    let (grid, share) = match pulse {
        _ if let Some(exact) = exact => exact,
        Some(pulse) if told => given(&gaps, pulse, only, may_swing),
        Some(pulse) => by_hand(&gaps, pulse, only, may_swing),
        None => guessed(&gaps, only, may_swing),
    };
    let swings = Some(&grid.steps).filter(|_| may_swing && share == THIRDS).and_then(|steps| swung(steps));
    let unit = Ticks::QUARTER / share;
    let place = |units: i64| match swings {
        // Both later thirds of a beat stand for its second eighth.
        Some(before) => Ticks::QUARTER / 2 * (eighth(units + before) - eighth(before)),
        None => units * unit,
    };
    let mut at = 0;
    let mut notes = Vec::with_capacity(played.len());
    for (n, note) in played.iter().enumerate() {
        let sounding = (note.release - note.onset).0 / grid.unit_s;
        let length = match grid.steps.get(n) {
            Some(step) if as_written && whole(sounding) => (sounding.round() as i64).clamp(1, *step),
            Some(step) => units_sounded(sounding, *step),
            None => (sounding.round() as i64).clamp(1, 4 * share),
        };
        let [begins, ends] = [at, at + length].map(|units| Ticks(place(units)).beats());
        let named = note.letters.map(|letters| NamedBy { letters, over: 0 });
        notes.push(ExpectedNote { pitch: note.pitch, at: begins, length: ends - begins, named });
        at += grid.steps.get(n).copied().unwrap_or(0);
    }
    let length = notes.last().map_or(Beats(0.0), |note| note.at + note.length);
    Some(QuantizedLine {
        line: Line { notes, length },
        tempo: Tempo(60.0 / (grid.unit_s * share as f64)),
        share: if swings.is_some() { 2 } else { share },
        swing: swings.is_some(),
        exact: as_written,
        guessed: !as_written && !told,
        pickup: Beats(if swings.is_some_and(|before| before > 0) { 0.5 } else { 0.0 }),
        moved: Seconds(grid.moved_s()),
        furthest: grid.furthest(),
        allowed: Seconds(ALLOWED * grid.unit_s),
    })
}

/// The number of the eighth on which a place in thirds of a beat is written.
const fn eighth(thirds: i64) -> i64 {
    2 * thirds.div_euclid(THIRDS) + (thirds.rem_euclid(THIRDS) > 0) as i64
}

/// Whether steps in thirds of a beat are eighths that swing: no note begins on a middle third, and at least [`PAIRS`] beats have a
/// long and a short note. Handed back is how many thirds of its first beat lie before the line: 0, or 2 where it begins on the short
/// eighth.
fn swung(steps: &[i64]) -> Option<i64> {
    [0_i64, 2].into_iter().find(|before| {
        let mut at = *before;
        let mut pairs = 0;
        for step in steps {
            pairs += usize::from(at.rem_euclid(THIRDS) == 0 && *step == 2);
            at += step;
            if at.rem_euclid(THIRDS) == 1 {
                return false;
            }
        }
        pairs >= PAIRS
    })
}

/// How many units a note lasts that sounds for `sounding` units, where the next note begins `step` units after it.
pub(super) fn units_sounded(sounding: f64, step: i64) -> i64 {
    let silent = step as f64 - sounding;
    if silent >= 1.0 && 2.0 * silent >= step as f64 { (sounding.round() as i64).clamp(1, step) } else { step }
}

/// Whether something lies on a place of the grid.
pub(super) fn whole(units: f64) -> bool {
    (units - units.round()).abs() < SAME
}

/// The grid with the fewest units in a quarter on which every note of a written line begins (five for groups of five), and that
/// number. `None` for a line that somebody played into a file by hand, as one of which every note lasts five thirty-seconds, and for a single
/// note.
fn exact(gaps: &[f64], beat: f64) -> Option<(Grid, i64)> {
    let onsets = gaps.iter().scan(0.0, |at, gap| {
        *at += gap / beat;
        Some(*at)
    });
    let share = share_of(&onsets.collect::<Vec<f64>>())?;
    let grid = kept(gaps, beat / share as f64);
    let common = grid.steps.iter().copied().fold(0, greatest_common);
    let odd = share > PLAIN && common > 1 && share % common != 0;
    Some((grid, share)).filter(|_| !gaps.is_empty() && !odd)
}

/// The fewest units in a quarter on which all of these places, given in quarters, lie; `None` where [`MOST_UNITS`] are too few.
pub(super) fn share_of(places: &[f64]) -> Option<i64> {
    let mut shares = (1..=MOST_UNITS).filter(|share| Ticks::QUARTER % share == 0);
    shares.find(|share| places.iter().all(|at| whole(at * *share as f64)))
}

fn given(gaps: &[f64], pulse: Pulse, only: Seconds, may_swing: bool) -> (Grid, i64) {
    let beat = pulse.tempo.beat().0;
    if gaps.is_empty() {
        let share = if only.0 < 0.75 * beat { 2 } else { pulse.share };
        return (Grid::of_one_note(beat / share as f64), share);
    }
    let near = |grid: &Grid, unit_s: f64| (grid.unit_s / unit_s - 1.0).abs() <= AWAY;
    let grids = SHARES.into_iter().filter(|share| share % pulse.share == 0).map(|share| {
        let unit_s = beat / share as f64;
        let swinging = swinging(gaps, unit_s).filter(|_| may_swing && share == THIRDS);
        let fitted = Some(swinging.unwrap_or_else(|| laid(gaps, unit_s))).filter(|grid| near(grid, unit_s));
        (fitted.unwrap_or_else(|| kept(gaps, unit_s)), share)
    });
    plainest(grids)
}

/// The grid of a line that somebody played into a file by hand. Recorders write some tempo into every file, whoever keeps to it: it counts
/// where it makes the same of the notes as their shortest distance does, or where that makes no plain rhythm of them.
fn by_hand(gaps: &[f64], pulse: Pulse, only: Seconds, may_swing: bool) -> (Grid, i64) {
    let (of_file, own) = (given(gaps, pulse, only, may_swing), guessed(gaps, only, may_swing));
    let same = of_file.0.steps == own.0.steps && (of_file.0.unit_s / own.0.unit_s - 1.0).abs() <= AWAY;
    // Near two thirds of the tempo of the file, the thirds of a swung beat look like its eighths.
    let swings = own.1 == THIRDS && swung(&own.0.steps).is_some();
    let alike = same && (!swings || of_file.1 == THIRDS);
    // Notes that slow down far are still equal notes where each is one unit after the other.
    let equal = own.0.steps.iter().all(|step| *step == 1);
    let plain = equal || own.0.by_hand() && own.0.steps.contains(&1);
    match of_file.0.even() {
        _ if gaps.is_empty() => of_file,
        true if alike || !plain && !swings => of_file,
        false if alike || (!plain && of_file.0.misfit() < own.0.misfit()) => of_file,
        _ => own,
    }
}

fn guessed(gaps: &[f64], only: Seconds, may_swing: bool) -> (Grid, i64) {
    let Some(shortest) = gaps.iter().copied().min_by(f64::total_cmp) else {
        let unit_s = only.0.clamp(0.25, 1.0);
        return (Grid::of_one_note(unit_s), 1);
    };
    let alike: Vec<f64> = gaps.iter().copied().filter(|gap| *gap < 1.3 * shortest).collect();
    let middle = median(&alike).unwrap_or(shortest);
    let usual = |grid: &Grid| (USUAL.0 / 2.0..=USUAL.1).contains(&(60.0 / (THIRDS as f64 * grid.unit_s)));
    if let Some(grid) = third(gaps).and_then(|third_s| swinging(gaps, third_s)).filter(|grid| may_swing && usual(grid))
    {
        return (grid, THIRDS);
    }
    // Of a row that strays far the shortest distances mislead, and the middle one does not.
    let whole = || [middle, median(gaps).unwrap_or(middle)].map(|unit_s| laid(gaps, unit_s)).into_iter();
    let shortest_s = SHORTEST_S.min(0.99 * middle);
    let parts = || PARTS.into_iter().map(|parts| laid(gaps, middle / parts)).filter(|grid| grid.unit_s >= shortest_s);
    // A note that came late or early alone makes no other note values of the rest.
    let even =
        whole().find(Grid::even).or_else(|| whole().find(Grid::strays_alone)).or_else(|| parts().find(Grid::even));
    let grid = even.or_else(|| whole().find(Grid::by_hand));
    let grid = grid.unwrap_or_else(|| plainest(parts().chain(whole()).map(|grid| (grid, 1))).0);
    let as_eighth = 30.0 / grid.unit_s;
    let share = match as_eighth {
        slow if slow < USUAL.0 => 1,
        quick if quick > USUAL.1 => {
            QUICKER.into_iter().find(|share| 2.0 * quick <= USUAL.1 * *share as f64).unwrap_or(QUICKER[1])
        }
        _ => 2,
    };
    (grid, share)
}

/// The first grid on which every note lies within [`ALLOWED`], but for one or two alone, or else the one whose furthest note lies nearest to its place.
fn plainest(grids: impl Iterator<Item = (Grid, i64)>) -> (Grid, i64) {
    let mut best: Option<(Grid, i64)> = None;
    for (grid, share) in grids {
        if grid.even() || grid.strays_alone() {
            return (grid, share);
        }
        if best.as_ref().is_none_or(|(other, _)| grid.misfit() < other.misfit()) {
            best = Some((grid, share));
        }
    }
    best.unwrap_or((Grid::of_one_note(0.5), 2))
}

/// An estimate of a third of a beat, in seconds: each two neighbouring gaps that may be a long and a short eighth are taken
/// together for a beat, and of the thirds of these beats the median is taken.
fn third(gaps: &[f64]) -> Option<f64> {
    let pair = |pair: &[f64]| (1.4..=2.8).contains(&(pair[0].max(pair[1]) / pair[0].min(pair[1])));
    let thirds: Vec<f64> = gaps.windows(2).filter(|w| pair(w)).map(|w| (w[0] + w[1]) / THIRDS as f64).collect();
    median(&thirds)
}

/// The grid of thirds of a beat, each about `third_s` seconds long, where the notes are eighths that swing. The exact third is
/// measured from beat to beat, because long and short eighths are not played as exact thirds.
fn swinging(gaps: &[f64], third_s: f64) -> Option<Grid> {
    let steps = kept(gaps, third_s).steps;
    let (mut at, mut time) = (swung(&steps)?, 0.0);
    let mut beats = Vec::new();
    for (step, gap) in steps.iter().chain([&0]).zip(gaps.iter().chain([&0.0])) {
        if at % THIRDS == 0 {
            beats.push((at, time));
        }
        at += step;
        time += gap;
    }
    let (first, last) = (beats.first()?, beats.last()?);
    let unit_s = (last.1 - first.1) / (last.0 - first.0) as f64;
    Some(kept(gaps, unit_s)).filter(|grid| grid.steps == steps && grid.even())
}
