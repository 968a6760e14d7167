use std::path::{Path, PathBuf};

use rusqlite::{Connection, TransactionBehavior};

use crate::files::index::refreshing::{once, refresh};
use crate::files::index::rows::{self, IndexedSitting};
use crate::files::index::schema::{self, IndexTrouble};
use crate::files::{FileError, Places};

/// The figures of all sittings of one folder.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct IndexedSittings {
    /// Sittings, in the order of their files' names, which begin with date, hour and minute.
    pub sittings: Vec<IndexedSitting>,
    /// What could not be read at all, and what is wrong with the index itself.
    pub failures: Vec<FileError>,
    /// Paths of further copies of a sitting: only its fullest copy counts.
    pub again: Vec<PathBuf>,
}

/// The figures of the player's sittings: those that changed are read, those that did not are not opened.
#[must_use]
pub fn indexed(places: &Places) -> IndexedSittings {
    let path = places.index();
    let sessions = places.sessions();
    let mut trouble = None;
    for _ in 0..2 {
        match schema::open(&path).and_then(|mut db| up_to_date(&mut db, &sessions)) {
            Ok(found) => return with(found, trouble),
            Err(why) => {
                let busy = why.busy();
                trouble = Some(why.at(&path));
                if busy || schema::throw_away(&path).is_err() {
                    break;
                }
            }
        }
    }
    // Where the index file is of no use, an index in memory is filled from all the records.
    match schema::in_memory().and_then(|mut db| up_to_date(&mut db, &sessions)) {
        Ok(found) => with(found, trouble),
        Err(why) => with(IndexedSittings::default(), Some(why.at(&path))),
    }
}

fn with(mut found: IndexedSittings, trouble: Option<FileError>) -> IndexedSittings {
    found.failures.extend(trouble);
    found
}

/// Brings the index up to what lies in the folder, and gives the figures of all sittings.
fn up_to_date(db: &mut Connection, sessions: &Path) -> Result<IndexedSittings, IndexTrouble> {
    // The index is locked, so that no other program forgets a sitting between the listing and the writing.
    let all = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    schema::check(&all)?;
    let listing = refresh(&all, sessions)?;
    let mut found = rows::all(&all, &listing.order)?;
    all.commit()?;
    let mut failures = listing.failures;
    failures.extend(found.iter().filter_map(IndexedSitting::damaged));
    let again = once(&mut found);
    Ok(IndexedSittings { sittings: found, failures, again })
}
