//! What the sound check says at its end: the sound, the table of the run, the notes to work on.

use std::io::IsTerminal;

use crate::cli::args::Hear;
use crate::cli::failure::Failure;
use crate::cli::output::say;
use crate::cli::resolve::Who;
use crate::music::Concert;
use crate::notes::HeardNote;
use crate::report::{self, Bend, Doubt, Drift, HeldTone, RunIntonation};
use crate::room::{InputIssue, SoundCheck};
use crate::units::{Cents, Decibels, Seconds};
use crate::words::SoundFault;
use crate::words::numbers::numbered;

/// Below this there is no sound at all (16 bits end at -96 dB).
const NOTHING: Decibels = Decibels(-120.0);

/// Where the sound came from: what is wrong with a microphone cannot be mended in its recording any more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HeardThrough {
    /// A microphone.
    Microphone,
    /// A file.
    Recording {
        /// So much of it is missing, where it was cut off.
        missing: Option<Seconds>,
    },
}

/// All that was heard.
pub struct Heard {
    /// The levels.
    pub check: SoundCheck,
    /// The notes.
    pub notes: Vec<HeardNote>,
    /// Those that were held.
    pub held: Vec<HeldTone>,
    /// Where it came from.
    pub source: HeardThrough,
}

/// Says it, for a player or for machines; `begins_on` is the note that the player says they began on.
pub fn told(heard: &Heard, who: &Who, typed: &Hear, begins_on: Option<Concert>) -> Result<(), Failure> {
    let run = RunIntonation::of(&heard.notes, &heard.held);
    let named = begins_on.map(|first| named(&run, heard, who, first)).transpose()?;
    let known = named.is_some();
    let run = named.unwrap_or(run);
    let opinions = opinions(&heard.check, heard.notes.len(), heard.source);
    let levels = heard.check.levels();
    if typed.json {
        return say(serde_json::json!({
            "peak_db": levels.peak.0, "floor_db": levels.floor.0, "notes": heard.notes.len(),
            "opinions": opinions, "run": run_json(&run),
        }));
    }
    say(format!("{}, {}", sound(&heard.check, heard.notes.len()), numbered(heard.notes.len(), "note")))?;
    for opinion in opinions {
        say(opinion)?;
    }
    let run = if known { run } else { asked(run, heard, who)? };
    say(report::run_to_text(&run, &who.page).trim_end())
}

/// The run named by its first note.
fn named(run: &RunIntonation, heard: &Heard, who: &Who, first: Concert) -> Result<RunIntonation, Failure> {
    RunIntonation::begun_on(&heard.notes, &heard.held, first).ok_or_else(|| match run.first {
        Some(begun) => {
            let what =
                format!("the first note heard is {}, and {} was named", who.page.pitch(begun), who.page.pitch(first));
            Failure::usage(what, "Name it within a half step, or look whether --instrument is right.")
        }
        None => Failure::usage("no clear note was heard to be named", "Leave --begins-on out."),
    })
}

/// Where the run has two readings and a player sits at the terminal, one note is asked for.
fn asked(run: RunIntonation, heard: &Heard, who: &Who) -> Result<RunIntonation, Failure> {
    let talks = std::io::stdin().is_terminal() && std::io::stdout().is_terminal();
    let (Some(first), true, true) = (run.first, talks, run.other.is_some_and(|_| talks)) else { return Ok(run) };
    let beside = Concert(first.0 + if run.other.is_some_and(|other| other.0 < 0.0) { 1 } else { -1 });
    let (first, beside) = (who.page.pitch(first), who.page.pitch(beside));
    say(format!("\nYou stand about half of a half step off. Which note did you begin on, {first} or {beside}?"))?;
    let mut line = String::new();
    if std::io::stdin().read_line(&mut line).is_err() || line.trim().is_empty() {
        return Ok(run);
    }
    match who.note(line.trim()).and_then(|note| named(&run, heard, who, note)) {
        Ok(named) => Ok(named),
        Err(wrong) => {
            say(wrong)?;
            Ok(run)
        }
    }
}

/// Peak and noise.
fn sound(check: &SoundCheck, notes: usize) -> String {
    let levels = check.levels();
    let noise = if levels.floor < NOTHING {
        "no noise at all".to_owned()
    } else if check.paused() || notes == 0 {
        format!("noise {:.0} dB", levels.floor.0)
    } else {
        "no pause to measure the noise in".to_owned()
    };
    let peak = if levels.peak < NOTHING {
        "no sound".to_owned()
    } else {
        format!("peak {:.0} dB", levels.peak.0.round() + 0.0)
    };
    format!("{peak}, {noise}")
}

/// What there is to say of the sound, a sentence each.
pub fn opinions(check: &SoundCheck, notes: usize, source: HeardThrough) -> Vec<String> {
    let mut found = check.issues();
    let mut told = Vec::new();
    if let HeardThrough::Recording { missing } = source {
        if let Some(missing) = missing {
            told.push(format!("the recording is cut off: its last {:.1} s are missing", missing.0));
        }
        if found.iter().any(|opinion| matches!(opinion, InputIssue::Zeros { .. })) {
            told.push("nothing but silence is in this recording".to_owned());
            return told;
        }
        // Made sound has no noise by which to tell where a headset's band ends.
        found.retain(|opinion| !matches!(opinion, InputIssue::Wireless { .. }));
    }
    if notes == 0 && !found.iter().any(|opinion| matches!(opinion, InputIssue::Zeros { .. })) {
        let soft = found.iter().any(|opinion| matches!(opinion, InputIssue::TooSoft { .. }));
        found.retain(|opinion| !matches!(opinion, InputIssue::TooSoft { .. }));
        told.push(if soft {
            format!("there is sound (to {:.0} dB), but no note in it: play nearer", check.levels().peak.0)
        } else {
            "no note was heard: play, and be silent by turns".to_owned()
        });
    }
    told.extend(found.iter().map(|found| opinion(found, source)));
    if told.is_empty() {
        told.push("the sound is good: nothing to change".to_owned());
    }
    told
}

/// An opinion in a sentence of one line, with what to change.
fn opinion(opinion: &InputIssue, source: HeardThrough) -> String {
    match opinion {
        InputIssue::TooSoft { peak } => {
            format!("too soft (peaks at {:.0} dB): go nearer, or turn the input up", peak.0)
        }
        InputIssue::Clipping { samples } => {
            SoundFault::Clipping.sentence(Some(&format!("{samples} samples at full scale")))
        }
        InputIssue::Noisy { floor } => {
            format!("noisy room ({:.0} dB): shut the window, or go nearer to the microphone", floor.0)
        }
        InputIssue::Hum { mains, level } => {
            format!("hum of {:.0} Hz at {:.0} dB: another cable or socket, or unplug the charger", mains.0, level.0)
        }
        InputIssue::GainControl { rise } => {
            format!("the input turns itself up by {:.0} dB in pauses: switch automatic gain off", rise.0)
        }
        InputIssue::Gate { .. } if source != HeardThrough::Microphone => {
            "true silence around the notes: made sound, or noise suppression was on".to_owned()
        }
        InputIssue::Gate { between } if *between < NOTHING => {
            "true silence between notes: if this is a microphone, switch noise suppression off".to_owned()
        }
        InputIssue::Gate { between } => SoundFault::Gate.sentence(Some(&format!("{:.0} dB", between.0))),
        InputIssue::Zeros { lasting } => SoundFault::Zeros.sentence(Some(&format!("for {:.0} s", lasting.0))),
        InputIssue::Wireless { above } => {
            format!("no sound above {:.0} Hz, as from a wireless headset: late and narrow; use a cable", above.0)
        }
    }
}

/// The table of a run; cents of a row have the general offset and the drift taken out.
fn run_json(run: &RunIntonation) -> serde_json::Value {
    let cents = |value: Option<Cents>| value.map(|cents| cents.0);
    let rows = run.rows.iter().map(|row| {
        serde_json::json!({
            "midi": row.pitch.0, "times": row.times, "up_cents": cents(row.up), "down_cents": cents(row.down),
            "all_cents": row.all.0, "spread_cents": row.spread.0,
        })
    });
    serde_json::json!({
        "offset_cents": cents(run.offset), "other_offset_cents": cents(run.other),
        "drift_cents": run.drift.map(|drift| drift.by.0), "drift": run.drift.as_ref().map(drift_json),
        "heard": run.heard, "unclear": run.unclear,
        "pitches": rows.collect::<Vec<_>>(), "held": run.held.iter().map(held_json).collect::<Vec<_>>(),
    })
}

fn drift_json(drift: &Drift) -> serde_json::Value {
    let doubt = drift.doubt.map(|doubt| match doubt {
        Doubt::OneWay => "one-way",
        Doubt::WayDown => "way-down",
    });
    serde_json::json!({
        "by_cents": drift.by.0, "two_standard_errors_cents": drift.within.0, "taken_out": drift.taken_out, "or": doubt,
    })
}

fn held_json(tone: &HeldTone) -> serde_json::Value {
    let bend =
        |bend: Option<Bend>| bend.map(|bend| serde_json::json!({ "by_cents": bend.by.0, "lasting_s": bend.lasting.0 }));
    serde_json::json!({
        "lasted_s": tone.length.0, "midi": tone.centre.0, "drift_cents": tone.drift.0, "spread_cents": tone.spread.0,
        "begins": bend(tone.begins), "ends": bend(tone.ends),
        "vibrato_hz": tone.vibrato.map(|vibrato| vibrato.rate.0),
        "vibrato_cents": tone.vibrato.map(|vibrato| vibrato.extent.0),
    })
}
