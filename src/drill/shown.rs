/// What was shown last.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shown {
    /// The revision of the state.
    pub(super) revision: u64,
    /// Whole seconds of the input stream's clock: the clock of a screen.
    pub(super) second: u64,
}
