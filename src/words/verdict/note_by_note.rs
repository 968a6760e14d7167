use crate::cue::Cue;
use crate::notes::HeardNote;
use crate::verdict::{NoteLabel, PlayedLabel, Verdict, pace_moved};
use crate::words::Page;
use crate::words::numbers::{ordinal, signed};

/// A verdict note by note, a line each, below a line that says what was asked; `sentence` is the last line.
#[must_use]
pub fn note_by_note(page: &Page, cue: &Cue, heard: &[HeardNote], verdict: &Verdict, sentence: &str) -> Vec<String> {
    let mut lines = vec![format!(
        "{} in {}, {}, quarter = {:.0}",
        cue.title,
        page.key(cue.key, cue.spelling.mode),
        page.instrument.name,
        cue.tempo.0
    )];
    if !verdict.related {
        let names: Vec<String> = heard.iter().map(|note| page.heard(note.pitch)).collect();
        if !names.is_empty() {
            lines.push(format!("heard: {}", names.join(" ")));
        }
        lines.push(sentence.to_owned());
        return lines;
    }
    if verdict.shift.0 != 0 {
        lines.push(format!("played {:+} half steps from what was asked; held against that:", verdict.shift.0));
    }
    for (asked, note) in cue.line.notes.iter().zip(&verdict.expected) {
        let name = page.asked(asked, cue.key, cue.spelling);
        let said = match note.label {
            NoteLabel::Right => "right".to_owned(),
            NoteLabel::Wrong(by) => format!("wrong by {:+} half steps", by.0),
            NoteLabel::Octave(by) => format!("octave, {:+} half steps", by.0),
            NoteLabel::Missed => "missed".to_owned(),
            NoteLabel::Merged => "joined to its neighbour".to_owned(),
        };
        let cents = note.cents.map_or(String::new(), |cents| format!("  {} cents", signed(cents)));
        let at = note
            .heard
            .and_then(|index| heard.get(index))
            .map_or(String::new(), |note| format!("  at {:.2} s", note.onset.0));
        lines.push(format!("  {name:4} {said}{cents}{at}"));
    }
    if verdict.attempts > 1 {
        lines.push(format!("attempt {}", verdict.attempts));
    }
    if let Some((from, to)) = pace_moved(verdict, &cue.line) {
        lines.push(format!("from quarter = {:.0} to {:.0}, asked {:.0}", from.0, to.0, cue.tempo.0));
    } else if let Some(pace) = verdict.pace {
        lines.push(format!("held at quarter = {:.0}, asked {:.0}", pace.0, cue.tempo.0));
    }
    for stood in &verdict.stood {
        lines.push(format!("stood still before the {} note, {:.2} s", ordinal(stood.before), stood.by.0));
    }
    if let Some(centre) = verdict.centre {
        lines.push(format!("as a whole {} cents; the cents above are against that", signed(centre)));
    }
    for (note, _) in heard.iter().zip(&verdict.played).filter(|(_, label)| **label == PlayedLabel::Artefact) {
        let (name, length) = (page.heard(note.pitch), note.release - note.onset);
        lines.push(format!("not counted: {name} at {:.2} s, {:.2} s long", note.onset.0, length.0));
    }
    if let (Some(played), Some(asked)) = (verdict.swing, cue.line.swing()) {
        lines.push(format!("long to short eighth {played:.1} to 1, asked {asked:.1} to 1"));
    }
    lines.push(sentence.to_owned());
    lines
}

/// The word of the printed lines and of JSON for an asked note.
#[must_use]
pub const fn expected_word(label: NoteLabel) -> &'static str {
    match label {
        NoteLabel::Right => "right",
        NoteLabel::Wrong(_) => "wrong",
        NoteLabel::Octave(_) => "octave",
        NoteLabel::Missed => "missed",
        NoteLabel::Merged => "merged",
    }
}

/// The word of the printed lines and of JSON for a played note.
#[must_use]
pub const fn played_word(label: PlayedLabel) -> &'static str {
    match label {
        PlayedLabel::Note => "note",
        PlayedLabel::Extra => "extra",
        PlayedLabel::Artefact => "artefact",
        PlayedLabel::Earlier => "earlier",
    }
}
