//! Reads the tables of `assets/` into the types of this room.
//!
//! Only this file of the room uses serde. A table with one entry that cannot be read gives a [`BadTable`] and no values.

use std::collections::BTreeMap;

use serde::Deserialize;
use thiserror::Error;

use crate::music::{
    ChordQuality, Clef, Concert, Degree, HalfSteps, Instrument, Intonation, NamedChord, Range, Scale, ScaleFit,
    Sounding, Spelled, Unreadable, Written,
};
use crate::units::{Cents, Seconds};

use super::fingerings::{FingeringTable, Fingerings, Tube, Way};

/// Why a table cannot be used. The tests read every table that comes with the program.
#[derive(Debug, Error)]
pub(super) enum BadTable {
    #[error("not readable: {0}")]
    Toml(#[from] toml::de::Error),
    #[error("{entry}: {trouble}")]
    Entry { entry: String, trouble: String },
}

impl BadTable {
    fn entry(entry: &str, trouble: impl Into<String>) -> Self {
        Self::Entry { entry: entry.to_owned(), trouble: trouble.into() }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct InstrumentTable {
    bands: Vec<RawBands>,
    instrument: Vec<RawInstrument>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawBands {
    name: String,
    student: Option<[f64; 3]>,
    working: Option<[f64; 3]>,
    professional: Option<[f64; 3]>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawInstrument {
    id: String,
    name: String,
    #[serde(default)]
    also: Vec<String>,
    sounding: String,
    transposition: i32,
    clef: String,
    developing: [String; 2],
    working: [String; 2],
    advanced: [String; 2],
    bands: String,
    general_midi: u8,
    phrase_s: Option<f64>,
    fingerings: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ScaleTable {
    scale: Vec<RawScale>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawScale {
    id: String,
    name: String,
    #[serde(default)]
    also: Vec<String>,
    degrees: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ChordTable {
    chord: Vec<RawChord>,
    fit: Vec<RawFit>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawChord {
    print: String,
    name: String,
    #[serde(default)]
    also: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFit {
    chord: String,
    place: String,
    scales: Vec<String>,
    #[serde(default)]
    avoid: String,
}

/// Reads the table of scales.
pub(super) fn scales(text: &str) -> Result<Vec<Scale>, BadTable> {
    let table: ScaleTable = toml::from_str(text)?;
    let scale = |raw: RawScale| {
        Ok(Scale { degrees: degrees(&raw.id, &raw.degrees)?, id: raw.id, name: raw.name, also: raw.also })
    };
    table.scale.into_iter().map(scale).collect()
}

/// Reads the table of chords, and of the scales that fit them.
pub(super) fn chords(text: &str, scales: &'static [Scale]) -> Result<(Vec<NamedChord>, Vec<ScaleFit>), BadTable> {
    let table: ChordTable = toml::from_str(text)?;
    let chord = |raw: RawChord| Ok(NamedChord { quality: quality(&raw.print)?, name: raw.name, also: raw.also });
    let fit = |raw: RawFit| {
        let named = |id: &String| {
            scales.iter().find(|s| s.id == *id).ok_or_else(|| BadTable::entry(&raw.chord, format!("no scale {id}")))
        };
        Ok(ScaleFit {
            quality: quality(&raw.chord)?,
            scales: raw.scales.iter().map(named).collect::<Result<_, _>>()?,
            avoid: degrees(&raw.chord, &raw.avoid)?,
            place: raw.place,
        })
    };
    let chords = table.chord.into_iter().map(chord).collect::<Result<_, BadTable>>()?;
    Ok((chords, table.fit.into_iter().map(fit).collect::<Result<_, BadTable>>()?))
}

fn quality(symbol: &str) -> Result<ChordQuality, BadTable> {
    ChordQuality::parse(symbol).map_err(|trouble| BadTable::entry(symbol, trouble.to_string()))
}

fn degrees(entry: &str, words: &str) -> Result<Vec<Degree>, BadTable> {
    let degree = |word| Degree::parse(word).ok_or_else(|| BadTable::entry(entry, format!("no degree {word}")));
    words.split_whitespace().map(degree).collect()
}

/// Reads the table of instruments.
pub(super) fn instruments(text: &str) -> Result<Vec<Instrument>, BadTable> {
    let table: InstrumentTable = toml::from_str(text)?;
    table.instrument.iter().map(|raw| instrument(raw, &table.bands)).collect()
}

fn instrument(raw: &RawInstrument, bands: &[RawBands]) -> Result<Instrument, BadTable> {
    let bad = |trouble: &str| BadTable::entry(&raw.id, trouble);
    let bands = bands.iter().find(|b| b.name == raw.bands).ok_or_else(|| bad("no such bands"))?;
    Ok(Instrument {
        id: raw.id.clone(),
        name: raw.name.clone(),
        also: raw.also.clone(),
        sounding: sounding(&raw.sounding).ok_or_else(|| bad("no such way of sounding"))?,
        transposition: HalfSteps(raw.transposition),
        clef: clef(&raw.clef).ok_or_else(|| bad("no such clef"))?,
        developing: range(&raw.id, &raw.developing)?,
        working: range(&raw.id, &raw.working)?,
        advanced: range(&raw.id, &raw.advanced)?,
        intonation: intonation(bands.student),
        stricter: [intonation(bands.working), intonation(bands.professional)],
        general_midi: Some(raw.general_midi).filter(|n| (1..=128).contains(n)).ok_or_else(|| bad("no such sound"))?,
        phrase: raw.phrase_s.map(Seconds),
        fingerings: raw.fingerings.clone(),
    })
}

fn intonation(bands: Option<[f64; 3]>) -> Intonation {
    bands.map_or(Intonation::Unscored, |[in_tune, acceptable, off]| Intonation::Scored {
        in_tune: Cents(in_tune),
        acceptable: Cents(acceptable),
        off: Cents(off),
    })
}

fn range(entry: &str, ends: &[String; 2]) -> Result<Range, BadTable> {
    Ok(Range::new(pitch(entry, &ends[0])?.concert(), pitch(entry, &ends[1])?.concert()))
}

fn pitch(entry: &str, text: &str) -> Result<Spelled, BadTable> {
    text.parse().map_err(|trouble: Unreadable| BadTable::entry(entry, trouble.to_string()))
}

fn sounding(word: &str) -> Option<Sounding> {
    Some(match word {
        "lips" => Sounding::Lips,
        "reed" => Sounding::Reed,
        "edge" => Sounding::Edge,
        "voice" => Sounding::Voice,
        "bow" => Sounding::Bow,
        "plucked" => Sounding::Plucked,
        "keys" => Sounding::Keys,
        _ => return None,
    })
}

fn clef(word: &str) -> Option<Clef> {
    Some(match word {
        "treble" => Clef::Treble,
        "treble, octave down" => Clef::TrebleOctaveDown,
        "alto" => Clef::Alto,
        "tenor" => Clef::Tenor,
        "bass" => Clef::Bass,
        "grand" => Clef::Grand,
        _ => return None,
    })
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFingeringTable {
    valves: Vec<RawTube>,
    slide: Vec<RawTube>,
    moved: Vec<RawMoved>,
    fingers: Vec<RawFingers>,
    strings: Vec<RawStrings>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawTube {
    name: String,
    fundamental: String,
    thumb: Option<String>,
    #[serde(default)]
    valve_cents: Vec<f64>,
    notes: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawMoved {
    name: String,
    like: String,
    half_steps: i32,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFingers {
    name: String,
    notes: Vec<String>,
    sharp: Vec<String>,
    flat: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawStrings {
    name: String,
    open: Vec<String>,
    #[serde(default)]
    fingers: Vec<String>,
    frets: Option<i32>,
}

/// Reads the table of fingerings, slide positions and string positions.
pub(super) fn fingering_table(text: &str) -> Result<FingeringTable, BadTable> {
    let table: RawFingeringTable = toml::from_str(text)?;
    let mut fingering_table = FingeringTable::default();
    for (raws, slide) in [(&table.valves, false), (&table.slide, true)] {
        for raw in raws {
            fingering_table.0.insert(raw.name.clone(), Fingerings::Tube { notes: ways(raw)?, slide });
        }
    }
    for raw in &table.fingers {
        let written = |text: &String| pitch(&raw.name, text).map(Spelled::written);
        let note = |text: &String| {
            let (name, fingers) = text.split_once(": ").ok_or_else(|| BadTable::entry(&raw.name, text.clone()))?;
            Ok((pitch(&raw.name, name)?.written(), fingers.to_owned()))
        };
        let fingerings = Fingerings::Fingers {
            notes: raw.notes.iter().map(note).collect::<Result<_, BadTable>>()?,
            sharp: raw.sharp.iter().map(written).collect::<Result<_, _>>()?,
            flat: raw.flat.iter().map(written).collect::<Result<_, _>>()?,
        };
        fingering_table.0.insert(raw.name.clone(), fingerings);
    }
    for raw in &table.strings {
        let open: Vec<Concert> =
            raw.open.iter().map(|text| pitch(&raw.name, text).map(Spelled::concert)).collect::<Result<_, _>>()?;
        let fingerings = match raw.frets {
            Some(frets) => Fingerings::Fretted { open, frets },
            None => Fingerings::Bowed { open, fingers: raw.fingers.clone() },
        };
        fingering_table.0.insert(raw.name.clone(), fingerings);
    }
    for raw in &table.moved {
        let like = fingering_table.named(&raw.like).ok_or_else(|| BadTable::entry(&raw.name, "no such fingerings"))?;
        let moved = like.moved(HalfSteps(raw.half_steps));
        fingering_table.0.insert(raw.name.clone(), moved);
    }
    Ok(fingering_table)
}

fn ways(raw: &RawTube) -> Result<BTreeMap<Written, Vec<Way>>, BadTable> {
    let fundamental = pitch(&raw.name, &raw.fundamental)?.written();
    let thumb = raw.thumb.as_ref().map(|text| pitch(&raw.name, text).map(Spelled::written)).transpose()?;
    let tube = Tube { fundamental, thumb, valve_cents: &raw.valve_cents };
    let mut notes = BTreeMap::new();
    for text in &raw.notes {
        let bad = || BadTable::entry(&raw.name, format!("\"{text}\" does not come out"));
        let (name, ways) = text.split_once(' ').ok_or_else(bad)?;
        let note = pitch(&raw.name, name)?.written();
        let way = |words: &str| {
            let (pressed, partial) = words.trim().split_once(' ')?;
            tube.way(note, pressed, partial)
        };
        notes.insert(note, ways.split('/').map(way).collect::<Option<Vec<_>>>().ok_or_else(bad)?);
    }
    Ok(notes)
}
