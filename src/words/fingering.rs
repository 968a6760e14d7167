//! What the instrument does to a note, in words; only for after an answer.

use crate::music::{Check, Cure, Fingering, Sounding, Tendency};
use crate::units::Cents;
use crate::words::numbers::{list, ordinal};

/// What a player may learn about a note that was `off` by so much: "written D: first and third valves run sharp here, by about 18 cents;
/// common practice is to extend the third-valve slide". `name` is the note on the player's page. `None` where the instrument has no part in
/// the error.
#[must_use]
pub fn hint(name: &str, tendency: &Tendency, off: Cents) -> Option<String> {
    match tendency.check {
        _ if !tendency.bears_on(off) => None,
        Some(Check::Open) => Some(format!("written {name} is {}: tune it, then trust it", open(&tendency.fingering))),
        Some(Check::RingsWith(ringing)) => Some(match &tendency.fingering {
            Fingering::Bowed { string, finger: Some(finger) } => format!(
                "written {name}: {finger} on the {string} string is true where the open {ringing} string rings along"
            ),
            _ => format!("written {name}: the open {ringing} string rings along when this note is true"),
        }),
        None => pulled(name, tendency),
    }
}

/// Names an open string and, on a fretted instrument, a second place for the same note: nobody can hear on which of them it was played.
fn open(fingering: &Fingering) -> String {
    match fingering {
        Fingering::Bowed { string, .. } => format!("the open {string} string"),
        Fingering::Frets(places) => match places[..] {
            [_, (string, fret), ..] => format!("an open string, or fret {fret} of the {} one", ordinal(string - 1)),
            _ => "an open string".to_owned(),
        },
        _ => "an open string".to_owned(),
    }
}

fn pulled(name: &str, tendency: &Tendency) -> Option<String> {
    let pull = tendency.pull?;
    let side = if pull.sharp { "sharp" } else { "flat" };
    let by = tendency.cents.map_or(String::new(), |cents| format!(", by about {:.0} cents", cents.abs().0));
    let (who, run) = named(&tendency.fingering);
    let what = match pull.cure {
        Cure::Lift(partial) | Cure::SlideIn(partial) => {
            let partial = ordinal(partial as usize - 1);
            format!("written {name}: {who} {run} {side} here{by}, for the {partial} partial is flat")
        }
        Cure::Breath(_) => format!("written {name}, fingered {who}, {run} {side} on many instruments of this kind"),
        _ => format!("written {name}: {who} {run} {side} here{by}"),
    };
    let other = tendency.other.as_ref().map_or(String::new(), |other| format!(", or to take {}", named(other).0));
    Some(format!("{what}; common practice is to {}{other}", cure(pull.cure, pull.sharp)))
}

const fn cure(cure: Cure, sharp: bool) -> &'static str {
    match (cure, sharp) {
        (Cure::FirstSlide, _) => "extend the first-valve slide or lip it down",
        (Cure::ThirdSlide, _) => "extend the third-valve slide",
        (Cure::MainSlide, _) => "lip it down or pull the main slide",
        (Cure::Lift(_), _) => "lift it a little",
        (Cure::SlideIn(_), _) => "bring the slide in a little",
        (Cure::Breath(Sounding::Reed), true) => "relax the embouchure and aim lower",
        (Cure::Breath(_), true) => "aim the air lower",
        (Cure::Breath(_), false) => "support it and aim higher",
    }
}

/// A fingering in words, and its verb: "runs", or "run" after several valves or the thumb with a valve.
fn named(fingering: &Fingering) -> (String, &'static str) {
    match fingering {
        Fingering::Valves { thumb, pressed } => {
            let names: Vec<String> = pressed.iter().map(|valve| ordinal(*valve as usize - 1)).collect();
            let valves = match names.len() {
                0 => "open".to_owned(),
                1 => format!("{} valve", list(&names)),
                _ => format!("{} valves", list(&names)),
            };
            let said = if *thumb { format!("thumb and {valves}") } else { valves };
            (said, if names.len() > 1 || (*thumb && !names.is_empty()) { "run" } else { "runs" })
        }
        Fingering::Keys(keys) => (in_words(keys), "runs"),
        other => (other.to_string(), "runs"),
    }
}

/// The holes and keys of the first of several fingerings, in words: "octave key and 123|456". `assets/fingerings.toml` explains the
/// signs.
fn in_words(fingering: &str) -> String {
    let signs: Vec<&str> = fingering.split(", or ").take(1).flat_map(|way| way.split(' ')).collect();
    let word = |sign: &str| match sign {
        "T" => "thumb".to_owned(),
        "R" => "register key".to_owned(),
        "8" => "octave key".to_owned(),
        hole => hole.to_owned(),
    };
    let first = signs.iter().take_while(|sign| ["T", "R", "8"].contains(*sign)).count();
    let (keys, rest) = signs.split_at(first);
    let mut words: Vec<String> = keys.iter().map(|key| word(key)).collect();
    match rest {
        [] | ["open"] if !words.is_empty() => return format!("{} alone", list(&words)),
        ["open"] => return "open".to_owned(),
        [key] if !key.starts_with(|c: char| c.is_ascii_digit() || c == '|') && words.is_empty() => {
            return format!("{key} key alone");
        }
        _ => words.push(rest.iter().map(|sign| word(sign)).collect::<Vec<_>>().join(" ")),
    }
    list(&words)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{Spelled, instrument, tendency};

    fn hinted(id: &str, note: &str, off: f64) -> Option<String> {
        let instrument = instrument(id).unwrap();
        let written: Spelled = note.parse().unwrap();
        let tendency = tendency(instrument, instrument.concert(written.written())).unwrap();
        hint(&written.name().to_string(), &tendency, Cents(off))
    }

    /// The cents come from valve arithmetic and the harmonic series (acoustics tables); the cures are common practice.
    #[test]
    fn a_brass_player_hears_what_is_the_horn_and_what_is_the_player() {
        for (id, note, off, said) in [
            (
                "trumpet",
                "E4",
                40.0,
                "written E: first and second valves run sharp here, by about 13 cents; common practice is to extend the first-valve slide or lip it down",
            ),
            (
                "trumpet",
                "D4",
                40.0,
                "written D: first and third valves run sharp here, by about 18 cents; common practice is to extend the third-valve slide",
            ),
            (
                "trumpet",
                "E5",
                -40.0,
                "written E: open runs flat here, by about 14 cents, for the fifth partial is flat; common practice is to lift it a little, or to take first and second valves",
            ),
            (
                "trombone",
                "C4",
                -40.0,
                "written C: third position runs flat here, by about 14 cents, for the fifth partial is flat; common practice is to bring the slide in a little",
            ),
        ] {
            assert_eq!(hinted(id, note, off).as_deref(), Some(said), "{note} on {id}");
        }
    }

    #[test]
    fn woodwinds_and_strings_hear_which_note_is_true_by_itself() {
        for (id, note, off, said) in [
            (
                "alto-sax",
                "D5",
                40.0,
                "written D, fingered octave key and 123|456, runs sharp on many instruments of this kind; common practice is to relax the embouchure and aim lower",
            ),
            (
                "flute",
                "C4",
                -40.0,
                "written C, fingered thumb and 123|456 foot C, runs flat on many instruments of this kind; common practice is to support it and aim higher",
            ),
            (
                "alto-sax",
                "C#5",
                -40.0,
                "written C#, fingered open, runs flat on many instruments of this kind; common practice is to support it and aim higher",
            ),
            (
                "clarinet",
                "A4",
                40.0,
                "written A, fingered A key alone, runs sharp on many instruments of this kind; common practice is to relax the embouchure and aim lower",
            ),
            (
                "clarinet",
                "B4",
                40.0,
                "written B, fingered register key, thumb and 123|456 low E, runs sharp on many instruments of this kind; common practice is to relax the embouchure and aim lower",
            ),
            (
                "violin",
                "D5",
                25.0,
                "written D: third finger on the A string is true where the open D string rings along",
            ),
            ("violin", "A6", 25.0, "written A: the open A string rings along when this note is true"),
            ("cello", "A3", 25.0, "written A is the open A string: tune it, then trust it"),
            ("guitar", "E5", 25.0, "written E is an open string, or fret 5 of the second one: tune it, then trust it"),
            ("bass-guitar", "E2", 25.0, "written E is an open string: tune it, then trust it"),
        ] {
            assert_eq!(hinted(id, note, off).as_deref(), Some(said), "{note} on {id}");
        }
    }

    #[test]
    fn an_error_the_other_way_is_the_players_own() {
        assert_eq!(hinted("trumpet", "D4", -40.0), None);
        assert_eq!(hinted("trumpet", "C5", 40.0), None);
        // No hint for a fretted note, for where it was played cannot be heard; none for a stopped note with which no open string rings.
        assert_eq!(hinted("guitar", "F5", 40.0), None);
        assert_eq!(hinted("violin", "F#4", 40.0), None);
        assert_eq!(hinted("clarinet", "C6", 40.0), None);
    }
}
