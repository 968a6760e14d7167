use crate::coach::{LearnerModel, Plan};
use crate::pattern::Pattern;
use crate::report::pattern_json::ListedPattern;
use crate::words::Page;
use crate::words::numbers::counted;
use crate::words::reason::since;

/// The patterns that come back today, the most forgotten first, with the key that was away the longest.
#[must_use]
pub fn back_today<'p>(
    found: &[&'p Pattern],
    learner: &LearnerModel,
    plan: &Plan,
    page: &Page,
) -> Vec<ListedPattern<'p>> {
    let back = learner.back(plan);
    let mut listed: Vec<ListedPattern<'_>> = Vec::new();
    for first in &back {
        let Some(pattern) = found.iter().find(|pattern| pattern.id == first.pattern) else { continue };
        if listed.iter().any(|(known, _)| known.id == pattern.id) {
            continue;
        }
        let keys = back.iter().filter(|other| other.pattern == first.pattern);
        let more = keys.clone().count() - 1;
        let longest = keys.max_by_key(|other| other.days).unwrap_or(first);
        let others = if more == 0 { String::new() } else { format!("; {} in all", counted(more + 1, "key")) };
        let away = since(longest.days, Some(plan.day));
        listed.push((pattern, Some(format!("{}, {away}{others}", page.key(longest.key, pattern.mode())))));
    }
    listed
}
