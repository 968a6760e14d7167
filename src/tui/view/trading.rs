use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

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
    let lines: Vec<Line> = fitting(&face.lines, below).into_iter().map(Line::from).collect();
    frame.render_widget(Paragraph::new(lines), below);
    frame.render_widget(Paragraph::new("q end"), foot);
}

/// The paragraphs as far as they fit whole, in rows; the last row says how many do not. A first one that is too long is cut.
fn fitting(paragraphs: &[String], room: Rect) -> Vec<String> {
    let height = usize::from(room.height);
    let mut rows: Vec<String> = Vec::new();
    for (n, text) in paragraphs.iter().enumerate() {
        let more = wrap::wrapped(text, usize::from(room.width), "", "");
        // Where others follow, one row is left for their number.
        let spare = usize::from(n + 1 < paragraphs.len());
        if rows.len() + more.len() + spare > height {
            if n == 0 {
                rows = more;
            }
            rows.truncate(height - spare.max(usize::from(n > 0)));
            let left = paragraphs.len() - n.max(1);
            rows.extend((left > 0).then(|| format!("... and {left} more, told at the end")));
            break;
        }
        rows.extend(more);
    }
    rows.truncate(height);
    rows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{self, Reading};
    use crate::words::Page;
    use ratatui::Terminal;
    use ratatui::backend::TestBackend;

    #[test]
    fn a_band_that_waits_says_on_a_narrow_screen_how_it_begins_again() {
        let page = Page::new(music::instrument("piano").unwrap().clone(), Reading::default());
        let look = Appearance { page, range: None, today: None, colour: false };
        let waits = "Nothing was played through a whole chorus, so the band waits. Hold any note for a second, and it begins again.";
        let place = "chorus 1 in C".to_owned();
        let face = TradeFace { word: "the band waits", place, lines: vec![waits.to_owned()], ..TradeFace::default() };
        let mut terminal = Terminal::new(TestBackend::new(60, 20)).unwrap();
        terminal.draw(|frame| draw_trade(frame, &look, &face)).unwrap();
        let shown = terminal.backend().buffer().clone();
        let row = |y: u16| (0..60).map(|x| shown[(x, y)].symbol()).collect::<String>();
        let all = (0..20).map(row).collect::<Vec<_>>().join(" ");
        let all = all.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(all.contains("the band waits ─") && all.contains(waits) && all.contains("q end"), "{all}");
    }

    #[test]
    fn what_does_not_fit_below_the_chords_is_counted() {
        let room = |width, height| Rect { x: 0, y: 0, width, height };
        let said = |count: usize| vec!["bars 1 to 4 in C: All twelve right and in time.".to_owned(); count];
        assert_eq!(fitting(&said(3), room(76, 6)).len(), 3);
        let rows = fitting(&said(8), room(76, 6));
        assert_eq!((rows.len(), rows[5].as_str()), (6, "... and 3 more, told at the end"));
        // On a narrow screen each takes two rows.
        let rows = fitting(&said(8), room(40, 6));
        assert_eq!((rows.len(), rows[4].as_str()), (5, "... and 6 more, told at the end"));
        let long = vec!["word ".repeat(200), "more".to_owned()];
        let rows = fitting(&long, room(40, 6));
        assert_eq!((rows.len(), rows[5].as_str()), (6, "... and 1 more, told at the end"));
        assert_eq!(fitting(&long[..1], room(40, 6)).len(), 6);
        assert!(fitting(&[], room(40, 6)).is_empty());
    }

    #[test]
    fn form_tempo_and_bar_stand_on_a_narrow_screen_too() {
        let page = Page::new(music::instrument("piano").unwrap().clone(), Reading::default());
        let look = Appearance { page, range: None, today: None, colour: false };
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
