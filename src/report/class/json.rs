use serde_json::{Value, json};

use crate::report::class::lessons::ChartDone;
use crate::report::class::{ClassReason, ClassRow, Lack, LeftKey, LessonDone, WeakKey};
use crate::report::review_json::{player, week};

/// A class as JSON; keys are as they sound, units stand in the names.
#[must_use]
pub fn class_json(rows: &[ClassRow], today: i32, unreadable: &[String], later: &[String]) -> Value {
    let rows: Vec<Value> = rows.iter().map(row).collect();
    json!({ "today_day": today, "unreadable": unreadable, "dated_after_today": later, "players": rows })
}

fn row(row: &ClassRow) -> Value {
    json!({
        "player": row.player.as_ref().map(player), "called": row.called, "instrument": row.instrument,
        "simulated": row.simulated, "last_day": row.last, "this_week": row.this.as_ref().map(week),
        "week_before": row.before.as_ref().map(week),
        "weakest": row.weakest.iter().map(weak).collect::<Vec<_>>(),
        "reasons": row.reasons.iter().map(reason).collect::<Vec<_>>(),
        "lessons": row.lessons.iter().map(lesson).collect::<Vec<_>>(),
    })
}

fn weak(weak: &WeakKey) -> Value {
    let key = weak.key.name();
    match weak.lack {
        Lack::Right { whole, of } => json!({ "concert_key": key, "lacks": "right", "whole": whole, "of": of }),
        Lack::Pace { pace, goal } => {
            json!({ "concert_key": key, "lacks": "pace", "quarter_per_minute": pace.0, "goal_quarter_per_minute": goal.0 })
        }
        Lack::Reflex { time, goal } => {
            json!({ "concert_key": key, "lacks": "reflex", "reflex_s": time.0, "goal_reflex_s": goal.0 })
        }
    }
}

fn reason(reason: &ClassReason) -> Value {
    match reason {
        ClassReason::Stopped { last, days } => json!({ "reason": "stopped", "last_day": last, "days": days }),
        ClassReason::NoRest { days, day, long } => {
            json!({ "reason": "no_rest", "days": days, "day": day, "longest_s": long.0 })
        }
        ClassReason::LeftBehind { pattern, title, keys } => {
            let keys: Vec<Value> = keys.iter().map(left).collect();
            json!({ "reason": "left_behind", "pattern": pattern.0, "title": title, "keys": keys })
        }
        ClassReason::SameFault { days, fault } => json!({
            "reason": "same_fault", "days": days, "pattern": fault.pattern.0, "title": fault.title,
            "note": fault.fault.0 + 1, "sentence": fault.sentence,
        }),
    }
}

fn left(left: &LeftKey) -> Value {
    json!({
        "concert_key": left.key.name(), "last_day": left.last, "lacks": if left.fails() { "right" } else { "pace" },
        "whole": left.whole.0, "of": left.whole.1, "best_quarter_per_minute": left.best.map(|best| best.0),
        "others_best_quarter_per_minute": left.others.map(|others| others.0),
    })
}

fn lesson(done: &LessonDone) -> Value {
    let mark = &done.lesson;
    json!({
        "name": mark.name, "sha256": mark.sha256, "trial": mark.trial, "by": mark.by, "days_set": mark.days,
        "days": done.days, "answered": done.answered.map(|it| it.0), "of": done.answered.map(|it| it.1),
        "whole": done.whole, "patterns": done.patterns, "days_after": done.afterwards.0,
        "answered_after": done.afterwards.1, "other_text": done.other_text,
        "charts": done.charts.iter().map(|ChartDone { chart, phrases: [phrases, answered, whole] }| {
            json!({ "chart": chart, "phrases": phrases, "answered": answered, "whole": whole })
        }).collect::<Vec<_>>(),
    })
}
