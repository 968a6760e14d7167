use crate::chart::numeral::{Numeral, plain};
use crate::music::{Degree, Mode, PitchClass, PitchName, Tonality};

/// A chart: strains of bars with their repeats; the chords in them are kept as places in one key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChordChart {
    /// The tonic, where the chart is in letters or names its key; `None` for Roman numerals without a key.
    pub(super) home: Option<PitchName>,
    /// Quarters in a bar, 2 to 7.
    pub(super) meter: u32,
    /// The chords before the first bar line, together less than a bar; often none.
    pub(super) pickup: Vec<ChordShare>,
    /// The strains in order: at least one, and none without bars.
    pub(super) strains: Vec<Strain>,
}

/// A part of a form with a name of its own, such as the A of AABA.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strain {
    /// The name of the strain; `None` where the chart names none.
    pub name: Option<String>,
    /// The passages of the strain, in order.
    pub passages: Vec<Passage>,
}

/// Bars as they are printed between repeat signs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Passage {
    /// Played once.
    Once(Vec<ChartBar>),
    /// Played twice or more.
    Repeated {
        /// The bars.
        bars: Vec<ChartBar>,
        /// How often the bars are played in all.
        times: u32,
    },
    /// Played once for each ending.
    Ended {
        /// The bars before the first ending.
        bars: Vec<ChartBar>,
        /// The endings, two at least.
        endings: Vec<Vec<ChartBar>>,
    },
}

/// One bar: its shares add up to the meter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChartBar(pub(super) Vec<ChordShare>);

/// A stretch of beats of a bar under one chord.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChordShare {
    /// Whole beats, one at least.
    pub beats: u32,
    /// The chord; `None` where none is played.
    pub chord: Option<Numeral>,
}

impl ChordChart {
    /// Quarters in a bar.
    #[must_use]
    pub const fn meter(&self) -> u32 {
        self.meter
    }
    /// The tonic, where the chart is in letters or names its key; `None` for Roman numerals without a key.
    #[must_use]
    pub const fn home(&self) -> Option<PitchName> {
        self.home
    }
    /// The strains in order.
    #[must_use]
    pub fn strains(&self) -> &[Strain] {
        &self.strains
    }
    /// The chords before the first bar line.
    #[must_use]
    pub fn pickup(&self) -> &[ChordShare] {
        &self.pickup
    }
    /// Whether the tonic of the chart is minor: the last chord on the tonic decides, or the first chord where none is on the tonic.
    #[must_use]
    pub fn is_minor(&self) -> bool {
        let chords = || self.printed().flat_map(|bar| &bar.0).filter_map(|share| share.chord.as_ref());
        let last = chords().filter(|chord| chord.root == Degree::TONIC).last();
        let third = Degree::altered(2, -1);
        last.or_else(|| chords().next()).is_some_and(|chord| chord.quality.degrees().contains(&third))
    }
    /// The key on `tonic`, minor where this chart is minor; `g_flat` names F sharp major as G flat.
    #[must_use]
    pub fn tonality(&self, tonic: PitchClass, g_flat: bool) -> Tonality {
        if self.is_minor() { Tonality::minor(tonic) } else { Tonality::major(tonic, g_flat) }
    }
    /// The chart in letters, in the key of `tonic`. Roots are named as on a page: no double sharps or flats.
    #[must_use]
    pub fn in_key(&self, tonic: PitchName) -> Self {
        let mode = if self.is_minor() { Mode::Minor } else { Mode::Major };
        let scale = Tonality { tonic, mode }.scale();
        self.mapped(Some(tonic), &|chord| {
            let mut named = chord.on(tonic);
            named.root = plain(named.root, &scale);
            named.bass = named.bass.map(|bass| plain(bass, &scale));
            Numeral::of(&named, tonic)
        })
    }
    /// The chart in Roman numerals.
    #[must_use]
    pub fn in_numerals(&self) -> Self {
        self.mapped(None, &|chord| chord.clone().simple())
    }
    /// Every bar as it is printed; a repeated bar comes once.
    pub(super) fn printed(&self) -> impl Iterator<Item = &ChartBar> {
        self.strains.iter().flat_map(|strain| &strain.passages).flat_map(Passage::printed)
    }
    /// The same chart with the tonic `home`, and with every chord changed by `change`.
    pub(super) fn mapped(&self, home: Option<PitchName>, change: &impl Fn(&Numeral) -> Numeral) -> Self {
        let mut chart = Self { home, ..self.clone() };
        let bars = chart.strains.iter_mut().flat_map(|strain| &mut strain.passages).flat_map(Passage::printed_mut);
        let shares = bars.flat_map(|bar| &mut bar.0).chain(&mut chart.pickup);
        shares.filter_map(|share| share.chord.as_mut()).for_each(|chord| *chord = change(chord));
        chart
    }
}

impl ChartBar {
    /// The chords in order.
    #[must_use]
    pub fn shares(&self) -> &[ChordShare] {
        &self.0
    }
}

impl Passage {
    /// The bars as they are printed: repeated bars come once.
    pub(super) fn printed(&self) -> impl Iterator<Item = &ChartBar> {
        let (bars, endings) = match self {
            Self::Once(bars) | Self::Repeated { bars, .. } => (bars, &[][..]),
            Self::Ended { bars, endings } => (bars, endings.as_slice()),
        };
        bars.iter().chain(endings.iter().flatten())
    }
    fn printed_mut(&mut self) -> impl Iterator<Item = &mut ChartBar> {
        let (bars, endings) = match self {
            Self::Once(bars) | Self::Repeated { bars, .. } => (bars, &mut [][..]),
            Self::Ended { bars, endings } => (bars, endings.as_mut_slice()),
        };
        bars.iter_mut().chain(endings.iter_mut().flatten())
    }
    /// The bars as they are played, repeats and endings played out.
    pub(super) fn played(&self) -> Vec<&ChartBar> {
        match self {
            Self::Once(bars) => bars.iter().collect(),
            Self::Repeated { bars, times } => (0..*times).flat_map(|_| bars).collect(),
            Self::Ended { bars, endings } => endings.iter().flat_map(|ending| bars.iter().chain(ending)).collect(),
        }
    }
}
