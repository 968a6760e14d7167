//! The index of the player's own sittings: their figures in one SQLite file, so that a record is read once and not at every question.
//!
//! The session files stay the only truth. The index may be removed at any time and is made again from them; one that is broken,
//! foreign or of another schema is thrown away, never trusted. What lies in a file is known by the size and time of its record;
//! where these differ its SHA-256 decides whether it is read anew. It holds names, so it is 0600, what is deleted in it is overwritten
//! with zeros, and its journal is emptied.

mod forgetting;
mod rows;
mod schema;
mod stamp;

use std::collections::{BTreeMap, BTreeSet};
use std::num::NonZero;
use std::path::{Path, PathBuf};
use std::thread;

use rusqlite::{Connection, Transaction, TransactionBehavior};

pub use forgetting::forget;
pub use rows::IndexedSitting;
use rows::Known;
use stamp::Stamp;

use crate::files::index::schema::IndexTrouble;
use crate::files::sessions::{SessionEntry, each_path, headless, record_bytes, stored};
use crate::files::{FileError, FileErrorKind, Places, SessionIndex};
use crate::report::{self, SittingFigures};

/// Files that are looked at before their figures are entered; more would fill the memory.
const AT_ONCE: usize = 128;

/// The figures of all sittings of one folder.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct IndexedSittings {
    /// Sittings, in the order of their files' names: that is the order of time.
    pub sittings: Vec<IndexedSitting>,
    /// What could not be read at all, and what is wrong with the index itself.
    pub failures: Vec<FileError>,
    /// What lies there twice and counts once.
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
                trouble = Some(why.told(&path));
                if busy || schema::throw_away(&path).is_err() {
                    break;
                }
            }
        }
    }
    // Without a file of its own it still answers, from all the records.
    match schema::in_memory().and_then(|mut db| up_to_date(&mut db, &sessions)) {
        Ok(found) => with(found, trouble),
        Err(why) => with(IndexedSittings::default(), Some(why.told(&path))),
    }
}

fn with(mut found: IndexedSittings, trouble: Option<FileError>) -> IndexedSittings {
    found.failures.extend(trouble);
    found
}

/// Brings the index up to what lies in the folder, and gives all of it.
fn up_to_date(db: &mut Connection, sessions: &Path) -> Result<IndexedSittings, IndexTrouble> {
    // Nobody forgets a sitting between the listing and the writing.
    let all = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    schema::check(&all)?;
    let mut known = rows::known(&all)?;
    let (mut paths, mut order, mut failures) = (Vec::new(), Vec::new(), Vec::new());
    if sessions.is_dir() {
        failures = each_path(&[sessions.to_owned()], 0, &mut |path| {
            paths.push(path.to_owned());
            Ok(())
        });
    }
    for paths in paths.chunks(AT_ONCE) {
        for (path, looked) in paths.iter().zip(looks(paths, &known)) {
            let known = known.remove(&rows::name(path));
            let sitting = entered(&all, path, known.as_ref(), looked.as_ref().ok())?;
            order.extend(sitting.map(|sitting| (sitting, path.clone())));
            failures.extend(looked.err());
        }
    }
    for gone in known.values() {
        rows::remove(&all, gone.sitting)?;
    }
    let mut found = rows::all(&all, &order)?;
    all.commit()?;
    // An empty folder is no failure.
    failures.retain(|failure| failure.place != sessions || failure.kind != FileErrorKind::Unreadable);
    failures.extend(found.iter().filter_map(IndexedSitting::damaged));
    let again = once(&mut found);
    Ok(IndexedSittings { sittings: found, failures, again })
}

/// What a look at a file shows beside what is known of it.
enum Looked {
    /// Size and time are as they were; it was not opened.
    Unchanged,
    /// The record is the same under another time.
    Touched(Stamp),
    /// It is new, or says something else.
    New(Box<NewSitting>),
}

/// A sitting that was read.
struct NewSitting {
    stamp: Stamp,
    hash: Vec<u8>,
    damage: Option<String>,
    figures: SittingFigures,
}

/// Looks at files, on all cores: the reading is what takes time.
fn looks(paths: &[PathBuf], known: &BTreeMap<Vec<u8>, Known>) -> Vec<Result<Looked, FileError>> {
    let all = |paths: &[PathBuf]| -> Vec<Result<Looked, FileError>> {
        paths.iter().map(|path| look(path, known.get(&rows::name(path)))).collect()
    };
    let threads = thread::available_parallelism().map_or(1, NonZero::get);
    let shares: Vec<&[PathBuf]> = paths.chunks(paths.len().div_ceil(threads).max(1)).collect();
    thread::scope(|scope| {
        let others: Vec<_> = shares.iter().map(|share| (share, scope.spawn(|| all(share)))).collect();
        others.into_iter().flat_map(|(share, other)| other.join().unwrap_or_else(|_| all(share))).collect()
    })
}

fn look(path: &Path, known: Option<&Known>) -> Result<Looked, FileError> {
    let stamp = Stamp::of(path)?;
    if known.is_some_and(|known| known.stamp == stamp) {
        return Ok(Looked::Unchanged);
    }
    let (bytes, cut_off) = record_bytes(path)?;
    let hash = stamp::hash(&bytes);
    if known.is_some_and(|known| known.hash == hash) {
        return Ok(Looked::Touched(stamp));
    }
    let stored = stored(path, &bytes, cut_off)?;
    let session = stored.session().ok_or_else(|| headless(path))?;
    let damage = stored.damage.map(|damage| damage.to_string());
    Ok(Looked::New(Box::new(NewSitting { stamp, hash, damage, figures: report::figures(&session) })))
}

/// The row of a sitting after a look at its file; none where the file cannot be read.
fn entered(
    all: &Transaction<'_>,
    path: &Path,
    known: Option<&Known>,
    looked: Option<&Looked>,
) -> rusqlite::Result<Option<i64>> {
    match (looked, known) {
        (Some(Looked::Unchanged), Some(known)) => return Ok(Some(known.sitting)),
        (Some(Looked::Touched(stamp)), Some(known)) => {
            rows::touched(all, known.sitting, *stamp)?;
            return Ok(Some(known.sitting));
        }
        (_, Some(known)) => rows::remove(all, known.sitting)?,
        _ => {}
    }
    let Some(Looked::New(new)) = looked else { return Ok(None) };
    rows::put(all, path, new.stamp, &new.hash, new.damage.as_deref(), &new.figures).map(Some)
}

/// Leaves of each sitting that lies there twice the fuller one, as a review does; only those of one beginning and different bytes are
/// read for it.
fn once(found: &mut Vec<IndexedSitting>) -> Vec<PathBuf> {
    let mut starts: BTreeMap<&str, Vec<&IndexedSitting>> = BTreeMap::new();
    for sitting in &*found {
        starts.entry(&sitting.figures.began.started).or_default().push(sitting);
    }
    let mut again = BTreeSet::new();
    for same in starts.values().filter(|same| same.len() > 1) {
        let mut hashes = BTreeSet::new();
        let (kept, copies): (Vec<&&IndexedSitting>, Vec<&&IndexedSitting>) =
            same.iter().partition(|sitting| hashes.insert(&sitting.hash));
        again.extend(copies.iter().map(|copy| copy.path.clone()));
        if kept.len() > 1 {
            let entry = |it: &&&IndexedSitting| SessionEntry { path: it.path.clone(), began: it.figures.began.clone() };
            let mut entries = SessionIndex { listed: kept.iter().map(entry).collect(), failures: Vec::new() };
            again.extend(entries.once());
        }
    }
    found.retain(|sitting| !again.contains(&sitting.path));
    again.into_iter().collect()
}
