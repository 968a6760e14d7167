use std::num::NonZero;
use std::thread;

use crate::files::FileError;
use crate::files::sessions::{SessionEntry, headless};
use crate::session::Session;

/// What is said where the end of a record, or a part of it, cannot be read.
const READING_ALL: &str = "read all of the session in";

/// What was made of one record, and the error where a part of the record could not be read.
type Made<T> = Result<(T, Option<FileError>), FileError>;

/// Reads sittings on all cores, each core one at a time, and keeps of each sitting only what `make` gives: a year of a class does
/// not fit into memory.
pub fn each_session<T: Send>(listed: &[SessionEntry], make: &(dyn Fn(&Session) -> T + Sync)) -> Vec<Made<T>> {
    let all = |share: &[SessionEntry]| -> Vec<Made<T>> { share.iter().map(|entry| one(entry, make)).collect() };
    let threads = thread::available_parallelism().map_or(1, NonZero::get);
    let shares: Vec<&[SessionEntry]> = listed.chunks(listed.len().div_ceil(threads).max(1)).collect();
    thread::scope(|scope| {
        let others: Vec<_> = shares.iter().map(|share| (share, scope.spawn(|| all(share)))).collect();
        others.into_iter().flat_map(|(share, other)| other.join().unwrap_or_else(|_| all(share))).collect()
    })
}

fn one<T>(entry: &SessionEntry, make: &dyn Fn(&Session) -> T) -> Made<T> {
    let stored = entry.read()?;
    let damage = stored
        .damage
        .map(|damage| FileError::unreadable(READING_ALL, &entry.path, damage.to_string(), "what could be read counts"));
    let session = Session::of(stored.events).ok_or_else(|| headless(&entry.path))?;
    Ok((make(&session), damage))
}
