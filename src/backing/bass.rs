use std::ops::RangeInclusive;

use crate::backing::tones::ChordTones;
use crate::backing::wish::BassLine;
use crate::music::{Concert, PitchClass};

/// The compass of the bass in MIDI numbers: E1, its lowest string, to E3.
pub(super) const COMPASS: RangeInclusive<i32> = 28..=52;
/// The MIDI number to which the line is drawn back: D2, near the middle of the compass.
const HOME: i32 = 38;
/// A fifth in half steps: the widest leap except the octave.
const FIFTH: i32 = 7;
/// How often the line of one stay is drawn before a plain one is taken.
const TRIES: usize = 24;

/// A stretch of beats of one bar under one chord.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct BassStretch {
    /// The beat on which the stay begins, from 0 at the start of the form or of its pick-up.
    pub at: u32,
    /// How many beats the stay lasts.
    pub beats: u32,
    /// The tones of its chord; `None` where no chord is played.
    pub tones: Option<ChordTones>,
    /// Whether the chord is another than before, so that its root (or the bass after its slash) is due.
    pub fresh: bool,
}

/// One note of a bass line, in beats.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct BassNote {
    /// The beat on which the note begins, counted as in [`BassStretch`].
    pub at: f64,
    /// How long it sounds, in beats.
    pub beats: f64,
    /// The pitch that sounds.
    pub pitch: Concert,
}

/// What a bass line remembers from one chorus to the next.
#[derive(Debug, Clone, Copy)]
pub(super) struct BassMemory {
    /// The note that sounded last.
    before: Option<i32>,
    /// The note that the last one led into: the next line begins on it.
    due: Option<i32>,
}

impl BassMemory {
    /// Nothing played yet.
    pub(super) const NONE: Self = Self { before: None, due: None };
}

/// A bass line over `stays`. `next` is the first stay after them; the line after this one begins on the note that leads into it.
pub(super) fn line(
    kind: BassLine,
    stays: &[BassStretch],
    next: Option<&BassStretch>,
    memory: &mut BassMemory,
    draw: &mut dyn FnMut() -> f64,
) -> Vec<BassNote> {
    let mut notes = Vec::new();
    let BassMemory { before, due } = memory;
    for (n, stay) in stays.iter().enumerate() {
        let Some(tones) = &stay.tones else {
            *due = None;
            continue;
        };
        let start = due.take().unwrap_or_else(|| beginning(stay, tones, *before, draw));
        let pitches = match kind {
            BassLine::RootAndFifth => two(stay, tones, start, *before, draw),
            BassLine::Walking => {
                let after = stays.get(n + 1).or(next).filter(|after| stay.beats > 1 || after.fresh);
                let target = after.and_then(|after| Some((after, after.tones.as_ref()?)));
                // Two beats on F1 cannot lead into the E1 below: what would is below the bass, or is F1 itself. Its octave can be reached;
                // from Eb3, which cannot lead into the E3 above, it is the lower one.
                let reached = |due: &i32| stay.beats != 2 || leading(tones, *due).iter().any(|midi| *midi != start);
                *due = target.map(|(after, low)| beginning(after, low, Some(start), draw));
                *due = due.map(|due| {
                    [due, due + 12, due - 12]
                        .into_iter()
                        .find(|due| COMPASS.contains(due) && reached(due))
                        .unwrap_or(due)
                });
                let walked = walk(stay.beats as usize, tones, start, *due, draw);
                walked.into_iter().map(|pitch| (1, pitch)).collect()
            }
        };
        let mut at = stay.at;
        for (beats, pitch) in pitches {
            notes.push(BassNote { at: f64::from(at), beats: f64::from(beats), pitch: Concert(pitch) });
            at += beats;
            *before = Some(pitch);
        }
    }
    notes
}

/// The first note of a stay, mostly near the note before. It is the root of a new chord (or the bass after its slash); where the chord
/// goes on, one of its bass, root, third and fifth.
fn beginning(stay: &BassStretch, tones: &ChordTones, before: Option<i32>, draw: &mut dyn FnMut() -> f64) -> i32 {
    let class = if stay.fresh { tones.low } else { pick(&tones.resting, draw).unwrap_or(tones.low) };
    near(class, before.unwrap_or(HOME), draw)
}

/// A pitch of this class in the compass: mostly the one nearest to `to` and to [`HOME`], by chance another.
fn near(class: PitchClass, to: i32, draw: &mut dyn FnMut() -> f64) -> i32 {
    let weighed = COMPASS.filter(|midi| PitchClass::new(*midi) == class).map(|midi| {
        let away = f64::from((midi - to).abs()) + 0.5 * f64::from((midi - HOME).abs());
        (away + 4.0 * draw(), midi)
    });
    weighed.min_by(|a, b| a.0.total_cmp(&b.0)).map_or(HOME, |row| row.1)
}

fn pick<T: Copy>(from: &[T], draw: &mut dyn FnMut() -> f64) -> Option<T> {
    from.get((draw() * from.len() as f64) as usize).copied()
}

/// The lengths and pitches of a stay for root and fifth. A stay of four beats or more has the root, and halfway through it the fifth
/// over or under the root. A shorter one has one note: `start`, which is the root, where the chord is new; where the chord goes on,
/// root and fifth in turn, as in a waltz. `before` is the note that sounded last.
fn two(
    stay: &BassStretch,
    tones: &ChordTones,
    start: i32,
    before: Option<i32>,
    draw: &mut dyn FnMut() -> f64,
) -> Vec<(u32, i32)> {
    if stay.beats < 4 {
        let from_root = before.filter(|before| PitchClass::new(*before) == tones.low);
        let pitch = match (stay.fresh, from_root) {
            (true, _) => start,
            (false, Some(root)) => near(tones.fifth, root, draw),
            (false, None) => near(tones.low, start, draw),
        };
        return vec![(stay.beats, pitch)];
    }
    let root = near(tones.low, start, draw);
    let first = stay.beats.div_ceil(2);
    let fifths: Vec<i32> =
        COMPASS.filter(|midi| PitchClass::new(*midi) == tones.fifth && (midi - root).abs() < 12).collect();
    vec![(first, root), (stay.beats - first, pick(&fifths, draw).unwrap_or(root))]
}

/// One note a beat, from `start` on. The last of several leads into `target`, where there is one.
fn walk(beats: usize, tones: &ChordTones, start: i32, target: Option<i32>, draw: &mut dyn FnMut() -> f64) -> Vec<i32> {
    for _ in 0..TRIES {
        if let Some(line) = tried(beats, tones, start, target, draw) {
            return line;
        }
    }
    plain(beats, tones, start, target)
}

/// The notes that lead into `target`: those a half step below or above it, and those a whole step away that are in the scale of the
/// chord before it.
fn leading(tones: &ChordTones, target: i32) -> Vec<i32> {
    let half = [target - 1, target + 1];
    let whole = [target - 2, target + 2].into_iter().filter(|midi| tones.on_scale(*midi));
    half.into_iter().chain(whole).filter(|midi| COMPASS.contains(midi)).collect()
}

/// Whether a line may go from one pitch to the next: by a step, by a leap of up to a fifth, or by an octave.
fn goes(from: i32, to: i32) -> bool {
    let leap = (to - from).abs();
    (1..=FIFTH).contains(&leap) || leap == 12
}

fn tried(
    beats: usize,
    tones: &ChordTones,
    start: i32,
    target: Option<i32>,
    draw: &mut dyn FnMut() -> f64,
) -> Option<Vec<i32>> {
    let mut line = vec![start];
    if beats == 1 {
        return Some(line);
    }
    let last = match target {
        Some(target) => pick(&leading(tones, target), draw)?,
        None => near(pick(&tones.resting, draw)?, start, draw),
    };
    for n in 1..beats - 1 {
        let (here, left) = (line[n - 1], (beats - 1 - n) as i32);
        // The third beat of a stay is taken for strong, as its first is.
        let strong = n == 2;
        let reaches = |midi: i32| (last - midi).abs() <= FIFTH * left && midi != last;
        let weighed = (here - FIFTH..=here + FIFTH)
            .filter(|midi| COMPASS.contains(midi) && goes(here, *midi) && reaches(*midi))
            .filter(|midi| if strong { tones.sounds(*midi) } else { tones.on_scale(*midi) })
            .map(|midi| {
                // Moves towards the last note are preferred, and small moves to leaps.
                let toward = f64::from((midi - here).signum() * (last - here).signum());
                let leap = f64::from((midi - here).abs());
                (leap - 2.0 * toward + 6.0 * draw(), midi)
            });
        line.push(weighed.min_by(|a, b| a.0.total_cmp(&b.0))?.1);
    }
    let before = line[beats - 2];
    line.push(last);
    (goes(before, last) && (beats > 2 || before != last)).then_some(line)
}

/// The line where every draw failed: `start` and the fifth of the chord in turn, and as the last note one that leads into `target`.
fn plain(beats: usize, tones: &ChordTones, start: i32, target: Option<i32>) -> Vec<i32> {
    let other = COMPASS
        .filter(|midi| *midi != start && PitchClass::new(*midi) == tones.fifth)
        .min_by_key(|midi| (midi - start).abs())
        .unwrap_or(start);
    let mut line: Vec<i32> = (0..beats).map(|n| if n % 2 == 0 { start } else { other }).collect();
    if let (Some(target), true) = (target, beats > 1) {
        let before = line[beats - 2];
        let into = leading(tones, target).into_iter().find(|midi| *midi != before);
        if let (Some(into), Some(last)) = (into, line.last_mut()) {
            *last = into;
        }
    }
    line
}
