use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use crate::files::FileError;
use crate::files::disk_reserve::RESERVE;
use crate::files::places::{private_file, private_folder, private_folders};

// Names and limits that the writer and the readers of a session share.

/// The record's file in a live folder and in a finished session.
pub(super) const RECORD: &str = "session.jsonl";
/// The file that is locked as long as the sitting runs.
pub(super) const LOCK: &str = "in-use";
/// Most bytes of a record; a larger one is refused.
pub(super) const RECORD_FILE_LIMIT: u64 = 64 << 20;
/// Bytes of a record that are read for its first line alone; where the line is longer, the whole record is read.
pub(super) const HEAD: u64 = 1 << 20;
/// Sound files of one sitting that are looked for: 46 hours at 48 kHz.
pub(super) const PARTS: usize = 4;
/// What was tried when a session could not be read, for the error.
pub(super) const READING: &str = "read the session in";

/// The n-th name to try: `name`, `name-2`, `name-3`.
pub(super) fn numbered(name: &str, n: u32) -> String {
    if n == 1 { name.to_owned() } else { format!("{name}-{n}") }
}

/// The review as text, for readers without earfirst.
pub(super) const REVIEW: &str = "review.txt";

/// Removes a live folder of which a finished file was made: our own files, then the folder if nothing else is in it.
pub(super) fn remove_live(home: &Path) -> Result<(), FileError> {
    match remove_ours(home, &[LOCK, RESERVE, RECORD], &[".wav"]) {
        Err(error) if error.kind() != io::ErrorKind::DirectoryNotEmpty => {
            Err(FileError::system("remove the live folder", home, &error))
        }
        _ => Ok(()),
    }
}

/// Removes a sitting's folder, live or unpacked, with all that earfirst put into it.
pub(super) fn remove_all_of(home: &Path) -> Result<(), FileError> {
    let removed = remove_ours(home, &[LOCK, RESERVE, RECORD, REVIEW], &[".wav", ".flac"]);
    removed.map_err(|error| match error.kind() {
        io::ErrorKind::DirectoryNotEmpty => FileError::unreadable(
            "remove the folder",
            home,
            "other files are in it",
            "the sitting itself is gone; remove what is left by hand",
        ),
        _ => FileError::system("remove the folder", home, &error),
    })
}

/// Removes the files with these names and the sound files with these endings, then the folder.
fn remove_ours(home: &Path, names: &[&str], sound: &[&str]) -> io::Result<()> {
    for entry in fs::read_dir(home)? {
        let path = entry?.path();
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let sound = name.starts_with("answers") && sound.iter().any(|end| name.ends_with(end));
        if sound || names.contains(&name.as_str()) {
            fs::remove_file(path)?;
        }
    }
    fs::remove_dir(home)
}

/// Makes a folder of its own for a sitting, and locks it.
pub(super) fn claim(sessions: &Path, name: &str) -> io::Result<(PathBuf, File)> {
    private_folders(sessions)?;
    for n in 1..10_000 {
        let home = sessions.join(numbered(name, n));
        match private_folder(&home) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => continue,
            other => other?,
        }
        // Another program that finishes a sitting makes the file before it removes the folder. So only now, when the folder is
        // ours, can no such file appear any more.
        if home.with_added_extension("zip").exists() {
            fs::remove_dir(&home)?;
            continue;
        }
        let lock = private_file(&home.join(LOCK))?;
        // A file system without locks is no reason not to practise.
        let _ = lock.try_lock();
        return Ok((home, lock));
    }
    Err(io::ErrorKind::AlreadyExists.into())
}
