use std::fmt::Write as _;

use crate::music::{Concert, Instrument, Intonation};
use crate::report::held_text::held;
use crate::report::lines::wrapped;
use crate::report::run::RunIntonation;
use crate::report::run_moves::MovedRow;
use crate::report::run_slips::RunSlip;
use crate::report::run_words::{HABIT, drift_words, in_common, most_move, moved_words};
use crate::report::trend::{Doubt, Drift};
use crate::report::tuning::{NoteName, PitchRow, alike, hint, to_work_on};
use crate::units::Cents;
use crate::words::Page;
use crate::words::numbers::{capital, count, list, numbered, ordinal, signed};
use crate::words::tuned::advice;

/// Smallest number of pitches in a table: with fewer it says less than the tone itself.
const TABLE: usize = 2;
/// A note that lies no farther off than this is not named the farthest.
const FARTHEST: Cents = Cents(5.0);
/// A general offset is that of the way that all notes move where they begin nearer to their pitches than it by more than this.
const OWN_WAY: Cents = Cents(5.0);
/// Notes of one pitch are told one by one where there are no more than this.
const EACH: usize = 6;
/// Smallest number of pitches for which notes to work on are named.
const PLAN: usize = 3;

/// The table as text of at most 80 columns, on the player's page. Below it stand the notes to work on and what the instrument does to notes
/// that are out of tune (named in written pitch, as fingerings are), then how many notes were unclear, and the held tones.
#[must_use]
pub fn run_to_text(run: &RunIntonation, page: &Page) -> String {
    let mut out = String::new();
    let named = |pitch: Concert| spelling(run)(page, pitch);
    if let Some(offset) = run.offset {
        common(&mut out, run, offset, &page.instrument, &named);
        if run.rows.len() >= TABLE {
            table(&mut out, &run.rows, &|pitch| tabled(run)(page, pitch));
        }
        first_of_all(&mut out, run, &page.instrument);
        if run.rows.len() >= PLAN {
            beside_that(&mut out, run, &page.instrument, &named);
        }
        for slip in &run.slips {
            wrapped(&mut out, "", &slip_words(*slip, &|pitch| going(slip.1)(page, pitch)));
        }
        for sentence in moved(run, page) {
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

/// Where a chromatic run does not go on by half steps.
fn slip_words((slip, up): (RunSlip, bool), name: &dyn Fn(Concert) -> String) -> String {
    let way = if up { "going up" } else { "going down" };
    match slip {
        RunSlip::Twice(note) => format!("{} came twice in a row {way}.", name(note)),
        RunSlip::LeftOut(note) => format!("{} was left out {way}.", name(note)),
        RunSlip::InPlace(came, of) => format!("{} came in place of {} {way}.", name(came), name(of)),
    }
}

/// What to work on before any single note: what several notes have in common, where it lies beyond what is in tune on this instrument.
fn first_of_all(out: &mut String, run: &RunIntonation, instrument: &Instrument) {
    let Intonation::Scored { in_tune, .. } = instrument.intonation else { return };
    let far = |by: Cents| by.abs() > in_tune;
    let what = if run.step.is_some_and(|step| far(step.after - step.before)) {
        "to hold the pitch with which you begin"
    } else if run.way_down.is_some_and(far) {
        if run.zigzag { "the notes reached from above, against the others" } else { "the way down as a whole" }
    } else if run.over_pitch.is_some_and(|shape| far(shape.extent())) {
        "the high notes as a whole, against the low ones"
    } else {
        return;
    };
    let _ = writeln!(out, "\nTo work on first: {what}.");
}

/// How the notes of a run are spelled where no way is said: sharps where it only rises, flats where it falls or goes both ways (common
/// practice), and single notes by themselves.
fn spelling(run: &RunIntonation) -> NoteName {
    let (up, down) = (run.rows.iter().any(|row| row.up.is_some()), run.rows.iter().any(|row| row.down.is_some()));
    match (up, down) {
        (_, true) => Page::falling,
        (true, false) => Page::rising,
        (false, false) => Page::pitch,
    }
}

/// How a note is spelled where it is said of it that the line goes up, or down, to it: sharps going up, flats going down (common practice).
fn going(up: bool) -> NoteName {
    if up { Page::rising } else { Page::falling }
}

/// How the rows of the table are named: where the run goes both ways by both names.
fn tabled(run: &RunIntonation) -> NoteName {
    let ways = [run.rows.iter().any(|row| row.up.is_some()), run.rows.iter().any(|row| row.down.is_some())];
    if ways == [true, true] { Page::either } else { spelling(run) }
}

/// What the instrument does to the notes to work on, a sentence each: advice on other notes would be one more task.
fn hints(run: &RunIntonation, page: &Page) -> Vec<String> {
    let Intonation::Scored { in_tune, .. } = page.instrument.intonation else { return Vec::new() };
    let named = to_work_on(&run.own, in_tune).into_iter().filter(|_| run.rows.len() >= TABLE);
    named.filter_map(|row| hint(page, row.pitch, row.all, spelling(run))).collect()
}

/// The few pitches that moved while they sounded, a sentence each; nothing where intonation is not the player's.
fn moved(run: &RunIntonation, page: &Page) -> Vec<String> {
    if page.instrument.intonation == Intonation::Unscored {
        return Vec::new();
    }
    let name = |row: &MovedRow| row.way.map_or_else(|| spelling(run), |way| going(way == "up"))(page, row.pitch);
    let mut said: Vec<String> = run.moved.iter().take(PLAN).map(|row| moved_words(row, &name(row))).collect();
    let others: Vec<String> = run.moved.iter().skip(PLAN).map(name).collect();
    said.extend((!others.is_empty()).then(|| format!("So, by less, {}.", list(&others))));
    said
}

/// The general offset, whose it is, and what to do about it: where most notes sag or rise while they sound, it is no more than that, and
/// where some notes lie otherwise than the rest it is only the middle of all.
fn offset_words(offset: Cents, run: &RunIntonation, instrument: &Instrument) -> String {
    let general = format!("general offset {} cents", signed(offset));
    // Where the notes begin nearer to their pitches, the offset is that of their way and not of the horn.
    let begins = run.notes_move.map(|by| offset - Cents(0.5 * by.0));
    let begins = begins.filter(|it| it.abs() + OWN_WAY < offset.abs());
    if let (Some(by), Some(begins)) = (run.notes_move, begins) {
        return format!("{general}, but {}: they begin at {}", most_move(by), signed(begins));
    }
    let also =
        run.notes_move.filter(|by| by.abs() > HABIT).map_or_else(String::new, |by| format!("; {}", most_move(by)));
    let Intonation::Scored { in_tune, .. } = instrument.intonation else { return format!("{general}{also}") };
    if run.step.is_some() || run.over_pitch.is_some() || run.other.is_some() {
        return format!("{general} (the middle of all notes){also}");
    }
    let (by, side) = (offset.0.abs().round(), if offset.0 < 0.0 { "flat" } else { "sharp" });
    let stands = match advice(instrument, offset) {
        _ if by <= FARTHEST.0 => "in tune as a whole".to_owned(),
        _ if by <= in_tune.0 => format!("as a whole {by:.0} {side}, within the {:.0} of your level", in_tune.0),
        Some(advice) => format!("as a whole {by:.0} {side}; once warm, {advice}"),
        None => format!("as a whole {by:.0} {side}"),
    };
    format!("{general}: {stands}{also}")
}

/// Writes what all notes have in common: the general offset and the drift; then what several have.
fn common(
    out: &mut String,
    run: &RunIntonation,
    offset: Cents,
    instrument: &Instrument,
    name: &dyn Fn(Concert) -> String,
) {
    out.push('\n');
    match &run.rows[..] {
        [row] if !run.apart.is_empty() => wrapped(out, "", &apart_words(&run.apart, &name(row.pitch), offset)),
        [_] if !run.held.is_empty() => {}
        [row] => wrapped(out, "", &format!("one pitch: {}, {} cents", name(row.pitch), signed(offset))),
        _ => wrapped(out, "", &offset_words(offset, run, instrument)),
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
    let note = |n: usize, pitch: Concert| format!("the {} note, {},", ordinal(n), name(pitch));
    let shared = in_common(run, &note, name);
    shared.iter().for_each(|said| wrapped(out, "", said));
    if let Some(drift) = run.drift {
        let beside = if shared.is_empty() { "" } else { "beside that, " };
        wrapped(out, "", &format!("{beside}{}{}", drift_words(&drift), what_became(&drift)));
    }
}

/// Notes of one pitch that lie apart: each by itself where they are few, else how far they reach.
fn apart_words(apart: &[Cents], name: &str, middle: Cents) -> String {
    let reach = |of: fn(f64, f64) -> f64| Cents(apart.iter().map(|cents| cents.0).reduce(of).unwrap_or(0.0));
    let (low, high) = (reach(f64::min), reach(f64::max));
    let wide = format!("{:.0} cents apart", (high - low).0);
    let times = count(apart.len());
    match apart {
        [one, other] => {
            format!("one pitch, {name}, twice: first {}, then {} cents, {wide}", signed(*one), signed(*other))
        }
        few if few.len() <= EACH => {
            let each: Vec<String> = few.iter().map(|cents| signed(*cents)).collect();
            format!("one pitch, {name}, {times} times: {} cents, up to {wide}", list(&each))
        }
        _ => format!(
            "one pitch, {name}, {times} times: from {} to {} cents, {wide}, the middle one {}",
            signed(low),
            signed(high),
            signed(middle)
        ),
    }
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
    out.push_str("\n(in cents, what all notes have in common taken out;\n");
    out.push_str("spread is how far a note lies, as a rule, from its own middle)\n");
    out.push_str("note     times   going up   going down      all   spread\n");
    let cents = |value: Option<Cents>| value.map_or("-".to_owned(), signed);
    for row in rows {
        let (up, down, all) = (cents(row.up), cents(row.down), signed(row.all));
        // One note has no spread.
        let spread = if row.times > 1 { format!("{:.0}", row.spread.0) } else { "-".to_owned() };
        let _ = writeln!(out, "{:8} {:5} {up:>10} {down:>12} {all:>8} {spread:>8}", name(row.pitch), row.times);
    }
}

/// The few notes to work on beside what several notes have in common.
fn beside_that(out: &mut String, run: &RunIntonation, instrument: &Instrument, name: &dyn Fn(Concert) -> String) {
    let Intonation::Scored { in_tune, .. } = instrument.intonation else { return };
    let shared = run.step.is_some() || run.way_down.is_some() || run.over_pitch.is_some() || run.part_moves.is_some();
    // Where the notes may as well have other names, nobody knows to which side all of them lie.
    let known = run.notes_move.is_none() && run.other.is_none();
    let whole = run.offset.filter(|offset| !shared && offset.abs() > in_tune && known);
    notes_to_work_on(out, &run.own, (shared, whole), "", instrument, name);
}

/// The few notes to work on, or that there is none; nothing where intonation is not the player's. `which` says which notes these rows are,
/// where there are others: " heard eight times or more".
pub(super) fn work_on(
    out: &mut String,
    rows: &[PitchRow],
    which: &str,
    instrument: &Instrument,
    name: &dyn Fn(Concert) -> String,
) {
    notes_to_work_on(out, rows, (false, None), which, instrument, name);
}

/// The same; `shared` tells whether something that several notes have in common was said and is out of the rows, and `whole` how far all
/// notes lie off, where that is beyond what is in tune.
fn notes_to_work_on(
    out: &mut String,
    rows: &[PitchRow],
    (shared, whole): (bool, Option<Cents>),
    which: &str,
    instrument: &Instrument,
    name: &dyn Fn(Concert) -> String,
) {
    let Intonation::Scored { in_tune, .. } = instrument.intonation else { return };
    let (far, alike) = (to_work_on(rows, in_tune), alike(rows));
    out.push('\n');
    if far.is_empty() {
        let farthest = to_work_on(rows, FARTHEST).first().map_or_else(String::new, |row| {
            format!("; the farthest is {}, {}", name(row.pitch), off(row, in_tune, alike))
        });
        let beside = if shared { "Beside that, no" } else { "No" };
        let all = whole.map_or_else(String::new, |offset| {
            format!(", but all lie {:.0} {}", offset.0.abs(), if offset.0 < 0.0 { "flat" } else { "sharp" })
        });
        let off = format!("{beside} note{which} lies more than {:.0} cents off the others{all}{farthest}.", in_tune.0);
        return wrapped(out, "", &off);
    }
    let many = match far.len() {
        1 => "one note".to_owned(),
        more => format!("{} notes", count(more)),
    };
    let many = if shared { format!("Beside that, {many}") } else { capital(&many) };
    let all = rows.iter().filter(|row| row.farthest_way(alike).0.abs() > in_tune).count();
    let first = if all > far.len() {
        format!(" first, of {} that lie beyond {:.0}", count(all), in_tune.0)
    } else {
        String::new()
    };
    let _ = writeln!(out, "{many} to work on{first}, in cents");
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
