use serde_json::{Value, json};

use crate::free::{
    Approach, FoundPattern, FreeLine, FreePart, FreeParts, FreeVocabulary, NoLine, OverForm, PlacedForm, TempoFrom,
    ToneOver,
};
use crate::music::ConcertKey;
use crate::pattern::Family;

/// Free playing as it is told for machines.
pub type FreeJson = Value;

/// Free playing taken apart, as JSON: units stand in the names, pitches are as they sound, notes count from 0.
#[must_use]
pub fn free_json(
    line: &FreeLine,
    parts: &FreeParts,
    found: &FreeVocabulary,
    over: Option<(&PlacedForm, &OverForm)>,
) -> FreeJson {
    let notes = line
        .notes
        .iter()
        .map(|note| json!({"onset_s": note.onset.0, "release_s": note.release.0, "midi": note.pitch.0}));
    let habits = found.habits.iter().map(|habit| {
        let first: Vec<usize> = habit.places.iter().map(|notes| notes.start).collect();
        json!({"first": first, "notes": habit.places.first().map_or(0, ExactSizeIterator::len), "by_chance": habit.expected})
    });
    json!({
        "patterns": found.patterns.iter().map(pattern).collect::<Vec<_>>(), "looked_for": found.looked_for,
        "only": found.only.as_ref().map(pattern),
        "over": over.map(|(form, over)| over_form(form, over)),
        "habits": habits.collect::<Vec<_>>(),
        "notes": notes.collect::<Vec<_>>(), "sounds": line.heard, "doubtful": line.doubtful,
        "tempo": line.tempo.map(|tempo| tempo.0), "tempo_found": matches!(line.tempo_from, TempoFrom::Notes(_)), "tempo_or": line.tempo_or.map(|tempo| tempo.0), "swing": line.swing(),
        "scale_of": line.scale().get(), "tonic": line.home().0.0.get(), "mode": line.home().1.name(),
        "parts": parts.parts.iter().map(part).collect::<Vec<_>>(),
        "or": parts.others.iter().map(part).collect::<Vec<_>>(),
    })
}

/// The free choruses over a chart, as JSON: each as [`free_json`] tells it with its number and its key, or why there is no line.
#[must_use]
pub fn choruses_json(chart: &str, choruses: Vec<(u32, ConcertKey, Result<FreeJson, NoLine>)>) -> FreeJson {
    let one = |(number, key, told): (u32, ConcertKey, Result<FreeJson, NoLine>)| {
        let mut told = told.unwrap_or_else(|why| json!({ "no_line": why.to_string() }));
        told["chorus"] = json!(number);
        told["concert_key"] = json!(key.name());
        told
    };
    json!({ "chart": chart, "choruses": choruses.into_iter().map(one).collect::<Vec<Value>>() })
}

fn part(part: &FreePart) -> Value {
    let family = match part.family {
        Family::Stepwise => "stepwise",
        Family::HalfSteps => "half_steps",
        _ => "skips",
    };
    let chord = part.chord.map(|(root, quality)| json!({"root": root.get(), "quality": quality.name()}));
    json!({"family": family, "first": part.notes.start, "notes": part.notes.len(), "chord": chord})
}

fn pattern(found: &FoundPattern) -> Value {
    let places = found.places.iter().map(|place| {
        json!({
            "first": place.notes.start, "notes": place.notes.len(), "key": place.key.0.get(),
            "from": place.from.map(|degree| degree.to_string()), "broken_off": place.broken,
            "changed_note": place.changed.map(|changed| changed.0), "changed_by_half_steps": place.changed.map(|changed| changed.1),
        })
    });
    json!({"id": found.pattern.id.0, "by_chance": found.expected, "places": places.collect::<Vec<_>>()})
}

fn over_form(form: &PlacedForm, over: &OverForm) -> Value {
    let tone = |tone: &Option<ToneOver>| {
        tone.as_ref().map(|over| json!({"half_steps": over.above, "tone": over.tone.map(|tone| tone.to_string())}))
    };
    let approach = |approach| match approach {
        Approach::HalfStep => "half_step",
        Approach::Step => "step",
        Approach::Enclosure => "both_sides",
        Approach::Skip => "skip",
        Approach::Repeated => "repeated",
        Approach::Alone => "alone",
    };
    let phrases = over.phrases.iter().map(|phrase| {
        json!({
            "first": phrase.notes.start, "notes": phrase.notes.len(), "between_beats": phrase.off_beat,
            "from": tone(&phrase.first), "to": tone(&phrase.last), "approach": approach(phrase.approach),
        })
    });
    json!({
        "bar_1_s": form.begins.0, "bar_1_known": form.sure, "strong_beats": over.strong.1,
        "strong_beats_with_a_chord_tone": over.strong.0, "changes": over.guided.1, "changes_led_into": over.guided.0,
        "phrases": phrases.collect::<Vec<_>>(), "held_over_a_chord_tone": over.against,
        "left_out": over.left_out.iter().map(|change| change.chord.as_ref().map(ToString::to_string)).collect::<Vec<_>>(),
    })
}
