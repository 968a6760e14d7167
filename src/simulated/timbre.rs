use crate::music::Sounding;
use crate::sound::Partials;
use crate::units::{Hertz, SampleRate, Seconds};

/// The sound of the simulated player's instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Timbre {
    /// Bright, with a quick swell.
    Brass,
    /// Odd partials stronger.
    Reed,
    /// Few partials, much air.
    Flute,
    /// Scrape, slow swell, vibrato.
    Bowed,
    /// Struck at once, dying away.
    Plucked,
    /// Two resonances, scoops, wide vibrato.
    Voice,
    /// Hammered, dying away, pitch fixed.
    Keys,
}

/// What a timbre is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shape {
    /// Time from silence to the note's own level.
    pub rise: Seconds,
    /// Time from the note's own level to silence.
    pub fall: Seconds,
    /// Time to sink by 60 dB while held; `None` for blown, bowed and sung notes.
    pub dying: Option<Seconds>,
    /// Level of air or scrape against the note, dB.
    pub breath_db: f64,
    /// The largest half width of a vibrato, in cents; each note longer than .3 s has from half of it to all of it.
    pub vibrato_cents: f64,
    /// How far below its pitch a tongued note may begin, in cents.
    pub scoop_cents: f64,
    /// Whether a note can be out of tune.
    pub bends: bool,
    /// Whether notes can be joined without a new attack.
    pub slurs: bool,
}

impl Timbre {
    /// Every timbre.
    pub const ALL: [Self; 7] =
        [Self::Brass, Self::Reed, Self::Flute, Self::Bowed, Self::Plucked, Self::Voice, Self::Keys];

    /// The timbre of an instrument sounded this way.
    #[must_use]
    pub const fn of(sounding: Sounding) -> Self {
        match sounding {
            Sounding::Lips => Self::Brass,
            Sounding::Reed => Self::Reed,
            Sounding::Edge => Self::Flute,
            Sounding::Voice => Self::Voice,
            Sounding::Bow => Self::Bowed,
            Sounding::Plucked => Self::Plucked,
            Sounding::Keys => Self::Keys,
        }
    }

    /// What this timbre is made of.
    pub(super) const fn shape(self) -> Shape {
        let blown = Shape {
            rise: Seconds(0.025),
            fall: Seconds(0.03),
            dying: None,
            breath_db: -35.0,
            vibrato_cents: 8.0,
            scoop_cents: 15.0,
            bends: true,
            slurs: true,
        };
        match self {
            Self::Brass => blown,
            Self::Reed => Shape { rise: Seconds(0.02), vibrato_cents: 12.0, scoop_cents: 25.0, ..blown },
            Self::Flute => Shape { rise: Seconds(0.035), breath_db: -30.0, vibrato_cents: 14.0, ..blown },
            Self::Bowed => Shape { rise: Seconds(0.04), fall: Seconds(0.06), vibrato_cents: 15.0, ..blown },
            Self::Voice => {
                Shape { rise: Seconds(0.045), fall: Seconds(0.05), vibrato_cents: 35.0, scoop_cents: 60.0, ..blown }
            }
            Self::Plucked => Shape {
                rise: Seconds(0.005),
                fall: Seconds(0.04),
                dying: Some(Seconds(2.5)),
                breath_db: -50.0,
                vibrato_cents: 0.0,
                scoop_cents: 0.0,
                bends: true,
                slurs: false,
            },
            Self::Keys => Shape {
                rise: Seconds(0.005),
                fall: Seconds(0.06),
                dying: Some(Seconds(4.0)),
                breath_db: -60.0,
                vibrato_cents: 0.0,
                scoop_cents: 0.0,
                bends: false,
                slurs: false,
            },
        }
    }

    /// The partials of a note of this pitch. Slopes and resonances are those of the kind of instrument, not of one instrument (from
    /// memory, and by ear).
    pub(super) fn partials(self, pitch: Hertz, rate: SampleRate) -> Partials {
        let near = |hz: f64, centre: f64, width: f64| 1.0 / (1.0 + ((hz - centre) / width).powi(2));
        let low = |hz: f64, corner: f64, order: i32| 1.0 / (1.0 + (hz / corner).powi(order));
        let amplitudes: Vec<f64> = (1..=40u32)
            .map(|number| {
                let (n, hz) = (f64::from(number), pitch.0 * f64::from(number));
                match self {
                    Self::Brass => n.powf(-0.5) * low(hz, 1500.0, 4) * (0.7 + near(hz, 1000.0, 500.0)),
                    Self::Reed if number.is_multiple_of(2) => 0.35 * n.powf(-0.8) * low(hz, 2200.0, 4),
                    Self::Reed => n.powf(-0.8) * low(hz, 2200.0, 4),
                    Self::Flute => n.powf(-2.0),
                    Self::Bowed => n.powf(-1.0) * low(hz, 3500.0, 4) * (0.6 + near(hz, 500.0, 200.0)),
                    Self::Voice => n.powf(-1.0) * (0.3 + near(hz, 650.0, 150.0) + 0.5 * near(hz, 1150.0, 150.0)),
                    Self::Plucked => n.powf(-1.2) * low(hz, 3000.0, 2),
                    Self::Keys => n.powf(-1.4) * low(hz, 3500.0, 2),
                }
            })
            .collect();
        Partials::new(&amplitudes, pitch, rate)
    }
}
