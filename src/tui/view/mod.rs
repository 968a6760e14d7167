//! Each screen is a function of the model. It shows one thing at a time, very large; text and position say everything, and colour repeats
//! it.

mod beside;
mod big;
mod in_time;
mod over;
mod pause;
mod round;
mod spared;
mod strip;
mod trading;
mod turn;
mod verdict;

pub(super) use pause::words_of as pause_words;
pub(super) use trading::draw_trade;

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::{Color, Modifier, Style};
use ratatui::text::Line;
use ratatui::widgets::{Paragraph, Wrap};

use crate::coach::Reason;
use crate::drill::{Face, NextKey, Snapshot};
use crate::music::{ConcertKey, Mode};
use crate::tui::model::{Appearance, Model};
use crate::words;
use crate::words::SoundFault;
use crate::words::numbers::numbered;
use crate::words::wrap;

/// Number of columns left free at either side.
const MARGIN: u16 = 2;
/// Smallest window, in columns and rows; a smaller one shows only a sentence.
const LEAST: (u16, u16) = (60, 20);

impl Appearance {
    /// Why a key was chosen, in a few words, with the key's name.
    pub(super) fn reason(&self, reason: &Reason, key: ConcertKey, mode: Mode) -> String {
        words::reason::short(reason, key, mode, &self.page, self.today)
    }
    /// Why the next key comes, in a full sentence.
    pub(super) fn why(&self, next: &NextKey) -> String {
        words::reason::sentence(&next.reason, next.key, next.mode, &self.page, self.today)
    }
    /// One sentence for each group of keys that is not asked because it does not fit the player's range.
    pub(super) fn out_of_range(&self, snapshot: &Snapshot) -> Vec<String> {
        let name = |key| self.page.key(key, snapshot.mode);
        words::fit::sentences(&snapshot.out_of_range, self.range.as_deref(), name)
    }
    /// First accent, for what the player is to do now.
    pub(super) fn accent(&self) -> Style {
        let bold = Style::new().add_modifier(Modifier::BOLD);
        if self.colour { bold.fg(Color::Cyan) } else { bold }
    }
    /// Second accent, for what was not as asked.
    pub(super) fn amiss(&self) -> Style {
        let bold = Style::new().add_modifier(Modifier::BOLD);
        if self.colour { bold.fg(Color::Yellow) } else { bold }
    }
}

/// Draws the model.
pub fn draw(frame: &mut Frame, model: &Model) {
    let area = frame.area();
    if area.width < LEAST.0 || area.height < LEAST.1 {
        return too_small(frame, area);
    }
    let strip_height = if area.width >= 76 && area.height >= 23 { 4 } else { 2 };
    let note = note(model).unwrap_or_default();
    let [head, body, line, strip, note_area, foot] = Layout::vertical([
        Constraint::Length(1),
        Constraint::Min(8),
        Constraint::Length(1),
        Constraint::Length(strip_height),
        Constraint::Length(rows(&note, area.width - 2 * MARGIN)),
        Constraint::Length(1),
    ])
    .horizontal_margin(MARGIN)
    .areas(area);
    frame.render_widget(Paragraph::new(help_line(model, foot.width)), foot);
    if model.help {
        frame.render_widget(Paragraph::new(help_page(model)).wrap(Wrap { trim: false }), body.union(strip));
        return;
    }
    frame.render_widget(Paragraph::new(note).style(model.look.amiss()).wrap(Wrap { trim: true }), note_area);
    let Some(snapshot) = &model.snapshot else {
        let words = "getting ready: sound takes a second to open";
        frame.render_widget(Paragraph::new(words).centered(), middle(body, 1));
        return;
    };
    frame.render_widget(Paragraph::new(header(model, snapshot, head.width)), head);
    match snapshot.face {
        Face::Over => over::draw(frame, body.union(strip), &model.look, snapshot, model.kept.as_deref()),
        Face::Paused { cause, until } => pause::draw(frame, body, &model.look, snapshot, cause, until),
        Face::RoundOver { stays } => round::draw(frame, body, &model.look, snapshot, stays),
        Face::Verdict { settled, stays } => verdict::draw(frame, body, &model.look, snapshot, settled, stays),
        face @ (Face::BlockBegins | Face::HowMany) => {
            snapshot.second_task.iter().for_each(|shown| beside::draw(frame, body, &model.look, face, shown));
        }
        Face::Spared { turn, part, first } => {
            spared::draw(frame, body, &model.look, snapshot, (turn, part, first));
        }
        _ => turn::draw(frame, body, &model.look, snapshot),
    }
    if snapshot.face != Face::Over {
        frame.render_widget(Paragraph::new("─".repeat(usize::from(line.width))), line);
        frame.render_widget(Paragraph::new(strip::lines(&model.look, snapshot, strip_height)), strip);
    }
}

fn too_small(frame: &mut Frame, area: Rect) {
    let words = format!("Please give this window at least {} columns and {} rows.", LEAST.0, LEAST.1);
    frame.render_widget(Paragraph::new(words).wrap(Wrap { trim: true }), area);
}

/// Instrument and pattern at the left, the clock at the right.
fn header(model: &Model, snapshot: &Snapshot, width: u16) -> Line<'static> {
    let pitch = if model.look.page.reading.concert { ", sounding pitch" } else { "" };
    let stands_in = if snapshot.simulated { " · simulated player" } else { "" };
    let left = format!("{}{pitch} · {}{stands_in}", model.look.page.instrument.name, snapshot.title);
    let minute = (snapshot.at.0 / 60.0).floor() as u32 + 1;
    let right = match snapshot.planned {
        Some(planned) => format!("minute {minute} of {}", (planned.0 / 60.0).ceil().max(f64::from(minute))),
        None => format!("minute {minute}"),
    };
    let room = usize::from(width).saturating_sub(wrap::columns(&right) + 1);
    let left = cut(left, room);
    let gap = usize::from(width).saturating_sub(wrap::columns(&left) + wrap::columns(&right));
    Line::from(format!("{left}{}{right}", " ".repeat(gap)))
}

/// A text that is too long ends in three dots.
fn cut(text: String, room: usize) -> String {
    if wrap::columns(&text) <= room {
        return text;
    }
    format!("{}...", wrap::cut(&text, room.saturating_sub(3)))
}

/// The one sentence above the keys on what is wrong: a fault that does not stop the drill (a pause tells of the others), else a
/// notice, else that sound was lost.
fn note(model: &Model) -> Option<String> {
    let snapshot = model.snapshot.as_ref()?;
    let over = snapshot.face == Face::Over;
    let trouble = snapshot.trouble.filter(|trouble| !over && !trouble.stops()).map(|fault| fault.sentence(None));
    trouble.or_else(|| model.notice.clone()).or_else(|| (snapshot.dropped > 0 && !over).then(|| lost(snapshot)))
}

/// How much of the microphone's sound was lost, and what to do.
pub(in crate::tui) fn lost(snapshot: &Snapshot) -> String {
    let samples = numbered(usize::try_from(snapshot.dropped).unwrap_or(usize::MAX), "sample");
    format!("{samples} were lost on the way in: close other programs")
}

/// Number of rows that a text takes, broken at blanks.
fn rows(text: &str, width: u16) -> u16 {
    wrap::wrapped(text, usize::from(width.max(1)), "", "").len() as u16
}

/// One line: keys that do something now, as many as have room.
fn help_line(model: &Model, width: u16) -> Line<'static> {
    let Some(snapshot) = &model.snapshot else { return Line::from("q end") };
    let keys: &[&str] = match snapshot.face {
        Face::Over => &["any key leaves"],
        Face::Paused { .. } if snapshot.trouble.is_some_and(SoundFault::stops) => &["q end", "?"],
        Face::Paused { .. } if snapshot.second_task.is_some() => &["space goes on, the block anew", "q end", "?"],
        Face::Paused { .. } if snapshot.lesson_trial => &["space goes on", "q end", "?"],
        Face::Paused { .. } if snapshot.judged.is_some() && !snapshot.simulated => {
            &["space goes on", "q end", "?", "r again", "n another", "o what came out"]
        }
        Face::Spared { .. } => &["space pause", "q end", "?", "n leaves it"],
        Face::HowMany => &["0 to 9 your count", "space pause", "q end", "?"],
        Face::Verdict { stays, .. } if snapshot.second_task.is_some() => {
            if stays {
                &["space goes on", "q end", "?", "m misheard"]
            } else {
                &["space holds", "q end", "?", "m misheard"]
            }
        }
        _ if snapshot.second_task.is_some() => &["space pause", "q end", "?", "one try each, the tempo stays"],
        Face::Verdict { stays, .. } => verdict_keys(snapshot, stays),
        Face::RoundOver { stays: true } => &["space goes on", "q end", "?"],
        Face::RoundOver { stays: false } => &["space holds", "q end", "?"],
        _ if snapshot.round.is_some() => &["space pause", "q end", "?", "a round: no stop, told at its end"],
        _ if snapshot.lesson_trial => &["space pause", "q end", "?", "a trial: one try, no help"],
        _ if snapshot.cue.as_ref().is_some_and(|cue| cue.by_ear) => {
            &["space pause", "q end", "?", "a note held 3 s after an answer pauses", "r again", "n another"]
        }
        _ => &["space pause", "q end", "?", "r again", "s slower", "n another"],
    };
    Line::from(fitting(keys, usize::from(width)))
}

/// The keys that may be pressed while a verdict stands.
fn verdict_keys(snapshot: &Snapshot, stays: bool) -> &'static [&'static str] {
    let contested = snapshot.judged.as_ref().is_none_or(|judged| judged.contested);
    if snapshot.lesson_trial {
        return if stays {
            &["space goes on", "q end", "?", "m misheard"]
        } else {
            &["space holds", "q end", "?", "m misheard"]
        };
    }
    match (stays, contested || snapshot.simulated) {
        (true, true) => &["space goes on", "q end", "?", "r again", "s slower", "n another"],
        (false, true) => &["space holds", "q end", "?", "r again", "s slower", "n another"],
        (true, false) => &["space goes on", "q end", "?", "m misheard", "o what came out", "r again", "n another"],
        (false, false) => &["space holds", "q end", "?", "m misheard", "o what came out", "r again", "n another"],
    }
}

/// As many of the keys as fit into `width`, in their order; the page of keys has all of them.
fn fitting(keys: &[&str], width: usize) -> String {
    let mut shorter = (1..=keys.len()).rev().map(|count| keys[..count].join(" · "));
    shorter.find(|line| wrap::columns(line) <= width).unwrap_or_default()
}

/// The page of keys. The line of digits stands only in a sitting with a second task, in place of an empty line: a small window has no row
/// more.
fn help_page(model: &Model) -> Vec<Line<'static>> {
    let counts = model.snapshot.as_ref().is_some_and(|snapshot| snapshot.second_task.is_some());
    [
        "",
        "Nothing needs to be pressed: the drill goes on by itself. Play nothing, and the cue comes once more; \
         again nothing, and it waits until you hold any note for a second.",
        "",
        "space, page-down   pause; on a verdict: hold it",
        "r, page-up         the same cue again",
        "m, held: page-up   you misheard me: it does not count",
        "s                  again, slower",
        "n                  another cue",
        "o                  on a verdict or a pause: the cue, then what came out",
        "q                  end the sitting; all is kept",
        if counts { "0 to 9             after a block beside taps: how many you counted" } else { "" },
        "Stop when something hurts, goes numb or rings; ask a teacher or a clinician.",
    ]
    .into_iter()
    .map(Line::from)
    .collect()
}

/// The middle `height` rows of an area.
fn middle(area: Rect, height: u16) -> Rect {
    let height = height.min(area.height);
    Rect { y: area.y + (area.height - height) / 2, height, ..area }
}
