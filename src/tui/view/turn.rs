use ratatui::Frame;
use ratatui::layout::{Alignment, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

use crate::drill::{Face, Snapshot};
use crate::tui::model::Appearance;
use crate::tui::view::{big, middle, rows};
use crate::words;
use crate::words::numbers::numbered;

/// Draws the listening and the player's turn: the key very large, one word below it. Nothing of what is asked or played is drawn, so that
/// the eye gets no answer while the ear works.
pub(super) fn draw(frame: &mut Frame, area: Rect, look: &Appearance, snapshot: &Snapshot) {
    let tall = area.height >= 14;
    // Before the first answer the screen says what will not be asked.
    let out_of_range = if snapshot.answers == 0 { look.out_of_range(snapshot) } else { Vec::new() };
    let below: u16 = out_of_range.iter().map(|sentence| rows(sentence, area.width)).sum();
    let place = middle(area, if tall && below == 0 { 13 } else { 9 } + below);
    let counting = matches!(snapshot.face, Face::Listen { beats_left: Some(_) });
    let shown = snapshot.cue.as_ref().filter(|_| snapshot.key_known);
    let key = shown.map_or(String::new(), |cue| look.page.key(cue.key, cue.spelling.mode));
    let shown = match snapshot.face {
        Face::Listen { beats_left: Some(left) } if key.is_empty() => left.to_string(),
        Face::Listen { beats_left: Some(left) } => format!("{key} {left}"),
        _ => key,
    };
    // The sentences need the room that the largest letters would take.
    let letters = Rect { height: if below == 0 { place.height } else { place.height.min(9) }, ..place };
    let used = big::draw(frame, letters, &shown, look.accent());
    let (word, second) = match snapshot.face {
        Face::YourTurn { heard: true, .. } => ("your turn", "heard  ▆▆▆▆▆▆▆".to_owned()),
        Face::YourTurn { beats_left: Some(left), .. } => {
            ("your turn", format!("in {}", numbered(left as usize, "beat")))
        }
        Face::YourTurn { .. } => ("your turn", String::new()),
        _ if counting => ("listen", "count-in".to_owned()),
        _ => ("listen", String::new()),
    };
    let mut lines = vec![Line::from(""), Line::from(Span::styled(word, look.accent())), Line::from(second)];
    if let (Face::Listen { .. }, Some(cue), Some(reason)) = (snapshot.face, &snapshot.cue, &snapshot.reason) {
        // A key that is told late comes in a drawn order, a key of a block or a round in an order of its own, so none has a reason;
        // by ear the reason would name the key.
        let why = (!cue.probes() && cue.round.is_none() && !cue.by_ear)
            .then(|| look.reason(reason, cue.key, cue.spelling.mode) + " · ");
        lines.push(Line::from(format!("{}quarter = {:.0}", why.unwrap_or_default(), cue.tempo.0)));
        lines.extend(snapshot.second_task.map(|shown| Line::from(words::divided::task(shown.counted))));
        lines.extend(out_of_range.into_iter().map(Line::from));
    }
    let below = Rect { y: place.y + used, height: place.height.saturating_sub(used), ..place };
    frame.render_widget(Paragraph::new(lines).alignment(Alignment::Center).wrap(Wrap { trim: true }), below);
}
