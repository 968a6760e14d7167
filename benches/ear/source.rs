//! What can sound: tones made here, and single recorded notes. Both follow any curve of pitch and level.
use std::f64::consts::TAU;
use std::io::{Read, Write};

use earfirst::outside::sound::{Partials, edge};
use earfirst::outside::units::{A440, Hertz, Midi, SampleRate};

use crate::chance::Chance;
use crate::measure::{RATE, body_after, off_pitch, onset_of};

/// Peak of an ordinary note.
const PEAK: f64 = 0.2;
/// Sound of a recorded note that is kept before its onset, in samples.
const LEAD: usize = 220;

/// A tone of one kind. Slopes and resonances are those of the kind, not of one instrument; every draw is another tone of the kind.
#[derive(Debug, Clone)]
pub struct Timbre {
    /// Lowest and highest pitch (MIDI numbers).
    pub span: (i32, i32),
    /// Fall of the partials: partial n has the amplitude n to the power of minus this number.
    pub slope: f64,
    /// Factor of the amplitude of even partials.
    pub even: f64,
    /// Factor of the amplitude of the first partial.
    pub first: f64,
    /// Factor of the amplitude of the second partial.
    pub second: f64,
    /// Frequency above which the partials fall more steeply, hertz.
    pub corner: f64,
    /// Resonances that lift the partials near them: centre in hertz, half width in hertz, factor.
    pub resonances: Vec<(f64, f64, f64)>,
    /// Time in which a note rises, seconds.
    pub rise: f64,
    /// Time in which a note falls when it is let go, seconds.
    pub fall: f64,
    /// Time in which a note at A3 dies by 60 dB, seconds.
    pub dying: Option<f64>,
    /// Level of the air against the note, dB.
    pub breath_db: f64,
    /// Level of the noise of a hammer or a tongue against the note, dB.
    pub strike_db: f64,
    /// A component at half the pitch in the first moments: its level at 60 ms, dB.
    pub half_db: Option<f64>,
}

/// The kinds of tones made here.
pub const KINDS: [&str; 9] = ["brass", "reed", "clarinet", "flute", "bow", "voice", "plucked", "keys", "bass"];

impl Timbre {
    /// One instrument of a kind; each draw is another.
    pub fn draw(kind: &str, chance: &mut Chance) -> Self {
        let mut near = |value: f64, share: f64| value * (1.0 + chance.between(-share, share));
        let plain = Self {
            span: (45, 84),
            slope: near(0.9, 0.3),
            even: 1.0,
            first: 1.0,
            second: 1.0,
            corner: near(2500.0, 0.4),
            resonances: vec![(near(500.0, 0.3), near(200.0, 0.4), near(1.0, 0.9))],
            rise: near(0.025, 0.6),
            fall: near(0.03, 0.4),
            dying: None,
            breath_db: near(-38.0, 0.2),
            strike_db: near(-30.0, 0.4),
            half_db: None,
        };
        match kind {
            "brass" => Self { span: (36, 82), slope: near(0.5, 0.5), corner: near(1500.0, 0.4), ..plain },
            "reed" => Self { span: (44, 84), even: near(0.8, 0.4), rise: near(0.02, 0.5), ..plain },
            "clarinet" => Self { span: (50, 88), even: near(0.25, 0.9), rise: near(0.035, 0.6), ..plain },
            "flute" => {
                let (slope, rise, breath_db) = (near(2.0, 0.3), near(0.04, 0.6), near(-28.0, 0.3));
                Self { span: (59, 94), slope, rise, breath_db, ..plain }
            }
            "bow" => Self {
                span: (36, 92),
                rise: near(0.05, 0.7),
                fall: near(0.06, 0.4),
                first: near(0.6, 0.6),
                breath_db: near(-32.0, 0.2),
                ..plain
            },
            "voice" => {
                let vowels = [(730.0, 1090.0), (500.0, 850.0), (320.0, 800.0), (300.0, 2200.0), (550.0, 1800.0)];
                let (one, two) = vowels[near(2.5, 0.99) as usize % 5];
                let resonances = vec![(one, 110.0, near(6.0, 0.4)), (two, 140.0, near(3.0, 0.4))];
                Self { span: (41, 81), slope: near(1.2, 0.2), resonances, rise: near(0.04, 0.6), ..plain }
            }
            "plucked" => Self {
                span: (40, 82),
                rise: near(0.004, 0.5),
                fall: near(0.04, 0.4),
                dying: Some(near(2.0, 0.6)),
                strike_db: near(-22.0, 0.4),
                ..plain
            },
            "keys" => Self { span: (36, 92), rise: near(0.004, 0.5), dying: Some(near(3.5, 0.5)), ..plain },
            _ => Self {
                span: (28, 57),
                slope: near(1.0, 0.4),
                corner: near(900.0, 0.5),
                first: near(0.5, 0.8),
                rise: near(0.008, 0.5),
                dying: Some(near(3.0, 0.5)),
                ..plain
            },
        }
    }

    fn partials(&self, pitch: Hertz, slope: f64) -> Partials {
        let amplitudes: Vec<f64> = (1..=36u32)
            .map(|number| {
                let (n, hz) = (f64::from(number), pitch.0 * f64::from(number));
                let lifted: f64 =
                    self.resonances.iter().map(|(at, width, by)| by / (1.0 + ((hz - at) / width).powi(2))).sum();
                let own = match number {
                    1 => self.first,
                    2 => self.second * self.even,
                    _ if number % 2 == 0 => self.even,
                    _ => 1.0,
                };
                own * n.powf(-slope) * (0.3 + lifted) / (1.0 + (hz / self.corner).powi(3))
            })
            .collect();
        Partials::new(&amplitudes, pitch, SampleRate::CD)
    }

    /// Sounds a curve of pitches (MIDI numbers with fractions) at a curve of levels (factors), one of each a sample. With `attack`
    /// the sound begins with an attack of its own; otherwise at once.
    fn sound(&self, curve: &[(f32, f32)], attack: bool, chance: &mut Chance) -> Vec<f32> {
        let base = Midi(f64::from(curve.first().map_or(60.0, |now| now.0))).hertz(A440);
        let (bright, dull) = (self.partials(base, self.slope), self.partials(base, self.slope + 0.8));
        let scale = |wave: &Partials| PEAK / wave.peak();
        let (by_bright, by_dull) = (scale(&bright), scale(&dull));
        let level = |db: f64| PEAK * 10f64.powf(0.05 * db);
        let (air, strike) = (level(self.breath_db), level(self.strike_db));
        let dies = self.dying.map_or(0.0, |sixty| 6.9 / RATE / sixty * (base.0 / 220.0).sqrt());
        let (mut phase, mut breath) = (chance.between(0.0, 1.0), 0.0);
        let mut out = Vec::with_capacity(curve.len());
        for (n, (midi, gain)) in curve.iter().enumerate() {
            let (t, gain) = (n as f64 / RATE, f64::from(*gain));
            let rise = if attack { edge(t / self.rise) } else { 1.0 };
            let dying = (-dies * n as f64).exp();
            phase += Midi(f64::from(*midi)).hertz(A440).0 / RATE;
            breath += 0.4 * (chance.between(-1.0, 1.0) - breath);
            let share = (gain * rise * (0.3 + 0.7 * dying)).min(1.0);
            let mut wave = share * by_bright * bright.value(phase) + (1.0 - share) * by_dull * dull.value(phase);
            if let (Some(db), true) = (self.half_db, attack) {
                wave += level(db) * 10f64.powf(0.05 * (6.0 - 100.0 * t)).min(2.0) * (0.5 * TAU * phase).sin();
            }
            let noise = 2.0 * breath * (air * rise * dying + if attack { strike * (-t / 0.008).exp() } else { 0.0 });
            out.push((gain * (rise * dying * wave + noise)) as f32);
        }
        out
    }
}

/// One recorded note, its loudness evened, with what was measured of it.
#[derive(Debug, Clone)]
pub struct Single {
    sound: Vec<f32>,
    onset: usize,
    body: usize,
    midi: f64,
}

impl Single {
    /// A note whose file says that it is `label`, where a clear pitch is found within a half step of that.
    pub fn new(mut sound: Vec<f32>, label: f64) -> Option<Self> {
        let onset = onset_of(&sound)?;
        let body = body_after(&sound, onset);
        let midi = label + off_pitch(&sound[body.min(sound.len() - 1)..], label)?;
        let end = sound.len().min(body + 6615);
        let power = sound[body..end].iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / (end - body).max(1) as f64;
        let loudest = sound.iter().fold(1e-9f32, |most, s| most.max(s.abs()));
        let gain = (0.1 / power.sqrt().max(1e-9)).min(0.9 / f64::from(loudest)) as f32;
        sound.iter_mut().for_each(|s| *s *= gain);
        Some(Self { sound, onset, body, midi })
    }

    /// Writes the note: samples before its onset and before it has spoken, its pitch, how many samples, the samples at 16 bits.
    pub fn write(&self, out: &mut impl Write) {
        let counts = [self.onset as f32, self.body as f32, self.midi as f32, self.sound.len() as f32];
        counts.iter().for_each(|count| out.write_all(&count.to_le_bytes()).unwrap());
        let whole = |sample: &f32| ((sample * 32_767.0).round() as i16).to_le_bytes();
        self.sound.iter().for_each(|sample| out.write_all(&whole(sample)).unwrap());
    }

    /// Reads a note that [`write`](Self::write) wrote.
    pub fn read(file: &mut impl Read) -> Self {
        let mut four = [0; 4];
        let [onset, body, midi, count] = [0; 4].map(|_| {
            file.read_exact(&mut four).unwrap();
            f32::from_le_bytes(four)
        });
        let mut bytes = vec![0; 2 * count as usize];
        file.read_exact(&mut bytes).unwrap();
        let sound =
            bytes.chunks_exact(2).map(|two| f32::from(i16::from_le_bytes([two[0], two[1]])) / 32_767.0).collect();
        Self { sound, onset: onset as usize, body: body as usize, midi: f64::from(midi) }
    }

    /// Seconds from the onset of the note until it has spoken.
    pub fn speaks_in(&self) -> f64 {
        (self.body - self.onset) as f64 / RATE
    }

    fn sound(&self, curve: &[(f32, f32)], attack: bool) -> Option<Vec<f32>> {
        let mut at = if attack { self.onset.saturating_sub(LEAD) } else { self.body } as f64;
        let mut out = Vec::with_capacity(curve.len());
        for (midi, gain) in curve {
            let (whole, part) = (at as usize, (at.fract()) as f32);
            let [a, b, c, d] = *self.sound.get(whole.saturating_sub(1)..whole.max(1) + 3)? else { return None };
            // Four points, third order (Catmull and Rom 1974).
            let bent =
                b + 0.5 * part * (c - a + part * (2.0 * a - 5.0 * b + 4.0 * c - d + part * (3.0 * (b - c) + d - a)));
            out.push(gain * bent);
            at += ((f64::from(*midi) - self.midi) / 12.0).exp2();
        }
        Some(out)
    }
}

/// Something that sounds notes.
#[derive(Debug, Clone)]
pub enum Source {
    /// Tones made here.
    Made(Timbre),
    /// Recorded notes, lowest first; in the place of a lacking note stands the nearest one, less than two and a half half steps away.
    Recorded { notes: Vec<Single>, rings: bool },
}

impl Source {
    /// The lowest and highest pitch.
    pub fn span(&self) -> (i32, i32) {
        match self {
            Self::Made(timbre) => timbre.span,
            Self::Recorded { notes, .. } => {
                let at = |note: Option<&Single>| note.map_or(60, |note| note.midi.round() as i32);
                (at(notes.first()), at(notes.last()))
            }
        }
    }

    /// Whether a note goes on sounding until it is damped.
    pub fn rings(&self) -> bool {
        match self {
            Self::Made(timbre) => timbre.dying.is_some(),
            Self::Recorded { rings, .. } => *rings,
        }
    }

    fn nearest(notes: &[Single], midi: f64) -> Option<&Single> {
        notes
            .iter()
            .min_by(|a, b| (a.midi - midi).abs().total_cmp(&(b.midi - midi).abs()))
            .filter(|note| (note.midi - midi).abs() < 2.5)
    }

    /// Seconds from the onset of a note until it has spoken; `None` where there is no such note.
    pub fn speaks_in(&self, midi: f64) -> Option<f64> {
        match self {
            Self::Made(timbre) => Some(0.7 * timbre.rise),
            Self::Recorded { notes, .. } => Self::nearest(notes, midi).map(Single::speaks_in),
        }
    }

    /// Time in which a note falls when it is let go, seconds.
    pub fn fall(&self) -> f64 {
        match self {
            Self::Made(timbre) => timbre.fall,
            Self::Recorded { .. } => 0.02,
        }
    }

    /// About how long after its first sample a sound is heard, seconds.
    pub fn late(&self) -> f64 {
        match self {
            Self::Made(timbre) => 0.2 * timbre.rise,
            Self::Recorded { .. } => LEAD as f64 / RATE,
        }
    }

    /// Sounds a curve of pitches and levels, one of each a sample; the second value is the sample of its onset. `None` where
    /// there is no such note or it is too short.
    pub fn sound(&self, curve: &[(f32, f32)], attack: bool, chance: &mut Chance) -> Option<(Vec<f32>, usize)> {
        let out = match self {
            Self::Made(timbre) => timbre.sound(curve, attack, chance),
            Self::Recorded { notes, .. } => Self::nearest(notes, f64::from(curve.first()?.0))?.sound(curve, attack)?,
        };
        let onset = if attack { onset_of(&out)? } else { 0 };
        Some((out, onset))
    }
}
