use std::sync::OnceLock;

use thiserror::Error;

use crate::music::Instrument;

use super::file;
use super::nearest::{nearest, slips};

const TABLE: &str = include_str!("../../assets/instruments.toml");

/// No instrument has the name that was asked for.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("no instrument is called \"{asked}\"{}", self.hint())]
pub struct UnknownInstrument {
    /// What was asked for, shortened to 40 letters.
    pub asked: String,
    /// The id of the instrument with the name most like `asked`. Where no name is like it: up to four ids, in score order, that begin like
    /// `asked`, or, where no id does, those of instruments with a word in their names that begins so. Empty where nothing is like `asked`.
    pub nearest: Vec<String>,
}

/// The most instruments that an error names because their names begin alike.
const ALIKE: usize = 4;

impl UnknownInstrument {
    fn hint(&self) -> String {
        match &self.nearest[..] {
            [] => String::new(),
            ids => format!("; did you mean {}?", ids.join(", ")),
        }
    }
}

/// All instruments, in score order: brass, woodwind, strings, keys and mallets, harmonicas, recorders, voices.
#[must_use]
pub fn instruments() -> &'static [Instrument] {
    static READ: OnceLock<Vec<Instrument>> = OnceLock::new();
    READ.get_or_init(|| file::instruments(TABLE).unwrap_or_default())
}

/// The instrument with this id, name or other name, in capitals or small letters, with spaces or hyphens ("tenor sax").
///
/// # Errors
/// [`UnknownInstrument`] with the nearest ids where no instrument has that name.
pub fn instrument(name: &str) -> Result<&'static Instrument, UnknownInstrument> {
    let asked = name.trim();
    let spaced = asked.replace('-', " ");
    let same = |text: &str| text.replace('-', " ").eq_ignore_ascii_case(&spaced);
    let by = |matches: &dyn Fn(&Instrument) -> bool| instruments().iter().find(|instrument| matches(instrument));
    by(&|i| same(&i.id))
        .or_else(|| by(&|i| same(&i.name)))
        .or_else(|| by(&|i| i.also.iter().any(|other| same(other))))
        .ok_or_else(|| UnknownInstrument { asked: asked.chars().take(40).collect(), nearest: nearest_ids(asked) })
}

/// The id of the instrument whose name is most like `asked`. Where no name is like it, up to [`ALIKE`] ids that begin like `asked`
/// ("tromp": trumpet, trombone), or else those of instruments with a word in their names that begins so ("sax"); one slip in three letters
/// is allowed.
fn nearest_ids(asked: &str) -> Vec<String> {
    let names =
        |i: &'static Instrument| [i.id.as_str(), i.name.as_str()].into_iter().chain(i.also.iter().map(String::as_str));
    if let Some(found) = nearest(asked, instruments().iter().flat_map(names)) {
        let named = instruments().iter().find(|i| names(i).any(|name| name == found));
        return named.map(|i| i.id.clone()).into_iter().collect();
    }
    let letters = asked.chars().count();
    let begins =
        |word: &str| letters > 0 && slips(asked, &word.chars().take(letters).collect::<String>()) <= letters / 3;
    let ids = |alike: &dyn Fn(&'static Instrument) -> bool| -> Vec<String> {
        instruments().iter().filter(|i| alike(i)).take(ALIKE).map(|i| i.id.clone()).collect()
    };
    let by_id = ids(&|i| begins(&i.id));
    if by_id.is_empty() { ids(&|i| names(i).flat_map(|name| name.split([' ', '-'])).any(begins)) } else { by_id }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{Clef, Concert, Intonation, Level, Sounding, Spelled, Written};
    use crate::units::A440;

    fn spelled(text: &str) -> Spelled {
        text.parse().unwrap()
    }

    #[test]
    fn the_table_of_instruments_is_whole() {
        let read = file::instruments(TABLE).unwrap();
        assert_eq!(read.len(), 55);
        for (n, one) in read.iter().enumerate() {
            assert!(read[..n].iter().all(|other| other.id != one.id), "{} twice", one.id);
            assert!(one.id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'), "{}", one.id);
            for (inner, outer) in [(one.developing, one.working), (one.working, one.advanced)] {
                assert!(outer.contains(inner.low) && outer.contains(inner.high), "{}", one.id);
            }
            assert!(one.developing.span().0 >= 5, "{}: a pattern needs room", one.id);
            let silent = matches!(one.sounding, Sounding::Plucked | Sounding::Keys);
            assert_eq!(one.phrase.is_none(), silent, "{}", one.id);
            assert_eq!(one.intonation == Intonation::Unscored, one.sounding == Sounding::Keys, "{}", one.id);
        }
    }

    #[test]
    fn written_notes_sound_where_the_handbooks_say_with_their_octave() {
        // Common practice (any orchestration handbook); frequencies by equal temperament at A4 = 440 (ISO 16:1975).
        for (id, written, sounds, hz) in [
            ("trumpet", "C4", "Bb3", 233.08),
            ("alto-sax", "C4", "Eb3", 155.56),
            ("tenor-sax", "C4", "Bb2", 116.54),
            ("baritone-sax", "A3", "C2", 65.41),
            ("horn", "C4", "F3", 174.61),
            ("bass-clarinet", "Eb3", "Db2", 69.30),
            ("guitar", "C4", "C3", 130.81),
        ] {
            let one = instrument(id).unwrap();
            let concert = one.concert(spelled(written).written());
            assert_eq!(concert, spelled(sounds).concert(), "{id}");
            assert!((concert.hertz(A440).0 - hz).abs() < 0.005, "{id}: {}", concert.hertz(A440).0);
            assert_eq!(one.written(concert), spelled(written).written(), "{id}");
        }
    }

    #[test]
    fn saxophones_and_bass_instruments_transpose_by_more_than_an_octave() {
        for (id, half_steps) in [
            ("soprano-sax", -2),
            ("alto-sax", -9),
            ("tenor-sax", -14),
            ("baritone-sax", -21),
            ("bass-clarinet", -14),
            ("eb-bass", -21),
            ("bbb-bass", -26),
            ("euphonium-treble", -14),
            ("english-horn", -7),
            ("double-bass", -12),
            ("bass-guitar", -12),
            ("guitar", -12),
            ("tenor-voice", -12),
            ("contrabassoon", -12),
            ("piccolo", 12),
            ("xylophone", 12),
            ("soprano-recorder", 12),
            ("glockenspiel", 24),
            ("eb-clarinet", 3),
            ("alto-flute", -5),
        ] {
            assert_eq!(instrument(id).unwrap().transposition.0, half_steps, "{id}");
        }
    }

    #[test]
    fn written_compasses_come_out_as_the_fingering_tables_have_them() {
        for (ids, low) in [
            (&["trumpet", "cornet", "flugelhorn", "tenor-horn", "euphonium-treble", "eb-bass", "bbb-bass"][..], "F#3"),
            (&["soprano-sax", "alto-sax", "tenor-sax"][..], "Bb3"),
            (&["clarinet", "eb-clarinet", "a-clarinet"][..], "E3"),
            (&["guitar"][..], "E3"),
        ] {
            for id in ids {
                let one = instrument(id).unwrap();
                assert_eq!(one.written(one.advanced.low), spelled(low).written(), "{id}");
            }
        }
        assert_eq!(instrument("tuba").unwrap().advanced.low, Concert(26));
        assert!((instrument("bass-guitar").unwrap().lowest(A440).0 - 41.203).abs() < 0.001);
    }

    #[test]
    fn a_part_moved_through_an_instrument_keeps_its_intervals() {
        for one in instruments() {
            for (a, b) in [(60, 67), (48, 49), (72, 60)] {
                assert_eq!(one.concert(Written(b)) - one.concert(Written(a)), Written(b) - Written(a), "{}", one.id);
                assert_eq!(one.written(one.concert(Written(a))), Written(a));
            }
        }
    }

    #[test]
    fn players_find_their_instrument_by_any_name_and_are_helped_when_they_slip() {
        assert_eq!(instrument(" Trumpet in Bb ").unwrap().id, "trumpet");
        assert_eq!(instrument("French horn").unwrap().id, "horn");
        assert_eq!(instrument("ALTO-SAX").unwrap().id, "alto-sax");
        assert_eq!(instrument("tenor sax").unwrap().id, "tenor-sax");
        let unknown = instrument("trumpte").unwrap_err();
        assert_eq!(unknown.nearest, ["trumpet"]);
        assert_eq!(unknown.to_string(), "no instrument is called \"trumpte\"; did you mean trumpet?");
        assert_eq!(instrument("alto saxaphone").unwrap_err().nearest, ["alto-sax"]);
        let like = |name: &str| instrument(name).unwrap_err().nearest.join(", ");
        assert_eq!(like("tromp"), "trumpet, trombone");
        assert_eq!(like("sax"), "soprano-sax, alto-sax, tenor-sax, baritone-sax");
        assert_eq!(like("rec"), "soprano-recorder, alto-recorder");
        assert_eq!([like("theremin"), like("gong"), like("")], [""; 3]);
        let unknown = instrument("tromp").unwrap_err();
        assert_eq!(unknown.to_string(), "no instrument is called \"tromp\"; did you mean trumpet, trombone?");
    }

    #[test]
    fn a_professional_is_held_to_narrower_bands_and_a_wider_range() {
        let trumpet = instrument("trumpet").unwrap();
        let Intonation::Scored { in_tune, off, .. } = trumpet.bands(Level::Professional) else { panic!("scored") };
        assert_eq!((in_tune.0, off.0), (10.0, 50.0));
        assert!(trumpet.range(Level::Professional).span() > trumpet.range(Level::Student).span());
        assert_eq!(trumpet.clef, Clef::Treble);
    }
}
