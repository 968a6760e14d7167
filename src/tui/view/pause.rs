use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

use crate::drill::Snapshot;
use crate::session::PauseCause;
use crate::tui::model::Appearance;
use crate::tui::view::{big, middle};
use crate::units::Seconds;
use crate::words::SoundFault;

/// Draws a pause: why the drill waits, what to do, and how it goes on.
pub(super) fn draw(
    frame: &mut Frame,
    area: Rect,
    look: &Appearance,
    snapshot: &Snapshot,
    cause: PauseCause,
    until: Option<Seconds>,
) {
    let place = middle(area, 14);
    let word = if cause == PauseCause::Rest { "rest" } else { "pause" };
    let rows = big::draw(frame, place, word, look.accent());
    let below = Rect { y: place.y + rows + 1, height: place.height.saturating_sub(rows + 1), ..place };
    let mut lines: Vec<Line> = Vec::new();
    let (why, on) = words_of(snapshot, cause, until);
    lines.push(Line::from(Span::styled(why, look.accent())));
    lines.push(Line::from(on));
    frame.render_widget(Paragraph::new(lines).centered().wrap(Wrap { trim: true }), below);
}

/// Why the drill pauses, and how it goes on.
pub(in crate::tui) fn words_of(snapshot: &Snapshot, cause: PauseCause, until: Option<Seconds>) -> (String, String) {
    match cause {
        PauseCause::Asked => ("paused".to_owned(), "space goes on, or hold any note for a second".to_owned()),
        PauseCause::Silence => (
            "play any note when ready".to_owned(),
            if snapshot.by_midi {
                "hold it for a second and the drill goes on; is it the right port? earfirst hear --input midi tells"
            } else {
                "hold it for a second and the drill goes on; is the microphone the right one? earfirst hear tells"
            }
            .to_owned(),
        ),
        PauseCause::Rest => {
            let left = until.map_or(0.0, |until| (until.0 - snapshot.at.0).max(0.0)).ceil();
            let why = "let go of the instrument: lips, hands and ears rest";
            (
                why.to_owned(),
                format!("goes on by itself in {left:.0} s; space goes on now; your teacher's plan comes first"),
            )
        }
        PauseCause::Device => {
            let fault = snapshot.trouble.unwrap_or(SoundFault::lost(snapshot.by_midi));
            (fault.what().to_owned(), format!("{}; nothing is lost, the drill goes on by itself", fault.mend()))
        }
    }
}
