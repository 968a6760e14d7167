use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

use crate::coach::SparedTurn;
use crate::drill::{Snapshot, SparedPart};
use crate::tui::model::Appearance;
use crate::tui::view::{big, middle};
use crate::words::spared;

impl Appearance {
    /// What sounds in a turn away from the instrument: its key and pattern, which by ear the ear finds, and its tempo.
    pub(in crate::tui) fn spared(&self, snapshot: &Snapshot) -> String {
        let Some(cue) = &snapshot.cue else { return String::new() };
        let tempo = format!("quarter = {:.0}", cue.tempo.0);
        if !snapshot.key_known {
            return tempo;
        }
        format!("{} · {} · {tempo}", self.page.key(cue.key, cue.spelling.mode), cue.title)
    }
}

/// Draws a turn away from the instrument: what is to be done very large, and below it what sounds and what is known.
pub(super) fn draw(
    frame: &mut Frame,
    area: Rect,
    look: &Appearance,
    snapshot: &Snapshot,
    (turn, part, first): (SparedTurn, SparedPart, bool),
) {
    let place = middle(area, 12);
    let word = spared::turn(turn);
    let left = place.width.saturating_sub(4 * word.len() as u16) / 2;
    let rows = big::words(frame, Rect { x: place.x + left, width: place.width - left, ..place }, word, look.accent());
    let below = Rect { y: place.y + rows, height: place.height.saturating_sub(rows), ..place };
    let mut lines = vec![
        Line::from(""),
        Line::from(Span::styled(spared::how(turn, part == SparedPart::Yours), look.accent())),
        Line::from(look.spared(snapshot)),
        Line::from(spared::spares(look.page.instrument.sounding)),
    ];
    lines.extend(first.then(|| Line::from(spared::KNOWN)));
    frame.render_widget(Paragraph::new(lines).centered().wrap(Wrap { trim: true }), below);
}
