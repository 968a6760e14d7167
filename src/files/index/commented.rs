use std::path::PathBuf;

use rusqlite::{Connection, TransactionBehavior};

use crate::files::Places;
use crate::files::index::refreshing::refresh;
use crate::files::index::rows::{self, IndexedSitting};
use crate::files::index::schema::{self, IndexTrouble};
use crate::session::{Began, Comment};

/// A sitting with comments that were added afterwards.
#[derive(Debug, Clone, PartialEq)]
pub struct CommentedSitting {
    /// Where the sitting lies.
    pub path: PathBuf,
    /// The first line of the record.
    pub began: Began,
    /// The comments, in the order in which they were added.
    pub comments: Vec<Comment>,
}

/// The sittings of all players here that have comments, by the index. Where the index is of no use the list is empty: nothing is
/// lost, because a review shows the comments too.
#[must_use]
pub fn commented(places: &Places) -> Vec<CommentedSitting> {
    let path = places.index();
    for _ in 0..2 {
        match schema::open(&path).and_then(|mut db| from_index(&mut db, places)) {
            Ok(found) => return found,
            Err(why) if why.busy() || schema::throw_away(&path).is_err() => break,
            Err(_) => {}
        }
    }
    Vec::new()
}

fn from_index(db: &mut Connection, places: &Places) -> Result<Vec<CommentedSitting>, IndexTrouble> {
    let all = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    schema::check(&all)?;
    let listing = refresh(&all, &places.sessions())?;
    let found = rows::commented(&all, &listing.order)?;
    all.commit()?;
    let of =
        |it: IndexedSitting| CommentedSitting { path: it.path, began: it.figures.began, comments: it.figures.comments };
    Ok(found.into_iter().map(of).collect())
}
