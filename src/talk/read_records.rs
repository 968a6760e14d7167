//! The records of sittings that were named, read one by one.

use crate::files::{self, SessionEntry, SessionIndex};
use crate::session::Session;
use crate::talk::failure::clean;
use crate::talk::output::warn;

/// Sittings that could be read.
#[derive(Default)]
pub struct ReadRecords {
    /// The records that were read.
    pub sessions: Vec<Session>,
    /// For each record, the place of its file in `here`.
    pub whose: Vec<usize>,
    /// All files that could be opened.
    pub here: Vec<SessionEntry>,
}

/// Reads one record after the other. Damage to a record is said, and a record that cannot be read joins the failures of `found`, whose
/// files move into the result.
pub fn each(found: &mut SessionIndex) -> ReadRecords {
    let ReadRecords { mut sessions, mut whose, mut here } = ReadRecords::default();
    for listed in std::mem::take(&mut found.listed) {
        match listed.read() {
            Ok(stored) => {
                if let Some(damage) = &stored.damage {
                    warn(format!("{}: {damage}", clean(&stored.path.display().to_string())));
                }
                if let Some(session) = Session::of(stored.events) {
                    sessions.push(session);
                    whose.push(here.len());
                }
                here.push(listed);
            }
            Err(failure) => found.failures.push(failure),
        }
    }
    ReadRecords { sessions, whose, here }
}

/// What `make` makes of each record that can be read.
pub fn made<T: Send>(
    listed: &[SessionEntry],
    make: &(dyn Fn(&Session) -> T + Sync),
    failures: &mut Vec<files::FileError>,
) -> Vec<T> {
    let mut made = Vec::new();
    for one in files::each_session(listed, make) {
        match one {
            Ok((it, damage)) => {
                made.push(it);
                failures.extend(damage);
            }
            Err(failure) => failures.push(failure),
        }
    }
    made
}
