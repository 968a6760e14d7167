use crate::coach::key_stats::KeyStats;
use crate::coach::{Goals, ladder};
use crate::cue::Form;
use crate::units::Tempo;

/// What always failing adds to a key's need, octaves.
const FAILING: f64 = 0.5;
/// The need of a key that was never asked is counted from this tempo.
const UNKNOWN: Tempo = Tempo(60.0);
/// A key that was asked this many times today and still fails rests until tomorrow.
const TIRED_CUES: u32 = 8;
/// A key still fails where the moving share of its tries that did not go down is below this.
const TIRED_PASSES: f64 = 0.15;
/// What every key earns besides its need, in units of the mean need.
const FLOOR: f64 = 0.25;

/// How far a key is from the goals, in octaves of tempo and reflex time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Need {
    /// How far the tempo is short of the goal, in octaves.
    pub tempo: f64,
    /// How far the reflex time is beyond the goal, in octaves; 0 where answers are not free or none counted yet.
    pub reflex: f64,
    /// Half an octave for a key that always goes down, nothing for one that never does.
    pub failing: f64,
}

impl Need {
    /// The need of a key from its statistics; reflex times only of the form that is practised now.
    pub(super) fn of(row: &KeyStats, goals: &Goals, practised: Option<Form>) -> Self {
        let rung = row.rung.unwrap_or_else(|| UNKNOWN.0.log2());
        let reflex = practised.and_then(|form| row.reflexes.get(&form));
        Self {
            tempo: (goals.tempo.0.log2() - rung).max(0.0),
            reflex: reflex.map_or(0.0, |log2| (log2 - goals.reflex.0.log2()).max(0.0)),
            failing: FAILING * (1.0 - row.passes),
        }
    }
    /// The whole need, in octaves of tempo.
    #[must_use]
    pub fn total(self) -> f64 {
        self.tempo + self.reflex + self.failing
    }
    /// Whether nothing but a rare failure is left of the need.
    #[must_use]
    pub fn is_satisfied(self) -> bool {
        self.tempo <= 0.0 && self.reflex <= 0.0 && self.failing <= FAILING * (1.0 - ladder::AT_HOME)
    }
}

/// Whether the key fails on and on today: the cause may lie outside the player, so the key rests until tomorrow.
pub(super) fn tired(row: &KeyStats) -> bool {
    row.cues_today >= TIRED_CUES && row.passes < TIRED_PASSES
}

/// What each key or pattern earns with every cue: a floor and its share of need. The earnings sum to 1 (stride scheduling,
/// Waldspurger & Weihl 1995).
pub(super) fn earnings(needs: &[f64]) -> Vec<f64> {
    let mean = needs.iter().sum::<f64>() / needs.len().max(1) as f64;
    let weight = |need: f64| FLOOR + if mean > 1e-9 { need / mean } else { 1.0 };
    let sum: f64 = needs.iter().map(|need| weight(*need)).sum();
    needs.iter().map(|need| weight(*need) / sum).collect()
}
