use crate::units::Seconds;

/// Where a clip that is sounded lies on the clock of what is heard: the one form in which loudspeaker, ear, drill and trade tell each other
/// such a place. Three kinds of place are no such placement: frames of one stream before clocks are lined up (`devices`, `ClipFrames`),
/// indices of samples inside a filter (`room`, `CueSamples`), and places inside a clip (`cue::RoundPlace`).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Instant of the clip's first sample.
    pub from: Seconds,
    /// Pace of the output's clock as a multiple of the pace of the clock of what is heard, near 1.
    pub faster: f64,
}

impl Placement {
    /// The place of a clip that begins at `from`, where output and input have one clock.
    #[must_use]
    pub const fn at(from: Seconds) -> Self {
        Self { from, faster: 1.0 }
    }

    /// The place of a clip that is heard later by a delay, such as that of the devices.
    #[must_use]
    pub fn later(self, by: Seconds) -> Self {
        Self { from: self.from + by, ..self }
    }

    /// The instant at which the clip has sounded for `within`, a length by the output's clock.
    #[must_use]
    pub fn instant(self, within: Seconds) -> Seconds {
        self.from + within / self.faster
    }
}
