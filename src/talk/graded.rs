//! A verdict on what was heard outside a drill.

use crate::cue::Cue;
use crate::drill::Hints;
use crate::music::HalfSteps;
use crate::notes::HeardNote;
use crate::pattern::Line;
use crate::report;
use crate::talk::failure::Failure;
use crate::talk::output::say;
use crate::talk::player::Who;
use crate::units::{Seconds, median};
use crate::verdict::{self, Expectation, TimeOrigin, Verdict};
use crate::words;
use crate::words::numbers::capital;
use crate::words::reader::Reader;

/// A line moved to the octave in which it was played: nobody asked for a register, so the octave is not judged.
pub fn in_the_octave_played(line: &Line, heard: &[HeardNote]) -> Line {
    let asked: Vec<f64> = line.notes.iter().map(|note| f64::from(note.pitch.0)).collect();
    let played: Vec<f64> = heard.iter().map(|note| note.pitch.0).collect();
    let (Some(asked), Some(played)) = (median(&asked), median(&played)) else { return line.clone() };
    line.transposed(HalfSteps(12 * ((played - asked) / 12.0).round() as i32))
}

/// Judges what was heard against what was asked, and says the verdict, for a player or for machines.
pub fn judge(cue: &Cue, heard: &[HeardNote], who: &Who, json: bool) -> Result<Verdict, Failure> {
    let start = heard.first().map_or(0.0, |note| note.onset.0);
    let asked = Expectation {
        line: cue.line.clone(),
        tempo: cue.tempo,
        // A recording has no cue in it: its end is set a second before the first note, so no reflex time is known.
        clock: TimeOrigin::Free { cue_end: Seconds(start - 1.0) },
        delay: Some(Seconds(0.0)),
        intonation: who.page.instrument.intonation,
        usual: verdict::Usual::Unknown,
    };
    let mut verdict = verdict::judge(&asked, heard);
    verdict.reflex = None;
    let reader = Reader::of(&who.page, cue, false);
    let sentence = words::verdict::sentence(&verdict, &asked, &reader, &[]);
    let explained = Hints::default().of(&verdict, &cue.line, &who.page.instrument);
    let written = who.page.in_written_pitch();
    let name = |pitch| written.note(pitch, cue.key, cue.spelling);
    let hint = explained.and_then(|note| words::fingering::hint(&name(note.pitch), &note.tendency, note.off));
    if json {
        say(report::verdict_json(cue, &verdict, &sentence, hint.as_deref()))?
    } else {
        words::verdict::note_by_note(&who.page, cue, heard, &verdict, &sentence).into_iter().try_for_each(say)?;
        if let Some(hint) = hint {
            say(capital(&hint) + ".")?;
        }
    }
    Ok(verdict)
}
