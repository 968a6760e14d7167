//! The band measured from its sound alone: pitch of bass and chords to the cent, time of its clicks to the millisecond, and the form. What is
//! expected stands here in numbers, apart from the program's own theory: root on the first beat of a bar with a new chord, third and seventh
//! in its chord (common practice).

use std::f64::consts::{PI, TAU};

/// Thirty-two bars in C, one chord each: twice these sixteen. Root, third and seventh are pitch classes.
const SIXTEEN: [(&str, [i32; 3]); 16] = [
    ("Cmaj7", [0, 4, 11]),
    ("A7", [9, 1, 7]),
    ("Dm7", [2, 5, 0]),
    ("G7", [7, 11, 5]),
    ("Cmaj7", [0, 4, 11]),
    ("A7", [9, 1, 7]),
    ("Dm7", [2, 5, 0]),
    ("G7", [7, 11, 5]),
    ("Gm7", [7, 10, 5]),
    ("C7", [0, 4, 10]),
    ("Fmaj7", [5, 9, 4]),
    ("Bb7", [10, 2, 8]),
    ("Cmaj7", [0, 4, 11]),
    ("A7", [9, 1, 7]),
    ("Dm7", [2, 5, 0]),
    ("G7", [7, 11, 5]),
];

/// The tempo of all these sounds: a beat lasts a fifth of a second.
pub const TEMPO: u32 = 300;
const BEAT: f64 = 0.2;
/// Beats of the lead-in.
const LEAD_IN: f64 = 8.0;

/// A chart of so many bars, 2 to 32 in a chorus.
pub fn chart(bars: usize) -> String {
    let chords = SIXTEEN.iter().cycle().take(bars).map(|(name, _)| format!("| {name} "));
    format!("in C {}|", chords.collect::<String>())
}

/// The sound of a band, which begins with the first beat of its lead-in at `begins`.
pub struct BandHeard {
    pub rate: f64,
    pub samples: Vec<f32>,
    pub begins: f64,
}

/// What was off at most.
#[derive(Debug, Default)]
pub struct Off {
    pub bars: usize,
    pub cents: f64,
    pub ms: f64,
    /// Bars in which something else sounded than the form has.
    pub wrong: Vec<usize>,
}

impl BandHeard {
    /// The instant of a beat of the form.
    fn at(&self, beat: f64) -> f64 {
        self.begins + (LEAD_IN + beat) * BEAT
    }

    /// The component of this frequency in a Hann window, as amplitude and phase.
    fn component(&self, from: usize, window: usize, hz: f64) -> (f64, f64) {
        let (mut re, mut im) = (0.0, 0.0);
        for (n, sample) in self.samples.iter().skip(from).take(window).enumerate() {
            let hann = 0.5 - 0.5 * (TAU * n as f64 / window as f64).cos();
            let (sin, cos) = (TAU * hz * (from + n) as f64 / self.rate).sin_cos();
            re += hann * f64::from(*sample) * cos;
            im += hann * f64::from(*sample) * sin;
        }
        (re.hypot(im), im.atan2(re))
    }

    /// How far a component lies from this frequency, in cents: from its phase in two windows.
    fn cents(&self, from: usize, window: usize, hz: f64) -> f64 {
        let hop = window / 2;
        let turned = self.component(from, window, hz).1 - self.component(from + hop, window, hz).1;
        let turned = (turned + PI).rem_euclid(TAU) - PI;
        1200.0 * (1.0 + turned / TAU * self.rate / hop as f64 / hz).log2()
    }

    /// The bass note that begins on a beat, and how far it is off: from its second and third partial.
    fn bass(&self, beat: f64) -> (i32, f64) {
        let (from, window) = (((self.at(beat) + 0.015) * self.rate) as usize, (0.115 * self.rate) as usize);
        let strength = |midi: i32| {
            let partials = [1.0, 2.0].map(|of| self.component(from, window, of * hertz(midi)).0);
            partials[0] + 0.5 * partials[1]
        };
        let midi = (28..60).max_by(|one, other| strength(*one).total_cmp(&strength(*other))).unwrap();
        let off = [2.0, 3.0].map(|of| self.cents(from, window, of * hertz(midi)));
        (midi, 0.5 * (off[0] + off[1]))
    }

    /// In the bar that begins on a beat: the pitch classes by strength, the strongest first, and how far some of them are off.
    fn chord(&self, beat: f64, classes: [i32; 2]) -> (Vec<i32>, f64) {
        let window = (0.11 * self.rate) as usize;
        let (from, to) = ((self.at(beat) * self.rate) as usize, (self.at(beat + 4.0) * self.rate) as usize - window);
        let looks = || (from..to).step_by(window / 2);
        let strength = |midi: i32| looks().map(|at| self.component(at, window, hertz(midi)).0).fold(0.0, f64::max);
        let mut all: Vec<(i32, f64)> = (48..72).map(|midi| (midi, strength(midi))).collect();
        all.sort_by(|one, other| other.1.total_cmp(&one.1));
        let off = classes.map(|class| {
            let midi = all.iter().find(|it| it.0 % 12 == class).unwrap().0;
            // The second partials of two notes lie twice as far apart as the notes.
            let hz = 2.0 * hertz(midi);
            let both = |at: usize| self.component(at, window, hz).0.min(self.component(at + window / 2, window, hz).0);
            // Where it sounds clearly; in the middle of these looks, for in some a neighbour's partial turns the phase.
            let best = looks().map(both).fold(0.0, f64::max);
            let clear = looks().filter(|at| both(*at) >= 0.4 * best);
            let mut off: Vec<f64> = clear.map(|at| self.cents(at, window, hz)).collect();
            off.sort_by(f64::total_cmp);
            off[off.len() / 2].abs()
        });
        let mut order: Vec<i32> = all.iter().map(|it| it.0 % 12).collect();
        let mut seen = std::collections::BTreeSet::new();
        order.retain(|class| seen.insert(*class));
        (order, off[0].max(off[1]))
    }

    /// By how many milliseconds each click on the second and fourth beat is off, against the first of them; by its likeness.
    fn clicks(&self, beats: usize) -> f64 {
        // The click is higher than bass and chords: differences of differences leave it.
        let sharp = |at: usize| -> f64 {
            let s = |n: usize| f64::from(self.samples.get(n).copied().unwrap_or(0.0));
            s(at + 3) - 3.0 * s(at + 2) + 3.0 * s(at + 1) - s(at)
        };
        let (length, far) = ((0.008 * self.rate) as usize, (0.004 * self.rate) as i64);
        let first = (self.at(1.0) * self.rate) as usize;
        let mut worst = 0.0f64;
        for beat in (1..beats).step_by(2) {
            let here = (self.at(beat as f64) * self.rate) as i64;
            let like =
                |by: i64| -> f64 { (0..length).map(|n| sharp(first + n) * sharp((here + by) as usize + n)).sum() };
            let best = (-far..=far).max_by(|one, other| like(*one).total_cmp(&like(*other))).unwrap();
            worst = worst.max(1000.0 * best.unsigned_abs() as f64 / self.rate);
        }
        worst
    }

    /// Checks bass and clicks of choruses of so many bars, each in the next key by fourths.
    pub fn bass_over(&self, bars: usize, choruses: usize) -> Off {
        let mut off = Off { ms: self.clicks(4 * bars * choruses), ..Off::default() };
        for (n, root) in expected(bars, choruses).map(|[root, ..]| root).enumerate() {
            let (midi, cents) = self.bass(4.0 * n as f64);
            off.wrong.extend((midi % 12 != root).then_some(n + 1));
            off.bars += 1;
            off.cents = off.cents.max(cents.abs());
        }
        off
    }

    /// The same of chords and clicks: third and seventh are among the four strongest pitch classes.
    pub fn chords_over(&self, bars: usize, choruses: usize) -> Off {
        let mut off = Off { ms: self.clicks(4 * bars * choruses), ..Off::default() };
        for (n, [_, third, seventh]) in expected(bars, choruses).enumerate() {
            let (order, cents) = self.chord(4.0 * n as f64, [third, seventh]);
            let there = [third, seventh].iter().all(|class| order[..4].contains(class));
            off.wrong.extend((!there).then_some(n + 1));
            off.bars += 1;
            off.cents = off.cents.max(cents);
        }
        off
    }
}

fn hertz(midi: i32) -> f64 {
    440.0 * (f64::from(midi - 69) / 12.0).exp2()
}

fn expected(bars: usize, choruses: usize) -> impl Iterator<Item = [i32; 3]> {
    (0..choruses as i32).flat_map(move |chorus| {
        SIXTEEN.iter().cycle().take(bars).map(move |(_, tones)| tones.map(|tone| (tone + 5 * chorus) % 12))
    })
}
