use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, TransactionBehavior};

use crate::files::index::rows;
use crate::files::index::schema::{self, IndexTrouble};
use crate::files::places::sweep;
use crate::files::session_layout::remove_all_of;
use crate::files::session_zip::lock;
use crate::files::{FileError, Places};

/// What became of the sittings that were to be removed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Forgotten {
    /// Files and folders that are gone.
    pub gone: Vec<PathBuf>,
    /// What stayed, and why.
    pub failures: Vec<FileError>,
}

/// Removes sittings: first their files, then all that the index knows of these sittings, overwritten with zeros. An index that
/// cannot be cleaned is removed as a whole.
#[must_use]
pub fn forget(places: &Places, paths: &[PathBuf]) -> Forgotten {
    let index = places.index();
    sweep(&places.sessions());
    let mut forgotten = Forgotten::default();
    let cleaned = schema::open(&index).and_then(|mut db| {
        // The index stays locked while the files are removed, so that no other program enters them again.
        let all = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        schema::check(&all)?;
        forgotten = removed(paths);
        for path in &forgotten.gone {
            rows::remove_at(&all, path)?;
        }
        all.commit()?;
        packed(&db)
    });
    if cleaned.is_err() {
        if forgotten == Forgotten::default() {
            forgotten = removed(paths);
        }
        if let Err(error) = schema::throw_away(&index) {
            forgotten.failures.push(FileError::system("remove the index", &index, &error));
        }
    }
    forgotten
}

/// Writes the file anew from what is left, so that no corner of a page holds what was deleted.
fn packed(db: &Connection) -> Result<(), IndexTrouble> {
    Ok(db.execute_batch("vacuum")?)
}

fn removed(paths: &[PathBuf]) -> Forgotten {
    let mut forgotten = Forgotten::default();
    for path in paths {
        match remove(path) {
            Ok(()) => forgotten.gone.push(path.clone()),
            Err(failure) => forgotten.failures.push(failure),
        }
    }
    forgotten
}

/// Removes one sitting; a live folder only where nobody is playing into it.
fn remove(path: &Path) -> Result<(), FileError> {
    if path.is_dir() && !path.is_symlink() {
        let _mine = lock(path)?;
        return remove_all_of(path);
    }
    match fs::remove_file(path) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(FileError::system("remove", path, &error)),
        _ => Ok(()),
    }
}
