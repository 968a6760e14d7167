use std::array::from_fn;
use std::f64::consts::TAU;

/// Number of partials of a hum, the first at the frequency of the mains.
const PARTIALS: usize = 12;

type Waves = [f32; PARTIALS];

/// Cosine and sine of an angle and its multiples.
#[derive(Debug, Clone, Copy)]
pub(super) struct Phasor {
    /// Cosines of the angle and its multiples.
    cos: Waves,
    /// Sines of the angle and its multiples.
    sin: Waves,
}

impl Phasor {
    /// The phasor of an angle in turns.
    pub(super) fn new(turns: f64) -> Self {
        let (sin, cos) = (TAU * turns).sin_cos();
        let (mut re, mut im) = (1.0, 0.0);
        let mut all = Self { cos: [0.0; PARTIALS], sin: [0.0; PARTIALS] };
        for (c, s) in all.cos.iter_mut().zip(&mut all.sin) {
            (re, im) = (re * cos - im * sin, re * sin + im * cos);
            (*c, *s) = (re as f32, im as f32);
        }
        all
    }

    /// Adds another angle.
    pub(super) fn add(&mut self, step: &Self) {
        for k in 0..PARTIALS {
            let (c, s) = (self.cos[k], self.sin[k]);
            self.cos[k] = c * step.cos[k] - s * step.sin[k];
            self.sin[k] = c * step.sin[k] + s * step.cos[k];
        }
    }
}

/// The partials of a hum, as factors of the cosines and sines of one [`Phasor`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct HumHarmonics {
    /// Factor of the cosine of each harmonic.
    cos: Waves,
    /// Factor of the sine of each harmonic.
    sin: Waves,
}

impl HumHarmonics {
    /// No hum.
    pub(super) const NONE: Self = Self { cos: [0.0; PARTIALS], sin: [0.0; PARTIALS] };

    /// The hum at one angle.
    pub(super) fn at(&self, turn: &Phasor) -> f32 {
        let all: Waves = from_fn(|k| self.cos[k] * turn.cos[k] + self.sin[k] * turn.sin[k]);
        all.iter().sum()
    }

    /// Adds `share` times the cosines and sines of one angle.
    pub(super) fn add(&mut self, share: f32, turn: &Phasor) {
        for k in 0..PARTIALS {
            self.cos[k] += share * turn.cos[k];
            self.sin[k] += share * turn.sin[k];
        }
    }

    /// `self + share * other`.
    pub(super) fn plus(&self, share: f32, other: &Self) -> Self {
        let sum = |a: &Waves, b: &Waves| from_fn(|k| a[k] + share * b[k]);
        Self { cos: sum(&self.cos, &other.cos), sin: sum(&self.sin, &other.sin) }
    }

    /// Mean square.
    pub(super) fn power(&self) -> f64 {
        0.5 * self.cos.iter().chain(&self.sin).map(|a| f64::from(*a).powi(2)).sum::<f64>()
    }

    /// This hum as it is `turns` periods of the mains later.
    pub(super) fn later(&self, turns: f64) -> Self {
        let turn = Phasor::new(turns);
        Self {
            cos: from_fn(|k| self.cos[k] * turn.cos[k] + self.sin[k] * turn.sin[k]),
            sin: from_fn(|k| self.sin[k] * turn.cos[k] - self.cos[k] * turn.sin[k]),
        }
    }

    /// How many periods of the mains this hum is later than `before`: least squares over the angles of all partials, each angle
    /// weighted by the power of its partial, because a partial that is hardly there has no angle (from memory).
    pub(super) fn later_than(&self, before: &Self) -> f64 {
        let (mut sum, mut weights) = (0.0, 0.0);
        for k in 0..PARTIALS {
            let [a, b, c, d] = [self.cos[k], self.sin[k], before.cos[k], before.sin[k]].map(f64::from);
            let (re, im) = (a * c + b * d, a * d - b * c);
            let (number, weight) = ((k + 1) as f64, re.hypot(im));
            sum += weight * number * im.atan2(re);
            weights += weight * number * number;
        }
        sum / weights.max(1e-30) / TAU
    }

    /// Likeness of two hums: 1 where both are the same, 0 where they have nothing in common (the product of the two vectors of
    /// factors, over the larger of the two powers: a hum of another size is another hum).
    pub(super) fn likeness(&self, other: &Self) -> f64 {
        let both = |a: &Waves, b: &Waves| a.iter().zip(b).map(|(a, b)| f64::from(a * b)).sum::<f64>();
        let common = 0.5 * (both(&self.cos, &other.cos) + both(&self.sin, &other.sin));
        common / self.power().max(other.power()).max(1e-30)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A hum of three partials, a mean square of .5 * (1 + .25 + .04).
    fn hum() -> HumHarmonics {
        let mut hum = HumHarmonics::NONE;
        (hum.cos[0], hum.sin[1], hum.cos[4]) = (1.0, -0.5, 0.2);
        hum
    }

    #[test]
    fn the_multiples_of_a_turn_are_its_cosines_and_sines() {
        let mut turn = Phasor::new(0.1);
        turn.add(&Phasor::new(0.03));
        for k in 0..PARTIALS {
            let angle = TAU * 0.13 * (k + 1) as f64;
            assert!((f64::from(turn.cos[k]) - angle.cos()).abs() < 1e-6, "{k}");
            assert!((f64::from(turn.sin[k]) - angle.sin()).abs() < 1e-6, "{k}");
        }
        assert!((hum().power() - 0.645).abs() < 1e-6);
    }

    #[test]
    fn a_later_hum_is_the_same_hum_and_tells_how_much_later_it_is() {
        for turns in [-0.09, 0.0, 0.004, 0.05] {
            let later = hum().later(turns);
            assert!((later.at(&Phasor::new(0.3)) - hum().at(&Phasor::new(0.3 + turns))).abs() < 1e-5);
            assert!((later.later_than(&hum()) - turns).abs() < 1e-6, "{turns}");
            assert!((later.later(-turns).likeness(&hum()) - 1.0).abs() < 1e-5);
        }
        let mut other = HumHarmonics::NONE;
        other.add(1.0, &Phasor::new(0.25)); // sines of the odd, cosines of the even partials
        assert!(other.likeness(&hum()) < 0.2);
    }
}
