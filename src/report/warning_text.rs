//! Keys that were told late, as a table in plain text of at most 80 columns or in a sentence, and rounds without a stop.

use crate::coach::{CHANCE, fewer_right};
use crate::music::Mode;
use crate::report::by_warning::WarningRow;
use crate::report::lines::{line, wrapped};
use crate::words::numbers::numbered;
use crate::words::{self, Page};

/// So many answers by ear, and so many with the key shown, tell in nine of ten cases a player who reads the key, and guesses it by ear
/// (`tests/program/coaching/planted_learners.rs`).
const EITHER: u32 = 12;

/// All keys that were told late in one paragraph, and the rounds without a stop in another; nothing of what was not practised.
pub(super) fn in_time_sentences(late: Option<&WarningRow>, rounds: &[(u32, u32)]) -> Vec<String> {
    let late = late.map(|all| {
        let (said, enough) = (words::warned::sentences(&all.shares), words::warned::shortest(&all.shortest));
        format!("Keys told late. {} Beats that leave eight of ten right: {enough}.", said.join(" "))
    });
    let rounds = rounds.last().map(|(right, of)| {
        let all = rounds.iter().fold((0u32, 0u32), |all, it| (all.0.saturating_add(it.0), all.1.saturating_add(it.1)));
        let many = numbered(rounds.len(), "round");
        format!(
            "{many} without a stop, all right and on the beat: {} of {}, in the latest {right} of {of}.",
            all.0, all.1
        )
    });
    late.into_iter().chain(rounds).collect()
}

/// Answers by ear alone in one sentence, where there were any.
pub(super) fn by_ear_sentence((whole, of, sittings): (u32, u32, u32)) -> Option<String> {
    let sittings = numbered(sittings as usize, "sitting");
    (of > 0).then(|| format!("By ear alone, neither key nor pattern shown: {whole} of {of} all right, in {sittings}."))
}

/// Whether answers by ear alone came all right less often than those with the key shown, which is so where the eye finds the key: in a
/// sentence, where there are enough of both to tell.
pub(super) fn eyes_or_ears((whole, of, _): (u32, u32, u32), shown: (u32, u32)) -> String {
    let with = format!(" With the key shown: {} of {}", shown.0, shown.1);
    if of < EITHER || shown.1 < EITHER {
        return format!(" Whether the eye helps takes {EITHER} answers by ear and {EITHER} with the key shown.");
    }
    match fewer_right((whole, of), shown, CHANCE) {
        true => with + ", more than chance explains: so far the eye helps to find the key.",
        false => with + ", no more than chance may give: nothing shows that the eye helps.",
    }
}

/// What the keys that were told late show beside the bounds of each: whether fewer answers were right with the least time than with the
/// most, and which keys alone were right more often with the least time than all others together.
fn what_they_show(rows: &[WarningRow], mode: Mode, page: &Page) -> Vec<String> {
    let Some((all, keys)) = rows.split_last() else { return Vec::new() };
    let (Some(most), Some(least)) = (all.shares.first(), all.shares.last()) else { return Vec::new() };
    let sinks = most.warning > least.warning && fewer_right((least.right, least.of), (most.right, most.of), CHANCE);
    let sinks = sinks.then(|| {
        "With the least time fewer were right than with the most, by more than chance gives: the key was guessed, or thought out too late."
            .to_owned()
    });
    let ahead = keys.iter().filter(|row| {
        let mine = row.shares.iter().find(|share| share.warning == least.warning);
        mine.is_some_and(|mine| {
            let others = (least.right.saturating_sub(mine.right), least.of.saturating_sub(mine.of));
            fewer_right(others, (mine.right, mine.of), CHANCE / keys.len() as f64)
        })
    });
    let ahead: Vec<String> = ahead.filter_map(|row| Some(page.key(row.key?, mode))).collect();
    let alone = (!ahead.is_empty()).then(|| {
        format!("With the least time right more often than in all other keys together: {}.", ahead.join(", "))
    });
    sinks.into_iter().chain(alone).collect()
}

/// Adds the table of keys that were told late, where there are any.
pub(super) fn warning_table(out: &mut String, rows: &[WarningRow], mode: Mode, page: &Page) {
    let Some((all, keys)) = rows.split_last() else { return };
    let warnings: Vec<u32> = all.shares.iter().map(|share| share.warning).collect();
    line(out, "");
    line(out, "Keys told late: all right and on the beat, by beats of warning");
    let head: String = warnings.iter().map(|warning| format!("{warning:>14}")).collect();
    line(out, &format!("Key {head}  enough"));
    let mut keys: Vec<&WarningRow> = keys.iter().collect();
    keys.sort_by_key(|row| row.key.map(|key| page.place(key)));
    for row in keys.into_iter().chain([all]) {
        let cell = |warning: &u32| {
            let share = row.shares.iter().find(|share| share.warning == *warning);
            format!("{:>14}", share.map_or_else(|| "-".to_owned(), words::warned::brief))
        };
        let name = row.key.map_or_else(|| "all".to_owned(), |key| page.key(key, mode));
        let cells: String = warnings.iter().map(cell).collect();
        line(out, &format!("{name:<4}{cells}  {}", words::warned::shortest(&row.shortest)));
    }
    line(out, "Behind each count: how many of 100 would likely be right (Wilson, 95 of 100).");
    line(out, "Enough: so many beats leave eight of ten right; \"or more\" as long as no sixteen");
    line(out, "answers show it. These answers count in no other table.");
    what_they_show(rows, mode, page).iter().for_each(|said| wrapped(out, "", said));
}
