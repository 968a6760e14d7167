use std::str::FromStr;

use crate::music::{ChordQuality, ChordSymbol, PitchName, Unreadable};

use super::quality::{Seventh, Tension, ThirdKind};

const QUALITY: &str = "a quality such as m7, maj7, 7b9 or sus4, or / and a bass note";
const TENSION: &str = "5, 9, 11 or 13 after the sign";
const BASS: &str = "a bass note, such as E or Bb";
const CLOSE: &str = "the closing bracket";

/// The words for major. Of this and the lists below, a word of several letters is read in capitals or small letters, a single letter only
/// as it stands here.
const MAJOR: [&str; 5] = ["major", "maj", "ma", "M", "j"];
const TRIANGLE: [&str; 2] = ["Δ", "△"];
const MINOR: [&str; 6] = ["minor", "min", "mi", "m", "-", "−"];
const DIMINISHED: [&str; 4] = ["dim", "o", "°", "º"];
const HALF_DIMINISHED: [&str; 2] = ["ø", "Ø"];
const AUGMENTED: [&str; 2] = ["aug", "+"];
const FLAT: [&str; 4] = ["b", "♭", "-", "−"];
const SHARP: [&str; 3] = ["#", "♯", "+"];

struct SymbolReader<'a> {
    text: &'a str,
    rest: &'a str,
    made: ChordQuality,
    /// Whether a word for "major" was read, with which a number means a major seventh.
    major: bool,
    /// Whether a word for "diminished" was read, with which a number means a diminished seventh.
    diminished: bool,
    numbered: bool,
}

impl ChordSymbol {
    /// Reads what musicians write: `C-7` (minor), `CΔ7`, `F#ø`, `Bb7#9`, `Eb6/9`, `Dm7b5`, `G7alt`, `C7sus`, `CmMaj7`, `C/E`.
    ///
    /// Musicians write some chords in different ways. A sharp or flat right after the root's letter belongs to the root. `-` after a
    /// root means minor, between two numbers it means flat (`7-9`); `+` after a root means augmented, between two numbers sharp
    /// (`7+9`). A triangle alone means a major seventh, `M` major, `m` minor, `sus` the same as `sus4`, and `2` an added ninth. A
    /// slash and a letter name a bass; `6/9` is a sixth and a ninth.
    ///
    /// # Errors
    /// [`Unreadable`], pointing at the letter where reading stopped.
    pub fn parse(text: &str) -> Result<Self, Unreadable> {
        chord(text)
    }
}

impl FromStr for ChordSymbol {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        Self::parse(text)
    }
}

impl ChordQuality {
    /// Reads a quality without a root: `m7b5`, `7alt`, nothing for a major triad.
    ///
    /// # Errors
    /// [`Unreadable`], pointing at the letter where reading stopped.
    pub fn parse(text: &str) -> Result<Self, Unreadable> {
        quality(text)
    }
    /// Reads a quality with or without a root before it: `m7b5` and `Cm7b5`.
    ///
    /// # Errors
    /// [`Unreadable`], pointing at the letter where reading stopped.
    pub fn with_or_without_root(text: &str) -> Result<Self, Unreadable> {
        Self::parse(text).or_else(|_| ChordSymbol::parse(text).map(|chord| chord.quality))
    }
}

fn chord(text: &str) -> Result<ChordSymbol, Unreadable> {
    let trimmed = text.trim();
    let root = Some(trimmed).filter(|t| t.starts_with(|c: char| c.is_ascii_uppercase())).and_then(PitchName::leading);
    let Some((root, rest)) = root else {
        return Err(Unreadable::at(trimmed, trimmed, "a root: a capital letter from A to G"));
    };
    let mut reader = SymbolReader::new(trimmed, rest);
    reader.whole()?;
    let bass = if reader.takes(&["/"]) { Some(reader.bass()?) } else { None };
    reader.end()?;
    Ok(ChordSymbol { root, quality: reader.made.settled(), bass })
}

fn quality(text: &str) -> Result<ChordQuality, Unreadable> {
    let trimmed = text.trim();
    let mut reader = SymbolReader::new(trimmed, trimmed);
    reader.whole()?;
    reader.end()?;
    Ok(reader.made.settled())
}

impl<'a> SymbolReader<'a> {
    fn new(text: &'a str, rest: &'a str) -> Self {
        Self { text, rest, made: ChordQuality::default(), major: false, diminished: false, numbered: false }
    }
    fn trouble(&self, expected: &'static str) -> Unreadable {
        Unreadable::at(self.text, self.rest, expected)
    }
    fn end(&self) -> Result<(), Unreadable> {
        if self.rest.is_empty() { Ok(()) } else { Err(self.trouble(QUALITY)) }
    }
    /// Steps over one of `words`, if it comes next. A word of several letters may stand in capitals or small letters.
    fn takes(&mut self, words: &[&str]) -> bool {
        self.rest = self.rest.trim_start();
        for word in words {
            let Some(head) = self.rest.get(..word.len()) else { continue };
            let any_case = word.chars().count() > 1 && head.eq_ignore_ascii_case(word);
            if any_case || head == *word {
                self.rest = &self.rest[word.len()..];
                return true;
            }
        }
        false
    }
    /// Steps over the number that comes next, if it is one of `numbers`, and gives it.
    fn number(&mut self, numbers: &[u32]) -> Option<u32> {
        self.rest = self.rest.trim_start();
        let digits = self.rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(self.rest.len());
        let found = self.rest[..digits].parse().ok().filter(|number| numbers.contains(number))?;
        self.rest = &self.rest[digits..];
        Some(found)
    }
    fn whole(&mut self) -> Result<(), Unreadable> {
        self.family();
        self.size();
        loop {
            if self.takes(&["("]) {
                self.bracket()?;
            } else if !self.modifier()? {
                return Ok(());
            }
        }
    }
    /// Reads the word before the number: major, minor, diminished, half-diminished, augmented or "dom".
    fn family(&mut self) {
        if self.takes(&HALF_DIMINISHED) {
            self.made.third = ThirdKind::Minor;
            self.made.flat_fifth = true;
            self.made.seventh = Some(Seventh::Minor);
        } else if self.takes(&DIMINISHED) {
            self.diminished = true;
            self.made.third = ThirdKind::Minor;
            self.made.flat_fifth = true;
            self.major_after();
        } else if self.takes(&AUGMENTED) {
            self.made.sharp_fifth = true;
            if self.number(&[5]).is_none() {
                self.major_after();
            }
        } else if self.takes(&["dom"]) {
            // "dom" says nothing more than the number after it.
        } else if !self.major_after() && self.takes(&MINOR) {
            self.made.third = ThirdKind::Minor;
            let before = self.rest;
            if !(self.takes(&["/"]) && self.major_after()) {
                self.rest = before;
                self.major_after();
            }
        }
    }
    /// Steps over a word for major or a triangle, if one comes next, and says whether it did. A triangle makes the seventh major at
    /// once; after a word, the number or the bracket does.
    fn major_after(&mut self) -> bool {
        if self.takes(&TRIANGLE) {
            self.made.seventh = Some(Seventh::Major);
            self.major = true;
            return true;
        }
        let before = self.rest;
        // "M" must not eat the first letter of "MI" or "MIN", nor "ma" the first two of "madd9".
        if MINOR[..3].iter().chain(&["madd"]).any(|word| starts_with_any_case(before.trim_start(), word)) {
            return false;
        }
        self.major = self.takes(&MAJOR);
        self.major
    }
    /// Reads the number: a sixth with or without a ninth, a seventh, or the top of the stack; where no word stands before it, also 2 (an
    /// added ninth) and 5 (no third).
    fn size(&mut self) {
        self.rest = self.rest.trim_start();
        let plain = self.made == ChordQuality::default() && !self.major;
        let found = self.number(if plain { &[2, 5, 6, 69, 7, 9, 11, 13] } else { &[6, 69, 7, 9, 11, 13] });
        self.numbered = found.is_some();
        match found {
            Some(2) => self.made.tensions.push(Tension::Ninth),
            Some(5) => self.made.third = ThirdKind::Open,
            Some(6) => {
                self.made.sixth = true;
                let before = self.rest;
                if !(self.takes(&["/"]) && self.number(&[9]).is_some_and(|_| self.tension(9, 0))) {
                    self.rest = before;
                }
            }
            Some(69) => {
                self.made.sixth = true;
                self.made.tensions.push(Tension::Ninth);
            }
            Some(stack) => self.stacks(stack),
            None => {}
        }
    }
    fn stacks(&mut self, stack: u32) {
        self.made.stack = stack as u8;
        if self.takes(&TRIANGLE) || (self.rest.starts_with('M') && self.takes(&["M"])) {
            self.major = true;
        }
        self.made.seventh = Some(match self.made.seventh {
            Some(read) => read,
            None if self.major => Seventh::Major,
            None if self.diminished => Seventh::Diminished,
            None => Seventh::Minor,
        });
    }
    fn bracket(&mut self) -> Result<(), Unreadable> {
        loop {
            let said = self.modifier()? || self.plain_in_bracket();
            if self.takes(&[")"]) {
                return Ok(());
            }
            if !said {
                return Err(self.trouble(if self.rest.is_empty() { CLOSE } else { TENSION }));
            }
        }
    }
    /// Reads a number without a sign inside a bracket, as in `6(9)`, `7(13)`, `sus4(7)` and `m(maj7)`.
    fn plain_in_bracket(&mut self) -> bool {
        if self.made.third == ThirdKind::Open {
            return false;
        }
        if self.made.seventh.is_none() && self.major_after() {
            self.made.seventh = Some(Seventh::Major);
            if let Some(stack) = self.number(&[7, 9, 11, 13]) {
                self.made.stack = stack as u8;
            }
            return true;
        }
        if self.made.seventh.is_none() && !self.made.sixth {
            return self.number(&[7]).is_some_and(|_| {
                self.stacks(7);
                true
            });
        }
        self.number(&[9, 11, 13]).is_some_and(|number| self.tension(number, 0))
    }
    /// Reads one suspension, addition or alteration; `false` where none comes next.
    fn modifier(&mut self) -> Result<bool, Unreadable> {
        self.takes(&[","]);
        if self.takes(&["sus"]) {
            return self.suspension();
        }
        if self.takes(&["alt"]) {
            self.made.altered = true;
            return Ok(true);
        }
        let added = self.takes(&["add"]);
        let before = self.rest;
        let sharp = self.takes(&SHARP);
        let flat = !sharp && self.takes(&FLAT);
        let alter = i32::from(sharp) - i32::from(flat);
        if !(added || sharp || flat) {
            return Ok(false);
        }
        let at_number = self.rest;
        match self.number(&[2, 4, 5, 6, 9, 11, 13]) {
            Some(5) if alter != 0 => {
                self.made.sharp_fifth |= sharp;
                self.made.flat_fifth |= flat;
            }
            Some(number) if self.tension(number, alter) => {}
            None if before.starts_with('+') && self.numbered && !added => self.made.sharp_fifth = true,
            _ => {
                self.rest = at_number;
                return Err(self.trouble(TENSION));
            }
        }
        Ok(true)
    }
    fn suspension(&mut self) -> Result<bool, Unreadable> {
        if self.diminished {
            return Err(self.trouble("no suspension on a diminished chord"));
        }
        self.made.third = ThirdKind::Fourth;
        match self.number(&[2, 4, 7, 9, 13]) {
            Some(2) => self.made.third = ThirdKind::Second,
            Some(4) | None => {}
            Some(stack) => self.stacks(stack),
        }
        Ok(true)
    }
    fn tension(&mut self, number: u32, alter: i32) -> bool {
        let found = Tension::of(number, alter);
        self.made.tensions.extend(found);
        found.is_some()
    }
    fn bass(&mut self) -> Result<PitchName, Unreadable> {
        let named = Some(self.rest).filter(|rest| rest.starts_with(|c: char| c.is_ascii_uppercase()));
        let Some((name, rest)) = named.and_then(PitchName::leading) else {
            return Err(self.trouble(BASS));
        };
        self.rest = rest;
        Ok(name)
    }
}

fn starts_with_any_case(text: &str, word: &str) -> bool {
    text.get(..word.len()).is_some_and(|head| head.eq_ignore_ascii_case(word)) && (word.len() > 1)
}
