use std::fs;
use std::io;
use std::path::Path;
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, OpenFlags, TransactionBehavior};

use crate::files::FileError;
use crate::files::places::private_folders;

/// The mark by which SQLite and this program know the file as an index of this program: the letters "erfs".
const APPLICATION: i32 = 0x6572_6673;
/// The version of the tables. An index with another number is thrown away, so the number rises when there is another column, when a
/// column means something else, and when the coach learns by another rule.
pub const SCHEMA: i32 = 9;
/// How long this program waits while another earfirst uses the index.
const PATIENCE: Duration = Duration::from_secs(3);

/// The tables. `sittings` has one row for each sitting, `answers` one for each answer that counts. `learners` has one row for each
/// learner model that is kept: in `sittings` the hashes of the records it was learnt from, in `state` the model. Units stand in the
/// names of the columns. A seal is a SHA-256 of what it protects (`seal.rs`): `answers_seal` of the sitting's rows in `answers`.
const TABLES: &str = "
create table sittings (
    sitting integer primary key, path blob not null unique, size integer not null, changed_ns integer not null,
    sha256 blob not null, damage text, began text not null, lasted_s real not null, sounding_s real not null,
    rests integer not null, resting_s real not null, comments text not null, in_time blob not null, second_task blob not null,
    in_use blob not null, answers_seal blob not null, seal blob not null
) strict;
create table answers (
    sitting integer not null, turn integer not null, pattern text not null, title text not null, key_place integer not null,
    mode text not null, form integer not null, whole integer not null, notes_right integer not null, notes_asked integer not null, reflex_s real,
    pace real, away_days integer, held_out_until_day integer, primary key (sitting, turn)
) strict, without rowid;
create table learners (sittings blob not null, state blob not null, seal blob not null) strict;
";

/// Why the index is of no use.
#[derive(Debug, thiserror::Error)]
pub(super) enum IndexTrouble {
    /// SQLite reports an error.
    #[error("{0}")]
    Sql(#[from] rusqlite::Error),
    /// The system cannot read or write the file or its folder.
    #[error("{0}")]
    Disk(#[from] io::Error),
    /// The file is not an index that this program writes.
    #[error("it is not what this earfirst writes")]
    Foreign,
}

impl IndexTrouble {
    /// Whether another program only uses the index at this moment; the index is then not broken.
    pub fn busy(&self) -> bool {
        let code = if let Self::Sql(error) = self { error.sqlite_error_code() } else { None };
        matches!(code, Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked))
    }

    /// The trouble as the error that the player reads; `path` is that of the index.
    pub fn at(&self, path: &Path) -> FileError {
        let mend = "the figures are counted from the session files themselves";
        FileError::unreadable("use the index", path, self.to_string(), mend)
    }
}

/// Opens the index at `path`; where no file is there, makes an empty index. Only the player may read it (mode 0600).
pub(super) fn open(path: &Path) -> Result<Connection, IndexTrouble> {
    if let Some(folder) = path.parent() {
        private_folders(folder)?;
    }
    let mut options = fs::File::options();
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match fs::symlink_metadata(path) {
        Ok(meta) if !meta.is_file() => return Err(IndexTrouble::Foreign),
        Ok(_) => {}
        Err(_) => drop(options.create(true).truncate(false).write(true).open(path)?),
    }
    #[cfg(unix)]
    fs::set_permissions(path, std::os::unix::fs::PermissionsExt::from_mode(0o600))?;
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX | OpenFlags::SQLITE_OPEN_NOFOLLOW;
    // The player may have put the folder behind a link, so links on the way to it are followed. A link in the place of the file
    // itself is not followed, because this program makes none there.
    let folder = path.parent().map(fs::canonicalize).transpose()?.unwrap_or_default();
    begun(Connection::open_with_flags(folder.join(path.file_name().unwrap_or_default()), flags)?)
}

/// Makes an empty index in memory, which is gone when it is dropped.
pub(super) fn in_memory() -> Result<Connection, IndexTrouble> {
    begun(Connection::open_in_memory()?)
}

fn begun(mut db: Connection) -> Result<Connection, IndexTrouble> {
    db.busy_timeout(PATIENCE)?;
    for (name, value) in [("secure_delete", "on"), ("journal_mode", "truncate")] {
        db.pragma_update_and_check(None, name, value, |_| Ok(()))?;
    }
    for (name, value) in [("temp_store", "memory"), ("trusted_schema", "off"), ("cell_size_check", "on")] {
        db.pragma_update(None, name, value)?;
    }
    let begin = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    if texts(&begin)?.is_empty() && number(&begin, "user_version")? == 0 {
        begin.execute_batch(TABLES)?;
        begin.pragma_update(None, "application_id", APPLICATION)?;
        begin.pragma_update(None, "user_version", SCHEMA)?;
    }
    begin.commit()?;
    Ok(db)
}

/// Refuses an index whose mark, version or text of the tables is not, to the letter, what this program writes, and one that SQLite
/// finds damaged.
pub(super) fn check(db: &Connection) -> Result<(), IndexTrouble> {
    let ours = Connection::open_in_memory()?;
    ours.execute_batch(TABLES)?;
    let known = number(db, "application_id")? == APPLICATION && number(db, "user_version")? == SCHEMA;
    if !known || texts(db)? != texts(&ours)? {
        return Err(IndexTrouble::Foreign);
    }
    let sound: String = db.query_row("pragma quick_check(1)", [], |row| row.get(0))?;
    if sound == "ok" { Ok(()) } else { Err(IndexTrouble::Foreign) }
}

fn number(db: &Connection, pragma: &str) -> rusqlite::Result<i32> {
    db.pragma_query_value(None, pragma, |row| row.get(0))
}

/// The name of everything that the file's own schema lists, with the SQL text that made it, sorted by name.
fn texts(db: &Connection) -> rusqlite::Result<Vec<(String, String)>> {
    let mut found = db.prepare("select name, coalesce(sql, '') from sqlite_schema order by name")?;
    found.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect()
}

/// Removes the index and the files that SQLite puts beside it.
pub(super) fn throw_away(path: &Path) -> io::Result<()> {
    for end in ["", "-journal", "-wal", "-shm"] {
        let mut name = path.as_os_str().to_owned();
        name.push(end);
        match fs::remove_file(&name) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    Ok(())
}
