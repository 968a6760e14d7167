//! Chord charts as JSON, for other programs.

use serde_json::{Value, json};

use crate::chart::{ChordChart, Chorus, NamedChart};

/// The list of forms.
#[must_use]
pub fn charts_json(forms: &[NamedChart]) -> Value {
    let rows = forms.iter().map(|form| {
        json!({
            "id": form.id, "name": form.name, "bars": form.bars(), "meter": format!("{}/4", form.chart.meter()),
            "tempo": form.tempo.0, "swing": form.swing, "source": form.source,
        })
    });
    Value::Array(rows.collect())
}

/// One form: its chart as text, and the chord on every beat of `chorus`, which is that chart played out.
#[must_use]
pub fn chart_json(form: &NamedChart, chart: &ChordChart, chorus: &Chorus) -> Value {
    let beats: Vec<Option<String>> = chorus.each_beat().map(|chord| chord.map(ToString::to_string)).collect();
    json!({
        "id": form.id, "name": form.name, "bars": chorus.bars, "meter": chorus.meter, "text": chart.to_string(),
        "pickup": chorus.pickup_beats(), "beats": beats,
    })
}
