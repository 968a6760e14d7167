//! What `patterns show` says in words and as JSON: the notes over each chord, and a pattern's lines in a key.

use crate::cli::args::Third;
use crate::cli::failure::Failure;
use crate::cli::resolve::Who;
use crate::music::ConcertKey;
use crate::pattern::{self, ChordSpan, Line, Pattern, PatternNote, Register};

/// All registers.
pub(super) const THIRDS: [Third; 3] = [Third::Low, Third::Middle, Third::High];

/// Each chord under the pattern, with the notes over it counted from its root; what is no tone of it stands in brackets.
pub(super) fn over_chords(pattern: &Pattern) -> Vec<(String, String)> {
    let sections = pattern.chords();
    let ends = sections.iter().skip(1).map(|section| section.at.0).chain([i64::MAX]);
    let told = sections.iter().zip(ends).map(|(section, end)| {
        let steps = pattern.notes().iter().filter(|step| (section.at.0..end).contains(&step.at.0));
        let tones: Vec<String> = steps.map(|step| tone(section, step)).collect();
        (section.root.to_string().trim_end_matches(':').to_owned(), tones.join(" "))
    });
    told.collect()
}

fn tone(section: &ChordSpan, step: &PatternNote) -> String {
    let counted = step.degree - section.root.degree;
    let mut tones = section.root.quality.tones().iter();
    let belongs = tones.any(|tone| (tone.half_steps - counted.half_steps) % 12 == 0);
    if belongs { counted.to_string() } else { format!("({counted})") }
}

/// Names of registers, and the line that a pattern is in them.
pub(super) type InRegisters = (Vec<&'static str>, Line);

/// The pattern in a key, in one register or in each; registers that fall on one octave share a line.
pub(super) fn lines_in(
    pattern: &Pattern,
    key: ConcertKey,
    register: Option<Third>,
    who: &Who,
) -> Result<Vec<InRegisters>, Failure> {
    let mut lines: Vec<InRegisters> = Vec::new();
    for third in register.map_or(THIRDS.to_vec(), |one| vec![one]) {
        let line = pattern::realise(pattern, key, None, who.range, Register::from(third))
            .map_err(|refusal| Failure::usage(refusal, "Widen --range, or choose another key."))?;
        match lines.iter_mut().find(|(_, same)| *same == line) {
            Some((registers, _)) => registers.push(third.name()),
            None => lines.push((vec![third.name()], line)),
        }
    }
    Ok(lines)
}
