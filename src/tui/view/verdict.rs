use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};

use crate::drill::{JudgedAnswer, Snapshot};
use crate::music::{Concert, HalfSteps};
use crate::pattern::Register;
use crate::tui::model::Appearance;
use crate::tui::view::{self, big};
use crate::units::Midi;
use crate::verdict::{NoteLabel, PlayedLabel};
use crate::words;
use crate::words::numbers::capital;
use crate::words::reader::Reader;
use crate::words::verdict::came_as;

/// Number of rows of the large line.
const LARGE: u16 = 4;
const LABEL: usize = 12;
const CELL: usize = 5;

/// Draws a verdict: the one thing that matters in large letters; the notes asked over those played, the sentence, and what comes next
/// with its reason.
pub(super) fn draw(frame: &mut Frame, area: Rect, look: &Appearance, snapshot: &Snapshot, settled: bool, stays: bool) {
    let Some(judged) = &snapshot.judged else { return };
    let mut said = Vec::new();
    if settled {
        said.push(Line::from(Span::styled(judged.sentence.clone(), look.accent())));
        if let Some(time) = words::verdict::time(&judged.verdict, judged.cue.timing, &judged.cue.line, judged.cue.tempo)
        {
            said.push(Line::from(format!("{:LABEL$}{time}", "time")));
        }
        said.extend(super::in_time::rows(look, &judged.in_time, area.width, LABEL));
        let moved = judged
            .moved
            .as_ref()
            .map(|moved| words::reason::moved(moved.step, judged.cue.tempo, moved.next, moved.doubted));
        said.extend(moved.map(|moved| Line::from(capital(&moved) + ".")));
        if judged.contested {
            said.push(Line::from(words::reason::CONTESTED));
        }
        if snapshot.plays_back {
            said.push(Line::from(Span::styled(words::reason::PLAYS_BACK, look.accent())));
        }
        if let Some(hint) = &judged.hint {
            said.push(Line::from(capital(hint) + "."));
        }
        if !judged.parts.is_empty() {
            said.push(Line::from(format!("{:LABEL$}{}", "made of", words::patterns::parts(&judged.parts))));
        }
        said.extend(judged.recurring.iter().map(|fault| Line::from(fault.clone())));
        said.push(Line::from(""));
        if let Some(next) = &snapshot.next {
            said.push(Line::from(format!("next   {}", look.why(next))));
        } else if !judged.verdict.related {
            said.push(Line::from("next   the same cue once more"));
        }
        if stays {
            said.push(Line::from("held"));
        }
    }
    let [head, large, below] =
        Layout::vertical([Constraint::Length(1), Constraint::Length(LARGE), Constraint::Min(1)]).areas(area);
    frame.render_widget(Paragraph::new(headline(look, judged, area.width)), head);
    let style = if judged.headline == words::verdict::ALL_RIGHT { look.accent() } else { look.amiss() };
    big::words(frame, large, &judged.headline, style);
    let mut lines = vec![Line::from("")];
    if judged.verdict.related {
        let taken = said.iter().filter(|line| line.width() > 0).map(|line| height(line, area.width)).sum::<usize>();
        lines.extend(notes(look, judged, area.width, usize::from(below.height).saturating_sub(taken)));
    }
    lines.extend(said);
    closer(&mut lines, below);
    frame.render_widget(Paragraph::new(lines).wrap(Wrap { trim: false }), below);
}

/// Number of rows a line takes where it is broken.
fn height(line: &Line, width: u16) -> usize {
    usize::from(view::rows(&line.to_string(), width)).max(1)
}

/// Which rows of the notes are shown.
#[derive(Clone, Copy)]
struct Detail {
    /// Whether stretches that were played as asked are shown note by note.
    right: bool,
    cents: bool,
    /// Whether the names of the notes asked are shown.
    asked: bool,
}

/// The choices of rows, from most to least. Where every note was right, the cents are left out before the names of the notes are.
fn details(all_right: bool) -> Vec<Detail> {
    let of = |(right, cents, asked)| Detail { right, cents, asked };
    let short = [(false, true, true), (false, false, true), (false, false, false)];
    let names = (true, false, true);
    let rest = if all_right { vec![names, short[0]] } else { short.to_vec() };
    std::iter::once((true, true, true)).chain(rest).map(of).collect()
}

/// All notes in stretches of a row's length, with as many rows as have room. Nothing where even the fewest have no room: the sentence
/// below tells what was not right.
fn notes(look: &Appearance, judged: &JudgedAnswer, width: u16, room: usize) -> Vec<Line<'static>> {
    let per_row = ((usize::from(width) - LABEL) / cell(look, judged)).max(1);
    let count = judged.verdict.expected.len();
    let stretches: Vec<(usize, usize)> =
        (0..count).step_by(per_row).map(|from| (from, (from + per_row).min(count))).collect();
    let more = too_many(look, judged);
    let as_asked = |&(from, to): &(usize, usize)| {
        !more.iter().any(|(place, _)| (from..to).contains(place))
            && judged.verdict.expected[from..to].iter().all(|note| note.label == NoteLabel::Right)
    };
    let drawn = |detail: Detail| {
        let mut lines: Vec<Line<'static>> = Vec::new();
        for run in stretches.chunk_by(|a, b| !detail.right && as_asked(a) && as_asked(b)) {
            if !detail.right && as_asked(&run[0]) {
                let name = format!("{} to {}", run[0].0 + 1, run[run.len() - 1].1);
                lines.push(Line::from(format!("{name:LABEL$}as asked")));
            } else {
                lines.extend(rows(look, judged, run[0], detail));
            }
            lines.push(Line::from(""));
        }
        lines
    };
    let fits = |lines: &Vec<Line>| lines.iter().filter(|line| line.width() > 0).count() <= room;
    details(stretches.iter().all(as_asked)).into_iter().map(drawn).find(fits).unwrap_or_default()
}

/// Removes blank lines, the lowest first, until everything has room.
fn closer(lines: &mut Vec<Line<'static>>, area: Rect) {
    while lines.iter().map(|line| height(line, area.width)).sum::<usize>() > usize::from(area.height) {
        let Some(blank) = lines.iter().rposition(|line| line.width() == 0) else { return };
        lines.remove(blank);
    }
}

fn headline(look: &Appearance, judged: &JudgedAnswer, width: u16) -> Line<'static> {
    let register = match judged.cue.register {
        Register::Low => "low register",
        Register::Middle => "middle register",
        Register::High => "high register",
    };
    let left = format!("{}, {register}", look.page.key(judged.cue.key, judged.cue.spelling.mode));
    let swing = judged.cue.line.swing();
    let swing = swing.map_or(String::new(), |ratio| format!(", swing {ratio:.1} to 1"));
    let right = format!("asked at quarter = {:.0}{swing}", judged.cue.tempo.0);
    let gap = usize::from(width).saturating_sub(left.len() + right.len());
    Line::from(format!("{left}{}{right}", " ".repeat(gap)))
}

/// The rows of one stretch of notes.
fn rows(look: &Appearance, judged: &JudgedAnswer, (from, to): (usize, usize), detail: Detail) -> Vec<Line<'static>> {
    let cue = &judged.cue;
    let stretch = &judged.verdict.expected[from..to];
    let asked = |n: usize| look.page.asked(&cue.line.notes[from + n], cue.key, cue.spelling);
    let played = |n: usize| match stretch[n].label {
        NoteLabel::Missed => "·".to_owned(),
        NoteLabel::Merged => "=".to_owned(),
        NoteLabel::Right if judged.verdict.shift.0 % 12 == 0 => asked(n),
        _ => stretch[n].heard.and_then(|heard| judged.heard.get(heard)).map_or("·".to_owned(), |note| {
            came_out(look, judged, Concert(Midi(note.pitch.0 - offset(judged)).nearest()))
        }),
    };
    let apart = |n: usize| match stretch[n].label {
        NoteLabel::Wrong(HalfSteps(by)) | NoteLabel::Octave(HalfSteps(by)) => format!("{by:+}"),
        // The row above says it already: a dot for a note that did not come, `=` for one that was held over.
        NoteLabel::Missed | NoteLabel::Merged | NoteLabel::Right => String::new(),
    };
    let cents = |n: usize| stretch[n].cents.map_or(String::new(), |cents| look.page.cents(cents));
    let (count, cell) = (stretch.len(), cell(look, judged));
    let mut lines = vec![row("played", count, cell, &played)];
    if detail.asked {
        lines.insert(0, row("asked", count, cell, &asked));
    }
    if (0..count).any(|n| !apart(n).is_empty()) {
        lines.push(row("half steps", count, cell, &apart).style(look.amiss()));
    }
    let more = too_many(look, judged);
    let more = |n: usize| {
        more.iter().filter(|(place, _)| *place == from + n).map(|(_, name)| name.as_str()).collect::<Vec<_>>().join(" ")
    };
    if (0..count).any(|n| !more(n).is_empty()) {
        lines.push(row("too many", count, cell, &more).style(look.amiss()));
    }
    if detail.cents && (0..count).any(|n| !cents(n).is_empty()) {
        lines.push(row("cents", count, cell, &cents));
    }
    lines
}

/// The notes nobody asked for, each with the place of the note behind which it came; those before the first stand below the first.
fn too_many(look: &Appearance, judged: &JudgedAnswer) -> Vec<(usize, String)> {
    let verdict = &judged.verdict;
    let after = |n: usize| verdict.expected.iter().rposition(|note| note.heard.is_some_and(|heard| heard < n));
    let extra = verdict.played.iter().enumerate().filter(|(_, label)| **label == PlayedLabel::Extra);
    let named = extra.filter_map(|(n, _)| {
        let pitch = Concert(Midi(judged.heard.get(n)?.pitch.0 - offset(judged)).nearest());
        Some((after(n).unwrap_or(0), came_out(look, judged, pitch)))
    });
    named.collect()
}

/// The name of a note that came out.
fn came_out(look: &Appearance, judged: &JudgedAnswer, pitch: Concert) -> String {
    let reader = Reader::of(&look.page, &judged.cue, true);
    look.page.name(came_as(pitch, &judged.cue.line, &judged.verdict, &reader).name())
}

/// Number of columns of one note: the longest name and a blank, and no fewer than `CELL`.
fn cell(look: &Appearance, judged: &JudgedAnswer) -> usize {
    let cue = &judged.cue;
    let lengths = cue.line.notes.iter().map(|note| look.page.asked(note, cue.key, cue.spelling).len() + 1);
    lengths.max().unwrap_or(CELL).max(CELL)
}

/// The general offset of the answer, in half steps: an instrument that stands sharp is not a row of wrong notes.
fn offset(judged: &JudgedAnswer) -> f64 {
    judged.verdict.centre.map_or(0.0, |centre| centre.0 / 100.0)
}

fn row(name: &str, count: usize, cell: usize, value: &dyn Fn(usize) -> String) -> Line<'static> {
    let mut out = format!("{name:LABEL$}");
    for n in 0..count {
        out.push_str(&format!("{:<cell$}", value(n)));
    }
    Line::from(out.trim_end().to_owned())
}
