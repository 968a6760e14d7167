use std::ops::Range;

use crate::music::{Degree, nearest};
use crate::pattern::quality::Quality;
use crate::pattern::token::{ChordRoot, NUMERALS, Reads, Slot, Token};
use crate::pattern::trouble::SpanTrouble;

/// The most words of a pattern's notes: each bracket, and each slot inside a group, is one.
pub(super) const MOST_TOKENS: usize = 512;
/// The most slots in a group: more notes in one unit cannot be heard as even.
const MOST_SLOTS: usize = 9;
/// What is expected where no note sounds; this trouble has the whole text for its place.
pub(super) const NO_NOTE: &str = "at least one note";
/// The most commas on a degree.
const MOST_COMMAS: usize = 3;
/// The most half steps from the tonic at which a note may be written.
const FARTHEST: i32 = 36;

/// Reads the notes of a pattern. Hands back the tokens, with the tonic in place of each note that cannot be read, and all troubles
/// with their places in bytes of `text`. Never panics, whatever the text.
pub(super) fn parse_notes(text: &str, reads: Reads) -> (Vec<Token>, Vec<SpanTrouble>) {
    let mut parser = Parser { reads, tokens: Vec::new(), troubles: Vec::new(), group: None, holdable: false };
    for (count, (span, word)) in words(text).enumerate() {
        if count == MOST_TOKENS {
            parser.troubles.push(SpanTrouble::new(span, format!("no more than {MOST_TOKENS} signs in one pattern")));
            // Its bracket may be closed further on, where nothing is read any more.
            parser.group = None;
            break;
        }
        parser.word(span, word);
    }
    if let Some((open, _)) = parser.group.take() {
        parser.troubles.push(SpanTrouble::new(open, "a closing ] for this group"));
    }
    let sounds = |slot: &Slot| matches!(slot, Slot::Degree(_) | Slot::HalfSteps(_));
    let sounding = parser.tokens.iter().any(|token| match token {
        Token::Slot(slot) => sounds(slot),
        Token::Group(slots) => slots.iter().any(sounds),
        _ => false,
    });
    if !sounding && parser.troubles.is_empty() {
        parser.troubles.push(SpanTrouble::new(0..text.len(), NO_NOTE));
    }
    (parser.tokens, parser.troubles)
}

/// The words of the notation with their places: every bracket, and every run of other characters without blanks.
fn words(text: &str) -> impl Iterator<Item = (Range<usize>, &str)> {
    let mut at = 0;
    std::iter::from_fn(move || {
        let rest = &text[at..];
        let start = at + rest.find(|c: char| !c.is_whitespace())?;
        let rest = &text[start..];
        let end = match rest.starts_with(['[', ']']) {
            true => 1,
            false => rest.find(|c: char| c.is_whitespace() || c == '[' || c == ']').unwrap_or(rest.len()),
        };
        at = start + end;
        Some((start..at, &text[start..at]))
    })
}

struct Parser {
    reads: Reads,
    tokens: Vec<Token>,
    troubles: Vec<SpanTrouble>,
    /// The place of the open bracket, and the slots of its group so far; `None` outside groups.
    group: Option<(Range<usize>, Vec<Slot>)>,
    /// Whether a note sounds that `-` can lengthen.
    holdable: bool,
}

impl Parser {
    fn word(&mut self, span: Range<usize>, word: &str) {
        match word {
            "[" => self.open(span),
            "]" => self.close(span),
            "-" => self.hold(span),
            "." => {
                self.holdable = false;
                self.slot(Slot::Rest);
            }
            "/" if self.group.is_none() => self.tokens.push(Token::Bar),
            "|" => self.troubles.push(SpanTrouble::new(span, "a bar line").nearest(Some("/"))),
            root if root.ends_with(':') => self.root(span, root),
            note => self.note(span, note),
        }
    }

    fn open(&mut self, span: Range<usize>) {
        match self.group {
            Some(_) => self.troubles.push(SpanTrouble::new(span, "a note, not a group inside a group")),
            None => self.group = Some((span, Vec::new())),
        }
    }

    fn close(&mut self, span: Range<usize>) {
        match self.group.take() {
            None => self.troubles.push(SpanTrouble::new(span, "an opening [ before this")),
            Some((open, slots)) if slots.is_empty() || slots.len() > MOST_SLOTS => {
                let expected = format!("1 to {MOST_SLOTS} notes in a group");
                self.troubles.push(SpanTrouble::new(open.start..span.end, expected));
            }
            Some((_, slots)) => self.tokens.push(Token::Group(slots)),
        }
    }

    fn hold(&mut self, span: Range<usize>) {
        let mut before =
            self.tokens.iter().rev().skip_while(|token| matches!(token, Token::Bar | Token::Slot(Slot::Hold)));
        let after_group = self.group.is_none() && matches!(before.next(), Some(Token::Group(_)));
        if self.holdable || after_group {
            self.slot(Slot::Hold);
        } else {
            self.troubles.push(SpanTrouble::new(span, "a note before this to hold").nearest(Some(".")));
        }
    }

    fn slot(&mut self, slot: Slot) {
        match &mut self.group {
            Some((_, slots)) => slots.push(slot),
            None => self.tokens.push(Token::Slot(slot)),
        }
    }

    fn note(&mut self, span: Range<usize>, word: &str) {
        // A note that cannot be read counts as sounding, so that `-` after it is not a second trouble.
        self.holdable = true;
        match read_note(word, self.reads) {
            Some(slot) => self.slot(slot),
            None => {
                self.troubles.push(SpanTrouble::new(span, expected(self.reads)).nearest(right_note(word, self.reads)));
                self.slot(Slot::Degree(Degree::TONIC));
            }
        }
    }

    fn root(&mut self, span: Range<usize>, word: &str) {
        if self.group.is_some() {
            self.troubles.push(SpanTrouble::new(span, "the chord before the group, not inside it"));
        } else if self.reads != Reads::Degrees {
            let expected = "no chord here: only degrees count from a root (reads = \"degrees\")";
            self.troubles.push(SpanTrouble::new(span, expected));
        } else {
            match read_root(word) {
                Some(root) => self.tokens.push(Token::Root(root)),
                None => {
                    let expected = "a Roman numeral and quality such as IIm7: or bVII7:";
                    self.troubles.push(SpanTrouble::new(span, expected).nearest(right_root(word)));
                }
            }
        }
    }
}

fn read_note(word: &str, reads: Reads) -> Option<Slot> {
    match reads {
        Reads::Degrees => Degree::parse(word).map(Slot::Degree),
        Reads::ChordTones => Degree::parse(word).filter(|degree| degree.alteration() == 0).map(Slot::Degree),
        Reads::HalfSteps => {
            let digits = word.strip_prefix('-').unwrap_or(word);
            let plain = !digits.is_empty() && digits.bytes().all(|c| c.is_ascii_digit());
            let value: i32 = if plain { word.parse().ok()? } else { return None };
            let canonical = value.to_string() == word;
            (canonical && value.abs() <= FARTHEST).then_some(Slot::HalfSteps(value))
        }
    }
}

fn expected(reads: Reads) -> &'static str {
    match reads {
        Reads::Degrees => "a degree from 1 to 15 such as 5, b3, #4 or 7, (a comma: an octave lower)",
        Reads::HalfSteps => "half steps from the tonic, such as 3 or -1",
        Reads::ChordTones => "a chord tone from 1 to 15 such as 3 or 7, without accidental (the quality decides)",
    }
}

/// The note or chord that was probably meant: a chord without its colon, or a note with its signs put first, signs of other notations read
/// or left out, and number and commas brought within bounds.
fn right_note(word: &str, reads: Reads) -> Option<String> {
    let numeral = word.trim_start_matches(['b', '#', '♭', '♯']).starts_with(['I', 'V', 'i', 'v']);
    if numeral && reads == Reads::Degrees {
        return right_root(word);
    }
    let digits: String = word.chars().filter(char::is_ascii_digit).take(3).collect();
    let ups = word.chars().filter(|c| matches!(c, '\'' | '’' | '^')).count() as i32;
    let signs: String = word.chars().filter(|c| matches!(c, 'b' | '#' | '♭' | '♯' | 'x')).take(3).collect();
    let mut downs = word.chars().filter(|c| *c == ',').count();
    let number: i32 = digits.parse().ok()?;
    let mut degree = (number + 7 * ups.min(2)).clamp(1, 15);
    // A degree beyond the octave with too many commas needs one comma less when it is named within the octave.
    while downs > MOST_COMMAS && degree > 7 {
        (degree, downs) = (degree - 7, downs - 1);
    }
    let sign = if reads == Reads::Degrees { signs.as_str() } else { "" };
    let meant = match reads {
        Reads::HalfSteps if word.starts_with('-') => format!("-{}", number.min(FARTHEST)),
        Reads::HalfSteps => number.min(FARTHEST).to_string(),
        _ => format!("{sign}{degree}{}", ",".repeat(downs.min(MOST_COMMAS))),
    };
    read_note(&meant, reads).map(|slot| slot.to_string())
}

fn read_root(word: &str) -> Option<ChordRoot> {
    let name = word.strip_suffix(':')?;
    let (alteration, name) = match (name.strip_prefix('b'), name.strip_prefix('#')) {
        (Some(rest), _) => (-1, rest),
        (_, Some(rest)) => (1, rest),
        _ => (0, name),
    };
    let length = name.find(|c: char| c != 'I' && c != 'V').unwrap_or(name.len());
    let letters = NUMERALS.iter().position(|numeral| *numeral == &name[..length])?;
    let quality = match &name[length..] {
        "" => Quality::MAJOR,
        "maj" => return None,
        named => Quality::parse(named)?,
    };
    Some(ChordRoot { degree: Degree::altered(letters as i32, alteration), quality })
}

/// The root that was probably meant, its numeral in capitals. A numeral in small letters is minor where nothing or a number follows it.
fn right_root(word: &str) -> Option<String> {
    let name = word.trim_end_matches(':');
    let (alteration, name) = match (name.strip_prefix(['b', '♭']), name.strip_prefix(['#', '♯'])) {
        (Some(rest), _) => (-1, rest),
        (_, Some(rest)) => (1, rest),
        _ => (0, name),
    };
    let length = name.find(|c: char| !matches!(c, 'I' | 'V' | 'i' | 'v')).unwrap_or(name.len());
    let (numeral, said) = name.split_at(length);
    let capitals = nearest(&numeral.to_uppercase(), NUMERALS)?;
    let letters = NUMERALS.iter().position(|numeral| *numeral == capitals)?;
    let minor = numeral.contains(['i', 'v']) && said.chars().next().is_none_or(|c| c.is_ascii_digit());
    let quality = Quality::meant(&if minor { format!("m{said}") } else { said.to_owned() })?;
    Some(ChordRoot { degree: Degree::altered(letters as i32, alteration), quality }.to_string())
}
