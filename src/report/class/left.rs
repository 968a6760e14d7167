//! Keys that are weak and were left alone while their pattern was practised.

use std::collections::BTreeMap;

use crate::music::{ConcertKey, Mode};
use crate::pattern::PatternId;
use crate::report::class::ClassSitting;
use crate::report::class::sitting::ClassAnswer;
use crate::report::judged::number;
use crate::report::lately::{APART, best_lately, third_last};
use crate::units::{Tempo, median};

/// Number of days: a key left behind, or a fault, since a day so long ago or longer is no reason to look today.
pub(super) const LATELY: i32 = 14;
/// Number of a key's latest answers that are looked at; the key fails where fewer than half of them were all right.
const LATEST: usize = 8;
/// Least number of latest answers by which a key is judged to fail.
const NEEDED: usize = 4;

/// A weak key without an answer that counts on the last three days on which its pattern has such an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftKey {
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// The mode of its latest answer, by which it is spelled.
    pub mode: Mode,
    /// The last day on which it was answered, days since 1970-01-01.
    pub last: i32,
    /// Of its latest eight answers, the number that were all right, and how many these are.
    pub whole: (u32, u32),
    /// The quickest tempo that it held, in tempo and where it went up, on the latest three days on which it was answered.
    pub best: Option<Tempo>,
    /// The middle of that tempo over the keys that were answered since.
    pub others: Option<Tempo>,
}

impl LeftKey {
    /// Whether fewer than half of the latest eight answers, and at least four, were all right.
    pub(super) fn fails(&self) -> bool {
        let (whole, of) = self.whole;
        of as usize >= NEEDED && 2 * whole < of
    }

    /// Whether the keys that were answered since are quicker by a quarter or more.
    fn slow(&self) -> bool {
        self.best.zip(self.others).is_some_and(|(best, others)| others.0 >= APART * best.0)
    }
}

/// The keys left behind of each pattern that has any, with its plain name; the sittings are in the order of time.
pub(super) fn left_behind(sittings: &[&ClassSitting], today: i32) -> Vec<(PatternId, String, Vec<LeftKey>)> {
    let mut patterns: BTreeMap<&PatternId, Vec<ClassAnswer<'_>>> = BTreeMap::new();
    for answer in sittings.iter().flat_map(|it| it.answers()) {
        patterns.entry(&answer.1.pattern).or_default().push(answer);
    }
    let of = |(pattern, answers): (&PatternId, Vec<ClassAnswer<'_>>)| {
        let since = third_last(answers.iter().map(|(day, ..)| *day))?;
        if since <= today.saturating_sub(LATELY) {
            return None;
        }
        let known: Vec<LeftKey> = ConcertKey::FIFTHS.into_iter().filter_map(|key| known(key, &answers)).collect();
        let practised = known.iter().filter(|it| it.last >= since).filter_map(|it| it.best);
        let others = median(&practised.map(|tempo| tempo.0).collect::<Vec<_>>()).map(Tempo);
        let left = known.into_iter().filter(|it| it.last < since).map(|it| LeftKey { others, ..it });
        let keys: Vec<LeftKey> = left.filter(|it| it.fails() || it.slow()).collect();
        let title = answers.last()?.1.title.clone();
        (!keys.is_empty()).then(|| (pattern.clone(), title, keys))
    };
    patterns.into_iter().filter_map(of).collect()
}

/// What is known of a key in one pattern, `others` left out; `None` where it was never answered.
fn known(key: ConcertKey, answers: &[ClassAnswer<'_>]) -> Option<LeftKey> {
    let mine: Vec<ClassAnswer<'_>> = answers.iter().filter(|(_, answer, _)| answer.key == key).copied().collect();
    let (last, answer, _) = *mine.last()?;
    let latest = &mine[mine.len().saturating_sub(LATEST)..];
    let whole = latest.iter().filter(|(_, answer, _)| answer.whole).count();
    let best = best_lately(&mine.iter().map(|(day, _, held)| (*day, *held)).collect::<Vec<_>>());
    let whole = (number(whole), number(latest.len()));
    Some(LeftKey { key, mode: answer.mode, last, whole, best: best.map(Tempo), others: None })
}
