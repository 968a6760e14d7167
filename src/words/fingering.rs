//! What the instrument does to a note, in words; only for after an answer.

use crate::music::{Check, Cure, Fingering, Sounding, Tendency};
use crate::units::Cents;
use crate::words::numbers::{list, ordinal};

/// What a player may learn about a note that was `off` by so much: "written D: first and third valves run sharp here, by
/// about 17 cents; common practice is to extend the third-valve slide". `name` is the note on the player's page. `None`
/// where the instrument has no part in the error.
#[must_use]
pub fn hint(name: &str, tendency: &Tendency, off: Cents) -> Option<String> {
    match tendency.check {
        _ if !tendency.bears_on(off) => None,
        Some(Check::Open) => Some(format!("written {name} is an open string: tune it, then trust it")),
        Some(Check::RingsWith(string)) => {
            Some(format!("written {name}: the open {string} string rings along when this note is true"))
        }
        None => pulled(name, tendency),
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
        Cure::Breath(_) => format!("written {name} usually runs {side} on this instrument"),
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

/// A fingering as one says it, with the verb that follows it.
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
        other => (other.to_string(), "runs"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{Spelled, instrument, tendency};

    fn told(id: &str, note: &str, off: f64) -> Option<String> {
        let instrument = instrument(id).unwrap();
        let written: Spelled = note.parse().unwrap();
        let tendency = tendency(instrument, instrument.concert(written.written())).unwrap();
        hint(&written.name().to_string(), &tendency, Cents(off))
    }

    #[test]
    fn a_student_hears_what_is_the_horn_and_what_is_the_player() {
        // Cents: valve arithmetic and the harmonic series (acoustics tables); what is done about them: common practice.
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
            (
                "alto-sax",
                "D5",
                40.0,
                "written D usually runs sharp on this instrument; common practice is to relax the embouchure and aim lower",
            ),
            (
                "flute",
                "C4",
                -40.0,
                "written C usually runs flat on this instrument; common practice is to support it and aim higher",
            ),
            ("violin", "D5", 25.0, "written D: the open D string rings along when this note is true"),
            ("cello", "A3", 25.0, "written A is an open string: tune it, then trust it"),
        ] {
            assert_eq!(told(id, note, off).as_deref(), Some(said), "{note} on {id}");
        }
    }

    #[test]
    fn an_error_the_other_way_is_the_players_own() {
        assert_eq!(told("trumpet", "D4", -40.0), None);
        assert_eq!(told("trumpet", "C5", 40.0), None);
        assert_eq!(told("guitar", "E5", 40.0), None);
    }
}
