use std::path::PathBuf;

use crate::drill::Snapshot;

/// What reaches the screen from the threads behind it.
#[derive(Debug, Clone, PartialEq)]
pub enum ToScreen {
    /// The drill's state.
    Snapshot(Box<Snapshot>),
    /// Something to be said at the foot of the screen.
    Notice(String),
    /// The record is finished and lies at this path.
    Kept(PathBuf),
}
