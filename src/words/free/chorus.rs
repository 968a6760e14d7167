use crate::free::{FreeLine, FreeParts, OverForm, PlacedForm};
use crate::pattern::Family;
use crate::words::Page;
use crate::words::free::over::came_to;
use crate::words::free::place::FormKey;
use crate::words::numbers::{capital, counted, numbered};

/// A free chorus in two sentences, for the time in which the band plays on: how the line moves, and where it stands over the form.
#[must_use]
pub fn chorus(
    title: &str,
    line: &FreeLine,
    parts: &FreeParts,
    (form, over): (&PlacedForm, &OverForm),
    home: FormKey,
    page: &Page,
) -> Vec<String> {
    let moved = |family: Family, how: &str| format!("{} {how}", parts.moves(family));
    let moves = [
        moved(Family::Stepwise, "stepwise"),
        moved(Family::HalfSteps, "by half steps"),
        moved(Family::Skips, "by skips"),
    ];
    let (notes, phrases) = (numbered(line.notes.len(), "note"), counted(over.phrases.len(), "phrase"));
    let mut said = vec![format!("{}: {notes} in {phrases}; moves: {}.", capital(title), moves.join(", "))];
    let (tones, strong) = over.strong;
    let last = over.phrases.last().and_then(|phrase| came_to(line, form, phrase, home, page));
    let last = last.map_or_else(String::new, |last| format!("; the last phrase went to {last}"));
    said.push(format!("On {tones} of {} a tone of the chord sounds{last}.", numbered(strong, "strong beat")));
    said
}
