use crate::music::{Degree, HalfSteps, PitchName, spell_degree};

/// A scale: degrees upward from its tonic, within one octave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scale {
    /// Short name for files, such as `lydian-dominant`.
    pub id: String,
    /// The name musicians use.
    pub name: String,
    /// Other names of the scale.
    pub also: Vec<String>,
    /// The degrees, rising, the tonic first.
    pub degrees: Vec<Degree>,
}

impl Scale {
    /// Half steps above the tonic, rising.
    #[must_use]
    pub fn half_steps(&self) -> Vec<HalfSteps> {
        self.degrees.iter().map(|degree| HalfSteps(degree.half_steps)).collect()
    }
    /// The notes from a tonic up, spelled by degree.
    #[must_use]
    pub fn on(&self, tonic: PitchName) -> Vec<PitchName> {
        self.degrees.iter().map(|degree| spell_degree(tonic, *degree)).collect()
    }
    /// Whether a degree sounds in the scale, in any octave and spelling.
    #[must_use]
    pub fn sounds(&self, degree: Degree) -> bool {
        self.degrees.iter().any(|own| (own.half_steps - degree.half_steps).rem_euclid(12) == 0)
    }
}
