//! What passed in phrases over a form: each pattern by the roots it stood over, each join, each key of a chorus.

use serde_json::{Value, json};

use crate::coach::{InUse, PlayedFreely, UsedPattern, UsedTries};
use crate::music::{ConcertKey, Mode};
use crate::report::date::date;
use crate::report::lines::{line, wrapped};
use crate::units::rank;
use crate::words::numbers::{count, counted, list, listed, numbered};
use crate::words::{Page, in_use};

/// Largest number of patterns, and of joins, that are listed; the rest is only counted.
const LISTED: usize = 12;
/// What stands above the patterns that passed in phrases.
pub(super) const IN_USE: &str = "In use: in phrases over a form; none of it is in the figures of the drill";
/// What stands above their joins.
pub(super) const JOINS: &str = "Joins: right on both sides and without a gap, by the answer's own pulse";

/// What passed in phrases. What broke has a sentence each, the weakest first; what passed each time has one together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UsedSentences {
    /// Each pattern that broke somewhere, by the roots it stood over.
    pub patterns: Vec<String>,
    /// All other patterns.
    pub held: Option<String>,
    /// Each join that broke.
    pub joins: Vec<String>,
    /// All other joins.
    pub joined: Option<String>,
    /// The phrases, by the keys of their choruses.
    pub keys: String,
}

impl UsedSentences {
    /// Whether two patterns were joined anywhere.
    pub fn has_joins(&self) -> bool {
        !self.joins.is_empty() || self.joined.is_some()
    }
}

/// Says what passed in phrases; `None` where no phrase was answered.
pub(super) fn used_sentences(used: &InUse, page: &Page) -> Option<UsedSentences> {
    used.patterns().next()?;
    let key = |key: ConcertKey| page.key(key, Mode::Major);
    let of = |tries: &UsedTries| format!("{} of {}", tries.passed, tries.tries);
    let (held, mut broke): (Vec<&UsedPattern>, Vec<_>) =
        used.patterns().map(|it| it.1).partition(|it| share(it) >= 1.0);
    broke.sort_by_cached_key(|pattern| rank(share(pattern)));
    let over = |pattern: &UsedPattern, told: &dyn Fn(&UsedTries) -> String| {
        let roots: Vec<String> = pattern.tried().map(|(root, tries)| format!("{}{}", key(root), told(tries))).collect();
        list(&roots)
    };
    let broke = broke.into_iter();
    let patterns = broke.map(|it| format!("{}: right over {}", it.title, over(it, &|tries| format!(" {}", of(tries)))));
    let held = held.into_iter().map(|it| format!("{} over {}", it.title, over(it, &times)));
    let (joined, broken): (Vec<_>, Vec<_>) =
        used.joins().into_iter().partition(|(_, tries)| tries.passed == tries.tries);
    let joins = broken.iter().map(|(join, tries)| format!("{}: {}", in_use::join(join, used), of(tries)));
    let joined = joined.iter().map(|(join, tries)| format!("{}{}", in_use::join(join, used), times(tries)));
    let keys: Vec<String> = used.keys().map(|(tonic, tries)| format!("{} {}", key(tonic), of(tries))).collect();
    Some(UsedSentences {
        patterns: patterns.collect(),
        held: each_time(held.collect(), "pattern"),
        joins: joins.collect(),
        joined: each_time(joined.collect(), "join"),
        keys: format!("Phrases all right by key, of those answered: {}", list(&keys)),
    })
}

/// The share of a pattern's tries that passed.
fn share(pattern: &UsedPattern) -> f64 {
    let (passed, of) = pattern
        .tried()
        .fold((0.0, 0.0), |(passed, of), (_, tries)| (passed + f64::from(tries.passed), of + f64::from(tries.tries)));
    passed / f64::max(of, 1.0)
}

/// How often something that passed each time was tried, where that was more than once: " (3)".
fn times(tries: &UsedTries) -> String {
    if tries.tries > 1 { format!(" ({})", tries.tries) } else { String::new() }
}

/// What passed each time, in one sentence; `None` where nothing did.
fn each_time(names: Vec<String>, what: &str) -> Option<String> {
    let shown = listed(names.len(), LISTED);
    let more = names.len().saturating_sub(shown);
    let more = if more > 0 { format!("; and {}", numbered(more, &format!("more {what}"))) } else { String::new() };
    let names: Vec<String> = names.into_iter().take(shown).collect();
    (!names.is_empty()).then(|| format!("Right each time: {}{more}", names.join("; ")))
}

/// What passed in phrases, in lines; nothing where no phrase was answered.
pub(super) fn used_lines(out: &mut String, used: &InUse, page: &Page) {
    freely_lines(out, used, page);
    let Some(said) = used_sentences(used, page) else { return };
    line(out, "");
    line(out, IN_USE);
    said.patterns.iter().take(listed(said.patterns.len(), LISTED)).for_each(|sentence| wrapped(out, "  ", sentence));
    rest(out, said.patterns.len(), "pattern");
    said.held.iter().for_each(|sentence| wrapped(out, "  ", sentence));
    if said.has_joins() {
        line(out, JOINS);
    }
    said.joins.iter().take(listed(said.joins.len(), LISTED)).for_each(|sentence| wrapped(out, "  ", sentence));
    rest(out, said.joins.len(), "join");
    said.joined.iter().for_each(|sentence| wrapped(out, "  ", sentence));
    wrapped(out, "", &said.keys);
}

/// What the player drills and what of it comes out in free playing; nothing without free choruses.
fn freely_lines(out: &mut String, used: &InUse, page: &Page) {
    let all = freely_sentences(used, page);
    if !all.is_empty() {
        line(out, "");
        line(out, "Drilled, and in free choruses");
        all.iter().take(listed(all.len(), LISTED)).for_each(|sentence| wrapped(out, "  ", sentence));
        rest(out, all.len(), "pattern");
    }
}

/// One sentence for each drilled pattern that was looked for in free choruses; those that hold in most keys come first.
pub(super) fn freely_sentences(used: &InUse, page: &Page) -> Vec<String> {
    let mut all: Vec<&PlayedFreely> = used.played_freely().map(|(_, it)| it).collect();
    all.sort_by_key(|it| (std::cmp::Reverse(it.held), it.since));
    all.into_iter().map(|it| freely(it, page)).collect()
}

fn freely(it: &PlayedFreely, page: &Page) -> String {
    let names = |keys: &mut dyn Iterator<Item = (ConcertKey, u32)>| {
        list(&keys.map(|(key, _)| page.key(key, Mode::Major)).collect::<Vec<_>>())
    };
    let held = if it.held == 0 { "no key".to_owned() } else { counted(it.held as usize, "key") };
    let choruses = counted(it.choruses as usize, "free chorus");
    let mut said = format!("{}: drilled since {}, holds in {held}; came out in ", it.title, date(it.since));
    said += &match it.came {
        0 => format!("none of {choruses}"),
        came => {
            let only = if it.keys().count() < it.held as usize { " only" } else { "" };
            format!("{} of {choruses}, in {}{only}", count(came as usize), names(&mut it.keys()))
        }
    };
    if it.broke().next().is_some() {
        said += &format!("; broke off in {}", names(&mut it.broke()));
    }
    said + "."
}

fn rest(out: &mut String, all: usize, what: &str) {
    if let Some(more) = all.checked_sub(listed(all, LISTED)).filter(|more| *more > 0) {
        line(out, &format!("  and {more} more {what}{}", if more == 1 { "" } else { "s" }));
    }
}

/// What passed in phrases, as JSON; `null` where no phrase was answered. Keys are as they sound.
pub(super) fn used_json(used: &InUse) -> Value {
    if used.is_empty() {
        return Value::Null;
    }
    let of = |name: &str, key: ConcertKey, tries: &UsedTries| json!({ name: key.name(), "tries": tries.tries, "passed": tries.passed });
    let pattern = |(id, it): (&crate::pattern::PatternId, &crate::coach::UsedPattern)| {
        let over: Vec<Value> = it.tried().map(|(root, tries)| of("concert_root", root, tries)).collect();
        json!({ "pattern": id.0, "title": it.title, "over": over })
    };
    let join = |(join, tries): &(&crate::pattern::Join, &UsedTries)| {
        let broke = tries.broke().map(|it| json!({ "broke": it.broke, "of_latest": it.tries, "latest_day": it.day }));
        json!({
            "before": join.before.0, "after": join.after.0, "seam": join.seam.words(), "tries": tries.tries,
            "passed": tries.passed, "weak": broke,
        })
    };
    let free = |(id, it): (&crate::pattern::PatternId, &PlayedFreely)| {
        let by = |(key, choruses): (ConcertKey, u32)| json!({ "concert_key": key.name(), "choruses": choruses });
        json!({
            "pattern": id.0, "title": it.title, "since_day": it.since, "held_keys": it.held, "choruses": it.choruses, "came_in": it.came,
            "keys": it.keys().map(by).collect::<Vec<_>>(), "broke_off": it.broke().map(by).collect::<Vec<_>>(),
        })
    };
    json!({
        "patterns": used.patterns().map(pattern).collect::<Vec<_>>(),
        "joins": used.joins().iter().map(join).collect::<Vec<_>>(),
        "free": used.played_freely().map(free).collect::<Vec<_>>(),
        "keys": used.keys().map(|(tonic, tries)| of("concert_key", tonic, tries)).collect::<Vec<_>>(),
    })
}
