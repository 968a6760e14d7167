//! Free choruses as pictures: pitch over bars, some bars beside each other and, where the page is narrow, below each other. Shape and
//! stroke tell the families apart as well as colour, so that the picture reads in black and white.

use maud::{Markup, html};

use super::chorus_data::{ChorusPicture, PicturedNote};
use super::staff::{typeset, typeset_words};
use crate::pattern::Family;
use crate::words::wrap::{columns, cut};

/// Width of a stretch of bars, in the units of its picture.
const WIDE: f64 = 470.0;
/// Beats of a stretch where there is no form.
const BEATS: f64 = 8.0;
/// The most quarters of a stretch of bars: two bars of four, three of three.
const QUARTERS: u32 = 9;
/// Height of the room for notes, and the least and the largest height of a half step.
const HIGH: f64 = 150.0;
const HALF_STEP: (f64, f64) = (3.0, 9.0);
/// Room above the highest note, where bars have their numbers, and below the lowest.
const ABOVE: f64 = 24.0;
const BELOW: f64 = 10.0;
/// Height of the row of chords, and of one row of names.
const CHORDS: f64 = 20.0;
const NAMES: f64 = 24.0;
/// Width of a letter of a name, about.
const LETTER: f64 = 6.3;
/// A note of so many beats has a line behind its sign, as long as it sounds.
const HELD: f64 = 0.8;

/// A section with these pictures; nothing where there is none.
pub(super) fn choruses(pictures: &[ChorusPicture], heading: &str) -> Markup {
    html! {
        @if !pictures.is_empty() {
            section.choruses {
                h2 { (heading) }
                p.legend {
                    (sign_of(Some(Family::Stepwise))) "stepwise, "
                    (sign_of(Some(Family::HalfSteps))) "by half steps, "
                    (sign_of(Some(Family::Skips))) "by skips, "
                    (sign_of(None)) "between two parts. "
                    "Brackets beneath: patterns that came, and lines of your own. Nothing here is a grade."
                }
                @for picture in pictures { (one(picture)) }
            }
        }
    }
}

/// The sign of a family with its stroke, as the legend shows it.
fn sign_of(family: Option<Family>) -> Markup {
    html! {
        svg.key width="34" height="12" aria-hidden="true" {
            line class=(stroke(family)) x1="1" y1="6" x2="33" y2="6" {}
            (sign(17.0, 6.0, family))
        }
        " "
    }
}

fn one(picture: &ChorusPicture) -> Markup {
    let stretches = Stretches::of(picture);
    html! {
        div.chorus {
            h3 { (typeset_words(&picture.title)) }
            div.bars { @for n in stretches.first..stretches.last { (stretches.drawn(n)) } }
            @for paragraph in &picture.told {
                div.told { @for line in paragraph { p style=(indent(line)) { (typeset_words(line.trim_start())) } } }
            }
        }
    }
}

/// A line of text keeps its indentation.
fn indent(line: &str) -> String {
    format!("padding-left:{:.1}em", (line.len() - line.trim_start().len()) as f64 * 0.4)
}

const fn stroke(family: Option<Family>) -> &'static str {
    match family {
        Some(Family::Stepwise | Family::Phrase) => "move steps",
        Some(Family::HalfSteps) => "move half-steps",
        Some(Family::Skips) => "move skips",
        None => "move",
    }
}

/// The sign of a note: a disc, a diamond, a triangle; a small ring between two parts.
fn sign(x: f64, y: f64, family: Option<Family>) -> Markup {
    let at = format!("{x:.1} {y:.1}");
    html! {
        @match family {
            Some(Family::Stepwise | Family::Phrase) => circle.steps cx=(format!("{x:.1}")) cy=(format!("{y:.1}")) r="4" {},
            Some(Family::HalfSteps) => path.half-steps d=(format!("M{at}m0 -5.4l5 5.4l-5 5.4l-5 -5.4z")) {},
            Some(Family::Skips) => path.skips d=(format!("M{at}m0 -5.6l5.2 9.4h-10.4z")) {},
            None => circle.alone cx=(format!("{x:.1}")) cy=(format!("{y:.1}")) r="2.6" {},
        }
    }
}

/// A picture in stretches of some beats, all of one height for each half step.
struct Stretches<'p> {
    picture: &'p ChorusPicture,
    beats: f64,
    first: i64,
    last: i64,
    half_step: f64,
    low: i32,
    high: i32,
}

impl<'p> Stretches<'p> {
    fn of(picture: &'p ChorusPicture) -> Self {
        let beats = picture.meter.map_or(BEATS, |meter| f64::from((QUARTERS / meter).max(1) * meter));
        let at = |beat: f64| (beat / beats + 0.02).floor() as i64;
        let pitches = || picture.notes.iter().map(|note| note.pitch);
        let (low, high) = (pitches().min().unwrap_or(60), pitches().max().unwrap_or(60));
        let whole = i64::from(picture.form_bars) * i64::from(picture.meter.unwrap_or(0));
        let last = picture.notes.iter().map(|note| at(note.at)).max().unwrap_or(0) + 1;
        // A form that was begun is drawn to its end.
        let forms = if whole > 0 { ((last as f64 * beats - 1.0) / whole as f64).ceil() * whole as f64 } else { 0.0 };
        Self {
            picture,
            beats,
            first: picture.notes.first().map_or(0, |note| at(note.at)).min(0),
            last: last.max((forms / beats).ceil() as i64),
            half_step: (HIGH / f64::from(high - low).max(1.0)).clamp(HALF_STEP.0, HALF_STEP.1),
            low,
            high,
        }
    }

    fn bottom(&self) -> f64 {
        ABOVE + f64::from(self.high - self.low) * self.half_step + BELOW
    }

    fn y(&self, pitch: i32) -> f64 {
        ABOVE + f64::from(self.high - pitch) * self.half_step
    }

    /// A place in stretch `n`, which may lie beyond its edges.
    fn x(&self, n: i64, beat: f64) -> f64 {
        (beat - n as f64 * self.beats) / self.beats * (WIDE - 12.0) + 8.0
    }

    fn drawn(&self, n: i64) -> Markup {
        let from = n as f64 * self.beats;
        let near = |note: &PicturedNote| note.until > from - 0.2 && note.at < from + self.beats + 0.2;
        let begins = |note: &&PicturedNote| (from - 0.02..from + self.beats - 0.02).contains(&note.at);
        let here: Vec<&PicturedNote> = self.picture.notes.iter().filter(begins).collect();
        // Without a form nothing is said by an empty stretch.
        if here.is_empty() && self.picture.meter.is_none() {
            return html! {};
        }
        let (names, rows) = self.names(n);
        let chords = if self.picture.chords.is_empty() { 0.0 } else { CHORDS };
        let height = self.bottom() + chords + NAMES * rows as f64 + 2.0;
        html! {
            svg.stretch viewBox=(format!("0 0 {WIDE:.0} {height:.0}")) role="img" aria-label=(self.spoken(n, &here)) {
                (self.ruled(n))
                @for (note, family) in &self.picture.moves {
                    @if let Some([one, next]) = self.picture.notes.get(*note..note + 2) {
                        @if near(one) || near(next) {
                            line class=(stroke(*family)) x1=(format!("{:.1}", self.x(n, one.at))) y1=(format!("{:.1}", self.y(one.pitch)))
                                x2=(format!("{:.1}", self.x(n, next.at))) y2=(format!("{:.1}", self.y(next.pitch))) {}
                        }
                    }
                }
                @for note in self.picture.notes.iter().filter(|note| near(note)) {
                    @if note.until - note.at >= HELD {
                        line.held x1=(format!("{:.1}", self.x(n, note.at))) x2=(format!("{:.1}", self.x(n, note.until)))
                            y1=(format!("{:.1}", self.y(note.pitch))) y2=(format!("{:.1}", self.y(note.pitch))) {}
                    }
                }
                @for note in here { (sign(self.x(n, note.at), self.y(note.pitch), note.family)) }
                @for (beat, name) in self.picture.chords.iter().filter(|(beat, _)| (from..from + self.beats).contains(beat)) {
                    text.chord x=(format!("{:.1}", self.x(n, *beat) - 4.0)) y=(format!("{:.1}", self.bottom() + 14.0)) { (typeset(name)) }
                }
                (names)
            }
        }
    }

    /// Bar lines with the numbers of their bars, or the time in seconds, and the ruled lines of the tonic.
    fn ruled(&self, n: i64) -> Markup {
        let from = n as f64 * self.beats;
        let meter = self.picture.meter.map_or(self.beats, f64::from);
        let bars: Vec<i64> = (0..(self.beats / meter).round() as i64).collect();
        let number = |bar: i64| (from / meter).round() as i64 + bar;
        let form = i64::from(self.picture.form_bars.max(1));
        let label = |bar: i64| match self.picture.meter {
            None => format!("{:.0} s", from * self.picture.beat_s),
            Some(_) if number(bar) < 0 => String::new(),
            Some(_) => (number(bar) + 1).to_string(),
        };
        let bottom = format!("{:.1}", self.bottom());
        html! {
            @for (pitch, name) in &self.picture.rules {
                @let y = format!("{:.1}", self.y(*pitch));
                line.grid x1="0" x2=(WIDE) y1=(y) y2=(y) {}
                text.octave x=(WIDE - 2.0) y=(format!("{:.1}", self.y(*pitch) - 2.0)) { (typeset(name)) }
            }
            @for bar in bars {
                @let x = self.x(n, from + bar as f64 * meter) - 8.0;
                line.bar x1=(format!("{x:.1}")) x2=(format!("{x:.1}")) y1="14" y2=(bottom) {}
                @if self.picture.meter.is_some() && number(bar).rem_euclid(form) == 0 {
                    line.bar.form x1=(format!("{:.1}", x + 2.5)) x2=(format!("{:.1}", x + 2.5)) y1="14" y2=(bottom) {}
                }
                text.count x=(format!("{:.1}", x + 1.0)) y="10" { (label(bar)) }
            }
        }
    }

    /// Brackets with the names of what came, in as many rows as they need, and the number of rows.
    fn names(&self, n: i64) -> (Markup, usize) {
        let (from, until) = (n as f64 * self.beats, (n + 1) as f64 * self.beats);
        let mut rows: Vec<f64> = Vec::new();
        let mut placed: Vec<(usize, f64, f64, f64, String)> = Vec::new();
        for (span, name) in
            self.picture.named.iter().filter(|(span, _)| span.end > from + 0.1 && span.start < until - 0.02)
        {
            let begun = span.start >= from - 0.02;
            let (left, right) = (self.x(n, span.start).max(0.0), self.x(n, span.end).min(WIDE));
            // What goes on from the stretch before has its name there.
            let name = if begun { cut(name, (WIDE / LETTER) as usize) } else { "" };
            let wide = columns(name) as f64 * LETTER;
            let text = left.min(WIDE - wide).max(0.0);
            let row = rows.iter().position(|end| *end + 6.0 <= left.min(text)).unwrap_or(rows.len());
            if row == rows.len() {
                rows.push(0.0);
            }
            rows[row] = right.max(text + wide);
            placed.push((row, left, right, text, name.to_owned()));
        }
        let top = self.bottom() + if self.picture.chords.is_empty() { 0.0 } else { CHORDS };
        let drawn = html! {
            @for (row, left, right, text, name) in &placed {
                @let y = top + NAMES * *row as f64 + 6.0;
                path.bracket d=(format!("M{left:.1} {:.1}V{y:.1}H{right:.1}v-4", y - 4.0)) {}
                text.came x=(format!("{text:.1}")) y=(format!("{:.1}", y + 13.0)) { (typeset_words(name)) }
            }
        };
        (drawn, rows.len())
    }

    /// The stretch for who cannot see it: its bars, and the names of its notes.
    fn spoken(&self, n: i64, here: &[&PicturedNote]) -> String {
        let from = n as f64 * self.beats;
        let place = self.picture.meter.map_or_else(
            || format!("From {:.0} s", from * self.picture.beat_s),
            |meter| {
                let bar = (from / f64::from(meter)).round() as i64;
                format!("Bars {} to {}", bar + 1, bar + (self.beats / f64::from(meter)).round() as i64)
            },
        );
        let names: Vec<&str> = here.iter().map(|note| note.name.as_str()).collect();
        let names = if names.is_empty() { "a rest".to_owned() } else { names.join(" ") };
        format!("{place}: {names}.")
    }
}
