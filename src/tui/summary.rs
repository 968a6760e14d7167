use crate::coach::Holds;
use crate::drill::{KeyRow, Snapshot};
use crate::music::Mode;
use crate::tui::model::Appearance;
use crate::words::numbers::count;
use crate::words::reason;

/// Largest number of keys that one sentence names, except the keys that hold, which are all named.
const FEW: usize = 3;

/// Up to three sentences on a sitting, from the numbers on its screen; a fault that came back stands first, or second where all
/// keys hold. None where nothing counted because keys were told late or a second task was set.
#[must_use]
pub fn three(look: &Appearance, snapshot: &Snapshot) -> Vec<String> {
    let asked: Vec<&KeyRow> = snapshot.keys.iter().filter(|row| row.answers_today > 0).collect();
    if asked.is_empty() && (!snapshot.warned.is_empty() || snapshot.second_task.is_some()) {
        return Vec::new();
    }
    if asked.is_empty() {
        return vec!["No key was answered yet.".to_owned()];
    }
    let fault = snapshot.recurring.first().cloned();
    let mut found: Vec<String> =
        [fault, gained_most(look, snapshot, &asked), from_slow_to_quick(look, snapshot.mode, &asked)]
            .into_iter()
            .flatten()
            .collect();
    match &snapshot.all_hold {
        Some((how, goals)) => found.insert(0, reason::all_hold(snapshot.keys.len(), *how, goals)),
        None => found.extend(holding(look, snapshot.mode, &asked)),
    }
    found.extend(most_often(look, snapshot.mode, &asked));
    if found.is_empty() {
        found.push("No key stands out.".to_owned());
    }
    found.truncate(3);
    found
}

/// The keys answered today that hold. Those that hold in tempo alone stand apart, for nothing is known of their reflex times.
fn holding(look: &Appearance, mode: Mode, answered: &[&KeyRow]) -> Option<String> {
    let names = |how: Holds| {
        let those = answered.iter().filter(|row| row.holds == Some(how));
        those.map(|row| look.page.key(row.key, mode)).collect::<Vec<_>>().join(", ")
    };
    match (names(Holds::Freely), names(Holds::InTempo)) {
        (freely, in_tempo) if freely.is_empty() && in_tempo.is_empty() => None,
        (freely, in_tempo) if in_tempo.is_empty() => Some(format!("At the goal on two different days: {freely}.")),
        (freely, in_tempo) if freely.is_empty() => {
            Some(format!("At the goal's tempo on two different days, in tempo: {in_tempo}."))
        }
        (freely, in_tempo) => Some(format!("At the goal on two different days: {freely}; in tempo: {in_tempo}.")),
    }
}

/// The keys for which `number` is largest, and that number. Numbers are whole, so that keys that look equal on the screen are equal
/// here.
fn largest<'a>(rows: &[&'a KeyRow], number: impl Fn(&KeyRow) -> i64) -> Option<(i64, Vec<&'a KeyRow>)> {
    let most = rows.iter().map(|row| number(row)).max()?;
    Some((most, rows.iter().copied().filter(|row| number(row) == most).collect()))
}

/// The names of a few keys, or the number of many, because a list of many tells nothing.
fn names(look: &Appearance, mode: Mode, rows: &[&KeyRow]) -> String {
    if rows.len() > FEW {
        return format!("{} keys", count(rows.len()));
    }
    rows.iter().map(|row| look.page.key(row.key, mode)).collect::<Vec<_>>().join(", ")
}

/// The tempo a key has reached, in whole quarters a minute.
fn reached(row: &KeyRow) -> Option<i64> {
    row.reached.map(|tempo| tempo.0.round() as i64)
}

fn gained_most(look: &Appearance, snapshot: &Snapshot, answered: &[&KeyRow]) -> Option<String> {
    let gain = |row: &KeyRow| {
        let before = snapshot.before.iter().find(|was| was.key == row.key).and_then(reached);
        reached(row).zip(before).map_or(0, |(now, before)| now - before)
    };
    let (most, keys) = largest(answered, gain).filter(|(most, _)| *most > 0)?;
    Some(format!("Gained most, quarter {most:+} today: {}.", names(look, snapshot.mode, &keys)))
}

fn from_slow_to_quick(look: &Appearance, mode: Mode, answered: &[&KeyRow]) -> Option<String> {
    let reaching: Vec<&KeyRow> = answered.iter().copied().filter(|row| row.reached.is_some()).collect();
    let tempo = |row: &KeyRow| reached(row).unwrap_or_default();
    let (quick, quickest) = largest(&reaching, tempo)?;
    let (slow, slowest) = largest(&reaching, |row| -tempo(row))?;
    let (slow, quickest, slowest) = (-slow, names(look, mode, &quickest), names(look, mode, &slowest));
    (slow < quick).then(|| format!("Best tempo held: from quarter = {slow} ({slowest}) to {quick} ({quickest})."))
}

fn most_often(look: &Appearance, mode: Mode, answered: &[&KeyRow]) -> Option<String> {
    let often = |row: &KeyRow| i64::from(row.answers_today);
    let (times, keys) = largest(answered, often).filter(|(times, keys)| *times > 1 && keys.len() <= FEW)?;
    let times = if times == 2 { "twice".to_owned() } else { format!("{} times", count(times as usize)) };
    Some(format!("Chosen most often, {times}: {}.", names(look, mode, &keys)))
}
