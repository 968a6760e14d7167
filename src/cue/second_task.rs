use crate::units::Beats;

/// The two sounds that are told apart beside an answer; neither has a pitch, and no click sounds like them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum TapSound {
    /// High wood.
    Wood,
    /// A short stroke of the brush.
    Brush,
}

/// One soft tap beside an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoftTap {
    /// Where the tap sounds, after beat 0 of the answer; on no beat on purpose, so that the tap is no click to play by.
    pub at: Beats,
    /// What sounds.
    pub sound: TapSound,
}

/// What the mind does beside an answer. The taps sound in every block, so that two blocks differ by the counting alone.
#[derive(Debug, Clone, PartialEq)]
pub struct SecondTask {
    /// The number of the block of answers to which this answer belongs, from 1 in a session.
    pub block: u32,
    /// What is counted in this block; `None` where the taps are let pass.
    pub counted: Option<TapSound>,
    /// The taps beside this answer, in order.
    pub taps: Vec<SoftTap>,
}
