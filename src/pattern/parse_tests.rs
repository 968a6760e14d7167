use arbtest::arbitrary::{Result, Unstructured};

use crate::pattern::parse::parse_notes;
use crate::pattern::token::{Reads, print_notes};

fn printed(text: &str, reads: Reads) -> String {
    let (tokens, troubles) = parse_notes(text, reads);
    assert_eq!(troubles, [], "{text}");
    print_notes(&tokens)
}

/// The only trouble in `text`: the word at which it points, and the spelling that it offers.
fn trouble(text: &str, reads: Reads) -> (&str, Option<String>) {
    let (_, troubles) = parse_notes(text, reads);
    assert_eq!(troubles.len(), 1, "{text}: {troubles:?}");
    (&text[troubles[0].span.clone()], troubles[0].nearest.clone())
}

#[test]
fn what_musicians_write_prints_in_one_way() {
    for (text, canonical) in [
        ("1 2 b3 #4 5 8 9", "1 2 b3 #4 5 8 9"),
        ("  7,\t6,\n8, ##4 ♭3", "7, 6, 1 x4 b3"),
        ("[1 2 3]5 - .", "[1 2 3] 5 - ."),
        ("[1 2 3] - [1 - 2]", "[1 2 3] - [1 - 2]"),
        ("IIm7: 1 b3 5 b7 / V7: 3 2 1 b7, Imaj7: 3 - / - -", "IIm7: 1 b3 5 b7 / V7: 3 2 1 b7, Imaj7: 3 - / - -"),
        ("#Idim7: 1 bVII7: 3 I: 5 I6/9: 9", "#Idim7: 1 bVII7: 3 I: 5 I6/9: 9"),
    ] {
        assert_eq!(printed(text, Reads::Degrees), canonical);
    }
    assert_eq!(printed("0 1 2 -1 - 12", Reads::HalfSteps), "0 1 2 -1 - 12");
    assert_eq!(printed("1 3 5 7 8 10, 9", Reads::ChordTones), "1 3 5 7 8 3 9");
}

#[test]
fn a_slip_is_pointed_at_and_the_right_spelling_offered() {
    let degrees = |text| trouble(text, Reads::Degrees);
    assert_eq!(degrees("1 2 3b 4"), ("3b", Some("b3".into())));
    assert_eq!(degrees("5 1' 3"), ("1'", Some("8".into())));
    assert_eq!(degrees("1 22"), ("22", Some("15".into())));
    assert_eq!(degrees("1 | 2"), ("|", Some("/".into())));
    assert_eq!(degrees("ii7: 1 2"), ("ii7:", Some("IIm7:".into())));
    assert_eq!(degrees("II-7: 1"), ("II-7:", Some("IIm7:".into())));
    assert_eq!(degrees("Vmaj77: 1"), ("Vmaj77:", Some("Vmaj7:".into())));
    assert_eq!(degrees("Imaj: 1"), ("Imaj:", Some("I:".into())));
    assert_eq!(degrees("- 1"), ("-", Some(".".into())));
    assert_eq!(degrees("1 . -"), ("-", Some(".".into())));
    assert_eq!(degrees("1 [2 3"), ("[", None));
    assert_eq!(degrees("1 ] 3"), ("]", None));
    assert_eq!(degrees("1 [] 3"), ("[]", None));
    assert_eq!(degrees("/ ."), ("/ .", None));
    assert_eq!(trouble("0 b3", Reads::HalfSteps), ("b3", Some("3".into())));
    assert_eq!(trouble("0 -0", Reads::HalfSteps), ("-0", None));
    assert_eq!(trouble("1 b3 5", Reads::ChordTones), ("b3", Some("3".into())));
    assert_eq!(trouble("0 V7: 1", Reads::HalfSteps).0, "V7:");
}

#[test]
fn a_chord_in_another_spelling_of_the_trade_is_offered_as_the_same_chord() {
    // Spellings: common practice, as in any harmony handbook; small numerals are minor.
    for (written, offered) in [
        ("IIØ7:", "IIm7b5:"),
        ("IIø:", "IIm7b5:"),
        ("IM7:", "Imaj7:"),
        ("IΔ:", "Imaj7:"),
        ("II-7:", "IIm7:"),
        ("II−7b5:", "IIm7b5:"),
        ("bVIIdom7:", "bVII7:"),
        ("♭VII7:", "bVII7:"),
        ("V7sus:", "V7sus4:"),
        ("vii°7:", "VIIdim7:"),
        ("ii9:", "IIm9:"),
        ("iv:", "IVm:"),
        ("I+:", "Iaug:"),
        ("IM:", "I:"),
    ] {
        assert_eq!(trouble(&format!("{written} 1"), Reads::Degrees), (written, Some(offered.into())));
    }
    // A chord symbol that can be read but is not in the table of chords: no other chord is offered instead.
    assert_eq!(trouble("V7b5b9b13: 1", Reads::Degrees), ("V7b5b9b13:", None));
}

#[test]
fn a_chord_without_its_colon_and_a_comma_too_many_are_offered_as_what_they_are() {
    for (written, offered) in [("V7", "V7:"), ("bVII7", "bVII7:"), ("ii7", "IIm7:"), ("IV", "IV:")] {
        assert_eq!(trouble(&format!("1 2 {written} 3"), Reads::Degrees), (written, Some(offered.into())));
    }
    // A comma is an octave: an eighth degree four octaves down is the first one three octaves down.
    for (written, offered) in [("8,,,,", "1,,,"), ("1,,,,", "1,,,"), ("b10,,,,,,", "b3,,,"), ("15,,,,", "8,,,")] {
        let canonical = crate::music::Degree::parse(offered).unwrap().to_string();
        assert_eq!(trouble(written, Reads::Degrees), (written, Some(canonical)));
    }
}

#[test]
fn every_fault_of_a_line_is_told_at_once() {
    let (_, troubles) = parse_notes("1 hm 3 4' Vx7: 5", Reads::Degrees);
    assert_eq!(troubles.len(), 3);
}

#[test]
fn the_parser_never_panics_and_what_it_reads_prints_and_reads_back() {
    arbtest::arbtest(|bytes| {
        let text: String = bytes.arbitrary()?;
        for reads in [Reads::Degrees, Reads::HalfSteps, Reads::ChordTones] {
            let (tokens, troubles) = parse_notes(&text, reads);
            if troubles.is_empty() {
                assert_eq!(parse_notes(&print_notes(&tokens), reads).0, tokens);
            }
        }
        Ok(())
    });
}

#[test]
fn lines_made_of_the_grammars_own_signs_print_and_read_back() {
    const SIGNS: [&str; 24] = [
        "1", "b3", "#4", "7,", "x5", "bb7", "15", "-", ".", "/", "[", "]", " ", "IIm7:", "bVII7:", "I:", "12", "-3",
        "0", ",", "b", "V7alt:", "I6/9:", "'",
    ];
    arbtest::arbtest(|bytes| {
        let mut text = String::new();
        for _ in 0..bytes.int_in_range(0..=20)? {
            text.push_str(bytes.choose(&SIGNS)?);
            if bytes.arbitrary()? {
                text.push(' ');
            }
        }
        for reads in [Reads::Degrees, Reads::HalfSteps, Reads::ChordTones] {
            let (tokens, troubles) = parse_notes(&text, reads);
            let printed = print_notes(&tokens);
            if troubles.is_empty() {
                let (again, none) = parse_notes(&printed, reads);
                assert_eq!((again, none.len()), (tokens, 0), "{text} -> {printed}");
                assert_eq!(print_notes(&parse_notes(&printed, reads).0), printed);
            }
            assert!(troubles.iter().all(|trouble| text.get(trouble.span.clone()).is_some()), "{text}");
        }
        Ok(())
    });
}

/// A line made by the rules of the EBNF at the head of `pattern/mod.rs`.
struct Made<'b, 'u> {
    bytes: &'b mut Unstructured<'u>,
    reads: Reads,
    /// Whether a note sounds that `-` can lengthen.
    sounds: bool,
}

impl Made<'_, '_> {
    fn note(&mut self) -> Result<String> {
        self.sounds = true;
        Ok(match self.reads {
            Reads::HalfSteps => self.bytes.int_in_range(-36..=36)?.to_string(),
            reads => {
                let signs: &[&str] = match reads {
                    Reads::Degrees => &["", "bb", "b", "#", "x", "##", "♭♭", "♭", "♯", "♯♯"],
                    _ => &[""],
                };
                let number = self.bytes.int_in_range(1..=15)?;
                format!("{}{number}{}", self.bytes.choose(signs)?, ",".repeat(self.bytes.int_in_range(0..=3)?))
            }
        })
    }
    fn slot(&mut self) -> Result<String> {
        match self.bytes.int_in_range(0..=3)? {
            0 if self.sounds => Ok("-".into()),
            1 => {
                self.sounds = false;
                Ok(".".into())
            }
            _ => self.note(),
        }
    }
    fn group(&mut self) -> Result<String> {
        let slots: Result<Vec<String>> = (0..self.bytes.int_in_range(1..=9)?).map(|_| self.slot()).collect();
        Ok(format!("[{}]", slots?.join(" ")))
    }
    fn root(&mut self) -> Result<String> {
        let numeral = self.bytes.choose(&["I", "II", "III", "IV", "V", "VI", "VII"])?;
        let quality = self.bytes.choose(&["", "m", "7", "maj7", "m7b5", "dim7", "7alt", "6/9", "13#11"])?;
        Ok(format!("{}{numeral}{quality}:", self.bytes.choose(&["", "b", "#"])?))
    }
}

#[test]
fn whatever_the_written_grammar_makes_the_parser_reads() {
    arbtest::arbtest(|bytes| {
        for reads in [Reads::Degrees, Reads::HalfSteps, Reads::ChordTones] {
            let mut made = Made { bytes, reads, sounds: false };
            let mut words = vec![made.note()?];
            for _ in 0..made.bytes.int_in_range(0..=24)? {
                let word = match made.bytes.int_in_range(0..=5)? {
                    0 => "/".into(),
                    1 => made.group()?,
                    2 if reads == Reads::Degrees => made.root()?,
                    _ => made.slot()?,
                };
                words.push(word);
            }
            let text = words.join(" ");
            let (tokens, troubles) = parse_notes(&text, reads);
            assert!(
                troubles.is_empty() && parse_notes(&print_notes(&tokens), reads).0 == tokens,
                "{text}: {troubles:?}"
            );
        }
        Ok(())
    });
}
