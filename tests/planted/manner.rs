//! How the robot plays a line that is right: dead in time, or as people play.

use earfirst::outside::music::{ConcertKey, Instrument, Level, instrument};
use earfirst::outside::notes::HeardNote;
use earfirst::outside::pattern::{self, Library, Line, Pattern, Register};
use earfirst::outside::units::{Beats, Cents, Decibels, Midi, Seconds, Tempo};
use earfirst::outside::verdict::{Expectation, TimeOrigin, UsualTuning};

use super::robot::{Stroke, VOICES};
use crate::chance::Chance;

/// When the cue ends and when beat 0 of the answer is due, seconds.
pub const CUE_END: f64 = 1.0;
pub const BEAT_ZERO: f64 = 5.0;
/// No two onsets of a line are nearer than this, seconds.
const NEAREST: f64 = 0.11;

/// Deviations of a player whom nobody would correct.
#[derive(Debug, Clone, Copy)]
pub struct Manner {
    /// Normal deviation of the onsets, seconds.
    pub onsets: f64,
    /// Normal deviation of the pitches, cents.
    pub cents: f64,
    /// How late the whole answer is, seconds.
    pub late: f64,
    /// Length of the long eighth over the short one, as it is played; `None` as it is asked.
    pub swing: Option<f64>,
    /// Least and greatest share of its length for which a note sounds.
    pub held: (f64, f64),
    /// Share of the notes that begin with a squeak.
    pub chirps: f64,
}

impl Manner {
    pub const DEAD: Self = Self { onsets: 0.0, cents: 3.0, late: 0.0, swing: None, held: (0.85, 0.85), chirps: 0.0 };

    /// As people play: drawn anew for each answer.
    pub fn human(chance: &mut Chance) -> Self {
        Self {
            onsets: chance.between(0.015, 0.025),
            cents: 8.0,
            late: chance.pick(&[0.0, 0.015, 0.03]),
            swing: chance.happens(0.4).then(|| chance.between(1.2, 2.5)),
            held: (0.5, 1.0),
            chirps: if chance.happens(0.3) { 0.15 } else { 0.0 },
        }
    }
}

/// Says which patterns are wanted, and which of their lines.
pub type Wanted<'a> = (&'a dyn Fn(&Pattern) -> bool, &'a dyn Fn(&Line) -> bool);

/// One answer: what was asked, the stroke of each expected note (`None` where it is left out), and `more` strokes.
pub struct Take {
    pub instrument: &'static Instrument,
    pub program: i32,
    /// The pattern, its key and its register, and whether its eighths are asked swung.
    pub pattern: &'static Pattern,
    pub key: ConcertKey,
    pub register: Register,
    pub swung: bool,
    pub asked: Expectation,
    pub places: Vec<Option<Stroke>>,
    pub more: Vec<Stroke>,
}

fn fits(line: &Line, notes: (usize, usize), swings: bool, tempo: f64) -> bool {
    let steps = &line.notes;
    let nearest = steps.windows(2).map(|two| (two[1].at - two[0].at).0).fold(f64::INFINITY, f64::min);
    let pairs = steps.windows(3).filter(|w| pattern::long_to_short(w[0].at, w[1].at, w[2].at).is_some()).count();
    (notes.0..=notes.1).contains(&steps.len()) && (!swings || pairs >= 2) && nearest * 60.0 / tempo >= NEAREST
}

impl Take {
    /// A right answer: a line of the library on one of the eight instruments, `swung` where it is asked so.
    pub fn drawn(chance: &mut Chance, tempo: f64, notes: (usize, usize), swung: bool, manner: Manner) -> Self {
        Self::drawn_of(chance, tempo, notes, swung, manner, (&|it| !it.swing, &|_| true))
    }

    /// As [`Self::drawn`], of the patterns and of their lines that are `wanted`.
    pub fn drawn_of(
        chance: &mut Chance,
        tempo: f64,
        notes: (usize, usize),
        swung: bool,
        manner: Manner,
        wanted: Wanted<'_>,
    ) -> Self {
        let swings = swung || manner.swing.is_some();
        let library = Library::builtin();
        let lines: Vec<&'static Pattern> = library.patterns().iter().filter(|it| wanted.0(it)).collect();
        let (instrument, program, pattern, key, register, line) = loop {
            let (name, program) = chance.pick(&VOICES);
            let (player, pattern) = (instrument(name).unwrap(), chance.pick(&lines));
            let key = chance.pick(&ConcertKey::FIFTHS);
            let register = chance.pick(&[Register::Low, Register::Middle]);
            if let Ok(line) = pattern::realise(pattern, key, None, player.range(Level::Student), register)
                && fits(&line, notes, swings, tempo)
                && wanted.1(&line)
            {
                break (player, program, pattern, key, register, line);
            }
        };
        let asked_line = if swung { line.swung(pattern::swing_at(Tempo(tempo)), Beats(0.0)) } else { line.clone() };
        let played_line = manner.swing.map_or(asked_line.clone(), |ratio| line.swung(ratio, Beats(0.0)));
        let places = strokes(chance, &played_line, tempo, manner).into_iter().map(Some).collect();
        let clock = TimeOrigin::InTempo { cue_end: Seconds(CUE_END), beat_zero: Seconds(BEAT_ZERO) };
        let intonation = instrument.bands(Level::Student);
        let delay = Some(Seconds(0.0));
        let asked = Expectation {
            line: asked_line,
            tempo: Tempo(tempo),
            clock,
            delay,
            intonation,
            usual: UsualTuning::Unknown,
        };
        Self { instrument, program, pattern, key, register, swung, asked, places, more: Vec::new() }
    }

    pub fn beat(&self) -> f64 {
        60.0 / self.asked.tempo.0
    }

    /// All strokes in the order of time.
    pub fn strokes(&self) -> Vec<Stroke> {
        let mut all: Vec<Stroke> = self.places.iter().flatten().chain(&self.more).cloned().collect();
        all.sort_by(|a, b| a.at.total_cmp(&b.at));
        all
    }

    /// The strokes as an ear without fault would hear them.
    pub fn exactly(&self) -> Vec<HeardNote> {
        let strokes = self.strokes();
        let next = strokes.iter().skip(1).map(|stroke| stroke.at).chain([f64::INFINITY]);
        let note = |(n, (stroke, next)): (usize, (&Stroke, f64))| HeardNote {
            number: n as u32,
            onset: Seconds(stroke.at),
            release: Seconds((stroke.at + stroke.length).min(next - 0.005)),
            pitch: Midi(stroke.pitch),
            spread: (stroke.length > 0.08).then_some(Cents(3.0)),
            loudness: Decibels(-20.0 + stroke.accent),
            confidence: 0.95,
            announced: Seconds(stroke.at + 0.05),
            announced_pitch: Midi(stroke.pitch),
        };
        strokes.iter().zip(next).enumerate().map(note).collect()
    }

    /// Moves all strokes from a place on by this many seconds.
    pub fn push(&mut self, from: usize, by: f64) {
        self.places[from..].iter_mut().flatten().for_each(|stroke| stroke.at += by);
    }
}

fn strokes(chance: &mut Chance, line: &Line, tempo: f64, manner: Manner) -> Vec<Stroke> {
    let beat = 60.0 / tempo;
    let (tuning, held) = (chance.normal(0.04), chance.between(manner.held.0, manner.held.1));
    let one = |note: &earfirst::outside::pattern::ExpectedNote| {
        let held = (held + chance.normal(0.05)).clamp(manner.held.0, manner.held.1);
        Stroke {
            at: BEAT_ZERO + manner.late + beat * note.at.0 + chance.normal(manner.onsets).clamp(-0.06, 0.06),
            length: (held * beat * note.length.0).max(0.06),
            pitch: f64::from(note.pitch.0) + tuning + chance.normal(0.01 * manner.cents),
            accent: chance.normal(1.5),
            chirp: chance.happens(manner.chirps).then(|| if chance.happens(0.5) { 12.0 } else { 19.0 }),
            damped: None,
        }
    };
    line.notes.iter().map(one).collect()
}
