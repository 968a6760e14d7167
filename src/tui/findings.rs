use crate::drill::{KeyRow, Snapshot};
use crate::tui::model::Look;
use crate::words::numbers::count;
use crate::words::reason;

/// So many keys are named together.
const FEW: usize = 3;

/// Up to three sentences on a sitting, from the numbers on its screen.
#[must_use]
pub fn three(look: &Look, snapshot: &Snapshot) -> Vec<String> {
    let asked: Vec<&KeyRow> = snapshot.keys.iter().filter(|row| row.answers_today > 0).collect();
    if asked.is_empty() {
        return vec!["No key was answered yet.".to_owned()];
    }
    let mut found: Vec<String> =
        [gained_most(look, snapshot, &asked), from_slow_to_quick(look, &asked)].into_iter().flatten().collect();
    let holds: Vec<&str> = asked.iter().filter(|row| row.holds).map(|row| look.key(row.key)).collect();
    if let Some(goals) = &snapshot.all_hold {
        found.insert(0, reason::all_hold(snapshot.keys.len(), goals));
    } else if !holds.is_empty() {
        found.push(format!("At the goal on two different days: {}.", holds.join(", ")));
    }
    found.extend(most_often(look, &asked));
    if found.is_empty() {
        found.push("No key stands out.".to_owned());
    }
    found.truncate(3);
    found
}

/// The keys of which a whole number is largest, and that number; keys that are equal on the screen are equal here.
fn largest<'a>(rows: &[&'a KeyRow], number: impl Fn(&KeyRow) -> i64) -> Option<(i64, Vec<&'a KeyRow>)> {
    let most = rows.iter().map(|row| number(row)).max()?;
    Some((most, rows.iter().copied().filter(|row| number(row) == most).collect()))
}

/// Names of a few keys; more are counted, for a list of many tells nothing.
fn names(look: &Look, rows: &[&KeyRow]) -> String {
    if rows.len() > FEW {
        return format!("{} keys", count(rows.len()));
    }
    rows.iter().map(|row| look.key(row.key)).collect::<Vec<_>>().join(", ")
}

/// Whole quarters a minute.
fn tempo(row: &KeyRow) -> i64 {
    row.tempo.map_or(0, |tempo| tempo.0.round() as i64)
}

fn gained_most(look: &Look, snapshot: &Snapshot, answered: &[&KeyRow]) -> Option<String> {
    let gain = |row: &KeyRow| {
        let before = snapshot.before.iter().find(|was| was.key == row.key && was.tempo.is_some());
        before.map_or(0, |before| tempo(row) - tempo(before))
    };
    let (most, keys) = largest(answered, gain).filter(|(most, _)| *most > 0)?;
    Some(format!("Gained most, quarter {most:+} today: {}.", names(look, &keys)))
}

fn from_slow_to_quick(look: &Look, answered: &[&KeyRow]) -> Option<String> {
    let (quick, quickest) = largest(answered, tempo)?;
    let (slow, slowest) = largest(answered, |row| -tempo(row))?;
    let (slow, quickest, slowest) = (-slow, names(look, &quickest), names(look, &slowest));
    (slow < quick).then(|| format!("Slowest, quarter = {slow}: {slowest}. Quickest, quarter = {quick}: {quickest}."))
}

fn most_often(look: &Look, answered: &[&KeyRow]) -> Option<String> {
    let often = |row: &KeyRow| i64::from(row.answers_today);
    let (times, keys) = largest(answered, often).filter(|(times, keys)| *times > 1 && keys.len() <= FEW)?;
    let times = if times == 2 { "twice".to_owned() } else { format!("{} times", count(times as usize)) };
    Some(format!("Answered most often, {times}: {}.", names(look, &keys)))
}
