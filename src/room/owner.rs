/// Time after the onset of a note, seconds, at which its owner is decided at the latest.
pub(super) const LOOKED_AT: f64 = 0.09;

/// Whose a note is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Owner {
    /// The player's.
    Player,
    /// Our own cue's.
    Ours,
    /// Not known yet: ask again when more was heard.
    Unknown,
}
