use crate::room::band_leak::BandLeak;
use crate::room::canceller::{BandReading, Canceller, PathDrift, PathPace, SettledPath};
use crate::room::path_fit::PathFit;
use crate::room::path_jump::PathJump;
use crate::units::SampleRate;

/// Number of blocks before the first look for a jump: three seconds.
const FIRST_JUMP: u32 = 188;
/// Number of blocks whose powers are kept: two seconds.
pub(super) const KEPT: usize = 128;
/// The share of the expected echo that counts as still in the residual, however well the filter fits, where the owner of a note is
/// decided.
pub(super) const LEAST_LEFT_OVER_BAND: f32 = 0.0;

/// What is known beside a path of a band that plays while the player plays, unlike a cue, which is over before the answer.
#[derive(Debug, Clone)]
pub(super) struct BandLine {
    /// How its path moves at first.
    pub drift: PathDrift,
    /// The pace of its clock, once a path is old enough to show it.
    pub pace: PathPace,
    /// Its path of a while ago, which shows a jump of its delay.
    pub settled: SettledPath,
    /// Whether that path still fits.
    pub fit: PathFit,
    /// What finds how far the delay has jumped.
    pub jump: PathJump,
    /// What of it leaks where it is too soft to be taken out.
    pub leak: BandLeak,
    /// Index of the sample with which the lead-in ends.
    pub lead_in: i64,
    /// Number of blocks since the band began.
    pub blocks: u32,
    /// The block before which no jump is looked for.
    pub calm: u32,
    /// The block at which the path must fit again after a jump.
    pub proof: u32,
    /// By how much the pace of the clocks' lines was corrected.
    pub hastened: f64,
    /// By how many samples it was read further for that.
    ahead: f64,
    /// Whether the lead-in has shown what it can.
    pub looked: bool,
    /// Of the newest blocks: number, energy of the estimated echo in the residual, energy of the residual. A ring.
    pub powers: Vec<(i64, f64, f64)>,
    /// Sums of both energies over blocks in which the player sounded, and number of the blocks.
    pub covered: (f64, f64, usize),
    /// Memory for two blocks of what is sounded.
    pub sounded: Vec<f32>,
}

impl BandLine {
    /// A band of which nothing was heard yet; its lead-in lies between these two samples.
    pub fn new(rate: SampleRate, canceller: &Canceller, lead_in: (i64, i64)) -> Self {
        Self {
            drift: PathDrift::new(canceller),
            pace: PathPace::new(canceller),
            settled: SettledPath::new(canceller),
            fit: PathFit::new(),
            jump: PathJump::new(rate),
            leak: BandLeak::new(lead_in),
            lead_in: lead_in.1,
            blocks: 0,
            calm: FIRST_JUMP,
            proof: 0,
            hastened: 0.0,
            ahead: 0.0,
            looked: false,
            powers: vec![(i64::MIN, 0.0, 0.0); KEPT],
            covered: (0.0, 0.0, 0),
            sounded: vec![0.0; 2 * canceller.block()],
        }
    }

    /// One block more has been read, of so many samples.
    pub fn read_on(&mut self, block: usize) -> BandReading {
        let block = block as f64;
        self.ahead += block * self.hastened;
        BandReading { at: f64::from(self.blocks) * block, ahead: self.ahead, hastened: self.hastened }
    }
}
