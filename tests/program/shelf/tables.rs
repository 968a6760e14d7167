//! Chords and chord scales in half steps above the root, written down for the tests without the program's own tables.
//!
//! The chord tones are from Piston, Harmony (1941, 5th edition 1987), and from Nettles and Graf, The Chord Scale Theory and Jazz Harmony
//! (1997); the chord scales from the same book of 1997 and from Levine, The Jazz Theory Book (1995). All three are quoted from memory.

/// A chord: its name in the library, its tones, and the scales over it by the names of [`SCALES`].
pub type Row = (&'static str, &'static [i32], &'static str);

/// The chords that the library asks for.
pub const CHORDS: [Row; 37] = [
    ("maj", &[0, 4, 7], "ionian lydian harmonic-major bebop-major major-blues"),
    ("m", &[0, 3, 7], "dorian aeolian phrygian melodic harmonic melodic-both-ways blues"),
    ("dim", &[0, 3, 6], "locrian whole-half"),
    ("aug", &[0, 4, 8], "whole-tone augmented lydian-augmented"),
    ("sus4", &[0, 5, 7], "mixolydian ionian"),
    ("maj7", &[0, 4, 7, 11], "ionian lydian harmonic-major bebop-major major-blues"),
    ("7", &[0, 4, 7, 10], "mixolydian lydian-dominant bebop-dominant major-blues blues"),
    ("m7", &[0, 3, 7, 10], "dorian aeolian phrygian bebop-dorian blues"),
    ("m7b5", &[0, 3, 6, 10], "locrian locrian-natural-2 locrian-natural-6 bebop-locrian"),
    ("dim7", &[0, 3, 6, 9], "whole-half"),
    ("mMaj7", &[0, 3, 7, 11], "melodic harmonic bebop-melodic"),
    ("maj7#5", &[0, 4, 8, 11], "lydian-augmented augmented"),
    ("7#5", &[0, 4, 8, 10], "whole-tone altered"),
    ("7b5", &[0, 4, 6, 10], "lydian-dominant whole-tone altered"),
    ("7sus4", &[0, 5, 7, 10], "mixolydian"),
    ("6", &[0, 4, 7, 9], "ionian lydian bebop-major major-blues"),
    ("m6", &[0, 3, 7, 9], "dorian melodic bebop-melodic"),
    ("6/9", &[0, 2, 4, 7, 9], "ionian lydian"),
    ("m6/9", &[0, 2, 3, 7, 9], "dorian melodic"),
    ("maj9", &[0, 2, 4, 7, 11], "ionian lydian"),
    ("9", &[0, 2, 4, 7, 10], "mixolydian lydian-dominant bebop-dominant"),
    ("m9", &[0, 2, 3, 7, 10], "dorian aeolian"),
    ("mMaj9", &[0, 2, 3, 7, 11], "melodic harmonic"),
    ("m9b5", &[0, 2, 3, 6, 10], "locrian-natural-2"),
    ("9sus4", &[0, 2, 5, 7, 10], "mixolydian"),
    ("7b9", &[0, 1, 4, 7, 10], "phrygian-dominant half-whole"),
    ("7#9", &[0, 3, 4, 7, 10], "half-whole"),
    ("7sus4b9", &[0, 1, 5, 7, 10], "phrygian dorian-b2"),
    ("maj7#11", &[0, 4, 6, 7, 11], "lydian"),
    ("7#11", &[0, 4, 6, 7, 10], "lydian-dominant"),
    ("13b9", &[0, 1, 4, 7, 9, 10], "half-whole"),
    ("7alt", &[0, 1, 3, 4, 6, 8, 10], "altered"),
    ("13", &[0, 2, 4, 7, 9, 10], "mixolydian lydian-dominant"),
    ("7b13", &[0, 4, 7, 8, 10], "mixolydian-b6 phrygian-dominant"),
    ("m11", &[0, 2, 3, 5, 7, 10], "dorian aeolian"),
    ("add9", &[0, 2, 4, 7], "ionian lydian"),
    ("sus2", &[0, 2, 7], "ionian mixolydian dorian"),
];

/// The scales. Those named bebop have a passing note that keeps chord tones on the beat. The last two are the major blues scale, and
/// melodic minor with the notes of both its directions.
pub const SCALES: [(&str, &[i32]); 29] = [
    ("ionian", &[0, 2, 4, 5, 7, 9, 11]),
    ("dorian", &[0, 2, 3, 5, 7, 9, 10]),
    ("phrygian", &[0, 1, 3, 5, 7, 8, 10]),
    ("lydian", &[0, 2, 4, 6, 7, 9, 11]),
    ("mixolydian", &[0, 2, 4, 5, 7, 9, 10]),
    ("aeolian", &[0, 2, 3, 5, 7, 8, 10]),
    ("locrian", &[0, 1, 3, 5, 6, 8, 10]),
    ("melodic", &[0, 2, 3, 5, 7, 9, 11]),
    ("dorian-b2", &[0, 1, 3, 5, 7, 9, 10]),
    ("lydian-augmented", &[0, 2, 4, 6, 8, 9, 11]),
    ("lydian-dominant", &[0, 2, 4, 6, 7, 9, 10]),
    ("mixolydian-b6", &[0, 2, 4, 5, 7, 8, 10]),
    ("locrian-natural-2", &[0, 2, 3, 5, 6, 8, 10]),
    ("altered", &[0, 1, 3, 4, 6, 8, 10]),
    ("harmonic", &[0, 2, 3, 5, 7, 8, 11]),
    ("locrian-natural-6", &[0, 1, 3, 5, 6, 9, 10]),
    ("phrygian-dominant", &[0, 1, 4, 5, 7, 8, 10]),
    ("harmonic-major", &[0, 2, 4, 5, 7, 8, 11]),
    ("whole-tone", &[0, 2, 4, 6, 8, 10]),
    ("half-whole", &[0, 1, 3, 4, 6, 7, 9, 10]),
    ("whole-half", &[0, 2, 3, 5, 6, 8, 9, 11]),
    ("augmented", &[0, 3, 4, 7, 8, 11]),
    ("bebop-dominant", &[0, 2, 4, 5, 7, 9, 10, 11]),
    ("bebop-major", &[0, 2, 4, 5, 7, 8, 9, 11]),
    ("bebop-dorian", &[0, 2, 3, 4, 5, 7, 9, 10]),
    ("bebop-melodic", &[0, 2, 3, 5, 7, 8, 9, 11]),
    ("bebop-locrian", &[0, 1, 3, 5, 6, 7, 8, 10]),
    ("major-blues", &[0, 2, 3, 4, 7, 9]),
    ("melodic-both-ways", &[0, 2, 3, 5, 7, 8, 9, 10, 11]),
];

/// The blues scale; over a dominant it is used together with the chord's own third.
pub const BLUES: [i32; 6] = [0, 3, 5, 6, 7, 10];

/// Half steps of the major scale, by which Roman numerals count.
pub const NUMERALS: [(&str, i32); 7] = [("VII", 11), ("VI", 9), ("IV", 5), ("V", 7), ("III", 4), ("II", 2), ("I", 0)];

/// The row of a chord.
pub fn chord(name: &str) -> Row {
    *CHORDS.iter().find(|row| row.0 == name).unwrap_or_else(|| panic!("{name} is in no table"))
}

/// The notes that may stand over a chord: one set for each of its scales. The set of a blues scale has the tones of the chord too.
pub fn scales(name: &str) -> Vec<Vec<i32>> {
    let (_, tones, scales) = chord(name);
    let set = |scale: &str| {
        let blues = (scale == "blues").then_some(&BLUES[..]);
        let degrees = blues.or_else(|| SCALES.iter().find(|row| row.0 == scale).map(|row| row.1));
        let own = if scale.contains("blues") { tones } else { &[] };
        degrees.unwrap_or_else(|| panic!("{scale}")).iter().chain(own).copied().collect()
    };
    scales.split(' ').map(set).collect()
}

/// Reads a root as patterns print it, such as `bVII7:` or `#IVdim7:`. Returns its half steps above the tonic, and the name of its chord.
pub fn root(printed: &str) -> (i32, String) {
    let printed = printed.trim_end_matches(':');
    let (sign, rest) = match printed.split_at(1) {
        ("b", rest) => (-1, rest),
        ("#", rest) => (1, rest),
        _ => (0, printed),
    };
    let (numeral, half_steps) = NUMERALS.iter().find(|row| rest.starts_with(row.0)).unwrap();
    let name = &rest[numeral.len()..];
    ((half_steps + sign).rem_euclid(12), if name.is_empty() { "maj" } else { name }.to_owned())
}
