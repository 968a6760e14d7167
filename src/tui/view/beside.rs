use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

use crate::drill::{Face, TaskShown};
use crate::tui::model::Appearance;
use crate::tui::view::middle;
use crate::words::divided::{answer, question, task};

/// How a number is given.
const GIVE: &str = "play so many notes, or press the digit; 9 is nine or more";

/// Draws what stands between two blocks: the question how many taps were counted, or what came of it and what is counted next.
pub(super) fn draw(frame: &mut Frame, area: Rect, look: &Appearance, face: Face, shown: &TaskShown) {
    let asks = face == Face::HowMany;
    let newest = shown.newest.filter(|_| !asks).map(|(sounded, said)| answer(sounded, said) + ".");
    let head = if asks { question(shown.counted).to_owned() } else { format!("block {}", shown.block) };
    let below = if asks { GIVE } else { task(shown.counted) };
    let mut lines: Vec<Line<'_>> = newest.map(Line::from).into_iter().collect();
    lines.extend([Line::from(""), Line::from(Span::styled(head, look.accent())), Line::from(""), Line::from(below)]);
    let place = middle(area, lines.len() as u16 + 1);
    frame.render_widget(Paragraph::new(lines).centered().wrap(Wrap { trim: true }), place);
}
