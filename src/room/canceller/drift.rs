use super::{Bin, Canceller};

/// Forgetting factor of the reference's power, for each block: about a quarter of a second.
const STRENGTH_MEMORY: f32 = 0.94;
/// Below this likeness of two paths half a second apart, 0 to 1, the path has become another one, and its turn says nothing of a clock.
const LIKE: f64 = 0.5;

/// How a canceller's path moves in time. Where the clocks of loudspeaker and microphone run apart, the path grows later and later
/// (idea of Pawig, Enzner and Vary, IEEE Trans. SP 58, 2010; here read from the filter itself).
#[derive(Debug, Clone)]
pub struct PathDrift {
    /// The path when it was last looked at.
    before: Vec<Vec<Bin>>,
    /// For each bin, the mean power of the reference.
    strength: Vec<f32>,
    /// Whether `before` holds a path that may be compared.
    seen: bool,
}

impl PathDrift {
    /// For the paths of this canceller; nothing is seen yet.
    #[must_use]
    pub fn new(canceller: &Canceller) -> Self {
        Self { before: canceller.path.clone(), strength: vec![0.0; canceller.bins()], seen: false }
    }

    /// Forgets the path that was last looked at, since reference and microphone were lined up anew.
    pub const fn forget(&mut self) {
        self.seen = false;
    }

    /// Takes in the reference of the newest block.
    pub fn hear(&mut self, canceller: &Canceller) {
        for (mean, bin) in self.strength.iter_mut().zip(&canceller.sent[canceller.head]) {
            *mean = STRENGTH_MEMORY * *mean + (1.0 - STRENGTH_MEMORY) * bin.norm_sqr();
        }
    }

    /// By how many samples the path has grown later since the last look; `None` where that cannot be said.
    pub fn look(&mut self, canceller: &Canceller) -> Option<f64> {
        let (mut turned, mut weight) = (0.0f64, 0.0f64);
        let (mut both, mut old, mut new) = (0.0f64, 0.0f64, 0.0f64);
        let step = std::f64::consts::PI / canceller.block as f64;
        for (k, strength) in self.strength.iter().enumerate() {
            let mut product = Bin::default();
            let (mut before, mut now) = (0.0f32, 0.0f32);
            for (was, is) in self.before.iter().zip(&canceller.path) {
                product += was[k].conj() * is[k];
                before += was[k].norm_sqr();
                now += is[k].norm_sqr();
            }
            let (product, turn) = (product * *strength, step * k as f64);
            let size = f64::from(product.norm());
            turned -= turn * f64::from(product.im);
            weight += turn * turn * size;
            both += size;
            old += f64::from(strength * before);
            new += f64::from(strength * now);
        }
        let like = self.seen && weight > 0.0 && both > LIKE * (old * new).sqrt();
        for (was, is) in self.before.iter_mut().zip(&canceller.path) {
            was.copy_from_slice(is);
        }
        self.seen = true;
        like.then(|| turned / weight)
    }
}
