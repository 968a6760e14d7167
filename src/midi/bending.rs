use crate::units::Seconds;

/// A bend that stays so far, in half steps, from where its note lay, is another note: nearer, the note is out of tune.
const ANOTHER: f64 = 0.75;
/// A bend that lies there for so long is one; what lasts less is vibrato, or the end of the note.
const STAYS: Seconds = Seconds(0.1);
/// A note that is bent within this of its beginning is slid into (common practice), and lies where it arrives.
const SLIDES: Seconds = Seconds(0.15);

/// How the bend of a held key moves from one half step to another.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Bending {
    /// When the note began.
    begins: Seconds,
    /// Where its bend lay, in half steps.
    lay: f64,
    /// Since when the bend lies at another half step, and at which.
    away: Option<(Seconds, f64)>,
}

impl Bending {
    /// A note begins, bent by so many half steps.
    pub fn begun(begins: Seconds, lies: f64) -> Self {
        Self { begins, lay: lies, away: None }
    }

    /// Takes in that the bend lies elsewhere from an instant on.
    pub fn bent(&mut self, lies: f64, at: Seconds) {
        let near = |place: f64| (lies - place).abs() <= ANOTHER;
        match self.away {
            _ if at - self.begins < SLIDES => self.lay = lies,
            _ if near(self.lay) => self.away = None,
            Some((_, place)) if near(place) => {}
            _ => self.away = Some((at, lies)),
        }
    }

    /// The instant from which the bend is another note, where it stays there up to now; given once.
    pub fn another(&mut self, now: Seconds) -> Option<Seconds> {
        let (since, lies) = self.away.filter(|(since, _)| now - *since >= STAYS)?;
        *self = Self { begins: since - SLIDES, lay: lies, away: None };
        Some(since)
    }
}
