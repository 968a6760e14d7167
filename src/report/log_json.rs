//! A log as JSON; units stand in the names. Keys are as they sound.

use serde_json::{Value, json};

use crate::music::Mode;
use crate::report::in_use::used_json;
use crate::report::log::{LogPart, LogWeek, Returning};
use crate::report::review_json::{divided, held_out, kept, player, rounds, steadiness, warning, week};

/// The whole log, what could not be read, and what is dated after today.
#[must_use]
pub fn log_json(parts: &[LogPart], today: i32, unreadable: &[String], later: &[String]) -> Value {
    let parts: Vec<Value> = parts.iter().map(part).collect();
    json!({ "today_day": today, "unreadable": unreadable, "dated_after_today": later, "parts": parts })
}

fn part(part: &LogPart) -> Value {
    json!({
        "player": part.player.as_ref().map(player), "instrument": part.instrument, "simulated": part.simulated,
        "first_day": part.from_to.0, "last_day": part.from_to.1, "sittings": part.sittings.0, "days": part.sittings.1,
        "sounding_s": part.sounding.0,
        "weeks": part.weeks.iter().map(log_week).collect::<Vec<_>>(),
        "last_seven_days": part.this_against_last.as_ref().map(|both| both.iter().map(week).collect::<Vec<_>>()),
        "kept": part.kept.iter().map(kept).collect::<Vec<_>>(),
        "held_out": part.held_out.iter().map(held_out).collect::<Vec<_>>(),
        "told_late": part.late.as_ref().map(|all| warning(all, Mode::Major, None)),
        "rounds": rounds(&part.rounds),
        "by_ear": { "whole": part.by_ear.0, "of": part.by_ear.1, "sittings": part.by_ear.2 },
        "with_key_shown": { "whole": part.shown.0, "of": part.shown.1 },
        "second_task": part.second_task.as_ref().map(|(cost, counts)| divided(cost, counts)),
        "in_use": used_json(&part.in_use),
        "steadiness": part.steadiness.as_ref().map(steadiness),
        "left_alone": part.returning.iter().map(returning).collect::<Vec<_>>(),
    })
}

fn log_week(it: &LogWeek) -> Value {
    let mut row = week(&it.row);
    row["practised"] =
        it.practised.iter().map(|(title, answers)| json!({ "title": title, "answers": answers })).collect();
    row
}

fn returning(it: &Returning) -> Value {
    json!({
        "pattern": it.pattern.0, "title": it.title, "concert_key": it.key.name(), "days": it.days, "right": it.right,
        "of": it.of, "whole": it.whole,
    })
}
