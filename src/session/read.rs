use crate::session::Event;
use crate::session::wire;

/// The newest format that this program writes, that of free choruses. It reads this one and all older ones.
pub const FORMAT: u32 = 4;
/// The format of a trade of phrases, and of a drill beside a second task.
pub(super) const TRADES: u32 = 3;
/// The format of any other drill: what later formats added does not concern such drills.
pub(super) const DRILLS: u32 = 2;

/// Most bytes of one line; a longer line is refused.
const LINE_LIMIT: usize = 4 << 20;
/// Most events of one sitting: five a second make 180,000 over ten hours, the longest sitting.
const EVENT_LIMIT: usize = 200_000;

/// What is wrong with a session file. All that could be read was kept.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "line {line}: {why}; {kept} lines were kept, {lost} passed over; if the file was sent to you, ask for it again"
)]
pub struct Damage {
    /// The first bad line, counted from 1.
    pub line: usize,
    /// What is wrong with the line.
    pub why: String,
    /// Number of events that were kept.
    pub kept: usize,
    /// Number of lines that were passed over.
    pub lost: usize,
}

/// Reads a `session.jsonl` that may come from anybody. A line that cannot be read is passed over, the others are kept; the first such line
/// is reported, with the number of all that were lost. An empty file is damaged too; a last line without its end (the program was killed)
/// counts if it is whole. Never panics, and needs memory only in proportion to `bytes`; the caller limits their size.
#[must_use]
pub fn read(bytes: &[u8]) -> (Vec<Event>, Option<Damage>) {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut events: Vec<Event> = Vec::new();
    let mut first: Option<(usize, String)> = None;
    let mut lost = 0;
    for (index, line) in bytes.split(|byte| *byte == b'\n').enumerate() {
        if line.iter().all(u8::is_ascii_whitespace) {
            continue;
        }
        match one(line, &events) {
            Ok(event) => events.extend(event),
            Err(why) => {
                lost += 1;
                first.get_or_insert((index + 1, why));
            }
        }
    }
    if events.is_empty() && first.is_none() {
        first = Some((1, "nothing is written here".to_owned()));
    }
    let kept = events.len();
    (events, first.map(|(line, why)| Damage { line, why, kept, lost }))
}

/// Reads one line. A header may stand only before all other events, and all other events only after a header. `None` for an event
/// of a newer program on which no figure rests.
fn one(line: &[u8], before: &[Event]) -> Result<Option<Event>, String> {
    if line.len() > LINE_LIMIT {
        return Err(format!("longer than {LINE_LIMIT} bytes"));
    }
    if before.len() >= EVENT_LIMIT {
        return Err(format!("more than {EVENT_LIMIT} lines"));
    }
    let event = wire::read_line(line).map_err(|fault| fault.to_string())?;
    match (&event, before.is_empty()) {
        (Some(Event::Began(_)), false) => Err("a second header".to_owned()),
        (Some(Event::Began(_)) | None, true) | (_, false) => Ok(event),
        (Some(_), true) => Err("no header before it".to_owned()),
    }
}
