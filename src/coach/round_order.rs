use crate::coach::Rng;
use crate::music::{ConcertKey, PitchClass};

/// The order in which the keys of a round follow each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RoundOrder {
    /// Up a fourth each time: C F Bb ...
    Fourths,
    /// Up a half step each time.
    HalfSteps,
    /// Up a whole step each time for six keys, then the six keys between them.
    WholeSteps,
    /// Up a minor third each time for four keys, three times over.
    MinorThirds,
    /// By lot: the order is drawn anew each time.
    Drawn,
}

impl RoundOrder {
    /// The keys of `among` in this order, beginning with the first of `among`; a drawn order begins with any.
    #[must_use]
    pub fn keys(self, among: &[ConcertKey], rng: &mut Rng) -> Vec<ConcertKey> {
        let Some(first) = among.first() else { return Vec::new() };
        let up = |half_steps: i32| ConcertKey(PitchClass::new(first.0.get() + half_steps));
        let round = |step: i32, rows: i32| -> Vec<ConcertKey> {
            (0..rows).flat_map(|row| (0..12 / rows).map(move |n| row + n * step)).map(up).collect()
        };
        let mut keys = match self {
            Self::Fourths => round(5, 1),
            Self::HalfSteps => round(1, 1),
            Self::WholeSteps => round(2, 2),
            Self::MinorThirds => round(3, 3),
            Self::Drawn => return drawn(among, rng),
        };
        keys.retain(|key| among.contains(key));
        keys
    }
}

/// The keys in a drawn order; every order is equally likely (Fisher and Yates, from memory).
fn drawn(among: &[ConcertKey], rng: &mut Rng) -> Vec<ConcertKey> {
    let mut keys = among.to_vec();
    for end in (1..keys.len()).rev() {
        let other = (rng.uniform() * (end + 1) as f64) as usize;
        keys.swap(end, other.min(end));
    }
    keys
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(order: RoundOrder, from: &str) -> String {
        let first = ConcertKey::FIFTHS.iter().position(|key| key.name() == from).unwrap();
        let mut all = ConcertKey::FIFTHS.to_vec();
        all.rotate_left(first);
        order.keys(&all, &mut Rng::new(1)).iter().map(|key| key.name()).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn the_keys_go_round_as_they_are_practised() {
        // Common practice.
        assert_eq!(names(RoundOrder::Fourths, "C"), "C F Bb Eb Ab Db F# B E A D G");
        assert_eq!(names(RoundOrder::HalfSteps, "Bb"), "Bb B C Db D Eb E F F# G Ab A");
        assert_eq!(names(RoundOrder::WholeSteps, "C"), "C D E F# Ab Bb Db Eb F G A B");
        assert_eq!(names(RoundOrder::MinorThirds, "C"), "C Eb F# A Db E G Bb D F Ab B");
    }

    #[test]
    fn a_drawn_round_has_every_key_once_and_is_another_one_each_time() {
        let mut rng = Rng::new(2);
        let [one, two] = [0, 1].map(|_| RoundOrder::Drawn.keys(&ConcertKey::FIFTHS, &mut rng));
        assert_ne!(one, two);
        for mut round in [one, two] {
            round.sort();
            round.dedup();
            assert_eq!(round.len(), 12);
        }
    }

    #[test]
    fn keys_that_are_not_asked_are_left_out_of_the_round() {
        let some = [ConcertKey::FIFTHS[0], ConcertKey::FIFTHS[1], ConcertKey::FIFTHS[11]];
        assert_eq!(RoundOrder::Fourths.keys(&some, &mut Rng::new(1)), [some[0], some[2], some[1]], "C F G");
    }
}
