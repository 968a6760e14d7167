//! Keys that were told late, as a table in plain text of at most 80 columns or in a sentence, and rounds without a stop.

use crate::music::Mode;
use crate::report::by_warning::WarningRow;
use crate::report::lines::line;
use crate::words::numbers::numbered;
use crate::words::{self, Page};

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
}
