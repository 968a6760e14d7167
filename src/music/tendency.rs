use std::fmt;
use std::sync::OnceLock;

use crate::music::{Concert, HalfSteps, Instrument, Sounding};
use crate::units::Cents;

use super::file;
use super::fingerings::{FingeringTable, Fingerings, Way};

const TABLE: &str = include_str!("../../assets/fingerings.toml");

/// The least computed error that is told, in cents.
const WORTH_TELLING: f64 = 8.0;
/// The partials up to the tenth that lie flat by more than [`WORTH_TELLING`] (harmonic series).
const FLAT_PARTIALS: [u32; 3] = [5, 7, 10];

/// How a note is usually fingered and where the instrument pulls its pitch.
///
/// It is shown only after an answer, because a player who reads the fingering need not hear the note.
#[derive(Debug, Clone, PartialEq)]
pub struct Tendency {
    /// The usual fingering.
    pub fingering: Fingering,
    /// Another fingering in use; `None` where the table has none.
    pub other: Option<Fingering>,
    /// The predicted distance from equal temperament, sharp above zero; `None` where it cannot be computed.
    pub cents: Option<Cents>,
    /// The direction in which the instrument is known to pull the note, and what is done about it.
    pub pull: Option<Pull>,
    /// How the open strings of the player's instrument show whether the note is in tune.
    pub check: Option<Check>,
}

/// A fingering. It prints as players write it: `open`, `1+2`, `fourth position`, `D string, third finger`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fingering {
    /// The pressed valves, lowest number first; none for the open tube.
    Valves {
        /// Whether the thumb valve of a double horn is pressed.
        thumb: bool,
        /// The other pressed valves.
        pressed: Vec<u32>,
    },
    /// A slide position, 1 to 7, counted by half steps.
    Position {
        /// Whether the trigger of a trombone with an attachment in F is pressed; positions then lie further out.
        trigger: bool,
        /// The number of the position, 1 where the slide is in.
        number: u32,
    },
    /// Holes and keys, as the table of fingerings writes them.
    Keys(String),
    /// A string and the finger on it.
    Bowed {
        /// The name of the open string.
        string: &'static str,
        /// The name of the finger, or "open"; `None` above first position.
        finger: Option<String>,
    },
    /// Every place of the note, the lowest fret first: the string, 1 for the highest, and the fret, 0 for the open string.
    Frets(Vec<(usize, i32)>),
}

/// A known pull on the pitch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pull {
    /// Whether the note is pulled sharp; else it is pulled flat.
    pub sharp: bool,
    /// What is commonly done about it.
    pub cure: Cure,
}

/// What is commonly done about a pull (common practice).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cure {
    /// Extend the first-valve slide, or lip the note down.
    FirstSlide,
    /// Extend the third-valve slide.
    ThirdSlide,
    /// Lip the note down, or pull the main slide.
    MainSlide,
    /// The partial of this number is flat: lift the note.
    Lift(u32),
    /// The partial of this number is flat: bring the slide in.
    SlideIn(u32),
    /// Correct the pitch with embouchure and breath alone.
    Breath(Sounding),
}

/// How open strings show whether a note is in tune.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Check {
    /// The note is an open string.
    Open,
    /// An open string of this name rings along where the note is in tune.
    RingsWith(&'static str),
}

impl Tendency {
    /// Whether the tendency helps with a note that was `off` by this much: it pulls in the same direction, or a string shows the pitch.
    #[must_use]
    pub fn bears_on(&self, off: Cents) -> bool {
        self.check.is_some() || self.pull.is_some_and(|pull| pull.sharp == (off.0 > 0.0))
    }
}

fn fingering_table() -> &'static FingeringTable {
    static READ: OnceLock<FingeringTable> = OnceLock::new();
    READ.get_or_init(|| file::fingering_table(TABLE).unwrap_or_default())
}

/// The fingering, slide position or string of a sounding note, and its known tendency; `None` where the table has no fingering of the
/// instrument or of the note.
#[must_use]
pub fn tendency(instrument: &Instrument, sounds: Concert) -> Option<Tendency> {
    let note = instrument.written(sounds);
    let plain = |fingering| Tendency { fingering, other: None, cents: None, pull: None, check: None };
    match fingering_table().named(instrument.fingerings.as_deref()?)? {
        Fingerings::Tube { notes, slide } => {
            let [first, others @ ..] = notes.get(&note)?.as_slice() else { return None };
            Some(Tendency {
                other: others.first().map(|way| way.fingering(*slide)),
                cents: Some(first.cents),
                pull: tube_pull(first, *slide),
                ..plain(first.fingering(*slide))
            })
        }
        Fingerings::Fingers { notes, sharp, flat } => {
            let cure = Cure::Breath(instrument.sounding);
            let pull = |sharp: bool| Pull { sharp, cure };
            let pull = sharp.contains(&note).then(|| pull(true)).or(flat.contains(&note).then(|| pull(false)));
            Some(Tendency { pull, ..plain(Fingering::Keys(notes.get(&note)?.clone())) })
        }
        Fingerings::Bowed { open, fingers } => {
            let string = open.iter().rev().find(|string| **string <= sounds)?;
            let finger = fingers.get((sounds - *string).0 as usize).cloned();
            let rings = open.iter().find(|other| (**other - sounds).0 % 12 == 0).map(|other| string_name(*other));
            let check = if open.contains(&sounds) { Some(Check::Open) } else { rings.map(Check::RingsWith) };
            Some(Tendency { check, ..plain(Fingering::Bowed { string: string_name(*string), finger }) })
        }
        Fingerings::Fretted { open, frets } => {
            let check = open.contains(&sounds).then_some(Check::Open);
            fretted(open, *frets, sounds).map(|places| Tendency { check, ..plain(places) })
        }
    }
}

impl Way {
    fn fingering(&self, slide: bool) -> Fingering {
        if slide {
            return Fingering::Position { trigger: self.thumb, number: self.pressed };
        }
        Fingering::Valves { thumb: self.thumb, pressed: self.valves().collect() }
    }
}

fn tube_pull(way: &Way, slide: bool) -> Option<Pull> {
    let cents = way.cents.0;
    let pressed = |number: u32| !slide && way.valves().any(|valve| valve == number);
    let flat_partial = cents < 0.0 && FLAT_PARTIALS.contains(&way.partial);
    let cure = match flat_partial {
        true if slide && way.pressed > 1 => Cure::SlideIn(way.partial),
        true => Cure::Lift(way.partial),
        false if pressed(3) => Cure::ThirdSlide,
        false if pressed(4) => Cure::MainSlide,
        false => Cure::FirstSlide,
    };
    (cents.abs() >= WORTH_TELLING).then_some(Pull { sharp: cents > 0.0, cure })
}

fn fretted(open: &[Concert], frets: i32, sounds: Concert) -> Option<Fingering> {
    let place = |(n, string): (usize, &Concert)| {
        let HalfSteps(fret) = sounds - *string;
        (0..=frets).contains(&fret).then_some((open.len() - n, fret))
    };
    let mut places: Vec<(usize, i32)> = open.iter().enumerate().filter_map(place).collect();
    places.sort_unstable_by_key(|(string, fret)| (*fret, *string));
    (!places.is_empty()).then_some(Fingering::Frets(places))
}

fn string_name(string: Concert) -> &'static str {
    ["C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"][string.class().get() as usize]
}

impl fmt::Display for Fingering {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Valves { thumb, pressed } => {
                let valves: Vec<String> = pressed.iter().map(u32::to_string).collect();
                let valves = if valves.is_empty() { "open".to_owned() } else { valves.join("+") };
                write!(out, "{}{valves}", if *thumb { "thumb and " } else { "" })
            }
            Self::Position { trigger, number } => {
                let names = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh"];
                let name = names.get(number.saturating_sub(1) as usize).copied().unwrap_or("first");
                write!(out, "{}{name} position", if *trigger { "trigger and " } else { "" })
            }
            Self::Keys(keys) => out.write_str(keys),
            Self::Bowed { string, finger } => {
                write!(out, "{string} string, {}", finger.as_deref().unwrap_or("above first position"))
            }
            Self::Frets(places) => {
                let spots: Vec<String> = places
                    .iter()
                    .map(|(string, fret)| match fret {
                        0 => format!("string {string} open"),
                        _ => format!("string {string} fret {fret}"),
                    })
                    .collect();
                out.write_str(&spots.join(", or "))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{Spelled, instrument, instruments};

    fn tendency_of(id: &str, note: &str) -> Tendency {
        let instrument = instrument(id).unwrap();
        let sounds = instrument.concert(note.parse::<Spelled>().unwrap().written());
        tendency(instrument, sounds).unwrap_or_else(|| panic!("{note} on {id}"))
    }
    fn fingered(id: &str, note: &str) -> String {
        tendency_of(id, note).fingering.to_string()
    }

    #[test]
    fn the_charts_are_whole_and_every_instrument_names_one_that_exists() {
        let fingering_table = file::fingering_table(TABLE).unwrap();
        for one in instruments() {
            if let Some(name) = &one.fingerings {
                assert!(fingering_table.named(name).is_some(), "{name} of {}", one.id);
                for range in [one.developing, one.working] {
                    for note in range.low.0..=range.high.0 {
                        assert!(tendency(one, Concert(note)).is_some(), "{note} on {}", one.id);
                    }
                }
            }
        }
    }

    #[test]
    fn the_valve_chart_predicts_what_the_acoustics_tables_say() {
        // Fingerings: common practice. Cents, to which the numbers below hold: the harmonic series plus valve arithmetic in which 2+3 is
        // true. A published trumpet table (from memory) has nearly the same: +8 for 1+2, +15 for 1+3, +38 for 1+2+3, -14 for the
        // fifth partial.
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
            let known = tendency_of("trumpet", note);
            assert_eq!(known.fingering.to_string(), fingering, "{note}");
            let predicted = known.cents.unwrap().0;
            assert!((predicted - cents).abs() < 1.0, "{note}: {predicted}");
        }
    }

    #[test]
    fn a_sharp_low_d_on_the_trumpet_is_the_horn_and_not_the_ear() {
        let low_d = tendency_of("trumpet", "D4");
        assert_eq!(low_d.pull, Some(Pull { sharp: true, cure: Cure::ThirdSlide }));
        assert!(low_d.bears_on(Cents(38.0)) && !low_d.bears_on(Cents(-38.0)), "a flat D is the player's own");
        let top_e = tendency_of("trumpet", "E5");
        assert_eq!(top_e.pull, Some(Pull { sharp: false, cure: Cure::Lift(5) }));
        assert_eq!(top_e.other.map(|way| way.to_string()).as_deref(), Some("1+2"));
        assert_eq!(tendency_of("trumpet", "C5").pull, None);
    }

    #[test]
    fn all_three_valve_instruments_finger_the_same_written_notes() {
        for id in ["cornet", "flugelhorn", "tenor-horn", "euphonium-treble", "eb-bass", "bbb-bass"] {
            assert_eq!(tendency_of(id, "D4"), tendency_of("trumpet", "D4"), "{id}");
        }
        assert_eq!(fingered("horn", "D4"), "1");
        assert_eq!(fingered("horn", "C5"), "thumb and open");
    }

    #[test]
    fn slide_and_fourth_valve_follow_the_methods() {
        for (id, note, fingering) in [
            ("trombone", "E2", "seventh position"),
            ("trombone", "F4", "first position"),
            ("trombone", "B3", "fourth position"),
            ("bass-trombone", "F2", "sixth position"),
            ("bass-trombone", "E2", "seventh position"),
            ("bass-trombone", "Eb2", "trigger and third position"),
            ("bass-trombone", "C2", "trigger and sixth position"),
            ("euphonium", "C3", "4"),
            ("euphonium", "B2", "2+4"),
            ("tuba", "F1", "4"),
            ("tuba", "Bb1", "open"),
            ("eb-tuba", "Eb2", "open"),
        ] {
            assert_eq!(fingered(id, note), fingering, "{note} on {id}");
        }
        assert_eq!(tendency_of("trombone", "C4").pull, Some(Pull { sharp: false, cure: Cure::SlideIn(5) }));
        assert!(
            tendency_of("euphonium", "C3").cents.unwrap().0 < tendency_of("euphonium-treble", "D4").cents.unwrap().0
        );
    }

    #[test]
    fn woodwinds_share_their_written_fingerings() {
        for id in ["soprano-sax", "alto-sax", "tenor-sax", "baritone-sax"] {
            assert_eq!(fingered(id, "G4"), "123", "{id}");
        }
        assert_eq!(fingered("clarinet", "B4"), "R T 123|456 low E");
        // From C#6 on the first finger is lifted, which sounds the fifth partial of the low fingerings of A3, Bb3 and on, two octaves
        // and a major third higher (acoustics tables).
        for (high, low) in [("C#6", "A3"), ("D6", "Bb3"), ("Eb6", "B3"), ("E6", "C4"), ("F#6", "D4")] {
            let lifted = fingered("clarinet", low).replacen('1', "", 1);
            assert!(fingered("clarinet", high).starts_with(&format!("R {lifted}")), "{high} over {low}");
        }
        assert_eq!(fingered("alto-recorder", "F4"), fingered("soprano-recorder", "C4"));
        assert!(tendency_of("flute", "C#5").pull.unwrap().sharp && !tendency_of("flute", "C4").pull.unwrap().sharp);
    }

    #[test]
    fn strings_tell_string_and_finger_or_every_fret() {
        assert_eq!(fingered("violin", "F#4"), "D string, second finger");
        assert_eq!(fingered("viola", "C3"), "C string, open");
        assert_eq!(fingered("double-bass", "G2"), "E string, second finger");
        assert_eq!(tendency_of("violin", "G4").check, Some(Check::RingsWith("G")));
        assert_eq!(tendency_of("violin", "A4").check, Some(Check::Open));
        assert_eq!(tendency_of("violin", "F#4").check, None);
        // Written E5 on guitar sounds E4: one place on every string (frets by definition of the half step).
        let places = "string 1 open, or string 2 fret 5, or string 3 fret 9, or string 4 fret 14, or string 5 fret 19, or string 6 fret 24";
        assert_eq!(fingered("guitar", "E5"), places);
        assert_eq!((tendency_of("guitar", "E5").check, tendency_of("guitar", "F5").check), (Some(Check::Open), None));
        assert_eq!(tendency(instrument("piano").unwrap(), Concert(60)), None);
    }
}
