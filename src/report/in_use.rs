//! What passed in phrases over a form: each pattern by the roots it stood over, each join, each key of a chorus.

use serde_json::{Value, json};

use crate::coach::{InUse, UsedTries};
use crate::music::{ConcertKey, Mode};
use crate::report::lines::{line, wrapped};
use crate::words::numbers::list;
use crate::words::{Page, in_use};

/// Largest number of patterns, and of joins, that are listed; the rest is only counted.
const LISTED: usize = 12;

/// What passed in phrases, in lines; nothing where no phrase was answered.
pub(super) fn used_lines(out: &mut String, used: &InUse, page: &Page) {
    if used.is_empty() {
        return;
    }
    let key = |key: ConcertKey| page.key(key, Mode::Major);
    let of = |tries: &UsedTries| format!("{} of {}", tries.passed, tries.tries);
    line(out, "");
    line(out, "In use: in phrases over a form; none of it is in the figures of the drill");
    let mut more = 0;
    for (_, pattern) in used.patterns() {
        let roots: Vec<String> = pattern.tried().map(|(root, tries)| format!("{} {}", key(root), of(tries))).collect();
        if more < LISTED {
            wrapped(out, "  ", &format!("{}: right over {}", pattern.title, list(&roots)));
        }
        more += 1;
    }
    rest(out, more, "pattern");
    let joins = used.joins();
    if !joins.is_empty() {
        line(out, "Joins: right and in time, the weakest first");
    }
    for (join, tries) in joins.iter().take(LISTED) {
        wrapped(out, "  ", &format!("{}: {}", in_use::join(join, used), of(tries)));
    }
    rest(out, joins.len(), "join");
    let keys: Vec<String> = used.keys().map(|(tonic, tries)| format!("{} {}", key(tonic), of(tries))).collect();
    wrapped(out, "", &format!("Phrases all right by key: {}", list(&keys)));
}

fn rest(out: &mut String, all: usize, what: &str) {
    if let Some(more) = all.checked_sub(LISTED).filter(|more| *more > 0) {
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
    json!({
        "patterns": used.patterns().map(pattern).collect::<Vec<_>>(),
        "joins": used.joins().iter().map(join).collect::<Vec<_>>(),
        "keys": used.keys().map(|(tonic, tries)| of("concert_key", tonic, tries)).collect::<Vec<_>>(),
    })
}
