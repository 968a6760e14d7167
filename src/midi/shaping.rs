use std::collections::VecDeque;

use crate::midi::hiding::Strike;
use crate::midi::{ChannelMessage, KeyMessage, LineChoice};
use crate::notes::HeardNote;
use crate::units::{Cents, Decibels, Midi, Seconds, rank};

/// How far the bend goes each way, in half steps, before the instrument says otherwise; and where it moves nothing (MIDI 1.0 Detailed
/// Specification, from memory).
const USUAL_RANGE: f64 = 2.0;
const CENTRE: u16 = 8192;
/// The controllers that name a parameter and set it, and the parameter that is the range of the bend (MIDI 1.0, from memory).
const PARAMETER: [u8; 2] = [101, 100];
const UNREGISTERED: [u8; 2] = [99, 98];
const VALUE: [u8; 2] = [6, 38];
const RANGE_OF_BEND: [u8; 2] = [0, 0];
/// Breath, and "everything as it was when switched on" (MIDI 1.0, from memory).
const BREATH: u8 = 2;
const RESET: u8 = 121;
/// A note's beginning and end belong to tongue and fingers: this much of each says nothing of its pitch, and is left out where [`SHORTEST`]
/// or more remains between them.
const EDGE: Seconds = Seconds(0.03);
/// Shortest note whose pitch centre is worth judging, as for a note in sound.
const SHORTEST: Seconds = Seconds(0.08);

/// What player and instrument made of a note while it sounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoteShape {
    /// How far the note was bent: the middle over the time for which it sounded, in half steps; 0 where nothing was bent.
    pub half_steps: f64,
    /// How far the bend moved about that middle; `None` for notes under 80 ms, and where the instrument never bent anything.
    pub spread: Option<Cents>,
    /// The strongest breath of the note, 0 to 127; `None` where the instrument sent none.
    pub breath: Option<u8>,
}

/// How a channel stands.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct ChannelState {
    half_steps: Option<f64>,
    breath: Option<u8>,
}

/// What was said of a channel so far.
#[derive(Debug, Clone, Copy)]
struct ChannelSoFar {
    bend: Option<u16>,
    /// How far the bend goes each way: half steps, and cents besides.
    range: [u8; 2],
    /// The registered parameter that a value is meant for.
    parameter: Option<[u8; 2]>,
    breath: Option<u8>,
    /// How the channel stood before the first move that is remembered.
    before: ChannelState,
}

impl Default for ChannelSoFar {
    fn default() -> Self {
        let range = [USUAL_RANGE as u8, 0];
        Self { bend: None, range, parameter: None, breath: None, before: ChannelState::default() }
    }
}

impl ChannelSoFar {
    fn standing(&self) -> ChannelState {
        let range = f64::from(self.range[0]) + f64::from(self.range[1]) / 100.0;
        let half_steps = self.bend.map(|bend| (f64::from(bend) - f64::from(CENTRE)) / f64::from(CENTRE) * range);
        ChannelState { half_steps, breath: self.breath }
    }

    fn control(&mut self, number: u8, value: u8) {
        if let Some(place) = PARAMETER.iter().position(|part| *part == number) {
            // Half a name is none, until the other half comes.
            self.parameter.get_or_insert([u8::MAX; 2])[place] = value;
        } else if UNREGISTERED.contains(&number) {
            self.parameter = None;
        } else if let Some(place) = VALUE.iter().position(|part| *part == number)
            && self.parameter == Some(RANGE_OF_BEND)
        {
            self.range[place] = value;
            // A new range begins without cents.
            self.range[1] = if place == 0 { 0 } else { value.min(99) };
        } else if number == BREATH {
            self.breath = Some(value);
        } else if number == RESET {
            self.bend = self.bend.map(|_| CENTRE);
            self.breath = self.breath.map(|_| 0);
            self.parameter = None;
        }
    }
}

/// Bend and breath of all channels, as long as a note sounds that they belong to.
#[derive(Debug, Clone, Default)]
pub struct Shaping {
    channels: [ChannelSoFar; 16],
    /// From when on which channel (0 to 15) stood how.
    moves: VecDeque<(Seconds, usize, ChannelState)>,
}

impl Shaping {
    /// Takes in what was said.
    pub fn take(&mut self, said: ChannelMessage, at: Seconds) {
        let place = usize::from(said.channel.saturating_sub(1)) % self.channels.len();
        let channel = &mut self.channels[place];
        let was = channel.standing();
        match said.what {
            KeyMessage::Bend { value } => channel.bend = Some(value),
            KeyMessage::Pressure { value } => channel.breath = Some(value),
            KeyMessage::Control { number, value } => channel.control(number, value),
            KeyMessage::Down { .. } | KeyMessage::Up { .. } | KeyMessage::AllUp => {}
        }
        let now = channel.standing();
        if now != was {
            self.moves.push_back((at, place, now));
        }
    }

    /// How far a channel (1 to 16) is bent now, half steps.
    pub fn bend_of(&self, channel: u8) -> f64 {
        let place = usize::from(channel.saturating_sub(1)) % self.channels.len();
        self.channels[place].standing().half_steps.unwrap_or(0.0)
    }

    /// Forgets the moves before this instant: no note that sounds, or is still to be reported, began before it.
    pub fn forget(&mut self, before: Seconds) {
        while let Some((_, place, standing)) = self.moves.pop_front_if(|(at, ..)| *at < before) {
            self.channels[place].before = standing;
        }
    }

    /// A note with what bend and breath made of it up to an instant, where the player says that they are meant.
    pub(super) fn shaped(&self, choice: LineChoice, strike: &Strike, note: HeardNote, until: Seconds) -> HeardNote {
        let shape = self.of(strike.channel, note.onset, until);
        let (key, whole) = (f64::from(strike.key), (0.0, None));
        let (bent, spread) = if choice.bend { (shape.half_steps, shape.spread) } else { whole };
        let breath = shape.breath.filter(|_| choice.breath);
        HeardNote { pitch: Midi(key + bent), spread, loudness: level(breath.unwrap_or(strike.velocity)), ..note }
    }

    /// What was made of a note on a channel (1 to 16) between two instants.
    pub fn of(&self, channel: u8, from: Seconds, to: Seconds) -> NoteShape {
        let place = usize::from(channel.saturating_sub(1)) % self.channels.len();
        let length = to - from;
        let inner = if length >= SHORTEST + EDGE * 2.0 { (from + EDGE, to - EDGE) } else { (from, to) };
        let mut standing = self.channels[place].before;
        let (mut breath, mut since, mut lay) = (None, inner.0, Vec::new());
        for (at, _, next) in self.moves.iter().filter(|(at, of, _)| *of == place && *at <= to) {
            if *at > from {
                breath = breath.max(standing.breath);
            }
            let until = at.max(inner.0).min(inner.1);
            lay.push((standing.half_steps, (until - since).0));
            (standing, since) = (*next, until);
        }
        let breath = breath.max(standing.breath);
        lay.push((standing.half_steps, (inner.1 - since).0));
        // Before it is moved first, a wheel stands at its centre.
        let moved = lay.iter().any(|(bend, _)| bend.is_some());
        let place = |(bend, lasted): (Option<f64>, f64)| (bend.unwrap_or(0.0), lasted);
        let mut bends: Vec<(f64, f64)> = lay.into_iter().filter(|_| moved).map(place).collect();
        let half_steps = middle(&mut bends).or(standing.half_steps.filter(|_| length <= Seconds(0.0)));
        let away =
            |middle: f64| bends.iter().map(|(bend, lasted)| ((bend - middle).abs(), *lasted)).collect::<Vec<_>>();
        let spread = half_steps.filter(|_| length >= SHORTEST).and_then(|bend| middle(&mut away(bend)));
        NoteShape { half_steps: half_steps.unwrap_or(0.0), spread: spread.map(|spread| Cents(spread * 100.0)), breath }
    }
}

/// The middle of values that each lasted so long: half of the time lies at it or below it.
fn middle(values: &mut [(f64, f64)]) -> Option<f64> {
    values.sort_by_cached_key(|(value, _)| rank(*value));
    let whole: f64 = values.iter().map(|(_, lasted)| lasted).sum();
    let mut so_far = 0.0;
    values.iter().filter(|(_, lasted)| *lasted > 0.0).find_map(|(value, lasted)| {
        so_far += lasted;
        (so_far >= whole / 2.0).then_some(*value)
    })
}

/// The level that a velocity or a breath stands for; 0 counts as 1 (General MIDI Level 2 Recommended Practice, from memory: 40 log (value /
/// 127) dB).
pub fn level(value: u8) -> Decibels {
    Decibels(40.0 * (f64::from(value.max(1)) / 127.0).log10())
}
