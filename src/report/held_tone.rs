use std::collections::VecDeque;

use crate::notes::{Frame, HeardNote, NoteEvent};
use crate::report::moved::{NoteMoved, moved};
use crate::report::tone_path::{Leg, TonePath};
use crate::report::tone_wave::{SlowWave, ToneSwell, slow_wave, swell};
use crate::report::trend::Slope;
use crate::units::{Cents, Hertz, Midi, Seconds, median, spread};

/// Shortest held tone.
const HELD: Seconds = Seconds(2.0);
/// Smallest length left out at either end of a tone: attack and release say nothing of the pitch that was meant.
const EDGE: Seconds = Seconds(0.15);
/// Largest distance of a frame from its note; a frame further away is a slip of the tracker.
const NEAR: Cents = Cents(200.0);
/// Step between two looks at the path of the pitch, in seconds.
const STEP_S: f64 = 0.01;
/// Number of steps over which the mean of the path is taken: what moves slower is drift, not vibrato. The drift of a tone without vibrato is
/// read over as many.
const SLOW_STEPS: usize = 50;
/// Number of steps over which the course of a tone without vibrato is read: a step must not be smeared.
const COURSE_STEPS: usize = 10;
/// Share of the extent of the vibrato by which the readings of a course may differ without a bend.
const SLACK: f64 = 0.1;
/// A course of several legs is that of the whole tone, ends and all, where it leaves no more than this and `SLACK` (root mean square).
const ALL_TOLD: Cents = Cents(2.0);
/// Number of whole turns of the vibrato in one reading of the drift. The turns are weighted by a Hann window and so leave nothing in it.
const TURNS: f64 = 3.0;
/// Smallest number of steps between two readings of a drift; in a long tone they lie further apart.
const READ_STEPS: usize = 5;
/// Share of a tone that is left out at either end; the rest is its body, by which the ends are judged.
const BODY: f64 = 0.2;
/// An end is bent where the middles of its turns (`LOOKS` agree) lie farther from the body than this plus `UNEVEN` times the extent of the
/// vibrato. The bend lasts until the middles lie within half of this and that share.
const BENT: Cents = Cents(12.0);
/// Share of the extent of the vibrato by which the middles of turns differ without a bend, for no two turns are alike.
const UNEVEN: f64 = 0.25;
/// Shortest and longest bend; what lasts longer is no end.
const BENDS: (Seconds, Seconds) = (Seconds(0.04), Seconds(1.2));
/// Number of readings to which those of a long tone are thinned, about.
const COMPARED: usize = 400;
/// Number of steps whose median stands for the very end, and for the place where the end lies farthest off.
const LOOKS: usize = 3;
/// Length left out at the end of a tone, where the frames already hear it die away in the room.
const DYING: Seconds = Seconds(0.03);
/// Slowest and quickest vibrato, in turns a second; singers and players lie between 4 and 8 (Sundberg 1987, from memory).
const VIBRATO_HZ: (f64, f64) = (3.0, 9.0);
/// Smallest autocorrelation of a vibrato at its best peak; all else is wavering.
const REPEATS: f64 = 0.5;
/// Share of the best peak that an earlier peak must reach to be the turn of the vibrato.
const NEARLY: f64 = 0.85;
/// Smallest swing that is a vibrato, to either side.
const FELT: Cents = Cents(4.0);

/// A tone held for two seconds or more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldTone {
    /// How long it sounded.
    pub length: Seconds,
    /// Median of its pitch, without its ends.
    pub centre: Midi,
    /// How far the pitch moved from beginning to end, above 0 upwards, taken over whole turns of the vibrato and without bent ends. Of a
    /// tone of one leg it is the median slope between all pairs of readings (Theil 1950, Sen 1968), times the length.
    pub drift: Cents,
    /// Its pitch at the beginning, a bend left out.
    pub from: Midi,
    /// The legs of its way, in order and without bent ends: one where the pitch moved in a straight line, and more where that would hide
    /// how it went, as in a tone that is steady and then sinks, or steps.
    pub legs: [Option<Leg>; 3],
    /// The bend with which the tone began; `None` where it began without one that lasts .04 to 1.2 s.
    pub begins: Option<Bend>,
    /// The bend with which the tone ended; `None` where it ended without one that lasts .04 to 1.2 s.
    pub ends: Option<Bend>,
    /// Median absolute deviation from the way that the legs describe: a drift is no wavering.
    pub spread: Cents,
    /// The vibrato of the tone; `None` where it has none.
    pub vibrato: Option<Vibrato>,
    /// The slow wave in which its pitch goes, slower than any vibrato; `None` where there is none.
    pub wave: Option<SlowWave>,
    /// How its pitch left its level once and came back; `None` where it did not.
    pub swell: Option<ToneSwell>,
}

/// An end of a tone that lies off the rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bend {
    /// How far off the end lies at the farthest; above 0 is sharp.
    pub by: Cents,
    /// How long the bend lasts.
    pub lasting: Seconds,
}

/// A pitch that swings evenly about its centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vibrato {
    /// Turns a second.
    pub rate: Hertz,
    /// How far the vibrato goes to either side.
    pub extent: Cents,
    /// The same of the first third of the tone and of the last.
    pub thirds: (Cents, Cents),
}

/// Follows the pitch of the note that sounds; keeps the tones that were held, and how the others moved.
#[derive(Debug, Clone, Default)]
pub struct HeldToneTracker {
    path: VecDeque<(Seconds, Midi)>,
    sounding: Option<HeardNote>,
    held: Vec<HeldTone>,
    moved: Vec<NoteMoved>,
}

impl HeldToneTracker {
    /// Takes a frame in; `a4` is the reference of the ear.
    pub fn frame(&mut self, frame: &Frame, a4: Hertz) {
        // The ear reports a note a little after it began.
        let since = self.sounding.map_or(frame.at - Seconds(1.0), |note| note.onset);
        while self.path.front().is_some_and(|(at, _)| *at < since) {
            self.path.pop_front();
        }
        self.path.extend(frame.pitch.map(|pitch| (frame.at, pitch.midi(a4))));
    }

    /// Takes in one event of a note.
    pub fn note(&mut self, event: &NoteEvent) {
        match event {
            NoteEvent::On(note) | NoteEvent::Revised(note) => self.sounding = Some(*note),
            NoteEvent::Off(note) => {
                self.sounding = None;
                match held(note, &self.path) {
                    Some(tone) => self.held.push(tone),
                    None => self.moved.extend(moved(note, self.path.iter())),
                }
            }
        }
    }

    /// The tones that were held, in the order they were played.
    #[must_use]
    pub fn held(&self) -> &[HeldTone] {
        &self.held
    }

    /// How the other notes moved while they sounded.
    #[must_use]
    pub fn moved(&self) -> &[NoteMoved] {
        &self.moved
    }
}

fn held(note: &HeardNote, path: &VecDeque<(Seconds, Midi)>) -> Option<HeldTone> {
    if note.length() < HELD {
        return None;
    }
    let whole: Vec<(f64, f64)> = path
        .iter()
        .filter(|(at, pitch)| {
            (note.onset..=note.release - DYING).contains(at) && pitch.cents_above(note.pitch).abs() < NEAR
        })
        .map(|(at, pitch)| ((*at - note.onset).0, pitch.cents_above(note.pitch).0))
        .collect();
    let length = note.length();
    let inside = |from: f64, until: f64| -> Vec<(f64, f64)> {
        whole.iter().filter(|(at, _)| (from..=until).contains(at)).map(|(at, cents)| (at - from, *cents)).collect()
    };
    let body = Body::of(&inside(BODY * length.0, (1.0 - BODY) * length.0), BODY * length.0, length.0)?;
    if body.vibrato.is_none()
        && let Some(tone) = waving(note, &inside(EDGE.0, length.0 - EDGE.0))
    {
        return Some(tone);
    }
    let (body, all_told) = body.or_bent(&inside(EDGE.0, length.0 - EDGE.0));
    let turns = body.turns(&whole);
    let begins = body.bend(&mut turns.iter(), |at| at);
    let ends = body.bend(&mut turns.iter().rev(), |at| length.0 - at);
    let edge = |bend: Option<Bend>| bend.map_or(EDGE, |bend| EDGE.max(bend.lasting)).0;
    let path = inside(edge(begins), length.0 - edge(ends));
    let cents: Vec<f64> = path.iter().map(|(_, cents)| *cents).collect();
    let rest = Body::of(&path, edge(begins), length.0)?;
    let vibrato = rest.vibrato;
    let course = if all_told {
        body.course
    } else {
        let readings = rest.readings(&path, edge(begins));
        TonePath::bent(&readings, &rest.course, rest.slack()).unwrap_or(rest.course)
    };
    let off: Vec<f64> = path.iter().map(|(at, cents)| cents - course.at(at + edge(begins))).collect();
    Some(HeldTone {
        length,
        centre: Midi(note.pitch.0 + median(&cents)? / 100.0),
        drift: Cents(course.at(length.0) - course.at(0.0)),
        from: Midi(note.pitch.0 + course.at(0.0) / 100.0),
        legs: course.legs(),
        begins,
        ends,
        spread: Cents(spread(&off)?),
        vibrato,
        wave: None,
        swell: None,
    })
}

/// A tone without vibrato whose pitch goes in a slow wave, or swells once and comes back: it has neither bent ends nor legs. `path` begins
/// where the attack is over.
fn waving(note: &HeardNote, path: &[(f64, f64)]) -> Option<HeldTone> {
    let path: Vec<(f64, f64)> = path.iter().map(|(at, cents)| (at + EDGE.0, *cents)).collect();
    let even: Vec<(f64, f64)> =
        evenly(&path).into_iter().enumerate().map(|(n, cents)| (n as f64 * STEP_S, cents)).collect();
    let even: Vec<(f64, f64)> = even.into_iter().filter(|look| look.0 >= EDGE.0).collect();
    let length = note.length();
    let (wave, swell, level, slope) = match slow_wave(&even) {
        Some((wave, level, slope)) => (Some(wave), None, level, slope),
        None => swell(&even).map(|(swell, level)| (None, Some(swell), level, 0.0))?,
    };
    let course = TonePath::straight(level, slope, length.0);
    let off: Vec<f64> = path.iter().map(|(at, cents)| cents - course.at(*at)).collect();
    Some(HeldTone {
        length,
        centre: Midi(note.pitch.0 + course.at(0.5 * length.0) / 100.0),
        drift: Cents(slope * length.0),
        from: Midi(note.pitch.0 + level / 100.0),
        legs: course.legs(),
        begins: None,
        ends: None,
        spread: Cents(spread(&off)?),
        vibrato: None,
        wave,
        swell,
    })
}

/// A part of a tone: the way of its pitch, and its vibrato about that way.
struct Body {
    course: TonePath,
    vibrato: Option<Vibrato>,
}

impl Body {
    /// The straight line and the vibrato of a path that begins at `from`, in seconds; `None` for too short a path.
    fn of(path: &[(f64, f64)], from: f64, length: f64) -> Option<Self> {
        let even = evenly(path);
        let vibrato = vibrato(&even);
        let slope = slope(&even, vibrato)?;
        let rest = even.iter().enumerate().map(|(n, cents)| cents - slope * (from + n as f64 * STEP_S));
        let level = median(&rest.collect::<Vec<_>>())?;
        Some(Self { course: TonePath::straight(level, slope, length), vibrato })
    }

    /// The same with the course of several legs that tells all of the path, ends and all, and whether there is one.
    fn or_bent(self, path: &[(f64, f64)]) -> (Self, bool) {
        let readings = self.readings(path, EDGE.0);
        let bent = TonePath::bent(&readings, &self.course, self.slack());
        match bent.filter(|course| course.left(&readings) <= ALL_TOLD.0 + self.slack()) {
            Some(course) => (Self { course, ..self }, true),
            None => (self, false),
        }
    }

    /// By how many cents the readings may differ without a bend, because no two turns of a vibrato are alike.
    fn slack(&self) -> f64 {
        self.vibrato.map_or(0.0, |vibrato| SLACK * vibrato.extent.0)
    }

    /// What the path that begins at `from` reads over whole turns of the vibrato, each at the middle of its turns.
    fn readings(&self, path: &[(f64, f64)], from: f64) -> Vec<(f64, f64)> {
        let size = self.vibrato.map_or(COURSE_STEPS, turns);
        readings(&evenly(path), size).map(|(at, cents)| (from + at + 0.5 * (size - 1) as f64 * STEP_S, cents)).collect()
    }

    /// The middle of every turn of the vibrato, at even steps; the path itself where there is none.
    fn turns(&self, whole: &[(f64, f64)]) -> Vec<(f64, f64)> {
        let first = whole.first().map_or(0.0, |look| look.0);
        let even = evenly(&whole.iter().map(|(at, cents)| (at - first, *cents)).collect::<Vec<_>>());
        let size = self.vibrato.map_or(1, |vibrato| (1.0 / (vibrato.rate.0 * STEP_S)).round().max(1.0) as usize);
        let at = |n: usize| first + (n as f64 + 0.5 * (size - 1) as f64) * STEP_S;
        let mean = |turn: &[f64]| turn.iter().sum::<f64>() / size as f64;
        even.windows(size).enumerate().map(|(n, turn)| (at(n), mean(turn))).collect()
    }

    /// The bend at an end of the tone; `looks` go from that end inwards, and `from_end` gives how far inside an instant lies.
    fn bend(&self, looks: &mut dyn Iterator<Item = &(f64, f64)>, from_end: impl Fn(f64) -> f64) -> Option<Bend> {
        let off = |(at, cents): (f64, f64)| cents - self.course.at(at);
        let near: Vec<(f64, f64)> = looks.map(|look| (from_end(look.0), off(*look))).collect();
        let side = median(&near.iter().take(LOOKS).map(|look| look.1).collect::<Vec<_>>())?.signum();
        let uneven = self.vibrato.map_or(0.0, |vibrato| UNEVEN * vibrato.extent.0);
        let within = uneven + BENT.0 / 2.0;
        let lasting = near.iter().find(|look| look.1 * side < within).map(|look| Seconds(look.0))?;
        let bent: Vec<f64> = near.iter().take_while(|look| look.0 < lasting.0).map(|look| look.1 * side).collect();
        // The farthest on which several steps agree: a single step may be a slip of the tracker.
        let by = bent.windows(LOOKS).filter_map(median).fold(0.0, f64::max);
        let bent = by > uneven + BENT.0 && lasting >= BENDS.0 && lasting <= BENDS.1;
        bent.then_some(Bend { by: Cents(by * side), lasting })
    }
}

/// The path at even steps, by straight lines between its points.
fn evenly(path: &[(f64, f64)]) -> Vec<f64> {
    let mut even = Vec::new();
    for pair in path.windows(2) {
        let ((t0, c0), (t1, c1)) = (pair[0], pair[1]);
        while (even.len() as f64) * STEP_S <= t1 {
            let t = even.len() as f64 * STEP_S;
            even.push(if t <= t0 { c0 } else { c0 + (c1 - c0) * (t - t0) / (t1 - t0) });
        }
    }
    even
}

/// Number of steps of one reading over whole turns of a vibrato.
fn turns(vibrato: Vibrato) -> usize {
    (TURNS / (vibrato.rate.0 * STEP_S)).round().max(1.0) as usize
}

/// The readings of a path over `size` steps each, weighted by a Hann window, and where each begins, in seconds.
fn readings(even: &[f64], size: usize) -> impl Iterator<Item = (f64, f64)> {
    let size = size.min(even.len() / 2).max(1);
    let place = |n: usize| (n as f64 + 0.5) / size as f64;
    let window: Vec<f64> = (0..size).map(|n| 1.0 - (std::f64::consts::TAU * place(n)).cos()).collect();
    let sum: f64 = window.iter().sum();
    let step = READ_STEPS.max(even.len() / COMPARED);
    even.windows(size).step_by(step).enumerate().map(move |(n, part)| {
        let reading = part.iter().zip(&window).map(|(cents, weight)| cents * weight).sum::<f64>() / sum;
        ((n * step) as f64 * STEP_S, reading)
    })
}

/// Cents a second: the median slope between readings over whole turns of the vibrato; `None` where there is too little.
fn slope(even: &[f64], vibrato: Option<Vibrato>) -> Option<f64> {
    Slope::of(&[readings(even, vibrato.map_or(SLOW_STEPS, turns)).collect()], 1).map(|slope| slope.slope)
}

/// The vibrato of a path: the shortest turn after which the path repeats itself nearly as well as after any other between the
/// quickest and the slowest vibrato; `None` where it repeats itself too little or swings too narrowly.
fn vibrato(even: &[f64]) -> Option<Vibrato> {
    let around = |n: usize| &even[n.saturating_sub(SLOW_STEPS / 2)..(n + SLOW_STEPS / 2).min(even.len())];
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let swing: Vec<f64> = (0..even.len()).map(|n| even[n] - mean(around(n))).collect();
    let power = swing.iter().map(|cents| cents * cents).sum::<f64>() / swing.len().max(1) as f64;
    let extent = Cents((2.0 * power).sqrt());
    let alike = |lag: usize| {
        let pairs = swing.iter().zip(swing.get(lag..).unwrap_or_default());
        let (count, sum) = pairs.fold((0, 0.0), |(count, sum), (a, b)| (count + 1, sum + a * b));
        sum / (f64::from(count.max(1)) * power.max(f64::MIN_POSITIVE))
    };
    let lags = (1.0 / (VIBRATO_HZ.1 * STEP_S)) as usize..=(1.0 / (VIBRATO_HZ.0 * STEP_S)) as usize;
    // Only a peak counts, not the flank of one, because drift that is left over correlates at every short lag. Two turns correlate as
    // well as one, so the first peak that is nearly the best is taken.
    let peaks: Vec<usize> = lags.filter(|&lag| alike(lag) >= alike(lag - 1) && alike(lag) > alike(lag + 1)).collect();
    let top = peaks.iter().map(|lag| alike(*lag)).fold(0.0, f64::max);
    let best = *peaks.iter().find(|lag| alike(**lag) >= NEARLY * top)?;
    if top < REPEATS || extent < FELT {
        return None;
    }
    let (before, here, after) = (alike(best - 1), alike(best), alike(best + 1));
    let beside = 0.5 * (before - after) / (before - 2.0 * here + after);
    let rate = Hertz(1.0 / ((best as f64 + beside) * STEP_S));
    // This gives back the part of the swing that the mean over half a second took away.
    let turns = std::f64::consts::PI * rate.0 * SLOW_STEPS as f64 * STEP_S;
    let given_back = 1.0 / (1.0 - turns.sin() / turns);
    let third = swing.len() / 3;
    let of = |part: &[f64]| {
        let power = part.iter().map(|cents| cents * cents).sum::<f64>() / part.len().max(1) as f64;
        Cents((2.0 * power).sqrt() * given_back)
    };
    let thirds = (of(&swing[..third]), of(&swing[swing.len() - third..]));
    Some(Vibrato { rate, extent: Cents(extent.0 * given_back), thirds })
}

#[cfg(test)]
#[path = "held_tone_tests.rs"]
mod tests;
