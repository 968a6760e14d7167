use crate::chart::model::{ChordChart, Strain};
use crate::chart::numeral::Numeral;
use crate::music::{ConcertKey, PitchClass};
use crate::pattern::Cycle;
use crate::units::Tempo;

/// A form with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedChart {
    /// The name by which the form is stored and typed, such as `minor-blues`.
    pub id: String,
    /// What a musician calls the form.
    pub name: String,
    /// A usual tempo of the form, in quarters a minute.
    pub tempo: Tempo,
    /// Whether the eighths over the form swing.
    pub swing: bool,
    /// The order in which the chart is taken through the twelve keys; `None` where it stays in one.
    pub cycle: Option<Cycle>,
    /// The bars of the form, in one key.
    pub chart: ChordChart,
    /// Where the form comes from.
    pub source: String,
}

impl NamedChart {
    /// Number of bars of the form; for a form that goes through a cycle of keys, the bars in all keys.
    #[must_use]
    pub fn bars(&self) -> u32 {
        self.in_key(PitchClass::new(0), false).chorus().bars
    }
    /// The whole form in letters, in the key of `tonic`. A form that goes through a cycle begins there and goes through all twelve keys;
    /// each key is a strain of its own, named after its tonic. F sharp major is named so unless `g_flat` asks for G flat.
    #[must_use]
    pub fn in_key(&self, tonic: PitchClass, g_flat: bool) -> ChordChart {
        let home = self.chart.tonality(tonic, g_flat).tonic;
        let mut whole = self.chart.in_key(home);
        let Some(cycle) = self.cycle else { return whole };
        // A file names no shuffled cycle, so nothing is drawn.
        let keys = cycle.keys(ConcertKey(tonic), |_| 0);
        whole.strains = Vec::new();
        for key in keys {
            let tonic = self.chart.tonality(key.0, g_flat).tonic;
            let cell = self.chart.in_key(tonic).mapped(Some(home), &|chord| Numeral::of(&chord.on(tonic), home));
            let passages = cell.strains.into_iter().flat_map(|strain| strain.passages).collect();
            whole.strains.push(Strain { name: Some(tonic.to_string()), passages });
        }
        whole
    }
}
