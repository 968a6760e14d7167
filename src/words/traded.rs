//! A phrase over a form, and what came of it, in words and on two rows of names.

use crate::chart::Numeral;
use crate::music::{ConcertKey, Mode};
use crate::trade::{Exchange, JudgedExchange, TradeWay, Variation};
use crate::verdict::{NoteLabel, SeamVerdict, VariedAs};
use crate::words::numbers::{capital, count, counted};
use crate::words::reader::Reader;
use crate::words::wrap::wrapped;
use crate::words::{Page, verdict};

/// Largest number of columns of a printed line.
const COLUMNS: usize = 76;
/// The title of the row of what was sounded, where that is the first half alone.
const SOUNDED: &str = "sounded";
/// Cells of one row: three are left to its title, each other one shows a note.
const ROW: usize = 14;

/// A chord of a form in a sounding key, as it stands on the page.
#[must_use]
pub fn chord(place: &Numeral, key: ConcertKey, mode: Mode, page: &Page) -> String {
    let chord = place.on(page.tonality(key, mode).tonic);
    let bass = chord.bass.map_or_else(String::new, |bass| format!("/{}", page.name(bass)));
    format!("{}{}{bass}", page.name(chord.root), chord.quality)
}

fn within(place: &Numeral, exchange: &Exchange, page: &Page) -> String {
    chord(place, exchange.cue.key, exchange.cue.spelling.mode, page)
}

/// The bars of the form and their key: "bars 5 to 8 in Eb".
#[must_use]
pub fn bars(exchange: &Exchange, page: &Page) -> String {
    let (first, last) = (exchange.first_bar + 1, exchange.first_bar + exchange.bars);
    let mode = exchange.cue.spelling.mode;
    let minor = if mode == Mode::Minor { " minor" } else { "" };
    let key = page.key(exchange.cue.key, mode);
    match last - first {
        0 => format!("bar {first} in {key}{minor}"),
        1 => format!("bars {first} and {last} in {key}{minor}"),
        _ => format!("bars {first} to {last} in {key}{minor}"),
    }
}

/// What a phrase is made of: its patterns, the chords they are over, how they are joined and where it lands.
#[must_use]
pub fn made_of(exchange: &Exchange, page: &Page) -> String {
    let phrase = &exchange.phrase;
    let mut said = String::new();
    for piece in &phrase.pieces {
        match piece.seam {
            Some(seam) => said += &format!(", {} into ", seam.words()),
            None if said.is_empty() => {}
            None => said += ", then ",
        }
        said += &format!("{} over {}", piece.name, within(&piece.chord, exchange, page));
        if let Some(how) = piece.figure.words() {
            said += &format!(" ({how})");
        }
    }
    match &phrase.landing {
        Some((degree, home)) => said + &format!("; it lands on {degree} of {}", within(home, exchange, page)),
        None => said,
    }
}

/// What a phrase that the player is to finish is made of, before it sounds: its patterns by name, never its notes. Nothing for others.
#[must_use]
pub fn to_finish(exchange: &Exchange, page: &Page) -> Vec<String> {
    match exchange.way {
        TradeWay::Finish => {
            wrapped(&format!("{}.", capital(&made_of(exchange, page))), COLUMNS, "        ", "        ")
        }
        TradeWay::Answer | TradeWay::Vary => Vec::new(),
    }
}

/// The notes of the phrase by name with the seams marked, and below them what was played where an answer is given.
fn rows(exchange: &Exchange, page: &Page, judged: Option<&JudgedExchange>) -> Vec<String> {
    let (cue, seams) = (&exchange.cue, exchange.cue.seam_notes());
    let asked = |n: usize| page.asked(&cue.line.notes[n], cue.key, cue.spelling);
    let played = |n: usize, judged: &JudgedExchange| match judged.verdict.expected.get(n).map(|note| note.label) {
        Some(NoteLabel::Right | NoteLabel::Merged) => asked(n),
        Some(NoteLabel::Octave(_)) => format!("{}'", asked(n)),
        Some(NoteLabel::Wrong(by)) => format!("*{}", page.note(cue.line.notes[n].pitch + by, cue.key, cue.spelling)),
        Some(NoteLabel::Missed) | None => "-".to_owned(),
    };
    let row = |title: &str, from: usize, until: usize, name: &dyn Fn(usize) -> String| {
        let marked = |n: &usize| title != SOUNDED && seams.contains(n);
        let cells = (from..until).map(|n| format!("{}{:4}", if marked(&n) { "> " } else { "  " }, name(n)));
        format!("    {title:7}{}", cells.collect::<String>()).trim_end().to_owned()
    };
    let mut rows = Vec::new();
    if exchange.way == TradeWay::Finish {
        let name = |n: usize| page.asked(&exchange.lead.notes[n], cue.key, cue.spelling);
        let all = exchange.lead.notes.len();
        let parts = (0..all).step_by(ROW - 3);
        rows.extend(parts.map(|from| row(SOUNDED, from, (from + ROW - 3).min(all), &name)));
    }
    let all = cue.line.notes.len();
    for from in (0..all).step_by(ROW - 3) {
        let until = (from + ROW - 3).min(all);
        // Where the phrase takes several rows, each says whose it is.
        rows.push(row("asked", from, until, &asked));
        if let Some(judged) = judged.filter(|judged| judged.verdict.related) {
            rows.push(row("played", from, until, &|n| played(n, judged)));
        }
    }
    rows
}

/// A phrase before it is played, for a player who wants to read it.
#[must_use]
pub fn shown(exchange: &Exchange, page: &Page) -> Vec<String> {
    let mut lines = wrapped(&format!("{}: {}.", bars(exchange, page), made_of(exchange, page)), COLUMNS, "  ", "    ");
    lines.extend(rows(exchange, page, None));
    lines
}

/// An answer: the phrase as asked and as played with its seams marked, a sentence about the notes, and one about seams and landing.
#[must_use]
pub fn answered(judged: &JudgedExchange, page: &Page) -> Vec<String> {
    let exchange = &judged.exchange;
    let mut lines = wrapped(&format!("{}: {}.", bars(exchange, page), made_of(exchange, page)), COLUMNS, "  ", "    ");
    lines.extend(rows(exchange, page, Some(judged).filter(|judged| judged.over && exchange.way != TradeWay::Vary)));
    lines.extend(wrapped(&sentences(judged, page), COLUMNS, "    ", "    "));
    lines
}

/// Why a phrase was made, below its notes.
#[must_use]
pub fn because(why: &str) -> Vec<String> {
    wrapped(why, COLUMNS, "    ", "    ")
}

/// An exchange in a line: its bars, and what is said of its answer.
#[must_use]
pub fn short(judged: &JudgedExchange, page: &Page) -> String {
    format!("{}: {}", bars(&judged.exchange, page), sentences(judged, page))
}

fn sentences(judged: &JudgedExchange, page: &Page) -> String {
    if !judged.over {
        return "You broke off here, so nothing is said of this one.".to_owned();
    }
    if judged.exchange.way == TradeWay::Vary {
        return judged.varied.map_or_else(|| "Nothing was heard.".to_owned(), |varied| variation(&varied));
    }
    let reader = Reader::of(page, &judged.exchange.cue, judged.asked.delay.is_some());
    let notes = verdict::sentence(&judged.verdict, &judged.asked, &judged.heard, &reader, &[]);
    match seams(judged, page) {
        Some(seams) => format!("{notes} {seams}"),
        None => notes,
    }
}

/// What is said of a variation: by which rule it was taken, or what it was instead.
fn variation(varied: &Variation) -> String {
    let Variation { taken, of, kept, rhythm, changed, outside, moved } = *varied;
    match taken {
        VariedAs::Shape => {
            let way = if moved > 0 { "higher" } else { "lower" };
            let by = counted(moved.unsigned_abs() as usize, "half step");
            format!("Taken as a variation: the same shape from another degree, {by} {way}.")
        }
        VariedAs::Rhythm => {
            format!("Taken as a variation: the same rhythm, with {} of {} notes changed and the chords kept.", count(changed), count(of))
        }
        VariedAs::Repeated if changed == 0 => {
            "That is the phrase itself, note for note, so it is no variation yet. Keep its rhythm and change its notes, or begin its shape \
             on another degree."
                .to_owned()
        }
        VariedAs::Repeated => {
            format!("That is nearly the phrase itself: {} changed. Change more of it, and it is a variation.", counted(changed, "note"))
        }
        VariedAs::Neither if rhythm => {
            format!("Its rhythm is there; of the changed notes {} did not suit the chords. Their tones do.", count(outside))
        }
        VariedAs::Neither => {
            format!("{} of {} places of its rhythm are there, and not its shape; keep one of the two.", capital(&count(kept)), count(of))
        }
    }
}

/// What the seam with this index leads into: a pattern, or the landing. Where only the second half was asked, its seams are the last.
fn into(judged: &JudgedExchange, place: usize) -> String {
    let pieces = &judged.exchange.phrase.pieces;
    let all = pieces.iter().filter(|piece| piece.seam.is_some()).count();
    let all = all + usize::from(judged.exchange.phrase.landing_apart);
    let place = place + all.saturating_sub(judged.seams.len());
    pieces.get(place + 1).map_or_else(|| "the landing".to_owned(), |piece| piece.name.clone())
}

/// A sentence about the seams and the landing; `None` where what was played is not the phrase, or the phrase has no landing.
fn seams(judged: &JudgedExchange, page: &Page) -> Option<String> {
    if !judged.verdict.related {
        return None;
    }
    let gap = |seam: &SeamVerdict| seam.gap.map_or(0.0, |gap| gap.ms());
    let numbered = || judged.seams.iter().enumerate();
    let out = numbered().filter(|(_, seam)| seam.stands_out);
    let worst = out.max_by(|a, b| gap(a.1).abs().total_cmp(&gap(b.1).abs()));
    let exchange = &judged.exchange;
    let (degree, home) = exchange.phrase.landing.as_ref()?;
    let landing = format!("{degree} of {}", within(home, exchange, page));
    // The last of the seams leads to a landing that is a note of its own; only the others join two patterns.
    let joins = judged.seams.len().saturating_sub(usize::from(exchange.phrase.landing_apart));
    // The sentence about the notes has told how long the player stood still.
    let stood = |seam: &SeamVerdict| judged.verdict.stood.iter().any(|it| it.before == seam.note);
    let said = match (worst, numbered().find(|(_, seam)| !seam.right)) {
        (Some((place, seam)), _) if stood(seam) => format!("that was the seam into {}", into(judged, place)),
        (Some((place, seam)), _) if gap(seam) > 0.0 => {
            format!("into {} you came {:.0} ms late", into(judged, place), gap(seam))
        }
        (Some((place, seam)), _) => format!("into {} you rushed by {:.0} ms", into(judged, place), -gap(seam)),
        (None, Some((place, _))) => format!("the seam into {} was not right", into(judged, place)),
        (None, None) if judged.landed && joins == 0 => format!("you landed on {landing}"),
        (None, None) if judged.landed && joins == 1 => {
            format!("the seam kept your pulse, and you landed on {landing}")
        }
        (None, None) if judged.landed => {
            format!("the {} seams kept your pulse, and you landed on {landing}", count(joins))
        }
        (None, None) => format!("the landing, {landing}, was not right"),
    };
    Some(capital(&said) + ".")
}
