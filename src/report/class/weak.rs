use crate::coach::Goals;
use crate::music::{ConcertKey, Mode};
use crate::report::class::ClassSitting;
use crate::report::class::sitting::ClassAnswer;
use crate::report::judged::number;
use crate::report::lately::{best_lately, latest_since};
use crate::units::{Seconds, Tempo, median, rank};

/// Smallest number of answers from which a key is judged.
const KNOWN: usize = 3;
/// Smallest missing share that is a lack.
const LITTLE: f64 = 0.1;
/// Number of keys that are named.
const NAMED: usize = 2;

/// A key, and what it lacks most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeakKey {
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// The mode of the latest answer in the key, by which the key is spelled.
    pub mode: Mode,
    /// What the key lacks.
    pub lack: Lack,
}

/// What a key lacks most: the measure of which the largest share is missing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lack {
    /// The share of answers that were all right.
    Right {
        /// Number of answers that were all right.
        whole: u32,
        /// Number of answers.
        of: u32,
    },
    /// The quickest tempo that an answer in tempo held where it went up.
    Pace {
        /// The quickest tempo.
        pace: Tempo,
        /// The goal.
        goal: Tempo,
    },
    /// The middle reflex time.
    Reflex {
        /// The middle reflex time.
        time: Seconds,
        /// The goal.
        goal: Seconds,
    },
}

impl Lack {
    /// The share that is missing: 0 at the goal, below 0 beyond it.
    fn part(self) -> f64 {
        match self {
            Self::Right { whole, of } => 1.0 - f64::from(whole) / f64::from(of.max(1)),
            Self::Pace { pace, goal } => 1.0 - pace.0 / goal.0,
            Self::Reflex { time, goal } => 1.0 - goal.0 / time.0.max(1e-3),
        }
    }
}

/// At most two keys, those that lack most on the latest three days on which they were answered: answers all right, their quickest tempo, or
/// their middle reflex time against the player's own goals. Where a day begins slowly is no lack.
pub(super) fn weakest(sittings: &[&ClassSitting]) -> Vec<WeakKey> {
    let Some(last) = sittings.last().map(|sitting| &sitting.figures.began) else { return Vec::new() };
    let answers: Vec<ClassAnswer<'_>> = sittings.iter().flat_map(|it| it.answers()).collect();
    let of_key = |key: ConcertKey| {
        let mine: Vec<ClassAnswer<'_>> = answers.iter().filter(|(_, answer, _)| answer.key == key).copied().collect();
        let since = latest_since(mine.iter().map(|(day, ..)| *day))?;
        let mine: Vec<ClassAnswer<'_>> = mine.into_iter().filter(|(day, ..)| *day >= since).collect();
        let mode = mine.last()?.1.mode;
        let lack = lack(&mine, &last.goals)?;
        Some(WeakKey { key, mode, lack })
    };
    let mut keys: Vec<WeakKey> = ConcertKey::FIFTHS.into_iter().filter_map(of_key).collect();
    keys.sort_by_cached_key(|key| rank(-key.lack.part()));
    keys.truncate(NAMED);
    keys
}

fn lack(answers: &[ClassAnswer<'_>], goals: &Goals) -> Option<Lack> {
    if answers.len() < KNOWN {
        return None;
    }
    let whole = number(answers.iter().filter(|(_, answer, _)| answer.whole).count());
    let right = Lack::Right { whole, of: number(answers.len()) };
    let best = best_lately(&answers.iter().map(|(day, _, held)| (*day, *held)).collect::<Vec<_>>());
    let times: Vec<f64> = answers.iter().filter_map(|(_, answer, _)| answer.reflex).map(|time| time.0).collect();
    let all = [
        Some(right),
        best.map(|best| Lack::Pace { pace: Tempo(best), goal: goals.tempo }),
        median(&times).map(|time| Lack::Reflex { time: Seconds(time), goal: goals.reflex }),
    ];
    let most = all.into_iter().flatten().max_by(|a, b| a.part().total_cmp(&b.part()))?;
    (most.part() >= LITTLE).then_some(most)
}
