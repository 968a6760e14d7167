use serde_json::{Value, json};

use crate::cue::Cue;
use crate::verdict::{NoteLabel, NoteVerdict, Verdict};
use crate::words;

/// A verdict as JSON; units stand in the names, pitches and cents are as they sound.
#[must_use]
pub fn verdict_json(cue: &Cue, verdict: &Verdict, sentence: &str, hint: Option<&str>) -> Value {
    let off = |label: NoteLabel| match label {
        NoteLabel::Wrong(by) | NoteLabel::Octave(by) => by.0,
        NoteLabel::Right | NoteLabel::Missed | NoteLabel::Merged => 0,
    };
    let note = |note: &NoteVerdict| {
        json!({
            "label": words::verdict::expected_word(note.label), "half_steps_off": off(note.label), "heard": note.heard,
            "cents": note.cents.map(|cents| cents.0), "late_s": note.off_pulse.map(|late| late.0),
        })
    };
    let expected: Vec<_> = verdict.expected.iter().map(note).collect();
    let played: Vec<_> = verdict.played.iter().map(|label| words::verdict::played_word(*label)).collect();
    let stood = verdict.stood.iter().map(|it| json!({"before": it.before, "by_s": it.by.0}));
    json!({
        "related": verdict.related, "shift_half_steps": verdict.shift.0, "attempts": verdict.attempts,
        "right": verdict.right, "of": verdict.of, "extra": verdict.extra, "whole": verdict.whole(),
        "pace_quarter_per_minute": verdict.pace.map(|pace| pace.0), "evenness_percent_of_beat": verdict.evenness,
        "centre_cents": verdict.centre.map(|centre| centre.0), "expected": expected, "played": played, "sentence": sentence,
        "long_to_short_eighth": verdict.swing, "long_to_short_eighth_asked": cue.line.swing(), "hint": hint,
        "stood": stood.collect::<Vec<_>>(),
    })
}
