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
    let [head, under, now, word, next, line, below, foot] = Layout::vertical([
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
    let (title, place) = (cut(face.title.clone(), usize::from(head.width)), wrap::columns(&face.place) as u16);
    // Where both do not fit into one row, the place stands in the next.
    let row = if wrap::columns(&title) as u16 + place < head.width { head } else { under };
    frame.render_widget(Paragraph::new(title), head);
    let place = Rect { x: row.right().saturating_sub(place).max(row.x), width: place.min(row.width), ..row };
    frame.render_widget(Paragraph::new(face.place.as_str()), place);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{self, Reading};
    use crate::words::Page;
    use ratatui::Terminal;
    use ratatui::backend::TestBackend;

    #[test]
    fn form_tempo_and_bar_stand_on_a_narrow_screen_too() {
        let page = Page::new(music::instrument("piano").unwrap().clone(), Reading::default());
        let look = Appearance { page, today: None, colour: false };
        let title = "12-bar blues, ii-V in bars 9 and 10 \u{b7} quarter = 132".to_owned();
        let place = "chorus 2 in Eb \u{b7} bar 10 of 12".to_owned();
        let face = TradeFace { title, place, ..TradeFace::default() };
        for (columns, rows, in_row) in [(60, 20, 1), (100, 24, 0)] {
            let mut terminal = Terminal::new(TestBackend::new(columns, rows)).unwrap();
            terminal.draw(|frame| draw_trade(frame, &look, &face)).unwrap();
            let shown = terminal.backend().buffer().clone();
            let row = |y: u16| (0..columns).map(|x| shown[(x, y)].symbol()).collect::<String>();
            assert!(row(0).contains(&face.title), "{}", row(0));
            assert!(row(in_row).trim_end().ends_with(&face.place), "{}", row(in_row));
        }
    }
}
