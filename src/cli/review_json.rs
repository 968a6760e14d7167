//! A review as JSON; units stand in the names, keys and pitches are as they sound.

use serde_json::{Value, json};

use crate::coach::Misfit;
use crate::report::{KeyRow, Part, PitchRow, Review, SittingRow, Take};
use crate::words;

/// The whole review, and what could not be read.
pub fn review(review: &Review, unreadable: &[String]) -> Value {
    json!({ "unreadable": unreadable, "parts": review.parts.iter().map(part).collect::<Vec<_>>() })
}

fn part(part: &Part) -> Value {
    json!({
        "instrument": part.instrument,
        "sittings": part.sittings.iter().map(sitting).collect::<Vec<_>>(),
        "keys": part.keys.iter().map(key).collect::<Vec<_>>(),
        "best": part.best.iter().map(take).collect::<Vec<_>>(),
        "recurring": part.recurring.iter().map(|(title, sentence)| json!({ "pattern": title, "fault": sentence })).collect::<Vec<_>>(),
        "worst": part.worst.iter().map(take).collect::<Vec<_>>(),
        "pitches": part.pitches.iter().map(pitch).collect::<Vec<_>>(),
    })
}

fn sitting(row: &SittingRow) -> Value {
    json!({
        "started": row.started, "lasted_s": row.lasted.0, "sounding_s": row.sounding.0, "rests": row.rests,
        "resting_s": row.resting.0, "cues": row.cues, "answered": row.answered, "left_silent": row.silent, "whole": row.whole,
        "up": row.steps[0], "same_tempo": row.steps[1], "slower": row.steps[2], "contested": row.contested,
        "calibrated": row.calibrated, "simulated": row.simulated, "dropped_samples": row.dropped,
        "unfit": row.unfit.iter().map(unfit).collect::<Vec<_>>(),
    })
}

fn unfit(misfit: &Misfit) -> Value {
    let keys: Vec<&str> = misfit.keys.iter().map(|key| key.name()).collect();
    json!({ "concert_keys": keys, "patterns": misfit.patterns })
}

fn key(row: &KeyRow) -> Value {
    json!({
        "concert_key": row.key.name(), "cues": row.cues, "answers": row.answers, "whole": row.whole, "right": row.right, "of": row.of,
        "first_tries": row.first_tries, "first_whole": row.first_whole,
        "pace_quarter_per_minute": row.pace.map(|pace| pace.0),
    })
}

fn take(take: &Take) -> Value {
    json!({
        "sitting_index": take.sitting, "cue": take.cue, "at_s": take.at.0, "pattern": take.title, "concert_key": take.key.name(),
        "right": take.right, "of": take.of, "sentence": take.sentence, "step": take.step.map(words::reason::moved_in_short),
        "sound_from_sample": take.sound.map(|(first, _)| first), "sound_samples": take.sound.map(|(_, count)| count),
    })
}

fn pitch(row: &PitchRow) -> Value {
    json!({
        "midi": row.pitch.0, "times": row.times, "up_cents": row.up.map(|cents| cents.0),
        "down_cents": row.down.map(|cents| cents.0), "all_cents": row.all.0, "spread_cents": row.spread.0,
    })
}
