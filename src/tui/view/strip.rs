use ratatui::style::{Modifier, Style};
use ratatui::text::{Line, Span};

use crate::cue::Timing;
use crate::drill::{KeyRow, Snapshot};
use crate::tui::model::Appearance;
use crate::units::Seconds;

/// One key of the strip, as wide as its name needs.
struct KeyColumn {
    row: KeyRow,
    name: String,
    cell: usize,
}

impl KeyColumn {
    fn new(row: KeyRow, look: &Appearance, snapshot: &Snapshot, wide: bool) -> Self {
        let name = look.page.key(row.key, snapshot.mode);
        let cell = widths(wide).1.max(name.len() + 1);
        Self { row, name, cell }
    }
}

/// The keys (twelve, or those chosen) in fifths as the player reads them, one column each. The player's aim is that all become
/// alike.
pub(super) fn lines(look: &Appearance, snapshot: &Snapshot, rows: u16) -> Vec<Line<'static>> {
    let mut keys = snapshot.keys.clone();
    keys.sort_by_cached_key(|row| look.page.place(row.key));
    let wide = rows >= 4;
    let keys: Vec<KeyColumn> = keys.into_iter().map(|row| KeyColumn::new(row, look, snapshot, wide)).collect();
    let mut lines = vec![heading(snapshot, &keys, wide)];
    let free = snapshot
        .cue
        .as_ref()
        .map_or_else(|| keys.iter().any(|column| column.row.reflex.is_some()), |cue| cue.timing == Timing::Free);
    let reflex = |row: &KeyRow| row.reflex.map_or("-".to_owned(), |reflex| brief(reflex, look, wide));
    let tempo = |row: &KeyRow| row.reached.map_or("-".to_owned(), |tempo| format!("{:.0}", tempo.0));
    if wide || free {
        lines.push(line(&format!("reflex {}", look.page.reading.reflex), &keys, wide, &reflex));
    }
    if wide || !free {
        lines.push(line("quarter =", &keys, wide, &tempo));
    }
    if wide {
        let right = |row: &KeyRow| row.right.map_or("-".to_owned(), |(right, of)| format!("{right}/{of}"));
        lines.push(line("right", &keys, wide, &right));
    }
    lines
}

/// A reflex time without a leading zero. Where there is no room for four figures, a second and more stands in seconds.
fn brief(time: Seconds, look: &Appearance, wide: bool) -> String {
    let seconds = !wide && time.0 >= 0.9995;
    let text = if seconds { format!("{:.1}", time.0) } else { look.page.reflex_number(time, false) };
    text.strip_prefix('0').map_or(text.clone(), str::to_owned)
}

fn widths(wide: bool) -> (usize, usize) {
    if wide { (10, 5) } else { (8, 4) }
}

fn label(text: &str, wide: bool) -> String {
    let (width, _) = widths(wide);
    let short = if wide { text } else { text.split(' ').next().unwrap_or(text) };
    format!("{short:width$}")
}

fn heading(snapshot: &Snapshot, keys: &[KeyColumn], wide: bool) -> Line<'static> {
    let asked = snapshot.cue.as_ref().filter(|_| snapshot.key_known).map(|cue| cue.key);
    // Brackets that fill their cell would touch a name of three letters before them.
    let taken = keys.iter().map(|column| column.name.len()).max().unwrap_or_default().saturating_sub(2);
    let mut spans = vec![Span::raw(label("key", wide))];
    for KeyColumn { row, name, cell } in keys {
        if Some(row.key) == asked {
            let style = Style::new().add_modifier(Modifier::BOLD);
            spans.push(Span::styled(format!("{:>cell$}", bracketed(name, cell - taken.min(1))), style));
        } else {
            let mark = if row.holds.is_some() { "=" } else { " " };
            spans.push(Span::raw(format!("{:>cell$}", format!("{name}{mark}"))));
        }
    }
    Line::from(spans)
}

/// The name of the key that is asked: in brackets, or followed by a sign where a name has no room for brackets.
fn bracketed(name: &str, cell: usize) -> String {
    if cell >= name.len() + 2 { format!("[{name}]") } else { format!("{name}<") }
}

fn line(text: &str, keys: &[KeyColumn], wide: bool, value: &dyn Fn(&KeyRow) -> String) -> Line<'static> {
    let mut out = label(text, wide);
    for KeyColumn { row, cell, .. } in keys {
        let shown = value(row);
        let inner = cell - 1;
        out.push_str(&format!("{shown:>inner$} "));
    }
    Line::from(out.trim_end().to_owned())
}
