use crate::chart::model::{ChordChart, ChordShare};
use crate::chart::numeral::Numeral;
use crate::music::{ChordSymbol, Letter, PitchName};

/// Once through a form, repeats and endings played out: its bars, and the chord of each beat.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chorus {
    /// Quarters in a bar.
    pub meter: u32,
    /// Bars in all.
    pub bars: u32,
    /// The changes before the first bar line; their beats count from the first beat of the pick-up.
    pub pickup: Vec<Change>,
    /// The chords in order, without a gap; a chord that goes on over a bar line is a new change there.
    pub changes: Vec<Change>,
    /// Where each strain begins, in bars from 0, with its name.
    pub strains: Vec<(u32, Option<String>)>,
}

/// A stretch of beats under one chord, within a bar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The beat on which the change begins, from 0.
    pub at: u32,
    /// Beats, one at least.
    pub beats: u32,
    /// The chord by its place in the key; `None` where none is played.
    pub place: Option<Numeral>,
    /// The chord by its name; `None` where none is played.
    pub chord: Option<ChordSymbol>,
}

impl ChordChart {
    /// Once through the form, in the chart's own key; a chart in numerals is taken in C.
    #[must_use]
    pub fn chorus(&self) -> Chorus {
        let tonic = self.home.unwrap_or(PitchName::natural(Letter::C));
        let mut chorus =
            Chorus { meter: self.meter, bars: 0, pickup: Vec::new(), changes: Vec::new(), strains: Vec::new() };
        append(&mut chorus.pickup, &self.pickup, tonic);
        for strain in &self.strains {
            chorus.strains.push((chorus.bars, strain.name.clone()));
            for bar in strain.passages.iter().flat_map(|passage| passage.played()) {
                append(&mut chorus.changes, &bar.0, tonic);
                chorus.bars += 1;
            }
        }
        chorus
    }
}

fn append(changes: &mut Vec<Change>, shares: &[ChordShare], tonic: PitchName) {
    for share in shares {
        let at = changes.last().map_or(0, |change| change.at + change.beats);
        let chord = share.chord.as_ref().map(|place| place.on(tonic));
        changes.push(Change { at, beats: share.beats, place: share.chord.clone(), chord });
    }
}

impl Chorus {
    /// Beats from the first bar line to the end.
    #[must_use]
    pub const fn beats(&self) -> u32 {
        self.bars * self.meter
    }
    /// The strong beats of a bar, counted from 0: the first, and from 4/4 on also the one on which the second half of the bar
    /// begins (common practice: 5/4 as three and two, 7/4 as four and three).
    #[must_use]
    pub const fn strong_beats(&self) -> &'static [u32] {
        match self.meter {
            4 => &[0, 2],
            5 | 6 => &[0, 3],
            7 => &[0, 4],
            _ => &[0],
        }
    }
    /// Beats before the first bar line.
    #[must_use]
    pub fn pickup_beats(&self) -> u32 {
        self.pickup.iter().map(|change| change.beats).sum()
    }
    /// The change under a beat, counted from the first bar line; `None` after the end.
    #[must_use]
    pub fn under(&self, beat: u32) -> Option<&Change> {
        let n = self.changes.partition_point(|change| change.at + change.beats <= beat);
        self.changes.get(n).filter(|change| change.at <= beat)
    }
    /// The chord of each beat in order; `None` where none is played.
    pub fn each_beat(&self) -> impl Iterator<Item = Option<&ChordSymbol>> {
        self.changes.iter().flat_map(|change| (0..change.beats).map(|_| change.chord.as_ref()))
    }
    /// The same form with every group of `bars` bars played twice in a row, as for a call and its answer. The last group may be shorter and
    /// is played twice too. A strain that begins inside a group begins with that group.
    #[must_use]
    pub fn each_twice(&self, bars: u32) -> Self {
        let bars = bars.max(1);
        let mut twice = Self { bars: 2 * self.bars, changes: Vec::new(), strains: Vec::new(), ..self.clone() };
        for first in (0..self.bars).step_by(bars as usize) {
            let (from, until) = (first * self.meter, (first + bars).min(self.bars) * self.meter);
            for later in [from, until] {
                let inside = self.changes.iter().filter(|change| (from..until).contains(&change.at));
                twice.changes.extend(inside.map(|change| Change { at: change.at + later, ..change.clone() }));
            }
        }
        twice.strains.extend(self.strains.iter().map(|(from, name)| (2 * (from / bars * bars), name.clone())));
        twice
    }
    /// The name of the strain to which a bar belongs; bars count from 0.
    #[must_use]
    pub fn strain(&self, bar: u32) -> Option<&str> {
        self.strains.iter().rev().find(|(from, _)| *from <= bar).and_then(|(_, name)| name.as_deref())
    }
}
