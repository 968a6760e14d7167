//! From a script of notes to sound with exact truth.
use std::f64::consts::{PI, TAU};

use earfirst::outside::sound::edge;

use crate::chance::Chance;
use crate::measure::RATE;
use crate::source::Source;

/// How long two notes overlap where one is crossed into the next, seconds.
const CROSSED: f64 = 0.012;

/// A note that truly sounded: seconds and MIDI number with its fraction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Note {
    pub onset: f64,
    pub release: f64,
    pub midi: f64,
}

/// How a note begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Joint {
    /// The note begins with an attack of its own.
    Tongued,
    /// The note before glides to the pitch of this note within so many seconds, the middle of the glide at the onset.
    Glide(f64),
    /// The note before fades out while this note fades in, without an attack.
    Cross,
    /// Lips or tongue close before the note. Meanwhile the note before goes on, softer and flat, and moves to the new pitch, which
    /// is there as they open, at the onset.
    Closed(Closing),
}

/// A voiced consonant that is sung.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closing {
    /// How long the mouth is closed, seconds.
    pub lasts: f64,
    /// How much softer the closed sound is, dB.
    pub softer: f64,
    /// How far the pitch sags, half steps.
    pub sags: f64,
}

impl Closing {
    /// How closed the mouth is at an instant, 0 to 1, where it opens at `onset`.
    fn shut(&self, onset: f64, t: f64) -> f64 {
        let side = 0.2 * self.lasts;
        edge((t - onset + self.lasts) / side) * (1.0 - edge((t - onset) / side))
    }
}

/// How a note bends, half steps and seconds.
#[derive(Debug, Clone, Copy, Default)]
pub struct Bend {
    /// How far above its pitch the note begins; below 0, how far under it.
    pub scoop: f64,
    /// Time constant of the scoop: after about three times this long the note has its pitch.
    pub scoop_s: f64,
    /// Swings of the vibrato a second.
    pub vibrato_hz: f64,
    /// Half the width of a swing of the vibrato.
    pub vibrato: f64,
    /// Time from the onset after which the vibrato begins.
    pub vibrato_after: f64,
    /// How far the pitch falls in the last 80 ms.
    pub fall: f64,
}

/// A note as it is to be played.
#[derive(Debug, Clone, Copy)]
pub struct Stroke {
    pub at: f64,
    pub length: f64,
    pub midi: f64,
    pub joint: Joint,
    /// Louder or softer than the others, dB.
    pub accent: f64,
    pub bend: Bend,
    /// The note ends with the next attack at the latest.
    pub damped: bool,
    /// The stroke is heard but is no note of its own: a ghost before a note, a knock.
    pub ghost: bool,
}

impl Stroke {
    /// A plain tongued note.
    pub fn plain(at: f64, length: f64, midi: f64) -> Self {
        let bend = Bend::default();
        Self { at, length, midi, joint: Joint::Tongued, accent: 0.0, bend, damped: false, ghost: false }
    }
}

/// How the level swells and sinks: turns a second, and dB either way.
#[derive(Debug, Clone, Copy, Default)]
pub struct Swell {
    pub hz: f64,
    pub db: f64,
}

/// Sounds strokes in order; `None` where the source lacks one of them. Half a second follows the last.
pub fn sing(source: &Source, strokes: &[Stroke], swell: Swell, chance: &mut Chance) -> Option<(Vec<f32>, Vec<Note>)> {
    let end = strokes.iter().map(|it| it.at + it.length).fold(0.0, f64::max);
    let mut sound = vec![0.0; ((end + 0.5) * RATE) as usize];
    let mut from = 0;
    while from < strokes.len() {
        let more =
            strokes[from + 1..].iter().take_while(|it| matches!(it.joint, Joint::Glide(_) | Joint::Closed(_))).count();
        let until = from + more + 1;
        let next = strokes.get(until);
        breath(source, &strokes[from..until], next, swell, chance, &mut sound)?;
        from = until;
    }
    let note = |it: &Stroke| Note { onset: it.at, release: it.at + it.length, midi: it.midi };
    Some((sound, strokes.iter().filter(|it| !it.ghost).map(note).collect()))
}

/// Adds one attack and the notes that are slurred to it.
fn breath(
    source: &Source,
    strokes: &[Stroke],
    next: Option<&Stroke>,
    swell: Swell,
    chance: &mut Chance,
    sound: &mut [f32],
) -> Option<()> {
    let (first, last) = (strokes.first()?, strokes.last()?);
    let attack = first.joint == Joint::Tongued;
    let crossed_on = next.is_some_and(|it| it.joint == Joint::Cross);
    let fall = if crossed_on { CROSSED } else { source.fall() };
    let end = last.at + last.length + if crossed_on { 0.5 * CROSSED } else { 0.5 * fall };
    let end = if last.damped { next.map_or(end, |it| end.min(it.at + 0.004)) } else { end };
    let begin = first.at - 0.5 * CROSSED;
    let turn = chance.between(0.0, 1.0);
    let late = if attack { source.late() } else { 0.0 };
    let start = if attack { first.at - late } else { begin };
    let count = ((end - start).max(0.01) * RATE) as usize;
    let curve: Vec<(f32, f32)> = (0..count)
        .map(|n| {
            let t = start + n as f64 / RATE;
            let swelling = swell.db * (TAU * (swell.hz * t + turn)).sin() + accent(strokes, t);
            let opening = if attack { 1.0 } else { edge((t - begin) / CROSSED).sqrt() };
            let closing = (1.0 - edge((t - (end - fall)) / fall)).sqrt();
            (pitch(strokes, t, turn) as f32, (opening * closing * 10f64.powf(0.05 * swelling)) as f32)
        })
        .collect();
    let (piece, onset) = source.sound(&curve, attack, chance)?;
    // The sound is placed so that its measured onset lies where the script has it.
    let place = (if attack { first.at } else { start } * RATE).round() as i64 - onset as i64;
    for (n, sample) in piece.iter().enumerate() {
        if let Some(mine) = usize::try_from(place + n as i64).ok().and_then(|at| sound.get_mut(at)) {
            *mine += sample;
        }
    }
    Some(())
}

/// How much louder or softer than the others a breath is at an instant, in dB: its accents, with a glide of 20 ms from one to the
/// next, less what a closed mouth takes away.
fn accent(strokes: &[Stroke], t: f64) -> f64 {
    let steps = strokes.windows(2).map(|two| (two[1].accent - two[0].accent) * edge((t - two[1].at + 0.01) / 0.02));
    let shut = strokes.iter().map(|it| match it.joint {
        Joint::Closed(closing) => closing.softer * closing.shut(it.at, t),
        _ => 0.0,
    });
    strokes[0].accent + steps.sum::<f64>() - shut.sum::<f64>()
}

/// The pitch of a breath at an instant: glides, scoops, vibrato and falls.
fn pitch(strokes: &[Stroke], t: f64, turn: f64) -> f64 {
    let mut midi = strokes[0].midi;
    for two in strokes.windows(2) {
        let (within, middle) = match two[1].joint {
            Joint::Glide(within) => (within, two[1].at),
            Joint::Closed(closing) => {
                midi -= closing.sags * closing.shut(two[1].at, t);
                (0.75 * closing.lasts, two[1].at - 0.5 * closing.lasts)
            }
            Joint::Tongued | Joint::Cross => continue,
        };
        let way = ((t - middle) / within.max(1e-3)).clamp(-0.5, 0.5);
        midi += (two[1].midi - two[0].midi) * 0.5 * (1.0 + (PI * way).sin());
    }
    let last = strokes.iter().rposition(|it| it.at <= t).unwrap_or(0);
    let (stroke, into) = (&strokes[last], t - strokes[last].at);
    let bend = stroke.bend;
    let left = stroke.length - into;
    let swinging = edge((into - bend.vibrato_after) / 0.08) * edge((left + 0.01) / 0.06);
    midi += swinging * bend.vibrato * (TAU * (bend.vibrato_hz * into + turn)).sin();
    if bend.scoop_s > 0.0 {
        midi += bend.scoop * (-into.max(0.0) / bend.scoop_s).exp();
    }
    midi - bend.fall * edge((0.08 - left) / 0.08)
}
