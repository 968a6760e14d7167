//! An answer with a fault of rhythm, evenness or pace on the screen: where each note was asked, and below it where it was played.

use ratatui::text::{Line, Span};

use crate::tui::model::Appearance;
use crate::units::Beats;
use crate::verdict::NoteInTime;

/// Smallest and largest width of a beat, in columns.
const WIDTH: (usize, usize) = (3, 12);
/// Distance of a played note from its place beyond which it stands out, in beats.
const OFF: f64 = 0.15;
const MARK: &str = "▌";

/// Beats, asked notes and played notes in three rows, after labels of `label` columns; as many beats are shown from the first as have
/// room. Nothing where no note is given or the window is too narrow.
pub(super) fn rows(look: &Appearance, notes: &[NoteInTime], width: u16, label: usize) -> Vec<Line<'static>> {
    let places = notes.iter().flat_map(|note| [Some(note.asked), note.played]).flatten();
    let (low, high) =
        places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), Beats(at)| (low.min(at), high.max(at)));
    let columns = usize::from(width).saturating_sub(label);
    if low > high || columns < 4 * WIDTH.0 {
        return Vec::new();
    }
    let from = (low + OFF).floor();
    let beats = ((high - from).floor() as usize).saturating_add(1);
    let wide = (columns / beats).clamp(WIDTH.0, WIDTH.1);
    let column = |at: f64| {
        let column = ((at - from) * wide as f64).round().max(0.0) as usize;
        (column < columns).then_some(column)
    };
    let shown = beats.min(columns / wide);
    let counts: String = (0..shown).map(|n| format!("{:<wide$}", from as i64 + n as i64 + 1)).collect();
    let asked: Vec<(usize, bool)> = notes.iter().filter_map(|note| Some((column(note.asked.0)?, false))).collect();
    let off = |note: &NoteInTime, played: Beats| (played.0 - note.asked.0).abs() > OFF;
    let played = notes.iter().filter_map(|note| {
        let played = note.played?;
        Some((column(played.0)?, off(note, played)))
    });
    let played: Vec<(usize, bool)> = played.collect();
    vec![
        Line::from(format!("{:label$}{}", "beat", counts.trim_end())),
        marks(look, "asked", label, &asked),
        marks(look, "played", label, &played),
    ]
}

fn marks(look: &Appearance, name: &str, label: usize, at: &[(usize, bool)]) -> Line<'static> {
    let mut spans = vec![Span::raw(format!("{name:label$}"))];
    let mut next = 0;
    for &(column, off) in at.iter() {
        if column < next {
            continue;
        }
        spans.push(Span::raw(" ".repeat(column - next)));
        spans.push(if off { Span::styled(MARK, look.amiss()) } else { Span::raw(MARK) });
        next = column + 1;
    }
    Line::from(spans)
}
