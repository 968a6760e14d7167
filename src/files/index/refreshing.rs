//! Brings the index up to date with what lies in the folder of sessions.

use std::collections::{BTreeMap, BTreeSet};
use std::num::NonZero;
use std::path::{Path, PathBuf};
use std::thread;

use rusqlite::Transaction;

use crate::files::index::rows::{self, IndexedSitting, Known};
use crate::files::index::schema::IndexTrouble;
use crate::files::index::seal;
use crate::files::index::stamp::Stamp;
use crate::files::sessions::{SessionEntry, each_path, headless, record_bytes, stored};
use crate::files::{FileError, FileErrorKind, SessionIndex};
use crate::report::{self, SittingFigures};
use crate::session::Session;

/// Number of files that are looked at before their figures are entered; more would fill the memory.
const AT_ONCE: usize = 128;

/// What lies in the folder, as the index has it now.
pub(super) struct Listing {
    /// Row number and path of each sitting, in the order of the names.
    pub order: Vec<(i64, PathBuf)>,
    /// What could not be read at all.
    pub failures: Vec<FileError>,
}

/// Reads what is new or changed and takes out what is gone.
pub(super) fn refresh(all: &Transaction<'_>, sessions: &Path) -> Result<Listing, IndexTrouble> {
    let mut known = rows::known(all)?;
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
            let sitting = entered(all, path, known.as_ref(), looked.as_ref().ok())?;
            order.extend(sitting.map(|sitting| (sitting, path.clone())));
            failures.extend(looked.err());
        }
    }
    for gone in known.values() {
        rows::remove(all, gone.sitting)?;
    }
    // An empty folder is no failure.
    failures.retain(|failure| failure.place != sessions || failure.kind != FileErrorKind::Unreadable);
    Ok(Listing { order, failures })
}

/// What a look at a file shows, compared with the index.
enum Looked {
    /// Size and time are as they were; it was not opened.
    Unchanged,
    /// The file has another time or size, but the same record.
    Touched(Stamp),
    /// The file is new, or its content changed.
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
    let hash = seal::hash(&bytes);
    if known.is_some_and(|known| known.hash == hash) {
        return Ok(Looked::Touched(stamp));
    }
    let stored = stored(path, &bytes, cut_off)?;
    let damage = stored.damage.map(|damage| damage.to_string());
    let session = Session::of(stored.events).ok_or_else(|| headless(path))?;
    Ok(Looked::New(Box::new(NewSitting { stamp, hash, damage, figures: report::figures(&session) })))
}

/// Brings the row of a sitting up to date after a look at its file. Returns the number of the row; `None` where the file cannot be
/// read.
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

/// Keeps the fuller copy of each sitting that lies there twice, as a review does, and returns the paths of the other copies. Only
/// sittings that began in the same second and differ in their bytes are read for it.
pub(super) fn once(found: &mut Vec<IndexedSitting>) -> Vec<PathBuf> {
    let mut starts: BTreeMap<&str, Vec<&IndexedSitting>> = BTreeMap::new();
    for sitting in &*found {
        starts.entry(&sitting.figures.began.started).or_default().push(sitting);
    }
    let mut again = BTreeSet::new();
    for same in starts.values().filter(|same| same.len() > 1) {
        let mut hashes = BTreeSet::new();
        let (kept, copies): (Vec<&&IndexedSitting>, Vec<&&IndexedSitting>) =
            same.iter().partition(|sitting| hashes.insert((&sitting.hash, &sitting.damage)));
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
