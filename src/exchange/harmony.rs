use crate::music::{ChordSymbol, Degree, PitchName};
use crate::pattern::Quality;

/// A chord as MusicXML names it: a kind, and what is altered, added or left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ChordKind {
    /// Name of the kind (MusicXML 4.0, kind-value).
    pub name: &'static str,
    /// What stands on the page after the root; engravers put the degrees after it.
    pub text: String,
    /// The number of each degree, its alteration in half steps, and "alter", "add" or "subtract".
    pub degrees: Vec<(i32, i32, &'static str)>,
}

/// Kinds of MusicXML 4.0 with their tones (kind-value, from memory of the standard; read back by an independent reader).
const KINDS_WRITTEN: [(&str, &str); 19] = [
    ("major", "1 3 5"),
    ("minor", "1 b3 5"),
    ("augmented", "1 3 #5"),
    ("diminished", "1 b3 b5"),
    ("suspended-fourth", "1 4 5"),
    ("suspended-second", "1 2 5"),
    ("power", "1 5"),
    ("major-seventh", "1 3 5 7"),
    ("dominant", "1 3 5 b7"),
    ("minor-seventh", "1 b3 5 b7"),
    ("half-diminished", "1 b3 b5 b7"),
    ("diminished-seventh", "1 b3 b5 bb7"),
    ("major-minor", "1 b3 5 7"),
    ("augmented-seventh", "1 3 #5 b7"),
    ("major-sixth", "1 3 5 6"),
    ("minor-sixth", "1 b3 5 6"),
    ("major-ninth", "1 3 5 7 9"),
    ("dominant-ninth", "1 3 5 b7 9"),
    ("minor-ninth", "1 b3 5 b7 9"),
];

/// Largest number of degrees after a symbol; more would run into the next symbol.
const MOST_SHOWN: usize = 2;

/// The kind that needs the fewest changes, which are its degrees. Where they are more than two, leave a tone out or add a seventh, the
/// text is the whole symbol as the library prints it, and no degree is given: engravers show every degree that a file names, and
/// `sus4(add7)` is no symbol of the trade.
pub(super) fn kind(quality: Quality) -> ChordKind {
    let kind = nearest(quality);
    let reads = |degree: &(i32, i32, &str)| degree.2 != "subtract" && (degree.0, degree.2) != (7, "add");
    let shown = kind.degrees.len() <= MOST_SHOWN && kind.degrees.iter().all(reads);
    if shown { kind } else { ChordKind { text: symbol(quality).to_owned(), degrees: Vec::new(), ..kind } }
}

/// Root, kind and bass of a chord of a chart. For a chord outside the usual vocabulary the kind is the nearest one, and the text is its
/// whole symbol. Where no chord is played the root, which the format wants all the same, is the tonic.
pub(super) fn said(chord: Option<&ChordSymbol>, tonic: PitchName) -> (PitchName, ChordKind, Option<PitchName>) {
    let Some(chord) = chord else {
        return (tonic, ChordKind { name: "none", text: "N.C.".to_owned(), degrees: Vec::new() }, None);
    };
    let unusual =
        || ChordKind { text: chord.quality.to_string(), degrees: Vec::new(), ..nearest_to(&chord.quality.degrees()) };
    (chord.root, Quality::of(&chord.quality).map_or_else(unusual, kind), chord.bass)
}

fn nearest(quality: Quality) -> ChordKind {
    nearest_to(quality.tones())
}

/// The kind that says these tones with the fewest changes.
fn nearest_to(chord: &[Degree]) -> ChordKind {
    let kinds = KINDS_WRITTEN.iter().map(|(name, tones)| {
        let tones: Vec<Degree> = tones.split(' ').filter_map(Degree::parse).collect();
        let text = Quality::all().find(|plain| plain.tones() == tones).map_or("", symbol);
        ChordKind { name, text: text.to_owned(), degrees: changes(&tones, chord) }
    });
    let other = || ChordKind { name: "other", text: String::new(), degrees: Vec::new() };
    kinds.min_by_key(|kind| kind.degrees.len()).unwrap_or_else(other)
}

/// The chord as it stands after its root: nothing for a major triad.
fn symbol(quality: Quality) -> &'static str {
    if quality == Quality::MAJOR { "" } else { quality.name() }
}

/// The changes from the tones of a kind to the tones of a chord. An alteration counts from the tone of the kind, an addition from
/// the degrees of a dominant chord, whose seventh is minor (MusicXML 4.0, degree-alter).
fn changes(kind: &[Degree], chord: &[Degree]) -> Vec<(i32, i32, &'static str)> {
    let mut found = Vec::new();
    for own in kind.iter().filter(|own| !chord.contains(own)) {
        let number = own.letters + 1;
        let instead = chord.iter().find(|tone| tone.letters == own.letters);
        found.push(instead.map_or((number, 0, "subtract"), |tone| (number, tone.half_steps - own.half_steps, "alter")));
    }
    for tone in chord.iter().filter(|tone| !kind.contains(tone)) {
        let altered = kind.iter().any(|own| own.letters == tone.letters && !chord.contains(own));
        let first = chord.iter().find(|other| other.letters == tone.letters) == Some(tone);
        if !(altered && first) {
            let minor = i32::from(tone.letters == 6);
            found.push((tone.letters + 1, tone.alteration() + minor, "add"));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The tones that a kind and its changes say, as half steps above the root.
    fn tones_said(kind: &ChordKind) -> Vec<i32> {
        let tones = KINDS_WRITTEN.iter().find(|row| row.0 == kind.name).unwrap().1;
        let mut tones: Vec<Degree> = tones.split(' ').filter_map(Degree::parse).collect();
        for (number, alter, change) in &kind.degrees {
            let at = tones.iter().position(|tone| tone.letters == number - 1);
            match *change {
                "add" => tones.push(Degree::altered(number - 1, alter - i32::from(*number == 7))),
                "subtract" => drop(tones.remove(at.unwrap())),
                _ => tones[at.unwrap()].half_steps += alter,
            }
        }
        let mut half_steps: Vec<i32> = tones.iter().map(|tone| tone.half_steps).collect();
        half_steps.sort_unstable();
        half_steps
    }

    #[test]
    fn every_chord_is_said_with_all_its_tones() {
        for quality in Quality::all() {
            let mut tones: Vec<i32> = quality.tones().iter().map(|tone| tone.half_steps).collect();
            tones.sort_unstable();
            assert_eq!(tones_said(&nearest(quality)), tones, "{}", quality.name());
        }
    }

    #[test]
    fn chords_with_a_name_of_their_own_have_it() {
        // MusicXML 4.0, kind-value.
        let named = |name| kind(Quality::parse(name).unwrap());
        for (name, wanted) in [
            ("maj", "major"),
            ("m", "minor"),
            ("maj7", "major-seventh"),
            ("7", "dominant"),
            ("m7", "minor-seventh"),
            ("m7b5", "half-diminished"),
            ("dim7", "diminished-seventh"),
            ("mMaj7", "major-minor"),
            ("6", "major-sixth"),
            ("9", "dominant-ninth"),
        ] {
            let text = if name == "maj" { String::new() } else { name.to_owned() };
            assert_eq!(named(name), ChordKind { name: wanted, text, degrees: vec![] }, "{name}");
        }
        assert_eq!(named("7b9"), ChordKind { name: "dominant", text: "7".to_owned(), degrees: vec![(9, -1, "add")] });
        assert_eq!(named("7#5"), ChordKind { name: "augmented-seventh", text: "7#5".to_owned(), degrees: vec![] });
        assert_eq!(named("7sus4"), ChordKind { name: "suspended-fourth", text: "7sus4".to_owned(), degrees: vec![] });
        assert_eq!(
            named("7sus4b9"),
            ChordKind { name: "suspended-fourth", text: "7sus4b9".to_owned(), degrees: vec![] }
        );
        assert_eq!(named("maj7#5"), ChordKind { name: "augmented", text: "maj7#5".to_owned(), degrees: vec![] });
        assert_eq!(named("7alt"), ChordKind { name: "dominant", text: "7alt".to_owned(), degrees: vec![] });
    }
}
