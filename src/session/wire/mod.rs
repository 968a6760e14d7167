//! The written form of a sitting: JSON Lines (RFC 8259), one event a line, units in the names, versioned by the header.
//!
//! The types here belong to the file, not to the program: anything inside the program may be renamed as long as these types stay.
//! Every float, pitch and day that is read lies inside its bounds, and every text is free of control characters; a line with
//! anything else is refused. Fields that are not known are passed over, so that an older program reads a file to which a newer one
//! of the same format added something. Floats are written with the shortest digits that give the same float back, so that a verdict
//! made again from the file is the same bit for bit.
//!
//! Invariant: for every event inside the bounds, reading what was written gives the same event.

mod answered;
mod band;
mod began;
mod beside;
mod bounds;
mod cued;
mod free_chorus;
mod judged;
mod phrased;
mod spared;
mod words;

use serde::{Deserialize, Serialize};

use crate::session::wire::answered::WireAnswered;
use crate::session::wire::band::WireBand;
use crate::session::wire::began::WireBegan;
use crate::session::wire::bounds::SECONDS;
use crate::session::wire::cued::WireCued;
use crate::session::wire::free_chorus::WireChorus;
use crate::session::wire::judged::WireJudged;
use crate::session::wire::spared::WireSpared;
use crate::session::wire::words::WireCause;
use crate::session::{Comment, CountedTaps, Ended, Event};
use crate::units::Seconds;

/// Why a line was refused, in words.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub(super) struct WireError(pub(super) String);

/// One line of the record.
#[derive(Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "snake_case")]
enum WireEvent {
    Began(WireBegan),
    Cued(WireCued),
    Answered(WireAnswered),
    Judged(WireJudged),
    Contested {
        at_s: f64,
        cue: u32,
    },
    FreeChorus(WireChorus),
    Band(WireBand),
    Counted {
        at_s: f64,
        block: u32,
        sounded: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        said: Option<u32>,
    },
    Spared(WireSpared),
    Paused {
        at_s: f64,
        cause: WireCause,
    },
    Resumed {
        at_s: f64,
    },
    Ended {
        at_s: f64,
        sounding_s: f64,
        dropped_samples: u64,
    },
    Commented {
        aside: bool,
        written: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cue: Option<u32>,
        text: String,
    },
}

/// A line of a kind that this program does not know; `aside` says that no figure rests on it.
#[derive(Deserialize)]
struct WireAside {
    event: String,
    aside: bool,
}

/// The kinds that this program knows.
const KINDS: [&str; 13] = [
    "began",
    "cued",
    "answered",
    "judged",
    "contested",
    "free_chorus",
    "band",
    "counted",
    "spared",
    "paused",
    "resumed",
    "ended",
    "commented",
];

/// Writes one event as one line of JSON, its line end included. NaN is left out or written as the number nearest to zero that its
/// bounds allow. A number outside its bounds is written as the nearer bound; a list or text that is too long is cut.
#[must_use]
pub fn write_line(event: &Event) -> String {
    let wire = match event {
        Event::Began(began) => WireEvent::Began(began.into()),
        Event::Cued { at, cue, reason } => WireEvent::Cued(WireCued::new(*at, cue, *reason)),
        Event::Answered(answer) => WireEvent::Answered(answer.into()),
        Event::Judged(judgement) => WireEvent::Judged(judgement.into()),
        Event::Contested { at, cue } => WireEvent::Contested { at_s: SECONDS.put(at.0), cue: *cue },
        Event::FreeChorus(chorus) => WireEvent::FreeChorus(chorus.into()),
        Event::Band(band) => WireEvent::Band(band.into()),
        Event::Counted(CountedTaps { at, block, sounded, said }) => {
            WireEvent::Counted { at_s: SECONDS.put(at.0), block: *block, sounded: *sounded, said: *said }
        }
        Event::Spared(spared) => WireEvent::Spared(spared.into()),
        Event::Paused { at, cause } => WireEvent::Paused { at_s: SECONDS.put(at.0), cause: (*cause).into() },
        Event::Resumed { at } => WireEvent::Resumed { at_s: SECONDS.put(at.0) },
        Event::Ended(ended) => WireEvent::Ended {
            at_s: SECONDS.put(ended.at.0),
            sounding_s: SECONDS.put(ended.sounding.0),
            dropped_samples: ended.dropped,
        },
        Event::Commented(Comment { written, cue, text }) => WireEvent::Commented {
            aside: true,
            written: bounds::put_text(written),
            cue: *cue,
            text: bounds::put_text(text),
        },
    };
    // Writing plain structures to memory cannot fail; an empty line would be passed over by the reader.
    let mut line = serde_json::to_string(&wire).unwrap_or_default();
    line.push('\n');
    line
}

/// The event one line stands for; `None` for an aside of a kind that only a newer program knows.
pub(super) fn read_line(line: &[u8]) -> Result<Option<Event>, WireError> {
    match parsed(line) {
        Ok(wire) => event(wire).map(Some),
        Err(_) if unknown_aside(line) => Ok(None),
        Err(error) => Err(WireError(plain(&error))),
    }
}

fn unknown_aside(line: &[u8]) -> bool {
    serde_json::from_slice(line).is_ok_and(|it: WireAside| it.aside && !KINDS.contains(&it.event.as_str()))
}

fn event(wire: WireEvent) -> Result<Event, WireError> {
    Ok(match wire {
        WireEvent::Began(began) => Event::Began(began.try_into()?),
        WireEvent::Cued(cued) => {
            let (at, cue, reason) = cued.take()?;
            Event::Cued { at, cue, reason }
        }
        WireEvent::Answered(answer) => Event::Answered(answer.try_into()?),
        WireEvent::Judged(judgement) => Event::Judged(judgement.try_into()?),
        WireEvent::Contested { at_s, cue } => Event::Contested { at: Seconds(SECONDS.take(at_s)?), cue },
        WireEvent::FreeChorus(chorus) => Event::FreeChorus(chorus.try_into()?),
        WireEvent::Band(band) => Event::Band(band.try_into()?),
        WireEvent::Counted { at_s, block, sounded, said } => {
            Event::Counted(CountedTaps { at: Seconds(SECONDS.take(at_s)?), block, sounded, said })
        }
        WireEvent::Spared(spared) => Event::Spared(spared.try_into()?),
        WireEvent::Paused { at_s, cause } => Event::Paused { at: Seconds(SECONDS.take(at_s)?), cause: cause.into() },
        WireEvent::Resumed { at_s } => Event::Resumed { at: Seconds(SECONDS.take(at_s)?) },
        WireEvent::Ended { at_s, sounding_s, dropped_samples } => Event::Ended(Ended {
            at: Seconds(SECONDS.take(at_s)?),
            sounding: Seconds(SECONDS.take(sounding_s)?),
            dropped: dropped_samples,
        }),
        WireEvent::Commented { written, cue, text, .. } => {
            Event::Commented(Comment { written: bounds::take_time(written)?, cue, text: bounds::take_text(text)? })
        }
    })
}

/// Reads a line. If its kind stands first, as this program writes it, and is one of the three that fill a record, the line is read
/// straight into its type: the reader of the whole enum keeps the line aside until it has found the kind, and takes twice as long.
fn parsed(line: &[u8]) -> serde_json::Result<WireEvent> {
    let is = |kind: &str| line.strip_prefix(b"{\"event\":\"").is_some_and(|rest| rest.starts_with(kind.as_bytes()));
    if is("judged\"") {
        serde_json::from_slice(line).map(WireEvent::Judged)
    } else if is("answered\"") {
        serde_json::from_slice(line).map(WireEvent::Answered)
    } else if is("cued\"") {
        serde_json::from_slice(line).map(WireEvent::Cued)
    } else {
        serde_json::from_slice(line)
    }
}

/// The message of the JSON reader, cut to 200 characters and without control characters that a hostile file might have put into it.
fn plain(error: &serde_json::Error) -> String {
    if error.is_eof() {
        return "the line is cut off".to_owned();
    }
    error
        .to_string()
        .replace(" at line 1 column ", " at character ")
        .chars()
        .take(200)
        .map(|sign| if sign.is_control() { ' ' } else { sign })
        .collect()
}
