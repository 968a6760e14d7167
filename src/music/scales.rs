use std::sync::OnceLock;

use thiserror::Error;

use crate::music::Scale;

use super::file;
use super::nearest::nearest;

const TABLE: &str = include_str!("../../assets/scales.toml");

/// No scale has the name that was asked for.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("no scale is called \"{asked}\"{}", self.nearest.as_ref().map_or_else(String::new, |id| format!("; did you mean {id}?")))]
pub struct UnknownScale {
    /// What was asked for, shortened to 40 letters.
    pub asked: String,
    /// The id of the scale whose id or name is most like `asked`; `None` where none is like it.
    pub nearest: Option<String>,
}

/// All scales: modes of major first, then of melodic and harmonic minor, harmonic major, symmetric ones, pentatonics, blues, bebop,
/// and the chromatic scale.
#[must_use]
pub fn scales() -> &'static [Scale] {
    static READ: OnceLock<Vec<Scale>> = OnceLock::new();
    READ.get_or_init(|| file::scales(TABLE).unwrap_or_default())
}

/// The scale with this id, name or other name, in capitals or small letters.
///
/// # Errors
/// [`UnknownScale`], with the id of the scale with the nearest name, where no scale has that name.
pub fn scale(name: &str) -> Result<&'static Scale, UnknownScale> {
    let asked = name.trim();
    let names =
        |s: &'static Scale| [s.id.as_str(), s.name.as_str()].into_iter().chain(s.also.iter().map(String::as_str));
    let called = |wanted: &str| scales().iter().find(|s| names(s).any(|name| name.eq_ignore_ascii_case(wanted)));
    called(asked).ok_or_else(|| UnknownScale {
        asked: asked.chars().take(40).collect(),
        nearest: nearest(asked, scales().iter().flat_map(names)).and_then(called).map(|s| s.id.clone()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::Degree;

    fn steps(id: &str) -> Vec<i32> {
        scale(id).unwrap().half_steps().into_iter().map(|step| step.0).collect()
    }

    #[test]
    fn the_table_of_scales_is_whole() {
        let read = file::scales(TABLE).unwrap();
        assert_eq!(read.len(), 30);
        for (n, one) in read.iter().enumerate() {
            assert!(read[..n].iter().all(|other| other.id != one.id), "{} twice", one.id);
            assert!(one.degrees.windows(2).all(|pair| pair[0].half_steps < pair[1].half_steps), "{} rises", one.id);
            assert_eq!(one.degrees.first(), Some(&Degree::TONIC), "{}", one.id);
            assert!(one.degrees.iter().all(|degree| degree.half_steps < 12), "{}", one.id);
            for name in one.also.iter().chain([&one.name]) {
                assert_eq!(scale(name).unwrap().id, one.id, "{name}");
            }
        }
    }

    #[test]
    fn scales_have_the_half_steps_of_the_handbook() {
        // Common practice, as in any handbook of jazz harmony.
        let table: [(&str, &[i32]); 29] = [
            ("major", &[0, 2, 4, 5, 7, 9, 11]),
            ("dorian", &[0, 2, 3, 5, 7, 9, 10]),
            ("phrygian", &[0, 1, 3, 5, 7, 8, 10]),
            ("lydian", &[0, 2, 4, 6, 7, 9, 11]),
            ("mixolydian", &[0, 2, 4, 5, 7, 9, 10]),
            ("aeolian", &[0, 2, 3, 5, 7, 8, 10]),
            ("locrian", &[0, 1, 3, 5, 6, 8, 10]),
            ("melodic minor", &[0, 2, 3, 5, 7, 9, 11]),
            ("dorian b2", &[0, 1, 3, 5, 7, 9, 10]),
            ("lydian augmented", &[0, 2, 4, 6, 8, 9, 11]),
            ("lydian dominant", &[0, 2, 4, 6, 7, 9, 10]),
            ("mixolydian b6", &[0, 2, 4, 5, 7, 8, 10]),
            ("locrian natural 2", &[0, 2, 3, 5, 6, 8, 10]),
            ("altered", &[0, 1, 3, 4, 6, 8, 10]),
            ("harmonic minor", &[0, 2, 3, 5, 7, 8, 11]),
            ("phrygian dominant", &[0, 1, 4, 5, 7, 8, 10]),
            ("harmonic major", &[0, 2, 4, 5, 7, 8, 11]),
            ("whole-tone", &[0, 2, 4, 6, 8, 10]),
            ("half-whole", &[0, 1, 3, 4, 6, 7, 9, 10]),
            ("whole-half", &[0, 2, 3, 5, 6, 8, 9, 11]),
            ("augmented", &[0, 3, 4, 7, 8, 11]),
            ("major pentatonic", &[0, 2, 4, 7, 9]),
            ("minor pentatonic", &[0, 3, 5, 7, 10]),
            ("blues", &[0, 3, 5, 6, 7, 10]),
            ("major blues", &[0, 2, 3, 4, 7, 9]),
            ("bebop dominant", &[0, 2, 4, 5, 7, 9, 10, 11]),
            ("bebop major", &[0, 2, 4, 5, 7, 8, 9, 11]),
            ("bebop dorian", &[0, 2, 3, 4, 5, 7, 9, 10]),
            ("bebop melodic minor", &[0, 2, 3, 5, 7, 8, 9, 11]),
        ];
        for (name, half_steps) in table {
            assert_eq!(steps(name), half_steps, "{name}");
        }
        assert_eq!(steps("chromatic"), (0..12).collect::<Vec<_>>());
    }

    #[test]
    fn the_modes_are_their_mother_scale_begun_elsewhere() {
        for (mother, modes) in [
            ("major", &["dorian", "phrygian", "lydian", "mixolydian", "aeolian", "locrian"][..]),
            (
                "melodic-minor",
                &["dorian-b2", "lydian-augmented", "lydian-dominant", "mixolydian-b6", "locrian-natural-2", "altered"]
                    [..],
            ),
        ] {
            let whole = steps(mother);
            for (n, mode) in modes.iter().enumerate() {
                let start = whole[n + 1];
                let turned: Vec<i32> = (0..7).map(|k| (whole[(n + 1 + k) % 7] - start).rem_euclid(12)).collect();
                assert_eq!(steps(mode), turned, "{mode}");
            }
        }
    }

    #[test]
    fn seven_note_scales_use_each_letter_once() {
        for one in scales().iter().filter(|s| s.degrees.len() == 7) {
            for root in ["C", "G", "D", "A", "E", "B", "F#", "Gb", "Db", "Ab", "Eb", "Bb", "F"] {
                let mut letters: Vec<_> = one.on(root.parse().unwrap()).iter().map(|name| name.letter).collect();
                letters.sort_unstable();
                letters.dedup();
                assert_eq!(letters.len(), 7, "{root} {}", one.name);
            }
        }
    }

    #[test]
    fn bebop_runs_down_keep_chord_tones_on_the_beat() {
        let mut down = steps("bebop-dominant");
        down.reverse();
        let chord = [0, 4, 7, 10];
        for start in chord {
            let first = down.iter().position(|step| *step == start).unwrap();
            for n in 0..16 {
                let step = down[(first + n) % 8];
                assert_eq!(chord.contains(&step), n % 2 == 0, "note {n} from {start}");
            }
        }
    }

    #[test]
    fn a_misspelled_scale_is_answered_with_the_nearest() {
        assert_eq!(scale("mixolidian").unwrap_err().nearest.as_deref(), Some("mixolydian"));
        assert_eq!(scale("Jazz Minor").unwrap().id, "melodic-minor");
    }
}
