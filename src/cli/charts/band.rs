//! The band that was asked for: its tempo, its first key, where it moves, how it plays.

use crate::backing::{BandWish, BassLine, CEILING, TEMPOS, TimeKeeping};
use crate::chart::NamedChart;
use crate::cli::args::charts::{BandParts, BassChoice, KeyMoves, PulseChoice};
use crate::music::{ConcertKey, PitchClass};
use crate::pattern::Cycle;
use crate::talk::failure::Failure;
use crate::talk::player::Who;
use crate::units::{Decibels, Hertz, SampleRate, Tempo};

/// The tempo as typed, or the form's usual one.
pub fn tempo(typed: Option<f64>, form: &NamedChart) -> Result<f64, Failure> {
    let tempo = typed.unwrap_or(form.tempo.0);
    if TEMPOS.contains(&tempo) {
        return Ok(tempo);
    }
    let reach = format!("Give {} to {} quarter notes a minute.", TEMPOS.start(), TEMPOS.end());
    Err(Failure::usage(format!("quarter = {tempo} is out of the band's reach"), reach))
}

/// The first key as it sounds: as typed, else the chart's own, or C on the page for a chart in numerals.
pub fn first_key(typed: Option<&str>, form: &NamedChart, who: &Who) -> Result<ConcertKey, Failure> {
    match typed {
        Some(key) => who.key(key),
        None => Ok(who.page.home(form)),
    }
}

/// The parts that were asked for, at the rate of recordings.
pub fn wish(typed: &BandParts, tempo: Tempo, swing: bool, a4: Hertz) -> Result<BandWish, Failure> {
    let usual = BandWish::new(tempo, SampleRate::CD);
    let level = typed.level.unwrap_or(usual.level.0);
    if !(-60.0..=CEILING.0).contains(&level) {
        let what = format!("{level} dB is out of reach");
        return Err(Failure::usage(what, format!("Give -60 to {}: a band is soft.", CEILING.0)));
    }
    let bass = match typed.bass {
        BassChoice::Walking => Some(BassLine::Walking),
        BassChoice::RootAndFifth => Some(BassLine::RootAndFifth),
        BassChoice::None => None,
    };
    let pulse = match typed.pulse {
        PulseChoice::Brush => Some(TimeKeeping::Brush),
        PulseChoice::Click => Some(TimeKeeping::Click),
        PulseChoice::None => None,
    };
    let (chords, swing, level) = (!typed.no_chords, swing && !typed.even, Decibels(level));
    Ok(BandWish { bass, chords, pulse, swing, level, a4, ..usual })
}

/// The keys of one chorus after another.
pub fn moves(typed: KeyMoves, first: ConcertKey) -> Vec<ConcertKey> {
    let cycle = match typed {
        KeyMoves::Stay => return vec![first],
        KeyMoves::Fourths => Cycle::Fifths,
        KeyMoves::HalfSteps => Cycle::HalfSteps,
        KeyMoves::WholeSteps => Cycle::WholeSteps,
        KeyMoves::MinorThirds => return (0..4).map(|n| ConcertKey(PitchClass::new(first.0.get() + 3 * n))).collect(),
    };
    // None of these cycles is shuffled, so nothing is drawn by lot.
    cycle.keys(first, |_| 0).to_vec()
}
