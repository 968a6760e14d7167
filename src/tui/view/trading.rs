use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

use crate::tui::model::Appearance;
use crate::tui::trading::TradeFace;
use crate::tui::view::{LEAST, MARGIN, big, cut, too_small};
use crate::words::wrap;

/// Draws a trade: the chord that sounds very large, the one that comes below it, and what is said of the chorus before.
pub fn draw_trade(frame: &mut Frame, look: &Appearance, face: &TradeFace) {
    let area = frame.area();
    if area.width < LEAST.0 || area.height < LEAST.1 {
        return too_small(frame, area);
    }
    let tall = area.height >= 23;
    let [head, _, now, word, next, line, below, foot] = Layout::vertical([
        Constraint::Length(1),
        Constraint::Length(1),
        Constraint::Length(if tall { 8 } else { 4 }),
        Constraint::Length(if tall { 2 } else { 1 }),
        Constraint::Length(4),
        Constraint::Length(1),
        Constraint::Min(4),
        Constraint::Length(1),
    ])
    .horizontal_margin(MARGIN)
    .areas(area);
    let room = usize::from(head.width).saturating_sub(wrap::columns(&face.place) + 1);
    let title = cut(face.title.clone(), room);
    let gap = usize::from(head.width).saturating_sub(wrap::columns(&title) + wrap::columns(&face.place));
    frame.render_widget(Paragraph::new(format!("{title}{}{}", " ".repeat(gap), face.place)), head);
    // Letters of eight rows are drawn where there is room for eleven.
    let letters = Rect { height: if tall { 11 } else { 4 }, ..now };
    big::draw(frame, letters, &face.now, look.accent());
    frame.render_widget(Paragraph::new(Line::from(Span::styled(face.word, look.accent())).centered()), word);
    let then = if face.next.is_empty() { String::new() } else { format!("> {}", face.next) };
    let width = (then.chars().count() as u16 * 4).min(next.width);
    let place = Rect { x: next.x + (next.width - width) / 2, ..next };
    big::words(frame, place, &then, look.accent());
    frame.render_widget(Paragraph::new("─".repeat(usize::from(line.width))), line);
    let lines: Vec<Line> = face.lines.iter().map(|text| Line::from(text.as_str())).collect();
    frame.render_widget(Paragraph::new(lines).wrap(Wrap { trim: true }), below);
    frame.render_widget(Paragraph::new("q end"), foot);
}
