//! Chord charts as they are listed and shown.

use crate::chart::{ChordChart, Chorus, NamedChart};
use crate::exchange;
use crate::talk::failure::Failure;
use crate::talk::output::say;
use crate::talk::player::Who;
use crate::words::numbers::counted;

/// Says the list of forms, for a player or for machines.
pub fn listed(forms: &[NamedChart], json: bool) -> Result<(), Failure> {
    if json {
        return say(exchange::charts_json(forms));
    }
    for form in forms {
        say(format!("{:28} {:3} bars  {}/4  {}", form.id, form.bars(), form.chart.meter(), form.name))?;
    }
    say(counted(forms.len(), "chart"))
}

/// Says one form, for a player or for machines: its chart, in a key that was named (`in_key`) or as it stands; `chorus` is the chart
/// played out.
pub fn shown(
    form: &NamedChart,
    chart: &ChordChart,
    chorus: &Chorus,
    in_key: bool,
    who: &Who,
    json: bool,
) -> Result<(), Failure> {
    if json {
        return say(exchange::chart_json(form, chart, chorus));
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
