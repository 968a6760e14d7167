//! What is said of the intonation of a run and of a judged line alike.

use crate::music::Concert;
use crate::report::moved::MovedWhere;
use crate::report::over_pitch::OverPitch;
use crate::report::over_time::RunArch;
use crate::report::run::{RunIntonation, RunStep};
use crate::report::run_moves::{MovedRow, PartMoves, RunPart};
use crate::report::trend::Drift;
use crate::units::Cents;

/// Widest bound on a drift that is written, in cents: a wider one says nothing.
const UNKNOWN: f64 = 30.0;
/// Finest bound on a drift that is written, in cents: a finer one is written as this.
const FELT: f64 = 3.0;
/// A way that all notes move is told, whatever the general offset, where it is longer than this.
pub(super) const HABIT: Cents = Cents(20.0);

/// How one pitch moved, in a sentence.
pub(super) fn moved_words(row: &MovedRow, name: &str) -> String {
    let by = row.by.0.abs();
    let falls = row.by.0 < 0.0;
    let how = match row.place {
        MovedWhere::Throughout if falls => format!("sags by {by:.0} while it sounds"),
        MovedWhere::Throughout => format!("rises by {by:.0} while it sounds"),
        MovedWhere::AtFirst if falls => format!("begins {by:.0} sharp and falls into its pitch"),
        MovedWhere::AtFirst => format!("begins {by:.0} flat and rises into its pitch"),
        MovedWhere::AtLast if falls => format!("sags by {by:.0} at its end"),
        MovedWhere::AtLast => format!("rises by {by:.0} at its end"),
    };
    let often = match row.times {
        (times, of) if times < of => match row.way {
            Some(way) => format!(", only going {way}"),
            None => format!(", {times} of {of} times"),
        },
        (1, _) => String::new(),
        _ => ", each time".to_owned(),
    };
    format!("{name} {how}{often}.")
}

/// How one way lies as a whole against the other. Where a line goes up and down from note to note, no way is meant but where a note
/// was reached from.
pub(super) fn way_down(by: Cents, zigzag: bool) -> String {
    let side = if by.0 < 0.0 { "lower" } else { "higher" };
    let by = by.0.abs();
    if zigzag {
        return format!("notes reached from above lie {by:.0} cents {side} than those reached from below");
    }
    format!("going down, everything lies {by:.0} cents {side} than going up")
}

/// What several notes have in common beside the general offset and a drift, a sentence each without its capital: a way, a step, what goes
/// with height, and a part whose notes sag or rise. `note` names a note by its place among those heard, and `name` a pitch.
pub(super) fn in_common(
    run: &RunIntonation,
    note: &dyn Fn(usize, Concert) -> String,
    name: &dyn Fn(Concert) -> String,
) -> Vec<String> {
    let mut said: Vec<String> = run.step.iter().map(|step| step_words(step, note)).collect();
    said.extend(run.arch.map(|arch| arch_words(&arch, note)));
    said.extend(run.way_down.map(|by| way_down(by, run.zigzag)));
    said.extend(run.over_pitch.map(|shape| height_words(shape, name)));
    said.extend(run.part_moves.map(|part| part_words(part, run.zigzag, note)));
    said
}

/// How the pitch went there and back over time.
fn arch_words(arch: &RunArch, note: &dyn Fn(usize, Concert) -> String) -> String {
    let [there, back] = arch.by.map(|by| by.0.abs());
    let (one, other) = if arch.by[0].0 < 0.0 { ("falling", "rising") } else { ("rising", "falling") };
    let turn = note(arch.turn, arch.pitch);
    format!("{one} by {there:.0} cents up to {turn} and {other} again by {back:.0}")
}

/// From which note on all lie otherwise.
fn step_words(step: &RunStep, note: &dyn Fn(usize, Concert) -> String) -> String {
    let by = (step.after - step.before).0;
    let side = if by < 0.0 { "lower" } else { "higher" };
    let from = note(step.from, step.pitch);
    let said = format!("from {from} on, everything lies {:.0} cents {side} than before", by.abs());
    if step.one_way {
        let high = "as the line goes one way only, this may as well be how high and low notes lie";
        return format!("{said}; {high}");
    }
    said
}

/// How intonation goes with height.
fn height_words(shape: OverPitch, name: &dyn Fn(Concert) -> String) -> String {
    let lies = |cents: Cents| match cents.0.round() {
        0.0 => "true".to_owned(),
        flat if flat < 0.0 => format!("{:.0} flat", -flat),
        sharp => format!("{sharp:.0} sharp"),
    };
    let side = |by: Cents| if by.0 < 0.0 { "flatter" } else { "sharper" };
    match shape {
        OverPitch::Even { low, high } => format!(
            "the higher, the {}: evenly from {} at {} to {} at {}",
            side(high.1 - low.1),
            lies(low.1),
            name(low.0),
            lies(high.1),
            name(high.0)
        ),
        OverPitch::Above { from, by, until, .. } => format!(
            "up to {} the notes lie alike; above it, the higher the {}, by {:.0} cents at {}",
            name(from),
            side(by),
            by.0.abs(),
            name(until)
        ),
        OverPitch::Below { from, by, until, .. } => format!(
            "down to {} the notes lie alike; below it, the lower the {}, by {:.0} cents at {}",
            name(from),
            side(by),
            by.0.abs(),
            name(until)
        ),
        OverPitch::Break { from, by, .. } => {
            let higher = if by.0 < 0.0 { "lower" } else { "higher" };
            format!("from {} up, everything lies {:.0} cents {higher} than below it", name(from), by.0.abs())
        }
    }
}

/// Which notes sag or rise while the others do not, and what that does to their cents.
fn part_words(moves: PartMoves, zigzag: bool, note: &dyn Fn(usize, Concert) -> String) -> String {
    let part = match moves.part {
        RunPart::From(n, pitch) => format!("from {} on", note(n, pitch)),
        RunPart::Down if zigzag => "where they are reached from above".to_owned(),
        RunPart::Up if zigzag => "where they are reached from below".to_owned(),
        RunPart::Down => "going down".to_owned(),
        RunPart::Up => "going up".to_owned(),
    };
    let low = if moves.by.0 < 0.0 { "low" } else { "high" };
    let by = (0.5 * moves.by.0.abs()).round();
    format!("{part}, {}: so they lie some {by:.0} cents {low}; the other notes do not", most_move(moves.by))
}

/// What most notes do while they sound.
pub(super) fn most_move(by: Cents) -> String {
    format!("most notes {} by {:.0} while they sound", if by.0 < 0.0 { "sag" } else { "rise" }, by.0.abs())
}

/// What most notes do while they sound, where it is far enough to be told by itself.
pub(super) fn habit(notes_move: Option<Cents>) -> Option<String> {
    notes_move.filter(|by| by.abs() > HABIT).map(most_move)
}

/// A drift in words, the same in every report.
pub(super) fn drift_words(drift: &Drift) -> String {
    let (by, within) = (drift.by.0.abs(), drift.within.0);
    if !drift.taken_out && drift.doubt.is_none() {
        return match (by + within).ceil() {
            unknown if unknown > UNKNOWN => "whether it drifted, these notes do not tell".to_owned(),
            bound => format!("no drift of more than {:.0} cents from first to last", bound.max(FELT)),
        };
    }
    let moving = if drift.by.0 > 0.0 { "rising" } else { "falling" };
    format!("{moving} by {by:.0} cents from first to last, give or take {:.0}", within.ceil().max(1.0))
}
