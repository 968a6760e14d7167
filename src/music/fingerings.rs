use std::collections::{BTreeMap, BTreeSet};

use crate::music::{Concert, HalfSteps, Written};
use crate::units::Cents;

use super::tube::{combination_cents, partial_cents, partial_half_steps};

/// One way to finger a note on a brass instrument.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Way {
    /// The pressed valves as the digits of a number (123), 0 where none is pressed; or the slide position, 1 to 7.
    pub(super) pressed: u32,
    /// Whether the thumb valve of a double horn, or the trigger of a trombone, is pressed.
    pub(super) thumb: bool,
    /// Which partial of the tube sounds, from 1.
    pub(super) partial: u32,
    /// The predicted distance from equal temperament, sharp above zero.
    pub(super) cents: Cents,
}

/// How the notes of a family of instruments are fingered.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Fingerings {
    /// Valves or a slide: the ways of every written note.
    Tube { notes: BTreeMap<Written, Vec<Way>>, slide: bool },
    /// Holes and keys: the fingering of every written note, and the notes that run sharp or flat.
    Fingers { notes: BTreeMap<Written, String>, sharp: BTreeSet<Written>, flat: BTreeSet<Written> },
    /// Open strings as they sound, lowest first, and the names of the fingers by the number of half steps above an open string.
    Bowed { open: Vec<Concert>, fingers: Vec<String> },
    /// Open strings as they sound, lowest first, and how many frets there are.
    Fretted { open: Vec<Concert>, frets: i32 },
}

/// The fingerings of every family of instruments, by name.
#[derive(Debug, Default)]
pub(super) struct FingeringTable(pub(super) BTreeMap<String, Fingerings>);

/// A brass tube with its valves or slide.
pub(super) struct Tube<'a> {
    /// The fundamental without valves, or with the slide in.
    pub(super) fundamental: Written,
    /// The fundamental of the thumb side of a double horn, or of a trombone with its trigger pressed.
    pub(super) thumb: Option<Written>,
    /// How many cents each valve alone lowers the pitch; empty for a slide.
    pub(super) valve_cents: &'a [f64],
}

impl FingeringTable {
    /// The fingerings that an instrument's row names.
    pub(super) fn named(&self, name: &str) -> Option<&Fingerings> {
        self.0.get(name)
    }
}

impl Way {
    /// The valves pressed, in the order in which the table writes them (lowest number first); the thumb valve is not among them.
    pub(super) fn valves(&self) -> impl Iterator<Item = u32> {
        let pressed = self.pressed;
        [1000, 100, 10, 1].into_iter().map(move |place| pressed / place % 10).filter(|valve| *valve > 0)
    }
}

impl Tube<'_> {
    /// The way in which `pressed` and `partial` sound `note`; `None` where they sound another note on this tube or cannot be read.
    pub(super) fn way(&self, note: Written, pressed: &str, partial: &str) -> Option<Way> {
        let (thumb, digits) = pressed.strip_prefix('T').map_or((false, pressed), |digits| (true, digits));
        let open = if thumb { self.thumb? } else { self.fundamental };
        let partial: u32 = partial.parse().ok().filter(|partial| (1..=16).contains(partial))?;
        let mut way = Way { pressed: digits.parse().ok()?, thumb, partial, cents: partial_cents(partial) };
        let lowered = if self.valve_cents.is_empty() {
            i32::try_from(way.pressed).ok()? - 1
        } else {
            let half_steps: i32 = way.valves().filter_map(|valve| [2, 1, 3, 5].get(valve as usize - 1)).sum();
            let alone = way.valves().map(|valve| self.valve_cents.get(valve as usize - 1).copied().map(Cents));
            let alone: Vec<Cents> = alone.collect::<Option<_>>()?;
            way.cents = way.cents + combination_cents(&alone, half_steps);
            half_steps
        };
        let reached = open + HalfSteps(partial_half_steps(partial) - lowered);
        (reached == note).then_some(way)
    }
}

impl Fingerings {
    /// The same fingerings, each for the note `up` half steps higher.
    pub(super) fn moved(&self, up: HalfSteps) -> Self {
        match self {
            Self::Tube { notes, slide } => Self::Tube {
                notes: notes.iter().map(|(note, ways)| (*note + up, ways.clone())).collect(),
                slide: *slide,
            },
            Self::Fingers { notes, sharp, flat } => Self::Fingers {
                notes: notes.iter().map(|(note, fingers)| (*note + up, fingers.clone())).collect(),
                sharp: sharp.iter().map(|note| *note + up).collect(),
                flat: flat.iter().map(|note| *note + up).collect(),
            },
            Self::Bowed { open, fingers } => {
                Self::Bowed { open: open.iter().map(|string| *string + up).collect(), fingers: fingers.clone() }
            }
            Self::Fretted { open, frets } => {
                Self::Fretted { open: open.iter().map(|string| *string + up).collect(), frets: *frets }
            }
        }
    }
}
