//! What a night and a week take from a key, by the player's own first tries.
//!
//! A first try is compared with what the key could do when it was last left. The difference is in octaves, as need is: octaves of
//! reflex time, and half an octave where the share of tries that do not go down fell from 1 to 0. A key with few such tries is
//! drawn towards the player's mean, and the mean towards nothing lost (shrinkage; weight of the prior four tries).

/// The prior weighs as much as this many tries.
const PRIOR: f64 = 4.0;
/// What a first try that goes down counts, in octaves, where no try before it went down; the same as in `need.rs`.
const FAILING: f64 = 0.5;
/// A gap of this many days or more counts as a week, a shorter one as a night.
const WEEK: i32 = 4;

/// How long a key was left alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeAway {
    /// One to three days.
    Night,
    /// Four days or longer.
    Week,
}

impl TimeAway {
    /// The kind of absence of so many days.
    #[must_use]
    pub fn of(days: i32) -> Self {
        if days < WEEK { Self::Night } else { Self::Week }
    }
}

/// First tries after one kind of gap, and what they had lost.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Forgetting {
    /// Number of first tries after such a gap.
    pub tries: u32,
    /// Sum of what these tries had lost, in octaves.
    pub(super) sum: f64,
}

impl Forgetting {
    /// Adds one first try. `slower_octaves` says by how many octaves its reflex time was longer than the key's mean before;
    /// `fewer_passes` (-1 to 1) by how much it (1 where it did not go down, else 0) was below the share of such tries before.
    pub(super) fn enter(&mut self, slower_octaves: f64, fewer_passes: f64) {
        self.tries += 1;
        self.sum += slower_octaves + FAILING * fewer_passes;
    }
    /// The tries of this and of the other together.
    pub(super) fn with(self, other: Self) -> Self {
        Self { tries: self.tries.saturating_add(other.tries), sum: self.sum + other.sum }
    }
    /// The mean loss in octaves, drawn towards nothing lost.
    pub(super) fn mean(self) -> f64 {
        self.drawn_to(0.0)
    }
    /// The mean loss in octaves, drawn towards `mean`; negative where the player came back better than they left.
    pub(super) fn drawn_to(self, mean: f64) -> f64 {
        (self.sum + PRIOR * mean) / (f64::from(self.tries) + PRIOR)
    }
}
