use std::ops::Range;

use crate::chart::before_key::{Fill, Unplaced, UnplacedBar};
use crate::chart::numeral::{Numeral, meant};
use crate::chart::read::ChartReader;
use crate::music::{ChordSymbol, Unreadable};

impl<'t> ChartReader<'t> {
    /// Takes the words since the last sign as a bar, or as the pick-up.
    pub(super) fn bar(&mut self) {
        let words = std::mem::take(&mut self.words);
        if std::mem::take(&mut self.before) {
            self.pick_up(&words);
            return;
        }
        let (Some((first, _)), Some((end, _))) = (words.first().cloned(), words.last().cloned()) else { return };
        let span = first.start..end.end;
        let bar = match &words[..] {
            [(_, "%")] => self.last.clone().or_else(|| {
                self.blot(span, "there is no bar before this one", "write its chord");
                None
            }),
            _ => self.shared(&words, span),
        };
        let Some(bar) = bar else { return };
        self.last = Some(bar.clone());
        match &mut self.repeat {
            None => self.plain.push(bar),
            Some(repeat) => repeat.endings.last_mut().unwrap_or(&mut repeat.bars).push(bar),
        }
    }

    fn pick_up(&mut self, words: &[(Range<usize>, &'t str)]) {
        let shares = self.slots(words, 1);
        let beats: u32 = shares.iter().map(|share| share.beats).sum();
        if let (Some((first, _)), true) = (words.first(), beats >= self.meter) {
            let what = format!("the pick-up has {beats} beats, as long as a bar");
            self.blot(first.clone(), what, "write it as a bar, or leave some out");
        }
        self.pickup = Some(shares);
    }

    /// A bar whose slots share its beats evenly.
    fn shared(&mut self, words: &[(Range<usize>, &'t str)], span: Range<usize>) -> Option<UnplacedBar> {
        let slots = words.len() as u32;
        if slots > self.meter || !self.meter.is_multiple_of(slots) {
            let what = format!("{slots} signs do not add up to a bar of {} beats", self.meter);
            let mend = format!("write {} signs, a beat each, with - where a chord goes on", self.meter);
            self.blot(span, what, mend);
            return None;
        }
        let shares = self.slots(words, self.meter / slots);
        (shares.iter().map(|share| share.beats).sum::<u32>() == self.meter).then_some(shares)
    }

    /// Reads slots of `beats` beats each. A slot in which the chord before goes on lengthens that chord; one that cannot be read is a
    /// misprint and is left out.
    fn slots(&mut self, words: &[(Range<usize>, &'t str)], beats: u32) -> Vec<Unplaced> {
        let mut shares: Vec<Unplaced> = Vec::new();
        for (span, word) in words {
            match (self.slot(span, word), shares.last_mut()) {
                (Some(Fill::On), Some(share)) => share.beats += beats,
                (Some(Fill::On), None) => {
                    self.blot(span.clone(), "nothing before this goes on", "write a chord, or N.C. for none");
                }
                (Some(fill), _) => shares.push(Unplaced { beats, fill }),
                (None, _) => {}
            }
        }
        shares
    }

    fn slot(&mut self, span: &Range<usize>, word: &str) -> Option<Fill> {
        match word {
            "-" | "/" => return Some(Fill::On),
            "N.C." | "NC" => return Some(Fill::Silent),
            "%" => {
                self.blot(span.clone(), "% stands for a whole bar", "write it alone between bar lines");
                return None;
            }
            _ => {}
        }
        let numeral = word.starts_with(['I', 'V', 'b', '#', '♭', '♯']);
        let read =
            if numeral { Numeral::parse(word).map(Fill::Numeral) } else { ChordSymbol::parse(word).map(Fill::Symbol) };
        match read {
            Err(trouble) => self.unread(span, word, &trouble),
            Ok(_) if self.numerals.is_some_and(|other| other != numeral) => {
                let (here, there) = if numeral { ("numeral", "letters") } else { ("letter", "numerals") };
                self.blot(span.clone(), format!("`{word}` is a {here} among {there}"), format!("write all in {there}"));
            }
            Ok(slot) => {
                self.numerals = Some(numeral);
                return Some(slot);
            }
        }
        None
    }

    /// Adds the misprint of a chord that cannot be read, with its place from the character at which reading stopped.
    fn unread(&mut self, span: &Range<usize>, word: &str, trouble: &Unreadable) {
        let into: usize = word.chars().take(trouble.column - 1).map(char::len_utf8).sum();
        let capital = || {
            let mut letters = word.chars();
            let first = letters.next().filter(|c| ('a'..='g').contains(c))?;
            let whole = format!("{}{}", first.to_ascii_uppercase(), letters.as_str());
            ChordSymbol::parse(&whole).ok().map(|chord| chord.to_string())
        };
        let shown: String = word.chars().take(24).collect();
        let mend = match capital().or_else(|| meant(word)) {
            Some(right) => format!("write `{right}`"),
            None => format!("write {}", trouble.expected),
        };
        self.blot(span.start + into..span.end, format!("the chord `{shown}` cannot be read"), mend);
    }
}
