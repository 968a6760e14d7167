//! Chord charts as they are listed and shown.

use crate::chart::{ChordChart, Chorus, NamedChart};
use crate::talk::failure::Failure;
use crate::talk::named_charts;
use crate::talk::output::say;
use crate::talk::player::Who;
use crate::words::numbers::counted;

/// Bars of a form, all keys of a cycle included.
fn bars(form: &NamedChart) -> u32 {
    form.in_key(named_charts::C, false).chorus().bars
}

/// The list of forms, for a player or for machines.
pub fn listed(forms: &[NamedChart], json: bool) -> Result<(), Failure> {
    if json {
        let rows = forms.iter().map(|form| {
            serde_json::json!({
                "id": form.id, "name": form.name, "bars": bars(form), "meter": format!("{}/4", form.chart.meter()),
                "tempo": form.tempo.0, "swing": form.swing, "source": form.source,
            })
        });
        return say(serde_json::Value::Array(rows.collect()));
    }
    for form in forms {
        say(format!("{:28} {:3} bars  {}/4  {}", form.id, bars(form), form.chart.meter(), form.name))?;
    }
    say(counted(forms.len(), "chart"))
}

/// One form, for a player or for machines: its chart, played out as `chorus`, in a key that was named or as it stands.
pub fn shown(
    form: &NamedChart,
    chart: &ChordChart,
    chorus: &Chorus,
    in_key: bool,
    who: &Who,
    json: bool,
) -> Result<(), Failure> {
    if json {
        let beats: Vec<Option<String>> = chorus.each_beat().map(|chord| chord.map(ToString::to_string)).collect();
        let shown = serde_json::json!({
            "id": form.id, "name": form.name, "bars": chorus.bars, "meter": chorus.meter, "text": chart.to_string(),
            "pickup": chorus.pickup_beats(), "beats": beats,
        });
        return say(shown);
    }
    let feel = if form.swing { "swings" } else { "even" };
    let count = counted(chorus.bars as usize, "bar");
    say(format!("{} · {count} of {}/4 · {feel} · usually quarter = {:.0}", form.name, chorus.meter, form.tempo.0))?;
    if let (Some(cycle), false) = (form.cycle, in_key) {
        say(format!("through the twelve keys, by {}; --key C names the first", cycle.name()))?;
    }
    if in_key && !who.page.reading.concert {
        say(format!("as on the page of the {}", who.page.instrument.name))?;
    }
    say(chart)
}
