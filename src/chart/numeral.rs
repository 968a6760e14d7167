use std::fmt;

use crate::music::{ChordQuality, ChordSymbol, Degree, PitchClass, PitchName, Unreadable, spell_degree};

/// The Roman numerals, by the number of letters above the tonic.
const NUMERALS: [&str; 7] = ["I", "II", "III", "IV", "V", "VI", "VII"];
/// What is said to be expected where a numeral cannot be read.
const LIKE: &str = "a Roman numeral in capitals and a quality, such as IIm7 or bVII7";

/// A chord by its place in a key, such as `IIm7`, `bVII7` and `V7/VII`. Degrees are those of the major scale on the tonic, in a minor
/// key too.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Numeral {
    /// The root above the tonic: 0 to 6 letters, at most one sharp or flat where it was read from a numeral.
    pub root: Degree,
    /// The quality of the chord.
    pub quality: ChordQuality,
    /// The bass after a slash, as a degree above the tonic; `None` without a slash.
    pub bass: Option<Degree>,
}

impl Numeral {
    /// Reads a numeral.
    ///
    /// # Errors
    /// [`Unreadable`], pointing at the letter where reading stopped.
    pub fn parse(text: &str) -> Result<Self, Unreadable> {
        let (root, rest) = leading(text).ok_or_else(|| unreadable(text, text))?;
        let slash = rest.rfind('/').filter(|at| leading(&rest[at + 1..]).is_some());
        let (said, bass) = match slash {
            None => (rest, None),
            Some(at) => {
                let (bass, more) = leading(&rest[at + 1..]).ok_or_else(|| unreadable(text, &rest[at..]))?;
                if !more.is_empty() {
                    return Err(unreadable(text, more));
                }
                (&rest[..at], Some(bass))
            }
        };
        let quality = ChordQuality::parse(said).map_err(|wrong| {
            let before = text[..text.len() - rest.len()].chars().count();
            Unreadable { text: text.to_owned(), column: before + wrong.column, expected: wrong.expected }
        })?;
        Ok(Self { root, quality, bass })
    }
    /// The place of a chord in the key of `tonic`, by the spelling of the chord.
    #[must_use]
    pub fn of(chord: &ChordSymbol, tonic: PitchName) -> Self {
        let place = |name| place(name, tonic);
        Self { root: place(chord.root), quality: chord.quality.clone(), bass: chord.bass.map(place) }
    }
    /// The chord in the key of `tonic`, spelled by its place.
    #[must_use]
    pub fn on(&self, tonic: PitchName) -> ChordSymbol {
        ChordSymbol {
            root: spell_degree(tonic, self.root),
            quality: self.quality.clone(),
            bass: self.bass.map(|bass| spell_degree(tonic, bass)),
        }
    }
    /// The same chord with root and bass at most one sharp or flat away from the major scale: `bV`, not a doubly sharpened `III`.
    pub(super) fn simple(self) -> Self {
        let simple = |degree: Degree| match degree.alteration() {
            -1..=1 => degree,
            _ => Degree::of_half_steps(degree.half_steps.rem_euclid(12), false),
        };
        Self { root: simple(self.root), bass: self.bass.map(simple), ..self }
    }
}

/// The degree of a spelled name above a tonic, 0 to 6 letters up.
pub(super) fn place(name: PitchName, tonic: PitchName) -> Degree {
    let letters = (name.letter.place() as i32 - tonic.letter.place() as i32).rem_euclid(7);
    let above = name.class().get() - tonic.class().get() - Degree::altered(letters, 0).half_steps;
    Degree::altered(letters, (above + 6).rem_euclid(12) - 6)
}

/// The name that a chart prints for a root or a bass: never a double sharp or flat, and Cb, Fb, E# or B# only where the scale of the key
/// has it (common practice).
pub(super) fn plain(name: PitchName, scale: &[PitchName]) -> PitchName {
    let white = |class: PitchClass| matches!(class.get(), 0 | 2 | 4 | 5 | 7 | 9 | 11);
    let odd = name.alter.abs() > 1 || (name.alter != 0 && white(name.class()) && !scale.contains(&name));
    if odd { PitchName::on(name.letter.up(i32::from(name.alter.signum())), name.class()) } else { name }
}

fn unreadable(text: &str, rest: &str) -> Unreadable {
    let column = text.get(..text.len().saturating_sub(rest.len())).unwrap_or(text).chars().count() + 1;
    Unreadable { text: text.to_owned(), column, expected: LIKE }
}

/// The degree at the start of a numeral, and what follows it.
fn leading(text: &str) -> Option<(Degree, &str)> {
    let signs = [("b", -1), ("♭", -1), ("#", 1), ("♯", 1)];
    let (alteration, rest) = signs
        .iter()
        .find_map(|(sign, alteration)| text.strip_prefix(sign).map(|rest| (*alteration, rest)))
        .unwrap_or((0, text));
    let length = rest.find(|c: char| c != 'I' && c != 'V').unwrap_or(rest.len());
    let letters = NUMERALS.iter().position(|numeral| *numeral == &rest[..length])?;
    Some((Degree::altered(letters as i32, alteration), &rest[length..]))
}

/// The numeral that a numeral in small letters means: minor where nothing or a number follows it.
pub(super) fn meant(word: &str) -> Option<String> {
    let from = word.find(|c: char| !matches!(c, 'b' | '#' | '♭' | '♯'))?;
    let (signs, rest) = word.split_at(from);
    let length = rest.find(|c: char| !matches!(c, 'I' | 'V' | 'i' | 'v')).unwrap_or(rest.len());
    let (numeral, said) = rest.split_at(length);
    let minor = numeral.contains(['i', 'v']) && said.chars().next().is_none_or(|c| c.is_ascii_digit());
    let small = if minor { "m" } else { "" };
    let whole = format!("{signs}{}{small}{said}", numeral.to_uppercase());
    Numeral::parse(&whole).ok().map(|numeral| numeral.to_string())
}

impl fmt::Display for Numeral {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = |degree: Degree| {
            let alteration = degree.alteration();
            let sign = if alteration < 0 { "b" } else { "#" };
            let numeral = NUMERALS[degree.letters.rem_euclid(7) as usize];
            format!("{}{numeral}", sign.repeat(alteration.unsigned_abs() as usize))
        };
        write!(out, "{}{}", name(self.root), self.quality)?;
        self.bass.map_or(Ok(()), |bass| write!(out, "/{}", name(bass)))
    }
}
