//! A chart while it is read: its bars before the key is known, and the step that places their chords in the key.

use crate::chart::model::{ChartBar, ChordShare, Passage, Strain};
use crate::chart::numeral::{Numeral, plain};
use crate::music::{ChordSymbol, Degree, Letter, Mode, PitchName, Tonality};

/// What stands in a slot before the key is known; `On` means that the chord before goes on.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Fill {
    Symbol(ChordSymbol),
    Numeral(Numeral),
    Silent,
    On,
}

/// A share whose chord is not yet placed in a key.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Unplaced {
    /// Whole beats, one at least.
    pub beats: u32,
    /// A chord, silence, or the chord before that goes on.
    pub fill: Fill,
}

/// One bar: its shares add up to the meter.
pub(super) type UnplacedBar = Vec<Unplaced>;

/// A [`Passage`] before the key is known.
pub(super) enum UnplacedPassage {
    Once(Vec<UnplacedBar>),
    Repeated(Vec<UnplacedBar>, u32),
    Ended(Vec<UnplacedBar>, Vec<Vec<UnplacedBar>>),
}

/// A strain before the key is known.
pub(super) struct UnplacedStrain {
    /// The name of the strain; `None` where the chart names none.
    pub name: Option<String>,
    /// The passages of the strain, in order.
    pub passages: Vec<UnplacedPassage>,
}

/// The minor third, which tells minor from major.
const MINOR_THIRD: Degree = Degree::altered(2, -1);

/// All chords in letters, in the order of the page.
fn symbols(strains: &[UnplacedStrain]) -> Vec<&ChordSymbol> {
    let bars = strains.iter().flat_map(|strain| &strain.passages).flat_map(|passage| match passage {
        UnplacedPassage::Once(bars) | UnplacedPassage::Repeated(bars, _) => bars.iter().collect::<Vec<_>>(),
        UnplacedPassage::Ended(bars, endings) => bars.iter().chain(endings.iter().flatten()).collect(),
    });
    let fills = bars.flatten().map(|share| &share.fill);
    fills.filter_map(|fill| if let Fill::Symbol(chord) = fill { Some(chord) } else { None }).collect()
}

/// The tonic of a chart in letters that names no key: the root of the last chord of rest (no dominant, no flat fifth) to which a
/// dominant leads, from a fifth above or, as a tritone substitute, from a half step above; else the root of the first chord. `None`
/// where no chord is in letters.
pub(super) fn guessed_home(strains: &[UnplacedStrain]) -> Option<PitchName> {
    let chords = symbols(strains);
    let has = |chord: &ChordSymbol, degree: Degree| chord.quality.degrees().contains(&degree);
    let dominant = |chord: &ChordSymbol| has(chord, Degree::altered(6, -1)) && !has(chord, MINOR_THIRD);
    let rests = |chord: &ChordSymbol| !dominant(chord) && !has(chord, Degree::altered(4, -1));
    let leads = |from: &ChordSymbol, to: &ChordSymbol| {
        let above = (from.root.class().get() - to.root.class().get()).rem_euclid(12);
        dominant(from) && rests(to) && matches!(above, 7 | 1)
    };
    let reached = chords.windows(2).rev().find(|pair| leads(pair[0], pair[1])).map(|pair| pair[1]);
    let tonic = reached.or_else(|| chords.first().copied())?;
    let mode = if has(tonic, MINOR_THIRD) { Mode::Minor } else { Mode::Major };
    // A tonic with a double sharp or flat has no key signature, so its enharmonic neighbour is taken.
    Some(plain(tonic.root, &Tonality { tonic: tonic.root, mode }.scale()))
}

/// The strains with their chords placed in the key of `home`; numerals are places in a key already. Strains without bars are left
/// out.
pub(super) fn placed(strains: Vec<UnplacedStrain>, home: Option<PitchName>) -> Vec<Strain> {
    let scale = home.map(|tonic| {
        let own = symbols(&strains).into_iter().rfind(|chord| chord.root.class() == tonic.class());
        let minor = own.is_some_and(|chord| chord.quality.degrees().contains(&MINOR_THIRD));
        Tonality { tonic, mode: if minor { Mode::Minor } else { Mode::Major } }.scale()
    });
    let scale = scale.unwrap_or_else(|| Tonality { tonic: C, mode: Mode::Major }.scale());
    let bars = |bars: Vec<UnplacedBar>| -> Vec<ChartBar> {
        let bar = |bar: UnplacedBar| ChartBar(bar.into_iter().map(|share| share.placed(home, &scale)).collect());
        bars.into_iter().map(bar).collect()
    };
    let passage = |passage| match passage {
        UnplacedPassage::Once(own) => Passage::Once(bars(own)),
        UnplacedPassage::Repeated(own, times) => Passage::Repeated { bars: bars(own), times },
        UnplacedPassage::Ended(own, endings) => {
            Passage::Ended { bars: bars(own), endings: endings.into_iter().map(bars).collect() }
        }
    };
    let strains = strains.into_iter().filter(|strain| !strain.passages.is_empty());
    strains.map(|own| Strain { name: own.name, passages: own.passages.into_iter().map(passage).collect() }).collect()
}

const C: PitchName = PitchName::natural(Letter::C);

impl Unplaced {
    /// The share with its chord in the key of `home`, whose scale is given; a root or bass with a double sharp or flat gets its name on the
    /// neighbouring letter.
    pub(super) fn placed(self, home: Option<PitchName>, scale: &[PitchName]) -> ChordShare {
        let named = |chord: ChordSymbol, home| {
            let single = |name: PitchName| if name.alter.abs() > 1 { plain(name, scale) } else { name };
            let chord = ChordSymbol { root: single(chord.root), bass: chord.bass.map(single), ..chord };
            Some(Numeral::of(&chord, home))
        };
        let chord = match (self.fill, home) {
            (Fill::Symbol(chord), Some(home)) => named(chord, home),
            (Fill::Numeral(numeral), Some(home)) => named(numeral.on(home), home),
            (Fill::Numeral(numeral), None) => Some(numeral),
            _ => None,
        };
        ChordShare { beats: self.beats, chord }
    }
}
