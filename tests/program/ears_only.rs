//! A player who has only ears and an instrument. The player hears the loudspeaker, knows by the soft signs when a cue comes and when the
//! answer is due, and plays back what was heard. The player is told no key, no pattern and no beat, and sees no screen. Kinds of strokes
//! are told apart by how long they last and by the ratio of the squares of their third and second differences: a sum of low sines has a
//! small ratio, white noise a large one (common practice).

use std::collections::VecDeque;

use earfirst::outside::notes::{Ear, EarSettings, NoteEvent};
use earfirst::outside::units::{A440, Hertz, SampleRate, Seconds};

use crate::rooms::{Draw, note};

/// The number of samples in one look, which lasts five milliseconds.
const LOOK: usize = 220;
/// After how many quiet looks a stroke is over.
const QUIET: u32 = 5;
/// The least mean square of the second difference that counts as a stroke.
const STRUCK: f64 = 2e-7;

/// The kind of stroke that the player hears.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Heard {
    Click,
    Low,
    High,
    Tap,
    ShortBrush,
    RisingBrush,
    LongBrush,
}

/// One stroke that is over: when it began, and what it was.
#[derive(Debug, Clone, Copy)]
pub struct Stroke {
    pub at: f64,
    pub kind: Heard,
}

/// What a player without pitch understands of the strokes after an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Told {
    Early,
    Late,
    Uneven,
    Up,
    Passed,
    Stay,
    Down,
}

/// Reads the strokes after an answer by their times and by wood and brush alone: how high a wood is does not enter.
pub fn read(strokes: &[Stroke]) -> Vec<Told> {
    let brush = |it: &Stroke| it.kind == Heard::ShortBrush;
    let brushes = strokes.iter().filter(|it| brush(it)).count();
    let woods: Vec<f64> = strokes.iter().filter(|it| !brush(it)).map(|it| it.at).collect();
    let first = strokes.first().map(brush);
    let (time, run) = match (brushes, first) {
        (0, _) => (None, &woods[..]),
        (3, _) => (Some(Told::Uneven), &woods[..]),
        (1, Some(true)) => (Some(Told::Early), woods.get(1..).unwrap_or(&[])),
        (2, Some(false)) => (Some(Told::Late), woods.get(1..).unwrap_or(&[])),
        _ => (None, &[][..]),
    };
    let gaps: Vec<f64> = run.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let step = match gaps[..] {
        [first, _, third, ..] if third > first + 0.04 => Some(Told::Down),
        [first, _, third] if third < first - 0.04 => Some(Told::Up),
        [first, _, third, _] if third < first - 0.04 => Some(Told::Passed),
        [_, _, _] => Some(Told::Stay),
        _ => None,
    };
    time.into_iter().chain(step).collect()
}

/// Finds strokes in a stream.
#[derive(Default)]
struct StrokeEar {
    look: Vec<f64>,
    past: [f64; 3],
    looks: u32,
    /// The stroke that is not over yet: the number of its first look and of its last loud look, the power of each look, and over its loud
    /// looks the sums of the squares of the second and of the third differences.
    open: Option<(u32, u32, Vec<f64>, [f64; 2])>,
    strokes: Vec<Stroke>,
}

impl StrokeEar {
    fn hear(&mut self, rate: SampleRate, samples: &[f32]) {
        for sample in samples {
            self.look.push(f64::from(*sample));
            if self.look.len() == LOOK {
                self.take(rate);
            }
        }
    }

    fn take(&mut self, rate: SampleRate) {
        let (mut second, mut third) = (0.0, 0.0);
        for now in std::mem::take(&mut self.look) {
            let [a, b, c] = self.past;
            second += (now - 2.0 * a + b).powi(2);
            third += (now - 3.0 * a + 3.0 * b - c).powi(2);
            self.past = [now, a, b];
        }
        let power = second / LOOK as f64;
        let n = self.looks;
        self.looks += 1;
        if power > STRUCK {
            let open = self.open.get_or_insert((n, n, Vec::new(), [0.0; 2]));
            open.1 = n;
            open.3 = [open.3[0] + second, open.3[1] + third];
        }
        if let Some(open) = &mut self.open {
            open.2.push(power);
        }
        if let Some((first, last, powers, [second, third])) = self.open.take_if(|open| n - open.1 >= QUIET) {
            let looks = f64::from(last - first + 1);
            let top = powers.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(at, _)| at);
            let late = top as f64 / looks;
            let kind = match (third / second, looks) {
                // Sums of sines: the higher the wood, the nearer to one.
                (..0.26, _) => Heard::Low,
                (..0.8, _) => Heard::Click,
                (..2.0, _) => Heard::High,
                // Noise whose lows are gone.
                (_, ..12.0) => Heard::Tap,
                (_, ..30.0) => Heard::ShortBrush,
                _ if late > 0.6 => Heard::RisingBrush,
                _ => Heard::LongBrush,
            };
            self.strokes.push(Stroke { at: rate.seconds(first as usize * LOOK).0, kind });
        }
    }
}

/// The strokes of a clip.
pub fn strokes(rate: SampleRate, samples: &[f32]) -> Vec<Stroke> {
    let mut ear = StrokeEar::default();
    ear.hear(rate, samples);
    ear.hear(rate, &vec![0.0; LOOK * 2 * QUIET as usize]);
    ear.strokes
}

/// What the player is doing.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Mind {
    Waits,
    /// The player heard the cue, and answers from this instant on.
    Answers(f64),
    /// The player sounds a long note since this instant, and listens for this many long strokes of the brush.
    Holds(f64, usize),
    /// The player does nothing until this instant.
    Still(f64),
}

/// What the player does besides answering.
#[derive(Debug, Clone, Copy)]
pub struct Manner {
    /// After how many answers the player ends the sitting with a long note.
    pub answers: usize,
    /// After how many answers the player pauses the drill with a long note; another one lets it go on.
    pub pauses_after: usize,
    /// Every how manyth answer comes late.
    pub late_each: usize,
}

/// The player.
pub struct EarsOnly {
    rate: SampleRate,
    ear: Ear,
    strokes: StrokeEar,
    /// Onset, end and pitch of each tone, by its number.
    tones: Vec<(u32, f64, Option<f64>, f64)>,
    mind: Mind,
    draw: Draw,
    manner: Manner,
    /// How many strokes the player has acted on.
    thought: usize,
    /// The strokes that were heard after each answer.
    pub told: Vec<Vec<Stroke>>,
    /// Whether the strokes after the newest answer are over: a cue began, or the drill waits.
    read: bool,
    /// The first pitch of each answer, as a MIDI note number.
    pub firsts: Vec<i32>,
    paused: bool,
    /// What the player did, in words, to be read where a test fails.
    pub diary: Vec<String>,
}

impl EarsOnly {
    pub fn new(rate: SampleRate, manner: Manner) -> Self {
        let ear = Ear::new(&EarSettings { rate, lowest: Hertz(110.0), highest: Hertz(1500.0), a4: A440 });
        let (strokes, tones, told, firsts, diary) = Default::default();
        let (mind, draw, thought, paused, read) = (Mind::Waits, Draw(7), 0, false, true);
        Self { rate, ear, strokes, tones, mind, draw, manner, thought, told, read, firsts, paused, diary }
    }

    /// Hears a block of what the loudspeaker plays, which ends at `now`. Returns the sounds that the player begins, each with the instant
    /// at which it begins.
    pub fn hear(&mut self, samples: &[f32], now: f64) -> Vec<(f64, Vec<f32>)> {
        self.strokes.hear(self.rate, samples);
        let tones = &mut self.tones;
        self.ear.hear(samples, &mut |_| {}, &mut |event| {
            let note = event.note();
            let end = matches!(event, NoteEvent::Off(_)).then_some(note.release.0);
            let new = (note.number, note.onset.0, end, note.pitch.0);
            match tones.iter_mut().find(|tone| tone.0 == note.number) {
                Some(tone) => *tone = new,
                None => tones.push(new),
            }
        });
        match self.mind {
            Mind::Waits => self.listens(now),
            Mind::Answers(zero) if now >= zero - 0.02 => self.answers(zero),
            Mind::Holds(since, brushes) => self.holds(now, since, brushes),
            Mind::Still(until) if now >= until => self.goes_on(now),
            Mind::Answers(_) | Mind::Still(_) => Vec::new(),
        }
    }

    fn since(&self, at: f64, kind: Heard) -> Vec<f64> {
        self.strokes.strokes.iter().filter(|it| it.at >= at && it.kind == kind).map(|it| it.at).collect()
    }

    /// Waits for two taps: the answer is due as long after the second tap as that came after the first. Signs before the taps tell what
    /// became of the last answer.
    fn listens(&mut self, now: f64) -> Vec<(f64, Vec<f32>)> {
        while let Some(stroke) = self.strokes.strokes.get(self.thought).copied() {
            self.thought += 1;
            match stroke.kind {
                Heard::Low | Heard::High | Heard::Click | Heard::ShortBrush => {
                    if let (Some(told), false) = (self.told.last_mut(), self.read) {
                        told.push(stroke);
                    }
                }
                Heard::Tap => {
                    let taps = self.since(stroke.at - 1.2, Heard::Tap);
                    if let [.., first, second] = taps[..] {
                        self.mind = Mind::Answers(second + (second - first));
                        return Vec::new();
                    }
                }
                Heard::RisingBrush | Heard::LongBrush => self.read = true,
            }
        }
        // What was told of the last answer is over: a run of woods, and no more of it.
        let newest = self.told.last().filter(|_| !self.read);
        let over = newest.and_then(|told| told.last()).is_some_and(|it| now > it.at + 0.4);
        let whole = over && newest.is_some_and(|told| told.len() >= 4);
        let count = self.told.len();
        if whole && count == self.manner.pauses_after && !self.paused {
            self.paused = true;
            return self.hold(now, 1, 3.6);
        }
        if whole && count >= self.manner.answers {
            return self.hold(now, 6, 10.0);
        }
        Vec::new()
    }

    fn hold(&mut self, now: f64, brushes: usize, length: f64) -> Vec<(f64, Vec<f32>)> {
        self.mind = Mind::Holds(now, brushes);
        self.diary.push(format!("{now:.2} holds for {brushes} brushes"));
        vec![(now + 0.15, note(57.0, length, 1.0, &mut self.draw))]
    }

    fn holds(&mut self, now: f64, since: f64, brushes: usize) -> Vec<(f64, Vec<f32>)> {
        if self.since(since, Heard::LongBrush).len() >= brushes {
            self.diary.push(format!("{now:.2} heard {brushes} long brushes"));
            self.mind = Mind::Still(now + 2.0);
        }
        Vec::new()
    }

    fn goes_on(&mut self, now: f64) -> Vec<(f64, Vec<f32>)> {
        self.thought = self.strokes.strokes.len();
        self.mind = Mind::Waits;
        vec![(now, note(57.0, 1.4, 1.0, &mut self.draw))]
    }

    /// Plays back the notes heard since the count-in, each as long after the first beat of the answer (`zero`) as it was after the first
    /// beat of the cue.
    fn answers(&mut self, zero: f64) -> Vec<(f64, Vec<f32>)> {
        self.mind = Mind::Waits;
        let Some(listen) = self.strokes.strokes.iter().rev().find(|it| it.kind == Heard::RisingBrush) else {
            return Vec::new();
        };
        let clicks: Vec<f64> = self.since(listen.at - 0.1, Heard::Click);
        let [first, .., last] = clicks[..] else { return Vec::new() };
        let bar = last + (last - first) / (clicks.len() - 1) as f64;
        let cue: Vec<_> = self.tones.iter().filter(|tone| tone.1 > bar - 0.1 && tone.1 < zero).copied().collect();
        let late = if (self.told.len() + 1).is_multiple_of(self.manner.late_each) { 0.22 } else { 0.0 };
        let begun = self.draw.between(-0.01, 0.02) + late;
        let mut played = Vec::new();
        for (n, (_, onset, end, pitch)) in cue.iter().enumerate() {
            let next = cue.get(n + 1).map(|tone| tone.1);
            let length = 0.85 * (next.or(*end).unwrap_or(onset + 0.5) - onset).max(0.12);
            played.push((zero + onset - bar + begun, note(pitch.round(), length - 0.03, 1.0, &mut self.draw)));
        }
        let pitches: Vec<i32> = cue.iter().map(|tone| tone.3.round() as i32).collect();
        self.diary.push(format!("{zero:.2} answers {pitches:?}, {} clicks", clicks.len()));
        self.firsts.extend(pitches.first());
        self.told.push(Vec::new());
        self.read = false;
        played
    }
}

/// A stream into which sounds are laid.
#[derive(Default)]
pub struct Stream {
    coming: VecDeque<f32>,
}

impl Stream {
    /// Adds samples to the stream, beginning `after` samples after the next one.
    pub fn lay(&mut self, after: usize, samples: &[f32]) {
        if self.coming.len() < after + samples.len() {
            self.coming.resize(after + samples.len(), 0.0);
        }
        for (there, sample) in self.coming.iter_mut().skip(after).zip(samples) {
            *there += sample;
        }
    }

    pub fn take(&mut self, count: usize) -> Vec<f32> {
        (0..count).map(|_| self.coming.pop_front().unwrap_or(0.0)).collect()
    }

    pub fn hush(&mut self) {
        self.coming.clear();
    }
}

/// How many samples lie between the `given` ones and an instant.
pub fn samples_until(at: f64, given: usize, rate: SampleRate) -> usize {
    rate.samples(Seconds(at)).saturating_sub(given)
}
