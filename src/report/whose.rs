//! Whose sittings belong together.

use crate::session::{Began, PlayerId, Session};

/// What belongs together: a player, an instrument, and whether the simulated player answered. Sittings from before players had ids have
/// no player.
pub(super) type Whose<'a> = (Option<PlayerId>, &'a str, bool);

/// The player, instrument and kind of player to whom a sitting belongs.
pub(super) fn whose(began: &Began) -> Whose<'_> {
    (began.player.as_ref().map(|player| player.id), began.instrument.as_str(), began.simulated)
}

/// Indexes of the sittings that belong together, as [`together_by`] gives them.
pub(super) fn together(sessions: &[Session]) -> Vec<Vec<usize>> {
    together_by(&sessions.iter().map(|session| &session.began).collect::<Vec<_>>())
}

/// Indexes of the sittings that belong together, each group in the order of time, groups in the order in which they came.
pub(super) fn together_by(began: &[&Began]) -> Vec<Vec<usize>> {
    let mut groups: Vec<(Whose<'_>, Vec<usize>)> = Vec::new();
    for (index, began) in began.iter().enumerate() {
        match groups.iter_mut().find(|(known, _)| *known == whose(began)) {
            Some((_, group)) => group.push(index),
            None => groups.push((whose(began), vec![index])),
        }
    }
    let time = |index: &usize| (began[*index].day, began[*index].started.as_str());
    for (_, group) in &mut groups {
        group.sort_by(|a, b| time(a).cmp(&time(b)));
    }
    groups.into_iter().map(|(_, group)| group).collect()
}
