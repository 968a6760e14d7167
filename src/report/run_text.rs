use std::fmt::Write as _;

use crate::music::{Concert, Instrument, Intonation};
use crate::report::held_text::held;
use crate::report::lines::wrapped;
use crate::report::moved::MovedWhere;
use crate::report::run::{MovedRow, RunIntonation};
use crate::report::trend::{Doubt, Drift};
use crate::report::tuning::{PitchRow, alike, hint, to_work_on};
use crate::units::Cents;
use crate::words::Page;
use crate::words::numbers::{capital, count, numbered, signed};

/// Smallest number of pitches in a table: with fewer it says less than the tone itself.
const TABLE: usize = 2;
/// Widest bound on a drift that is written, in cents: a wider one says nothing.
const UNKNOWN: f64 = 30.0;
/// Finest bound on a drift that is written, in cents: a finer one is written as this.
const FELT: f64 = 3.0;
/// A note that lies no farther off than this is not named the farthest.
const FARTHEST: Cents = Cents(5.0);
/// A general offset is that of the way that all notes move where they begin nearer to their pitches than it by more than this.
const OWN_WAY: Cents = Cents(5.0);
/// A way that all notes move is told, whatever the general offset, where it is longer than this.
const HABIT: Cents = Cents(20.0);
/// Smallest number of pitches for which notes to work on are named.
const PLAN: usize = 3;

/// The table as text of at most 80 columns, on the player's page. Below it stand the notes to work on and what the instrument does to notes
/// that are out of tune (named in written pitch, as fingerings are), then how many notes were unclear, and the held tones.
#[must_use]
pub fn run_to_text(run: &RunIntonation, page: &Page) -> String {
    let mut out = String::new();
    let named = |pitch: Concert| if rises(run) { page.rising(pitch) } else { page.pitch(pitch) };
    if let Some(offset) = run.offset {
        common(&mut out, run, offset, &named);
        if run.rows.len() >= TABLE {
            table(&mut out, &run.rows, &named);
        }
        if run.way_down.is_some_and(|by| is_far(by, &page.instrument)) {
            out.push_str("\nTo work on first: the way down as a whole.\n");
        }
        if run.rows.len() >= PLAN {
            work_on(&mut out, &run.own, &page.instrument, &named);
        }
        for sentence in moved(run, &page.instrument, &named) {
            wrapped(&mut out, "", &sentence);
        }
        for hint in hints(run, page) {
            wrapped(&mut out, "", &hint);
        }
    }
    unclear(&mut out, run);
    for tone in &run.held {
        wrapped(&mut out, "", &held(tone, page));
    }
    out
}

/// Whether cents lie beyond what is in tune on this instrument.
fn is_far(by: Cents, instrument: &Instrument) -> bool {
    matches!(instrument.intonation, Intonation::Scored { in_tune, .. } if by.abs() > in_tune)
}

/// Whether the line of a run only rises.
fn rises(run: &RunIntonation) -> bool {
    run.rows.iter().all(|row| row.down.is_none()) && run.rows.iter().any(|row| row.up.is_some())
}

/// What the instrument does to the notes to work on, a sentence each: advice on other notes would be one more task.
fn hints(run: &RunIntonation, page: &Page) -> Vec<String> {
    let Intonation::Scored { in_tune, .. } = page.instrument.intonation else { return Vec::new() };
    let named = to_work_on(&run.own, in_tune).into_iter().filter(|_| run.rows.len() >= TABLE);
    named.filter_map(|row| hint(page, row.pitch, row.all, rises(run))).collect()
}

/// The few pitches that moved while they sounded, a sentence each; nothing where intonation is not the player's.
fn moved(run: &RunIntonation, instrument: &Instrument, name: &dyn Fn(Concert) -> String) -> Vec<String> {
    if instrument.intonation == Intonation::Unscored {
        return Vec::new();
    }
    run.moved.iter().take(PLAN).map(|row| moved_words(row, &name(row.pitch))).collect()
}

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
        (times, of) if times < of => format!(", {times} of {of} times"),
        (1, _) => String::new(),
        _ => ", each time".to_owned(),
    };
    format!("{name} {how}{often}.")
}

/// How the way down lies as a whole against the way up.
pub(super) fn way_down(by: Cents) -> String {
    let side = if by.0 < 0.0 { "lower" } else { "higher" };
    format!("going down, everything lies {:.0} cents {side} than going up", by.0.abs())
}

/// The general offset, and whose it is: where most notes sag or rise while they sound, it is no more than that.
fn offset_words(offset: Cents, notes_move: Option<Cents>) -> String {
    let general = format!("general offset {} cents", signed(offset));
    // Where the notes begin nearer to their pitches, the offset is that of their way and not of the horn.
    let begins = notes_move.map(|by| offset - Cents(0.5 * by.0)).filter(|it| it.abs() + OWN_WAY < offset.abs());
    match (notes_move, begins) {
        (Some(by), Some(begins)) => format!("{general}, but {}: they begin at {}", most_move(by), signed(begins)),
        (Some(by), None) if by.abs() > HABIT => {
            format!("{general}: so your instrument or the room stands; {}", most_move(by))
        }
        _ => format!("{general}: so your instrument or the room stands"),
    }
}

/// What most notes do while they sound.
fn most_move(by: Cents) -> String {
    format!("most notes {} by {:.0} while they sound", if by.0 < 0.0 { "sag" } else { "rise" }, by.0.abs())
}

/// What most notes do while they sound, where it is far enough to be told by itself.
pub(super) fn habit(notes_move: Option<Cents>) -> Option<String> {
    notes_move.filter(|by| by.abs() > HABIT).map(most_move)
}

/// Writes what all notes have in common: the general offset and the drift.
fn common(out: &mut String, run: &RunIntonation, offset: Cents, name: &dyn Fn(Concert) -> String) {
    out.push('\n');
    match &run.rows[..] {
        [_] if !run.held.is_empty() => {}
        [row] => wrapped(out, "", &format!("one pitch: {}, {} cents", name(row.pitch), signed(offset))),
        _ => {
            wrapped(out, "", &offset_words(offset, run.notes_move));
        }
    }
    if let (Some(other), Some(first)) = (run.other, run.first) {
        let (side, beside) = if other.0 < 0.0 { ("above", first.0 + 1) } else { ("below", first.0 - 1) };
        let sentence = format!(
            "or every note is the half step {side} its name here, and the general offset is {}: to say which, name your \
             first note: --begins-on {} or {}",
            signed(other),
            name(first),
            name(Concert(beside)),
        );
        wrapped(out, "", &sentence);
    }
    run.way_down.into_iter().for_each(|by| wrapped(out, "", &way_down(by)));
    if let Some(drift) = run.drift {
        let beside = if run.way_down.is_some() { "beside that, " } else { "" };
        wrapped(out, "", &format!("{beside}{}{}", drift_words(&drift), what_became(&drift)));
    }
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

fn what_became(drift: &Drift) -> &'static str {
    match (drift.doubt, drift.taken_out) {
        (Some(Doubt::OneWay), _) => {
            "; as the line goes one way only, this may as well be how high and low notes lie: play it back too"
        }
        (Some(Doubt::WayDown), _) => {
            " (taken out below); this may as well be how the way down lies: a second run tells them apart"
        }
        (None, true) => " (taken out below)",
        (None, false) => "",
    }
}

fn table(out: &mut String, rows: &[PitchRow], name: &dyn Fn(Concert) -> String) {
    out.push_str("\n(in cents, what all notes have in common taken out)\n");
    out.push_str("note   times   going up   going down      all   spread\n");
    let cents = |value: Option<Cents>| value.map_or("-".to_owned(), signed);
    for row in rows {
        let (up, down, all) = (cents(row.up), cents(row.down), signed(row.all));
        // One note has no spread.
        let spread = if row.times > 1 { format!("{:.0}", row.spread.0) } else { "-".to_owned() };
        let _ = writeln!(out, "{:6} {:5} {up:>10} {down:>12} {all:>8} {spread:>8}", name(row.pitch), row.times);
    }
}

/// The few notes to work on, or that there is none; nothing where intonation is not the player's.
pub(super) fn work_on(out: &mut String, rows: &[PitchRow], instrument: &Instrument, name: &dyn Fn(Concert) -> String) {
    let Intonation::Scored { in_tune, .. } = instrument.intonation else { return };
    let (far, alike) = (to_work_on(rows, in_tune), alike(rows));
    out.push('\n');
    if far.is_empty() {
        let farthest = to_work_on(rows, FARTHEST).first().map_or_else(String::new, |row| {
            format!("; the farthest is {}, {}", name(row.pitch), off(row, in_tune, alike))
        });
        return wrapped(out, "", &format!("No note lies more than {:.0} cents off the others{farthest}.", in_tune.0));
    }
    let many = match far.len() {
        1 => "One note".to_owned(),
        more => format!("{} notes", capital(&count(more))),
    };
    let _ = writeln!(out, "{many} to work on, in cents");
    for row in far {
        wrapped(out, "  ", &format!("{:5} {}", name(row.pitch), off(row, in_tune, alike)));
    }
}

/// How far a note lies off: by each way where the ways lie far apart, else by the farthest way where they differ by more than `alike`, or by
/// all its notes together.
pub(super) fn off(row: &PitchRow, in_tune: Cents, alike: Cents) -> String {
    let side_of = |cents: Cents| match cents.0.round() {
        0.0 => "true".to_owned(),
        flat if flat < 0.0 => format!("{:.0} flat", -flat),
        sharp => format!("{sharp:.0} sharp"),
    };
    match (row.up, row.down) {
        (Some(up), Some(down)) if (up - down).abs() > in_tune.max(alike) => {
            format!("{} going up, {} going down", side_of(up), side_of(down))
        }
        _ => match row.farthest_way(alike) {
            (cents, Some(way)) => format!("{} going {way}", side_of(cents)),
            (cents, None) => side_of(cents),
        },
    }
}

/// Why there is no table, or what is missing from it.
fn unclear(out: &mut String, run: &RunIntonation) {
    let sentence = match (run.heard, run.unclear) {
        (0, _) | (_, 0) => return,
        (heard, unclear) if heard == unclear => format!(
            "\nno table: {} too short or too unclear to tell how in tune; hold each for a third of a second",
            match heard {
                1 => "the one note was".to_owned(),
                many => format!("all {many} notes were"),
            }
        ),
        (_, unclear) => format!("{} too short or too unclear to count", were(unclear as usize)),
    };
    wrapped(out, "", &sentence);
}

fn were(number: usize) -> String {
    format!("{} {}", numbered(number, "note"), if number == 1 { "was" } else { "were" })
}
