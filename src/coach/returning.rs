//! The keys that come back today.

use crate::coach::{LearnerModel, Plan};
use crate::music::ConcertKey;
use crate::pattern::PatternId;
use crate::units::rank;

/// A key that was not asked for days.
#[derive(Debug, Clone, PartialEq)]
pub struct ReturningKey {
    /// The pattern in which the key was not asked.
    pub pattern: PatternId,
    /// The key.
    pub key: ConcertKey,
    /// Days since the key was last asked in this pattern, two or more.
    pub days: i32,
    /// What such a gap takes from the key, in octaves, by the player's own record.
    pub lost_octaves: f64,
}

impl LearnerModel {
    /// What comes back today after two days or more, the most forgotten first. This is no threat: the opening round asks every key
    /// anyway, and a day of rest costs nothing.
    #[must_use]
    pub fn back(&self, plan: &Plan) -> Vec<ReturningKey> {
        let mut back: Vec<ReturningKey> = plan
            .pairs()
            .filter_map(|(pattern, key)| {
                let days = self.days_since(plan, pattern, key).filter(|days| *days >= 2)?;
                Some(ReturningKey {
                    pattern: pattern.clone(),
                    key,
                    days,
                    lost_octaves: self.forgets(pattern, key, days),
                })
            })
            .collect();
        back.sort_by_cached_key(|key| rank(-key.lost_octaves));
        back
    }
}
