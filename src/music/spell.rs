use crate::music::{Degree, PitchClass, PitchName, Spelled, Tonality, Written};

/// The name of a written pitch that a reader in this key expects. Notes of the key have the names of its scale; others are named by
/// their usual function (in a major key b2, b3, #4, b6, b7), never with a double sharp or flat.
#[must_use]
pub fn spell_in(pitch: Written, key: Tonality) -> Spelled {
    in_key(pitch.class(), key).at(pitch.0)
}

/// The name of a degree of the major scale on `root`: the letter follows the degree's number, so the flat third of C is Eb
/// and the doubly flattened seventh of C is Bbb.
#[must_use]
pub fn spell_degree(root: PitchName, degree: Degree) -> PitchName {
    let class = PitchClass::new(root.class().get() + degree.half_steps);
    PitchName::on(root.letter.up(degree.letters), class)
}

/// The name at the note number `midi`. A name with more than a double sharp or flat is changed for one on the neighbouring letter.
#[must_use]
pub fn readable(name: PitchName, midi: i32) -> Spelled {
    if name.alter.abs() <= 2 {
        return name.at(midi);
    }
    PitchName::on(name.letter.up(i32::from(name.alter.signum())), name.class()).at(midi)
}

/// A degree of the major scale above a spelled root, named with its octave.
#[must_use]
pub fn spell_degree_above(root: Spelled, degree: Degree) -> Spelled {
    spell_degree(root.name(), degree).at(root.midi() + degree.half_steps)
}

/// The name of a class in a key, the same for a rising and a falling line.
fn in_key(class: PitchClass, key: Tonality) -> PitchName {
    let scale = key.scale();
    if let Some(name) = scale.into_iter().find(|name| name.class() == class) {
        return name;
    }
    let above = PitchClass::new(class.get() - key.tonic.class().get()).get();
    let letters = [0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6][above as usize];
    plain(PitchName::on(key.tonic.letter.up(letters), class))
}

/// The name itself, or, for a double sharp or flat, the name of the same pitch on the neighbouring letter.
fn plain(name: PitchName) -> PitchName {
    if name.alter.abs() < 2 {
        return name;
    }
    PitchName::on(name.letter.up(i32::from(name.alter.signum())), name.class())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{ConcertKey, Letter, WrittenKey};

    fn key(name: &str) -> (WrittenKey, bool) {
        (WrittenKey::parse(name).unwrap(), name == "Gb")
    }

    #[test]
    fn notes_outside_the_key_get_their_usual_names() {
        // Common practice: b2 b3 #4 b6 b7.
        for (in_key, midi, name) in [
            ("C", 61, "Db4"),
            ("C", 63, "Eb4"),
            ("C", 66, "F#4"),
            ("C", 70, "Bb4"),
            ("E", 66, "F#4"),
            ("E", 70, "A#4"),
            ("F#", 65, "E#4"),
            ("F#", 72, "B#4"),
            ("Gb", 71, "Cb5"),
            ("Gb", 69, "A4"),
            ("Bb", 64, "E4"),
            ("Db", 71, "Cb5"),
        ] {
            let (k, g_flat) = key(in_key);
            assert_eq!(spell_in(Written(midi), Tonality::major(k.0, g_flat)).to_string(), name, "{midi} in {in_key}");
        }
    }

    #[test]
    fn every_spelling_sounds_as_the_pitch_it_spells_and_stays_readable() {
        for k in ConcertKey::FIFTHS.map(|key| WrittenKey(key.0)) {
            for g_flat in [false, true] {
                for midi in 21..=108 {
                    let one = spell_in(Written(midi), Tonality::major(k.0, g_flat));
                    assert_eq!(one.midi(), midi);
                    assert!(one.alter.abs() < 2, "{one} in {}", k.name(g_flat));
                }
            }
        }
    }

    #[test]
    fn degrees_are_spelled_by_function() {
        let named =
            |root: &str, degree: &str| spell_degree(root.parse().unwrap(), Degree::parse(degree).unwrap()).to_string();
        for (root, degree, name) in [
            ("C", "b3", "Eb"),
            ("C", "bb7", "Bbb"),
            ("C#", "bb7", "Bb"),
            ("B", "bb7", "Ab"),
            ("F#", "7", "E#"),
            ("Gb", "4", "Cb"),
            ("A", "#5", "E#"),
            ("C", "#9", "D#"),
            ("Eb", "b13", "Cb"),
        ] {
            assert_eq!(named(root, degree), name, "{degree} of {root}");
        }
        let low = Spelled { letter: Letter::B, alter: -1, octave: 3 };
        assert_eq!(spell_degree_above(low, Degree::parse("9").unwrap()).to_string(), "C5");
        assert_eq!(spell_degree_above(low, Degree::parse("b2").unwrap()).to_string(), "Cb4");
    }
}
