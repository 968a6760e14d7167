use std::path::Path;

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;
use ratatui::widgets::{Paragraph, Wrap};

use crate::drill::{KeyRow, Snapshot};
use crate::music::ReflexUnit;
use crate::tui::model::Appearance;
use crate::words;
use crate::words::numbers::numbered;

/// Draws the end of a sitting: its keys before and after, where the record lies, and what was found.
pub(super) fn draw(frame: &mut Frame, area: Rect, look: &Appearance, snapshot: &Snapshot, kept: Option<&Path>) {
    let minutes = numbered((snapshot.at.0 / 60.0).round().max(0.0) as usize, "minute");
    let answers = numbered(snapshot.answers as usize, "answer");
    let sounding = snapshot.sounding.0 / 60.0;
    let mut lines =
        vec![Line::from(format!("{minutes}, {answers}, {sounding:.1} minutes of your own sound")), Line::from("")];
    let mut after = snapshot.keys.clone();
    after.sort_by_cached_key(|row: &KeyRow| look.page.place(row.key));
    let names = |row: &KeyRow| look.page.key(row.key, snapshot.mode);
    let tempo = |row: &KeyRow| row.reached.map_or("-".to_owned(), |tempo| format!("{:.0}", tempo.0));
    let reflex = |row: &KeyRow| row.reflex.map_or("-".to_owned(), |time| look.page.reflex_number(time, false));
    let earlier = |row: &KeyRow| snapshot.before.iter().find(|was| was.key == row.key).map_or("-".to_owned(), tempo);
    // Twelve keys beside their heading fit into the narrowest window.
    let wide = usize::from(area.width).saturating_sub(8) / 12;
    let columns: Vec<usize> = after.iter().map(|row| wide.clamp(4, 5).max(names(row).len() + 1)).collect();
    let line = |name: &str, value: &dyn Fn(&KeyRow) -> String| line(name, &after, value, &columns);
    lines.push(Line::from("tempo held in each key (quarter =), before this sitting and now"));
    lines.push(line("key", &names));
    lines.push(line("before", &earlier));
    lines.push(line("now", &tempo));
    if after.iter().any(|row| row.reflex.is_some()) {
        let name = match look.page.reading.reflex {
            ReflexUnit::Seconds => "reflex s",
            ReflexUnit::Milliseconds => "in ms",
        };
        lines.push(line(name, &reflex));
    }
    lines.push(Line::from(""));
    if let Some(kept) = kept {
        lines.push(Line::from("kept; to review it:"));
        lines.push(Line::from(format!("earfirst review {}", kept.display())));
        lines.push(Line::from(""));
    }
    lines.extend(crate::tui::three(look, snapshot).into_iter().map(Line::from));
    lines.extend(words::warned::sentences(&snapshot.warned).into_iter().map(Line::from));
    lines.extend(
        snapshot.second_task.iter().flat_map(|it| words::divided::sentences(&it.cost, &it.counts)).map(Line::from),
    );
    if !snapshot.also.is_empty() {
        lines.push(Line::from(format!(
            "The keys above are those of {}; also answered: {}.",
            snapshot.title,
            snapshot.also.join(", ")
        )));
    }
    lines.extend(look.out_of_range(snapshot).into_iter().map(Line::from));
    frame.render_widget(Paragraph::new(lines).wrap(Wrap { trim: false }), area);
}

fn line(name: &str, keys: &[KeyRow], value: &dyn Fn(&KeyRow) -> String, columns: &[usize]) -> Line<'static> {
    // Where keys are four columns wide, each name of four letters needs a fifth, which the heading gives up.
    let room = 8 - columns.iter().filter(|wide| **wide == 5).count() % columns.len().max(1);
    let mut out = format!("{:room$}", name.get(..room).unwrap_or(name));
    for (row, wide) in keys.iter().zip(columns) {
        out.push_str(&format!("{:>wide$}", value(row)));
    }
    Line::from(out)
}
