use std::fs;
use std::path::Path;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use crate::files::FileError;
use crate::files::session_layout::{READING, RECORD};

/// A file that was written less than this ago may be written again without another time of change: clocks of files are coarse.
const SETTLED: Duration = Duration::from_secs(2);

/// What a file is known by without being opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stamp {
    /// Size of the file in bytes.
    pub size: i64,
    /// When the file was written, in nanoseconds since 1970; -1, which matches no file, where it had just been written.
    pub changed: i64,
}

impl Stamp {
    /// The stamp of the record at a path: of the file, or of the record in a live folder.
    pub fn of(path: &Path) -> Result<Self, FileError> {
        let record = if path.is_dir() { path.join(RECORD) } else { path.to_owned() };
        let failure = |error: &std::io::Error| FileError::system(READING, path, error);
        let meta = fs::metadata(record).map_err(|error| failure(&error))?;
        let changed = meta.modified().map_err(|error| failure(&error))?;
        Ok(Self { size: i64::try_from(meta.len()).unwrap_or(i64::MAX), changed: nanoseconds(changed) })
    }

    /// The stamp as the index keeps it: without the time of change for a file that was written just now, so that the file is looked
    /// at once more.
    pub fn kept(self) -> Self {
        let settled = SystemTime::now().checked_sub(SETTLED).map_or(0, nanoseconds);
        if self.changed < settled { self } else { Self { changed: -1, ..self } }
    }
}

fn nanoseconds(time: SystemTime) -> i64 {
    time.duration_since(UNIX_EPOCH).map_or(0, |since| i64::try_from(since.as_nanos()).unwrap_or(i64::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_written_just_now_is_looked_at_once_more() {
        let now = Stamp { size: 1, changed: nanoseconds(SystemTime::now()) };
        assert_eq!(now.kept().changed, -1);
        let before = Stamp { changed: now.changed - 3_000_000_000, ..now };
        assert_eq!(before.kept(), before);
    }
}
