//! Learner models: what the coach knew after many sittings, so that these need not be replayed. A model is found by the hashes of
//! the records it was learnt from, in their order, so it stays true whatever became of the files.

use rusqlite::{Connection, params};

use crate::coach::LearnerModel;
use crate::files::index::seal;

/// Most learner models that are kept, over all players and instruments.
const KEPT: u32 = 24;
/// Bytes of one record's hash.
const HASH: usize = 32;

/// Finds the model that was learnt from most of these sittings, counted from the first. Returns of how many, and the model: an
/// empty one where there is none. A model that does not match its seal is deleted.
pub(super) fn latest(db: &Connection, hashes: &[Vec<u8>]) -> rusqlite::Result<(usize, LearnerModel)> {
    let all = hashes.concat();
    let mut rows: Vec<(i64, usize)> = begun(db, |sittings| all.starts_with(sittings))?;
    rows.sort_by_cached_key(|(_, bytes)| -(*bytes as i64));
    for (row, bytes) in rows {
        let known = db.query_row("select state, seal from learners where rowid = ?", [row], |found| {
            let state = found.get_ref(0)?.as_blob()?;
            let sealed = found.get_ref(1)?.as_blob()? == seal::of_learner(&all[..bytes], state);
            Ok(LearnerModel::from_bytes(state).filter(|_| sealed))
        })?;
        match known {
            Some(learner) => return Ok((bytes / HASH, learner)),
            None => drop(db.execute("delete from learners where rowid = ?", [row])?),
        }
    }
    Ok((0, LearnerModel::new()))
}

/// Keeps the model that was learnt from these sittings; models of as many of them or fewer, counted from the first, are removed.
pub(super) fn keep(db: &Connection, hashes: &[Vec<u8>], learner: &LearnerModel) -> rusqlite::Result<()> {
    let all = hashes.concat();
    for (row, _) in begun(db, |sittings| all.starts_with(sittings))? {
        db.execute("delete from learners where rowid = ?", [row])?;
    }
    let state = learner.to_bytes();
    let sealed = seal::of_learner(&all, &state);
    db.execute("insert into learners values (?, ?, ?)", params![all, state, sealed])?;
    db.execute(
        "delete from learners where rowid not in (select rowid from learners order by rowid desc limit ?)",
        [KEPT],
    )?;
    Ok(())
}

/// Removes every model that was learnt from this record.
pub(super) fn forget(db: &Connection, hash: &[u8]) -> rusqlite::Result<()> {
    for (row, _) in begun(db, |sittings| sittings.chunks(HASH).any(|one| one == hash))? {
        db.execute("delete from learners where rowid = ?", [row])?;
    }
    Ok(())
}

/// Numbers of the rows whose hashes `meant` accepts, each with the length of its hashes in bytes.
fn begun(db: &Connection, meant: impl Fn(&[u8]) -> bool) -> rusqlite::Result<Vec<(i64, usize)>> {
    let mut found = db.prepare("select rowid, sittings from learners")?;
    let mut rows = found.query([])?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        let sittings = row.get_ref(1)?.as_blob()?;
        if meant(sittings) {
            all.push((row.get(0)?, sittings.len()));
        }
    }
    Ok(all)
}
