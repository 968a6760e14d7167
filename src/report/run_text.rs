use std::fmt::Write as _;

use crate::music::{Concert, Instrument, Intonation};
use crate::report::held_tone::HeldTone;
use crate::report::lines::wrapped;
use crate::report::run::RunIntonation;
use crate::report::trend::{Doubt, Drift};
use crate::report::tuning::{PitchRow, hint, to_work_on};
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
/// Smallest number of pitches for which notes to work on are named.
const PLAN: usize = 3;

/// The table as text of at most 80 columns, on the player's page. Below it stand the notes to work on and what the instrument does to notes
/// that are out of tune (named in written pitch, as fingerings are), then how many notes were unclear, and the held tones.
#[must_use]
pub fn run_to_text(run: &RunIntonation, page: &Page) -> String {
    let mut out = String::new();
    let named = |pitch: Concert| page.pitch(pitch);
    if let Some(offset) = run.offset {
        common(&mut out, run, offset, &named);
        if run.rows.len() >= TABLE {
            table(&mut out, &run.rows, &named);
        }
        if run.rows.len() >= PLAN {
            work_on(&mut out, &run.rows, &page.instrument, &named);
        }
        for row in run.rows.iter().filter(|_| run.rows.len() >= TABLE) {
            if let Some(hint) = hint(page, row.pitch, row.all) {
                wrapped(&mut out, "", &hint);
            }
        }
    }
    unclear(&mut out, run);
    for tone in &run.held {
        wrapped(&mut out, "", &held(tone, page));
    }
    out
}

/// Writes what all notes have in common: the general offset and the drift.
fn common(out: &mut String, run: &RunIntonation, offset: Cents, name: &dyn Fn(Concert) -> String) {
    out.push('\n');
    match &run.rows[..] {
        [_] if !run.held.is_empty() => {}
        [row] => wrapped(out, "", &format!("one pitch: {}, {} cents", name(row.pitch), signed(offset))),
        _ => {
            wrapped(out, "", &format!("general offset {} cents: so your instrument or the room stands", signed(offset)))
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
    if let Some(drift) = run.drift {
        wrapped(out, "", &format!("{}{}", drift_words(&drift), what_became(&drift)));
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
    let far = to_work_on(rows, in_tune);
    out.push('\n');
    if far.is_empty() {
        let farthest = to_work_on(rows, FARTHEST)
            .first()
            .map_or_else(String::new, |row| format!("; the farthest is {}, {}", name(row.pitch), off(row, in_tune)));
        return wrapped(out, "", &format!("No note lies more than {:.0} cents off the others{farthest}.", in_tune.0));
    }
    let many = match far.len() {
        1 => "One note".to_owned(),
        more => format!("{} notes", capital(&count(more))),
    };
    let _ = writeln!(out, "{many} to work on, in cents");
    for row in far {
        wrapped(out, "  ", &format!("{:5} {}", name(row.pitch), off(row, in_tune)));
    }
}

/// How far a note lies off: by each way where the ways differ, else by the way that lies farthest, or by all its notes together.
fn off(row: &PitchRow, in_tune: Cents) -> String {
    let side_of = |cents: Cents| match cents.0.round() {
        0.0 => "true".to_owned(),
        flat if flat < 0.0 => format!("{:.0} flat", -flat),
        sharp => format!("{sharp:.0} sharp"),
    };
    match (row.up, row.down) {
        (Some(up), Some(down)) if (up - down).abs() > in_tune => {
            format!("{} going up, {} going down", side_of(up), side_of(down))
        }
        _ => match row.farthest_way() {
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

/// A held tone in a sentence.
fn held(tone: &HeldTone, page: &Page) -> String {
    let mut sentence = format!(
        "held {:.1} s: {}, centre {} cents",
        tone.length.0,
        page.heard(tone.centre),
        signed(tone.centre.cents_off()),
    );
    let side = |cents: Cents| if cents.0 < 0.0 { "flat" } else { "sharp" };
    if let Some(begins) = tone.begins {
        let (by, lasting) = (begins.by, begins.lasting.0);
        let _ = write!(sentence, "; begins {:.0} {} and is there after {lasting:.1} s", by.abs().0, side(by));
    }
    let _ = match signed(tone.drift).as_str() {
        "0" => write!(sentence, "; no drift"),
        drift => write!(sentence, "; drifts by {drift} from beginning to end"),
    };
    if let Some(ends) = tone.ends {
        let goes = if ends.by.0 < 0.0 { "sags" } else { "rises" };
        let _ = write!(sentence, "; {goes} by {:.0} in its last {:.1} s", ends.by.abs().0, ends.lasting.0);
    }
    let _ = match tone.vibrato {
        Some(vibrato) => {
            write!(
                sentence,
                "; vibrato of {:.1} turns a second, {:.0} cents either way",
                vibrato.rate.0, vibrato.extent.0
            )
        }
        None if tone.spread.0.round() < 1.0 => write!(sentence, "; no vibrato, quite steady"),
        None => write!(sentence, "; no vibrato, wavering by {}", numbered(tone.spread.0.round() as usize, "cent")),
    };
    sentence
}
