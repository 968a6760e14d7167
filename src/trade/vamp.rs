use std::sync::Arc;

use crate::backing::{BackingBand, BandWish, LEAD_IN, TEMPOS};
use crate::chart::{Change, Chorus, Numeral};
use crate::cue::{Cue, Rendering, RoundSound};
use crate::music::{ChordQuality, ChordSymbol, Degree, Letter, PitchName, chords};
use crate::units::{Decibels, Seconds};

/// The band under a round is softer than its cues by this.
const SOFTER: Decibels = Decibels(10.0);
/// The step by which the band's draws go round from 0 to 1, the golden ratio, so that no draw comes back.
const STEP: f64 = 0.618_033_988_749_894_9;

/// The same round over a soft band: under each cue and its answer the chord on which its pattern begins. The same cues give the same
/// samples. A round at a tempo outside those of the band (`TEMPOS`) is handed back as it is.
#[must_use]
pub fn vamp(cues: &[Cue], round: RoundSound, rendering: &Rendering) -> RoundSound {
    let Some(first) = cues.first().filter(|first| TEMPOS.contains(&first.tempo.0)) else { return round };
    let bar = first.tempo.lasting(first.meter.bar());
    let mut from = bar;
    let mut bars = |until: Seconds| (((until - std::mem::replace(&mut from, until)).0 / bar.0).round() as u32).max(1);
    let forms: Vec<Chorus> = cues.iter().zip(&round.places).map(|(cue, place)| form(cue, bars(place.until))).collect();
    let wish = BandWish {
        swing: false,
        choruses: Some(forms.len() as u32),
        level: Decibels(rendering.level.0 - SOFTER.0),
        a4: rendering.a4,
        ..BandWish::new(first.tempo, rendering.rate)
    };
    let mut place = f64::from(first.number) * STEP;
    let draw = move || {
        place = (place + STEP).fract();
        place
    };
    let Some(mut band) = BackingBand::new(forms, &wish, draw) else { return round };
    // The band's own lead-in is not heard.
    let before = band.beat(f64::from(LEAD_IN) * first.meter.bar().0).0 as usize;
    let mut played = vec![0.0; band.length().unwrap_or(0) as usize];
    band.read(&mut played);
    let RoundSound { mut sound, places } = round;
    let mut clip = Arc::unwrap_or_clone(sound.clip);
    clip.mix(rendering.rate.samples(bar), played.get(before..).unwrap_or(&[]));
    sound.clip = Arc::new(clip);
    RoundSound { sound, places }
}

/// The bars of a cue and of its answer over its chord; where the chord has no name, the band plays the pulse alone.
fn form(cue: &Cue, bars: u32) -> Chorus {
    let bar = cue.meter.bar().0.round() as u32;
    let chord = named(cue);
    let place = chord.as_ref().map(|it| Numeral { root: Degree::TONIC, quality: it.quality.clone(), bass: None });
    let change = |n: u32| Change { at: n * bar, beats: bar, place: place.clone(), chord: chord.clone() };
    let (changes, strains) = ((0..bars).map(change).collect(), Vec::new());
    Chorus { meter: bar, bars, pickup: Vec::new(), changes, strains }
}

/// The chord of a cue as a symbol: the first quality whose tones are just those of the chord.
fn named(cue: &Cue) -> Option<ChordSymbol> {
    let root = *cue.chord.first()?;
    let mut tones: Vec<i32> = cue.chord.iter().map(|tone| (tone.0 - root.0).rem_euclid(12)).collect();
    tones.sort_unstable();
    let same = |quality: &ChordQuality| {
        let mut degrees: Vec<i32> = quality.degrees().iter().map(|it| it.half_steps.rem_euclid(12)).collect();
        degrees.sort_unstable();
        degrees == tones
    };
    let quality = chords().iter().map(|named| &named.quality).find(|quality| same(quality))?.clone();
    Some(ChordSymbol { root: PitchName::on(Letter::C, root.class()), quality, bass: None })
}
