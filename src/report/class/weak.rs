use crate::coach::Goals;
use crate::music::{ConcertKey, Mode};
use crate::report::class::ClassSitting;
use crate::report::figures::AnswerFigures;
use crate::report::judged::number;
use crate::units::{Seconds, Tempo, median, rank};

/// Number of days that are looked at: the day of the last sitting and those before it.
const LATELY: i32 = 14;
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
    /// The middle pace of answers in tempo that went up.
    Pace {
        /// The middle pace.
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

/// At most two keys, those that lack most in the answers of the two weeks up to the last sitting: answers all right, pace, or reflex time
/// against the player's own goals.
pub(super) fn weakest(sittings: &[&ClassSitting]) -> Vec<WeakKey> {
    let Some(last) = sittings.last().map(|sitting| &sitting.figures.began) else { return Vec::new() };
    let lately = sittings.iter().filter(|it| it.figures.began.day > last.day.saturating_sub(LATELY));
    let answers: Vec<&AnswerFigures> = lately.flat_map(|it| &it.figures.answers).collect();
    let of_key = |key: ConcertKey| {
        let mine: Vec<&AnswerFigures> = answers.iter().filter(|answer| answer.key == key).copied().collect();
        let mode = mine.last()?.mode;
        let lack = lack(&mine, &last.goals)?;
        Some(WeakKey { key, mode, lack })
    };
    let mut keys: Vec<WeakKey> = ConcertKey::FIFTHS.into_iter().filter_map(of_key).collect();
    keys.sort_by_cached_key(|key| rank(-key.lack.part()));
    keys.truncate(NAMED);
    keys
}

fn lack(answers: &[&AnswerFigures], goals: &Goals) -> Option<Lack> {
    if answers.len() < KNOWN {
        return None;
    }
    let whole = number(answers.iter().filter(|answer| answer.whole).count());
    let middle = |of: fn(&AnswerFigures) -> Option<f64>| {
        median(&answers.iter().filter_map(|answer| of(answer)).collect::<Vec<_>>())
    };
    let right = Lack::Right { whole, of: number(answers.len()) };
    let pace = middle(|answer| answer.pace.map(|pace| pace.0));
    let reflex = middle(|answer| answer.reflex.map(|time| time.0));
    let all = [
        Some(right),
        pace.map(|pace| Lack::Pace { pace: Tempo(pace), goal: goals.tempo }),
        reflex.map(|time| Lack::Reflex { time: Seconds(time), goal: goals.reflex }),
    ];
    let most = all.into_iter().flatten().max_by(|a, b| a.part().total_cmp(&b.part()))?;
    (most.part() >= LITTLE).then_some(most)
}
