use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

use crate::drill::{RoundSummary, Snapshot};
use crate::tui::model::Appearance;
use crate::tui::view::{big, middle};

/// Largest number of answers that were not right and are named; of more only the number is given.
const NAMED: usize = 8;

impl Appearance {
    /// The outcome of a round: how many answers were right, then a line for each that was not, and what follows.
    pub(in crate::tui) fn round(&self, round: &RoundSummary) -> (String, Vec<String>) {
        let missed: Vec<_> = round.answers.iter().filter(|answer| !answer.right).collect();
        let several =
            round.answers.iter().any(|answer| Some(&answer.title) != round.answers.first().map(|it| &it.title));
        let right = format!("{} of {}", round.answers.len() - missed.len(), round.answers.len());
        let mut lines: Vec<String> = missed
            .iter()
            .take(NAMED)
            .map(|answer| {
                let key = self.page.key(answer.key, answer.mode);
                let title = if several { format!(" · {}", answer.title) } else { String::new() };
                format!("{key}{title} · {}", answer.headline.as_deref().unwrap_or("nothing came"))
            })
            .collect();
        if missed.len() > NAMED {
            lines.push(format!("and {} more", missed.len() - NAMED));
        }
        lines.push(
            if missed.is_empty() { "next · the round again" } else { "next · these first, then the round" }.to_owned(),
        );
        (right, lines)
    }
}

/// Draws the end of a round: how many answers were right, in large letters, and below them those that were not.
pub(super) fn draw(frame: &mut Frame, area: Rect, look: &Appearance, snapshot: &Snapshot, stays: bool) {
    let Some(round) = &snapshot.round else { return };
    let (right, lines) = look.round(round);
    let place = middle(area, (6 + lines.len() as u16 + u16::from(stays)).min(area.height));
    let rows = big::draw(frame, Rect { height: place.height.min(9), ..place }, &right, look.accent());
    let below = Rect { y: place.y + rows, height: place.height.saturating_sub(rows), ..place };
    let head = format!("all right and in time in round {}", round.number);
    let mut shown = vec![Line::from(Span::styled(head, look.accent()))];
    shown.extend(lines.into_iter().map(Line::from));
    shown.extend(stays.then(|| Line::from("held")));
    frame.render_widget(Paragraph::new(shown).centered().wrap(Wrap { trim: true }), below);
}
