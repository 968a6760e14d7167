use crate::drill::{KeyRow, Snapshot};
use crate::tui::model::Look;

/// Up to three sentences on a sitting, from the numbers on its screen.
#[must_use]
pub fn three(look: &Look, snapshot: &Snapshot) -> Vec<String> {
    let asked: Vec<&KeyRow> = snapshot.keys.iter().filter(|row| row.cues_today > 0).collect();
    if asked.is_empty() {
        return vec!["No key was asked yet.".to_owned()];
    }
    let tempo = |row: &KeyRow| row.tempo.map_or(0.0, |tempo| tempo.0);
    let mut found = Vec::new();
    let gain = |row: &KeyRow| {
        let before = snapshot.before.iter().find(|was| was.key == row.key).and_then(|was| was.tempo);
        before.map_or(0.0, |before| tempo(row) - before.0)
    };
    if let Some(most) = asked.iter().filter(|row| gain(row) >= 1.0).max_by(|a, b| gain(a).total_cmp(&gain(b))) {
        found.push(format!(
            "{} gained most: quarter = {:.0}, {:+.0} today.",
            look.key(most.key),
            tempo(most),
            gain(most)
        ));
    }
    let slowest = asked.iter().min_by(|a, b| tempo(a).total_cmp(&tempo(b)));
    let quickest = asked.iter().max_by(|a, b| tempo(a).total_cmp(&tempo(b)));
    if let (Some(slow), Some(quick)) = (slowest, quickest)
        && tempo(quick) - tempo(slow) >= 1.0
    {
        let (slow_key, quick_key) = (look.key(slow.key), look.key(quick.key));
        let (slow, quick) = (tempo(slow), tempo(quick));
        found.push(format!(
            "{slow_key} is the slowest key at quarter = {slow:.0}, {quick_key} the quickest at {quick:.0}."
        ));
    }
    let holds: Vec<&str> = asked.iter().filter(|row| row.holds).map(|row| look.key(row.key)).collect();
    if !holds.is_empty() {
        found.push(format!("At the goal on two different days: {}.", holds.join(", ")));
    }
    let most = asked.iter().max_by_key(|row| row.cues_today);
    if let Some(most) = most
        && found.len() < 3
    {
        found.push(format!("{} was asked most often: {} times.", look.key(most.key), most.cues_today));
    }
    found.truncate(3);
    found
}
