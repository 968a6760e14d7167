use serde_json::{Value, json};

use crate::report::moved::MovedWhere;
use crate::report::over_pitch::OverPitch;
use crate::report::run::RunStep;
use crate::report::run_moves::{PartMoves, RunPart};
use crate::report::{Bend, Doubt, Drift, HeldTone, RunIntonation};
use crate::room::SoundCheck;
use crate::units::Cents;

/// A sound check as JSON: the levels, the opinions on them, and the table of the run. Units stand in the names.
#[must_use]
pub fn sound_check_json(check: &SoundCheck, notes: usize, opinions: &[String], run: &RunIntonation) -> Value {
    let levels = check.levels();
    json!({
        "peak_db": levels.peak.0, "floor_db": levels.floor.0, "notes": notes, "opinions": opinions, "run": run_json(run),
    })
}

/// The table of a run; cents of a row have the general offset taken out, and the drift where `taken_out` is true.
fn run_json(run: &RunIntonation) -> Value {
    let cents = |value: Option<Cents>| value.map(|cents| cents.0);
    let rows = run.rows.iter().map(|row| {
        json!({
            "midi": row.pitch.0, "times": row.times, "up_cents": cents(row.up), "down_cents": cents(row.down),
            "all_cents": row.all.0, "spread_cents": row.spread.0,
        })
    });
    let moved = run.moved.iter().map(|row| {
        let place = match row.place {
            MovedWhere::AtFirst => "at-first",
            MovedWhere::Throughout => "throughout",
            MovedWhere::AtLast => "at-last",
        };
        json!({ "midi": row.pitch.0, "by_cents": row.by.0, "where": place, "times": row.times.0 })
    });
    json!({
        "offset_cents": cents(run.offset), "other_offset_cents": cents(run.other),
        "drift_cents": run.drift.map(|drift| drift.by.0), "drift": run.drift.as_ref().map(drift_json),
        "way_down_cents": cents(run.way_down), "step": run.step.map(step_json), "over_pitch": run.over_pitch.map(over_pitch_json),
        "part_moves": run.part_moves.map(part_json), "notes_move_cents": cents(run.notes_move),
        "heard": run.heard, "unclear": run.unclear,
        "pitches": rows.collect::<Vec<_>>(), "moved": moved.collect::<Vec<_>>(), "held": run.held.iter().map(held_json).collect::<Vec<_>>(),
    })
}

/// All notes from one on lie otherwise; notes are counted from 0.
fn step_json(step: RunStep) -> Value {
    json!({
        "from": step.from, "midi": step.pitch.0, "before_cents": step.before.0, "after_cents": step.after.0,
        "one_way": step.one_way,
    })
}

/// How intonation goes with height: from which note to which, and how far these lie apart.
fn over_pitch_json(shape: OverPitch) -> Value {
    let (word, from, until, by) = match shape {
        OverPitch::Even { low, high } => ("even", low.0, Some(high.0), high.1 - low.1),
        OverPitch::Above { from, by, until, .. } => ("above", from, Some(until), by),
        OverPitch::Below { from, by, until, .. } => ("below", from, Some(until), by),
        OverPitch::Break { from, by, .. } => ("break", from, None, by),
    };
    json!({ "shape": word, "from_midi": from.0, "until_midi": until.map(|until| until.0), "by_cents": by.0 })
}

/// Which part of the run sags or rises.
fn part_json(moves: PartMoves) -> Value {
    let (word, from) = match moves.part {
        RunPart::From(n, _) => ("from", Some(n)),
        RunPart::Down => ("down", None),
        RunPart::Up => ("up", None),
    };
    json!({ "part": word, "from": from, "by_cents": moves.by.0 })
}

fn drift_json(drift: &Drift) -> Value {
    let doubt = drift.doubt.map(|doubt| match doubt {
        Doubt::OneWay => "one-way",
        Doubt::WayDown => "way-down",
    });
    json!({
        "by_cents": drift.by.0, "two_standard_errors_cents": drift.within.0, "taken_out": drift.taken_out, "or": doubt,
    })
}

fn held_json(tone: &HeldTone) -> Value {
    let legs = tone.legs.iter().flatten();
    let legs = legs.map(|leg| json!({ "lasting_s": leg.lasting.0, "by_cents": leg.by.0 }));
    let bend = |bend: Option<Bend>| bend.map(|bend| json!({ "by_cents": bend.by.0, "lasting_s": bend.lasting.0 }));
    json!({
        "lasted_s": tone.length.0, "midi": tone.centre.0, "drift_cents": tone.drift.0, "spread_cents": tone.spread.0,
        "from_midi": tone.from.0, "legs": legs.collect::<Vec<_>>(), "begins": bend(tone.begins), "ends": bend(tone.ends),
        "vibrato_hz": tone.vibrato.map(|vibrato| vibrato.rate.0),
        "vibrato_cents": tone.vibrato.map(|vibrato| vibrato.extent.0),
        "wave_hz": tone.wave.map(|wave| wave.rate.0), "wave_cents": tone.wave.map(|wave| wave.extent.0),
        "swell": tone.swell.map(|it| json!({ "at_s": it.at.0, "by_cents": it.by.0, "lasting_s": it.lasting.0 })),
    })
}
