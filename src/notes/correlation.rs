use super::sample_history::SampleHistory;

/// The newest background block counts for at least one part in this many of the mean, so that the mean follows a room that changes.
const MEMORY: f64 = 200.0;
/// Neighbours on each side that the interpolation between lags uses.
const SIDE: usize = 4;
/// Number of taps of the interpolation.
const TAPS: usize = 2 * SIDE + 1;
/// Energy below which a window counts as silent: its correlation would be rounding.
const SILENT: f64 = 1e-10;
/// Number of lags that are correlated at once; where there are enough lags, twice this number.
const TOGETHER: usize = 16;
/// Steps of the interpolation to one lag.
const PHASES: f64 = 64.0;
/// Largest distance from a lag that is interpolated, in lags.
const REACH: f64 = 1.5;

/// Correlation of one band with itself at every lag of a range, kept block by block.
///
/// Each hop adds one block, `c(L) = sum x[n] x[n-L]` over the new samples. The window of a lag is its newest `blocks(L)`
/// blocks, so that short periods are known soon and long ones on enough of them. From the window's correlation `r` and the
/// energies of the window and of the window one lag earlier comes the normalised square difference
/// `n(L) = 2 r / (e + e')` (McLeod and Wyvill, "A smarter way to find pitch", 2005), 1 for a perfect period.
#[derive(Debug, Clone)]
pub(super) struct Correlation {
    /// The shortest lag, in samples of the band.
    pub(super) first_lag: usize,
    /// The normalised square difference `n` of every lag.
    pub(super) clarity: Vec<f32>,
    /// Samples of one block.
    hop: usize,
    /// Number of blocks in the window of every lag.
    window: Vec<usize>,
    /// `from[j]`: the first index of a lag whose window has more than `j` blocks.
    from: Vec<usize>,
    /// The newest blocks as a ring; each block holds the correlation `c` of every lag.
    blocks: Vec<f32>,
    /// Index of the newest block in the ring.
    newest: usize,
    /// The correlation `r` of every lag: the sum of `c` over the blocks of the lag's window.
    sums: Vec<f32>,
    /// The correlation `c` of every lag in one block of the learnt background.
    mean_block: Vec<f32>,
    /// Energy of one block of the learnt background.
    mean_energy: f64,
    /// Rows of taps that interpolate between the lags.
    interpolation: Vec<f32>,
}

impl Correlation {
    /// A table for the lags `first..=last`, and as many more as make their number a multiple of [`TOGETHER`]; `window` gives the blocks of
    /// a lag, and never fewer for a longer lag.
    pub(super) fn new(hop: usize, first: usize, last: usize, window: impl Fn(usize) -> usize) -> Self {
        let lags = (last + 1).saturating_sub(first).next_multiple_of(TOGETHER);
        let window: Vec<usize> = (0..lags).map(|i| window(first + i)).collect();
        let depth = window.last().copied().unwrap_or(1);
        let from = (0..depth).map(|j| window.partition_point(|k| *k <= j)).collect();
        Self {
            first_lag: first,
            clarity: vec![0.0; lags],
            hop,
            window,
            from,
            blocks: vec![0.0; lags * depth],
            newest: 0,
            sums: vec![0.0; lags],
            mean_block: vec![0.0; lags],
            mean_energy: 0.0,
            interpolation: interpolation(),
        }
    }

    /// Samples of history that one block needs.
    pub(super) const fn block_reach(&self) -> usize {
        self.hop + self.first_lag + self.clarity.len()
    }

    /// Samples of history that the longest window needs.
    pub(super) fn reach(&self) -> usize {
        let lags = self.clarity.len();
        self.window.last().map_or(0, |k| k * self.hop + self.first_lag + lags)
    }

    /// Blocks of the window of the lag at `index`.
    pub(super) fn blocks_at(&self, index: usize) -> usize {
        self.window[index.min(self.window.len() - 1)]
    }

    /// Takes in the newest hop of `history` and works out `n` of every lag anew; subtracts up to `share` of the energy as
    /// background.
    pub(super) fn renew(&mut self, history: &SampleHistory, share: f64) {
        let lags = self.clarity.len();
        if lags == 0 {
            return;
        }
        let depth = self.from.len();
        self.newest = (self.newest + 1) % depth;
        let samples = history.tail(self.block_reach());
        let block = &mut self.blocks[self.newest * lags..(self.newest + 1) * lags];
        correlate(samples, self.hop, self.first_lag, block);
        self.sums.fill(0.0);
        for (j, from) in self.from.iter().enumerate() {
            let slot = (self.newest + depth - j) % depth;
            let block = &self.blocks[slot * lags + from..(slot + 1) * lags];
            for (sum, c) in self.sums[*from..].iter_mut().zip(block) {
                *sum += c;
            }
        }
        self.normalise(history, share);
    }

    fn normalise(&mut self, history: &SampleHistory, share: f64) {
        let running = history.running(self.reach());
        let now = running.len() - 1 - self.first_lag;
        for (before, from) in self.from.iter().enumerate() {
            // The lags whose window has exactly so many blocks.
            let to = self.from.get(before + 1).map_or(self.clarity.len(), |next| *next);
            let (blocks, span) = ((before + 1) as f64, (before + 1) * self.hop);
            if to == *from {
                continue;
            }
            let energy = running[now + self.first_lag] - running[now + self.first_lag - span];
            let background = self.mean_energy * blocks;
            let quiet = background.min(share * energy);
            let weight = if background > 0.0 { quiet / background * blocks } else { 0.0 };
            let rest = energy - 2.0 * quiet;
            let ends = running[now + 1 - to..=now - from].iter().rev();
            let begins = running[now + 1 - to - span..=now - from - span].iter().rev();
            let correlations = self.sums[*from..to].iter().zip(&self.mean_block[*from..to]);
            let windows = ends.zip(begins).zip(correlations);
            for (clarity, ((end, begin), (sum, mean))) in self.clarity[*from..to].iter_mut().zip(windows) {
                let r = f64::from(*sum) - weight * f64::from(*mean);
                let both = rest + (end - begin);
                // The `if` below only chooses a value, so the compiler needs no branch and divides for several lags at once.
                let r = if both > SILENT { r } else { 0.0 };
                *clarity = (2.0 * r / both.max(SILENT)).min(1.5) as f32;
            }
        }
    }

    /// Learns the newest block as background, the `count`th so learnt.
    pub(super) fn learn(&mut self, history: &SampleHistory, count: usize) {
        let lags = self.clarity.len();
        if lags == 0 {
            return;
        }
        let weight = 1.0 / (count.max(1) as f64).min(MEMORY);
        let block = &self.blocks[self.newest * lags..(self.newest + 1) * lags];
        for (mean, c) in self.mean_block.iter_mut().zip(block) {
            *mean += weight as f32 * (c - *mean);
        }
        let end = history.end();
        self.mean_energy += weight * (history.energy(end - self.hop as i64, end) - self.mean_energy);
    }

    /// The index of the peak at a lag or beside it; `None` where no peak is there or the table ends beside it.
    pub(super) fn top_near(&self, lag: f64) -> Option<usize> {
        let at = (lag.round() as usize).checked_sub(self.first_lag)?;
        if at < 2 || at + 6 > self.clarity.len() {
            return None;
        }
        let top = (at - 1..=at + 1).max_by(|a, b| self.clarity[*a].total_cmp(&self.clarity[*b]))?;
        let is_peak = self.clarity[top] >= self.clarity[top - 1] && self.clarity[top] >= self.clarity[top + 1];
        is_peak.then_some(top)
    }

    /// Where between the lags the peak at `index` lies, and how high it is. The table is interpolated with a sinc under a Hann
    /// window (common practice), because a correlation has no more bandwidth than its signal; then a parabola is laid through close
    /// points.
    pub(super) fn peak(&self, index: usize) -> (f64, f64) {
        let value = |i: usize| f64::from(self.clarity[i]);
        let (left, middle, right) = (value(index - 1), value(index), value(index + 1));
        let shift = parabola(left, middle, right, 1.0);
        if index < SIDE || index + SIDE >= self.clarity.len() {
            return ((self.first_lag + index) as f64 + shift, (middle - 0.25 * (left - right) * shift).min(1.0));
        }
        let around = &self.clarity[index - SIDE..=index + SIDE];
        let grid = (shift * PHASES).round();
        let near = |phase: f64| -> f64 {
            let row = (phase + REACH * PHASES) as usize * TAPS;
            let taps = self.interpolation.get(row..row + TAPS).unwrap_or_default();
            around.iter().zip(taps).map(|(value, tap)| f64::from(value * tap)).sum()
        };
        let step = 0.25;
        let (a, b, c) = (near(grid - step * PHASES), near(grid), near(grid + step * PHASES));
        let fine = (grid / PHASES + parabola(a, b, c, step)).clamp(-1.0, 1.0);
        ((self.first_lag + index) as f64 + fine, b.max(middle).min(1.0))
    }
}

/// `c(L) = sum x[n] x[n-L]` over the newest `hop` samples, for as many lags from `first_lag` on as `block` holds.
fn correlate(samples: &[f32], hop: usize, first_lag: usize, block: &mut [f32]) {
    let (begin, mut lag) = (samples.len() - hop, first_lag);
    let mut pairs = block.chunks_exact_mut(2 * TOGETHER);
    for sums in &mut pairs {
        sums.copy_from_slice(&together::<{ 2 * TOGETHER }>(samples, begin, lag));
        sums.reverse();
        lag += sums.len();
    }
    let rest = pairs.into_remainder();
    if rest.len() == TOGETHER {
        rest.copy_from_slice(&together::<TOGETHER>(samples, begin, lag));
        rest.reverse();
    }
}

/// The correlation of the samples from `begin` on at `N` neighbouring lags from `first_lag` on, the longest lag first. The lags are
/// summed side by side: each sample is read once for all lags, and nothing is added up across at the end. Written otherwise, the
/// compiler would turn the lags round for every sample instead of once.
#[inline(never)]
fn together<const N: usize>(samples: &[f32], begin: usize, first_lag: usize) -> [f32; N] {
    // `old[n..][k]` lies `N - 1 - k` and the first lag earlier than sample `n`.
    let old = &samples[begin + 1 - first_lag - N..];
    let mut lanes = [0.0f32; N];
    for (x, window) in samples[begin..].iter().zip(old.windows(N)) {
        for (lane, y) in lanes.iter_mut().zip(window) {
            *lane += x * y;
        }
    }
    lanes
}

/// Where the top of a parabola through three points `step` apart lies, counted from the middle point (common practice).
pub(super) fn parabola(left: f64, middle: f64, right: f64, step: f64) -> f64 {
    let bend = left - 2.0 * middle + right;
    if bend.abs() < 1e-12 { 0.0 } else { (0.5 * (left - right) / bend * step).clamp(-step, step) }
}

/// Rows of taps for every phase from `-REACH` to `REACH` lags, each summing to 1.
fn interpolation() -> Vec<f32> {
    let rows = (2.0 * REACH * PHASES) as usize + 1;
    let mut taps = Vec::with_capacity(rows * TAPS);
    for row in 0..rows {
        let at = row as f64 / PHASES - REACH;
        let weights: Vec<f64> = (0..TAPS).map(|k| windowed_sinc(at - (k as f64 - SIDE as f64))).collect();
        let sum: f64 = weights.iter().sum();
        taps.extend(weights.iter().map(|w| (w / sum) as f32));
    }
    taps
}

fn windowed_sinc(t: f64) -> f64 {
    let turn = std::f64::consts::PI * t;
    if t.abs() < 1e-9 {
        1.0
    } else if t.abs() >= SIDE as f64 + 1.0 {
        0.0
    } else {
        turn.sin() / turn * (0.5 + 0.5 * (turn / (SIDE as f64 + 1.0)).cos())
    }
}
