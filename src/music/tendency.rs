use std::sync::OnceLock;

use crate::music::{Concert, HalfSteps, Instrument, Written};
use crate::units::Cents;

use super::chart::{Chart, Charts, Way};
use super::file;

const TABLE: &str = include_str!("../../assets/fingerings.toml");

/// From here on a computed error is worth telling.
const WORTH_TELLING: f64 = 8.0;

/// How a written note is usually fingered and where that fingering pulls its pitch: the instrument's share of an error.
///
/// Only for after an answer: a player who is told the fingering has not heard the note.
#[derive(Debug, Clone, PartialEq)]
pub struct Tendency {
    /// The usual fingering in words: `open`, `1+2`, `fourth position`, `D string, third finger`.
    pub fingering: String,
    /// Where the pitch is predicted to lie, sharp above zero; `None` where nothing can be computed.
    pub cents: Option<Cents>,
    /// What is commonly done about it; `None` when the fingering is true.
    pub hint: Option<String>,
}

fn charts() -> &'static Charts {
    static READ: OnceLock<Charts> = OnceLock::new();
    READ.get_or_init(|| file::charts(TABLE).unwrap_or_default())
}

/// The fingering, slide or string position of a written note and its known tendency; `None` without a chart for the
/// instrument or the note.
#[must_use]
pub fn tendency(instrument: &Instrument, note: Written) -> Option<Tendency> {
    match charts().named(instrument.chart.as_deref()?)? {
        Chart::Tube { notes, slide } => {
            let [first, others @ ..] = notes.get(&note)?.as_slice() else { return None };
            Some(Tendency {
                fingering: words(first, *slide),
                cents: Some(first.cents),
                hint: tube_hint(first, others.first(), *slide),
            })
        }
        Chart::Fingers { notes, sharp, flat } => {
            let fingering = notes.get(&note)?.clone();
            let hint = if sharp.contains(&note) {
                Some("this note usually runs a little sharp: relax the embouchure or aim lower".to_owned())
            } else if flat.contains(&note) {
                Some("this note usually runs a little flat: more support, aim higher".to_owned())
            } else {
                None
            };
            Some(Tendency { fingering, cents: None, hint })
        }
        Chart::Bowed { open, fingers } => bowed(open, fingers, instrument.concert(note)),
        Chart::Fretted { open, frets } => fretted(open, *frets, instrument.concert(note)),
    }
}

fn words(way: &Way, slide: bool) -> String {
    if slide {
        let names = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh"];
        let name = names.get(way.pressed.saturating_sub(1) as usize).copied().unwrap_or("first");
        return format!("{name} position");
    }
    let valves: Vec<String> = way.valves().map(|valve| valve.to_string()).collect();
    let valves = if valves.is_empty() { "open".to_owned() } else { valves.join("+") };
    if way.thumb { format!("thumb and {valves}") } else { valves }
}

fn tube_hint(way: &Way, other: Option<&Way>, slide: bool) -> Option<String> {
    let cents = way.cents.0;
    if cents.abs() < WORTH_TELLING {
        return None;
    }
    let partial = ["", "", "", "", "", "fifth", "", "seventh", "", "", "tenth"].get(way.partial as usize).copied();
    let from_partial = partial.filter(|name| !name.is_empty() && cents < 0.0);
    let what = match from_partial {
        Some(name) if slide && way.pressed > 1 => format!("the {name} partial is flat: bring the slide in a little"),
        Some(name) => format!("the {name} partial is flat: lift it a little"),
        None if way.valves().any(|valve| valve == 3) => "sharp by the valves: extend the third-valve slide".to_owned(),
        None if way.valves().any(|valve| valve == 4) => {
            "sharp by the valves: lip it down, or pull the main slide".to_owned()
        }
        None => "a little sharp by the valves: extend the first-valve slide, or lip it down".to_owned(),
    };
    Some(match other {
        Some(other) => format!("{what}, or take {}", words(other, slide)),
        None => what,
    })
}

fn bowed(open: &[Concert], fingers: &[String], sounds: Concert) -> Option<Tendency> {
    let string = open.iter().rev().find(|string| **string <= sounds)?;
    let above = (sounds - *string).0 as usize;
    let named = string_name(*string);
    let fingering = match fingers.get(above) {
        Some(finger) => format!("{named} string, {finger}"),
        None => format!("{named} string, above first position"),
    };
    let next_open = open.contains(&(*string + HalfSteps(12)));
    let hint = match above {
        0 => Some("an open string cannot be bent: tune it, then trust it".to_owned()),
        12 if next_open => Some("compare with the open string".to_owned()),
        _ if open.iter().any(|other| (*other - sounds).0.rem_euclid(12) == 0) => {
            Some("an open string rings along when this note is true".to_owned())
        }
        _ => None,
    };
    Some(Tendency { fingering, cents: None, hint })
}

fn fretted(open: &[Concert], frets: i32, sounds: Concert) -> Option<Tendency> {
    let count = open.len();
    let place = |(n, string): (usize, &Concert)| {
        let fret = (sounds - *string).0;
        let number = count - n;
        (0..=frets).contains(&fret).then_some((fret, number))
    };
    let mut places: Vec<(i32, usize)> = open.iter().enumerate().filter_map(place).collect();
    places.sort_unstable();
    let told: Vec<String> = places
        .iter()
        .map(|(fret, number)| match fret {
            0 => format!("string {number} open"),
            _ => format!("string {number} fret {fret}"),
        })
        .collect();
    (!told.is_empty()).then(|| Tendency { fingering: told.join(", or "), cents: None, hint: None })
}

fn string_name(string: Concert) -> &'static str {
    ["C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"][string.class().get() as usize]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{Spelled, instrument, instruments};

    fn told(id: &str, note: &str) -> Tendency {
        let written = note.parse::<Spelled>().unwrap().written();
        tendency(instrument(id).unwrap(), written).unwrap_or_else(|| panic!("{note} on {id}"))
    }

    #[test]
    fn the_charts_are_whole_and_every_instrument_names_one_that_exists() {
        let charts = file::charts(TABLE).unwrap();
        for one in instruments() {
            if let Some(name) = &one.chart {
                assert!(charts.named(name).is_some(), "{name} of {}", one.id);
                let low = one.written(one.developing.low).0;
                let high = one.written(one.developing.high).0;
                for note in low..=high {
                    assert!(tendency(one, Written(note)).is_some(), "{note} on {}", one.id);
                }
            }
        }
    }

    #[test]
    fn the_valve_chart_predicts_what_the_acoustics_tables_say() {
        // Chart: common practice. Cents: harmonic series plus valve arithmetic with 2+3 true; a published trumpet table has
        // +8 for 1+2, +15 for 1+3, +38 for 1+2+3, -14 for the fifth partial.
        for (note, fingering, cents) in [
            ("F#3", "1+2+3", 39.0),
            ("G3", "1+3", 16.0),
            ("Ab3", "2+3", 0.0),
            ("A3", "1+2", 11.0),
            ("C4", "open", 0.0),
            ("C#4", "1+2+3", 41.0),
            ("D4", "1+3", 17.0),
            ("E4", "1+2", 13.0),
            ("G4", "open", 2.0),
            ("C#5", "1+2", -3.0),
            ("D5", "1", -14.0),
            ("E5", "open", -14.0),
            ("G5", "open", 2.0),
            ("C6", "open", 0.0),
            ("D6", "1", -14.0),
        ] {
            let told = told("trumpet", note);
            assert_eq!(told.fingering, fingering, "{note}");
            let predicted = told.cents.unwrap().0;
            assert!((predicted - cents).abs() < 1.0, "{note}: {predicted}");
        }
    }

    #[test]
    fn a_sharp_low_d_on_the_trumpet_is_the_horn_and_not_the_ear() {
        assert_eq!(told("trumpet", "D4").hint.as_deref(), Some("sharp by the valves: extend the third-valve slide"));
        assert_eq!(
            told("trumpet", "E5").hint.as_deref(),
            Some("the fifth partial is flat: lift it a little, or take 1+2")
        );
        assert_eq!(told("trumpet", "C5").hint, None);
    }

    #[test]
    fn all_three_valve_instruments_finger_the_same_written_notes() {
        for id in ["cornet", "flugelhorn", "tenor-horn", "euphonium-treble", "eb-bass", "bbb-bass"] {
            assert_eq!(told(id, "D4"), told("trumpet", "D4"), "{id}");
        }
        assert_eq!(told("horn", "D4").fingering, "1");
        assert_eq!(told("horn", "C5").fingering, "thumb and open");
    }

    #[test]
    fn slide_and_fourth_valve_follow_the_methods() {
        for (id, note, fingering) in [
            ("trombone", "E2", "seventh position"),
            ("trombone", "F4", "first position"),
            ("trombone", "B3", "fourth position"),
            ("euphonium", "C3", "4"),
            ("euphonium", "B2", "2+4"),
            ("tuba", "F1", "4"),
            ("tuba", "Bb1", "open"),
            ("eb-tuba", "Eb2", "open"),
        ] {
            assert_eq!(told(id, note).fingering, fingering, "{note} on {id}");
        }
        assert!(told("trombone", "C4").hint.unwrap().contains("bring the slide in"));
        assert!(told("euphonium", "C3").cents.unwrap().0 < told("euphonium-treble", "D4").cents.unwrap().0);
    }

    #[test]
    fn woodwinds_share_their_written_fingerings() {
        for id in ["soprano-sax", "alto-sax", "tenor-sax", "baritone-sax"] {
            assert_eq!(told(id, "G4").fingering, "123", "{id}");
        }
        assert_eq!(told("clarinet", "B4").fingering, "R T 123|456 low E");
        assert_eq!(told("alto-recorder", "F4").fingering, told("soprano-recorder", "C4").fingering);
        assert!(told("flute", "C#5").hint.unwrap().contains("sharp"));
    }

    #[test]
    fn strings_tell_string_and_finger_or_every_fret() {
        assert_eq!(told("violin", "F#4").fingering, "D string, second finger");
        assert_eq!(told("viola", "C3").fingering, "C string, open");
        assert_eq!(told("double-bass", "G2").fingering, "E string, second finger");
        // Written E5 on guitar sounds E4: one place on every string (frets by definition of the half step).
        let places = "string 1 open, or string 2 fret 5, or string 3 fret 9, or string 4 fret 14, or string 5 fret 19, or string 6 fret 24";
        assert_eq!(told("guitar", "E5").fingering, places);
        assert_eq!(tendency(instrument("piano").unwrap(), Written(60)), None);
    }
}
