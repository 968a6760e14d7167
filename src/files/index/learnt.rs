use rusqlite::{Connection, TransactionBehavior};

use crate::coach::LearnerModel;
use crate::files::index::refreshing::{once, refresh};
use crate::files::index::rows::{self, IndexedSitting};
use crate::files::index::schema::{self, IndexTrouble};
use crate::files::index::{learners, seal};
use crate::files::sessions::record_bytes;
use crate::files::{Places, SessionEntry, survey};
use crate::session::{Began, read, replay_into};

/// A new model is kept where at least this many sittings had to be replayed: to write a model costs more than to replay a few
/// sittings.
const AFRESH: usize = 16;

/// What the coach knows of a player.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LearntNow {
    /// What the records teach, bit for bit as if all records had been replayed.
    pub learner: LearnerModel,
    /// Sittings that are dated later than tomorrow; they teach nothing.
    pub later: Vec<SessionEntry>,
}

/// What the sittings that `meant` accepts teach. The model that the index keeps of the first of them is taken, and the others are
/// replayed into it; without an index all files are replayed.
/// A file that cannot be read teaches nothing, and neither does one that is dated later than tomorrow, because it would turn the
/// coach's forgetting off.
#[must_use]
pub fn learnt(places: &Places, today: i32, meant: &dyn Fn(&Began) -> bool) -> LearntNow {
    let path = places.index();
    for _ in 0..2 {
        match schema::open(&path).and_then(|mut db| from_index(&mut db, places, today, meant)) {
            Ok(learnt) => return learnt,
            Err(why) if why.busy() || schema::throw_away(&path).is_err() => break,
            Err(_) => {}
        }
    }
    from_files(places, today, meant)
}

fn from_files(places: &Places, today: i32, meant: &dyn Fn(&Began) -> bool) -> LearntNow {
    let mut found = survey(&[places.sessions()]);
    found.once();
    let later = found.later(today);
    let mut learner = LearnerModel::new();
    let mine = found.listed.iter().filter(|it| meant(&it.began));
    for stored in mine.filter_map(|listed| listed.read().ok()) {
        replay_into(&mut learner, &stored.events);
    }
    LearntNow { learner, later }
}

fn from_index(
    db: &mut Connection,
    places: &Places,
    today: i32,
    meant: &dyn Fn(&Began) -> bool,
) -> Result<LearntNow, IndexTrouble> {
    let all = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    schema::check(&all)?;
    let listing = refresh(&all, &places.sessions())?;
    let (mut found, _) = rows::heads(&all, &listing.order)?;
    once(&mut found);
    let (later, mut mine): (Vec<_>, Vec<_>) =
        found.into_iter().partition(|sitting| sitting.figures.began.day > today.saturating_add(1));
    mine.retain(|sitting| meant(&sitting.figures.began));
    let hashes: Vec<Vec<u8>> = mine.iter().map(|sitting| sitting.hash.clone()).collect();
    let (known, mut learner) = learners::latest(&all, &hashes)?;
    all.commit()?;
    let mut as_listed = true;
    for sitting in &mine[known..] {
        as_listed &= enter(&mut learner, sitting);
    }
    if as_listed && mine.len() - known >= AFRESH {
        // What cannot be kept is replayed again next time, which harms nobody.
        let _ = keep(db, &hashes, &learner);
    }
    let entry = |it: IndexedSitting| SessionEntry { path: it.path, began: it.figures.began };
    Ok(LearntNow { learner, later: later.into_iter().map(entry).collect() })
}

/// Replays a sitting into the learner model; returns whether its record is still the one that the index read.
fn enter(learner: &mut LearnerModel, sitting: &IndexedSitting) -> bool {
    let Ok((bytes, _)) = record_bytes(&sitting.path) else { return false };
    replay_into(learner, &read(&bytes).0);
    seal::hash(&bytes) == sitting.hash
}

/// Keeps what was learnt, unless one of the sittings was forgotten meanwhile.
fn keep(db: &mut Connection, hashes: &[Vec<u8>], learner: &LearnerModel) -> Result<(), IndexTrouble> {
    let all = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let there: std::collections::BTreeSet<Vec<u8>> = rows::known(&all)?.into_values().map(|known| known.hash).collect();
    if hashes.iter().all(|hash| there.contains(hash)) {
        learners::keep(&all, hashes, learner)?;
        all.commit()?;
    }
    Ok(())
}
