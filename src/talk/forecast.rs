//! What comes next, per pattern and key, and why.

use crate::coach::{Choice, Holds, LearnerModel};
use crate::music::{ConcertKey, Mode};
use crate::pattern::Pattern;
use crate::talk::asked::Meant;
use crate::talk::failure::Failure;
use crate::talk::held_out;
use crate::talk::output::say;
use crate::tui;
use crate::words;

/// Column at which the text beside a number begins.
const INDENT: usize = 7;

/// Tells what would come next: each pattern with its keys, those that come first before the others.
/// `simulated` says that the simulated player answered in other sittings of this player.
pub fn tell(meant: &Meant, learner: &LearnerModel, simulated: bool, forecast: &[Choice]) -> Result<(), Failure> {
    let (instrument, goal) = (&meant.who.page.instrument.name, meant.plan.goals.tempo.0);
    say(format!("{instrument}, goal quarter = {goal:.0}. What comes next today, if every answer passes, and why."))?;
    if forecast.iter().any(|next| learner.key_stats(&next.pattern, next.key).answers() > 0) {
        say("A sitting begins with what goes well, and goes on with what needs it most.")?;
    }
    let answered =
        |pattern: &Pattern| meant.plan.keys.iter().any(|key| learner.key_stats(&pattern.id, *key).answers() > 0);
    if !meant.patterns.iter().any(answered) {
        say("No answer of yours to these patterns is on record yet; those of the simulated player do not count.")?;
    } else if simulated {
        say("Answers of the simulated player under your name are left out.")?;
    }
    if let Some(how) = learner.all_hold(&meant.plan) {
        say(words::reason::all_hold(meant.plan.keys.len(), how, &meant.plan.goals))?;
    }
    meant.out_of_range().into_iter().try_for_each(say)?;
    held_out::tell(meant, learner)?;
    for pattern in &meant.patterns {
        say(format!("\n{}", pattern.name))?;
        let when = |key: ConcertKey| forecast.iter().position(|next| next.pattern == pattern.id && next.key == key);
        let keys = meant.plan.keys_of(&pattern.id).into_iter();
        let mut keys: Vec<(Option<usize>, ConcertKey)> = keys.map(|key| (when(key), key)).collect();
        keys.sort_by_cached_key(|(when, _)| when.unwrap_or(usize::MAX));
        let mut alike: Vec<KeysAlike> = Vec::new();
        for (when, key) in keys {
            let known = known(learner, pattern, key, meant);
            let name = meant.who.page.key(key, pattern.mode());
            let far = || vec![format!("{name}, not within the next {} cues", forecast.len())];
            let mut parts = when.map_or_else(far, |when| parts_of(&forecast[when], meant));
            parts.push(known);
            KeysAlike::enter(&mut alike, when.map(|when| when + 1), name, parts.join(" · "));
        }
        alike.iter().flat_map(KeysAlike::lines).try_for_each(say)?;
    }
    say(format!("\n{}", words::unknown::HEAD))?;
    words::unknown::UNKNOWN.iter().try_for_each(|it| say(row(None, &[(*it).to_owned()])))
}

/// Keys of which the same is said: what is said of the first, and each with its place among the cues to come.
struct KeysAlike {
    said: String,
    keys: Vec<(Option<usize>, String)>,
}

impl KeysAlike {
    /// Enters what is said of a key, beside a key of which the same is said but for its name.
    fn enter(all: &mut Vec<Self>, when: Option<usize>, key: String, said: String) {
        let rest = |said: &str, key: &str| said.strip_prefix(key).map(str::to_owned);
        let own = rest(&said, &key);
        let same = |it: &&mut Self| own.is_some() && rest(&it.said, &it.keys[0].1) == own;
        match all.iter_mut().find(same) {
            Some(alike) => alike.keys.push((when, key)),
            None => all.push(Self { said, keys: vec![(when, key)] }),
        }
    }

    /// What is said of the first key, and below it the others.
    fn lines(&self) -> Vec<String> {
        let first = row(self.keys[0].0, std::slice::from_ref(&self.said));
        let at = |(when, key): &(Option<usize>, String)| when.map_or(key.clone(), |when| format!("{key} at {when}"));
        let others: Vec<String> = self.keys[1..].iter().map(at).collect();
        let others = (!others.is_empty()).then(|| row(None, &[format!("so too: {}", others.join(", "))]));
        std::iter::once(first).chain(others).collect()
    }
}

/// A number and the text beside it; on a terminal a text that has no room goes on below.
fn row(number: Option<usize>, parts: &[String]) -> String {
    let number = number.map_or(String::new(), |number| number.to_string());
    let columns = tui::columns().unwrap_or(usize::MAX);
    let (first, later) = (format!("{number:>5}  "), " ".repeat(INDENT));
    words::wrap::wrapped(&parts.join(" · "), columns.max(2 * INDENT), &first, &later).join("\n")
}

/// The text of one cue to come: the whole reason, and the tempo.
fn parts_of(next: &Choice, meant: &Meant) -> Vec<String> {
    let (who, today) = (&meant.who, Some(meant.plan.day));
    let known = meant.patterns.iter().find(|pattern| pattern.id == next.pattern);
    let mode = known.map_or(Mode::Major, Pattern::mode);
    let why = words::reason::sentence(&next.reason, next.key, mode, &who.page, today);
    vec![why.trim_end_matches('.').to_owned(), format!("quarter = {:.0}", next.tempo.0)]
}

/// What is known of a key so far.
fn known(learner: &LearnerModel, pattern: &Pattern, key: ConcertKey, meant: &Meant) -> String {
    let row = learner.key_stats(&pattern.id, key);
    let tempo = row.reached().map(|tempo| format!("reached {:.0}", tempo.0));
    let reflex = row.reflex(meant.form).map(|time| format!("reflex {}", meant.who.page.reflex(time)));
    let holds = learner.holds(&pattern.id, key, &meant.plan.goals).map(|how| match how {
        Holds::Freely => "holds".to_owned(),
        Holds::InTempo => "holds in tempo".to_owned(),
    });
    let known: Vec<String> = [tempo, reflex, holds].into_iter().flatten().collect();
    match (known.is_empty(), row.answers()) {
        (false, _) => known.join(", "),
        (true, 0) => "not answered yet".to_owned(),
        (true, _) => "not passed yet".to_owned(),
    }
}
