use crate::exchange::voice::Refused;
use crate::music::{ChordSymbol, PitchName};

/// What a chart takes from one measure of a score.
#[derive(Debug, Default)]
pub(super) struct Measure {
    /// The number that the score gives the bar.
    pub number: String,
    /// Length of what stands in the measure, in quarters.
    pub length: f64,
    /// Each chord with the beat on which it begins, counted from 0; `None` for silence (N.C.).
    pub chords: Vec<(u32, Option<ChordSymbol>)>,
    /// The rehearsal mark of the measure.
    pub name: Option<String>,
    /// Whether a repeat begins here.
    pub open: bool,
    /// How often the repeat that ends here is played; `None` where no repeat ends.
    pub close: Option<u32>,
    /// The numbers of the ending that begins here.
    pub begins: Option<String>,
    /// Whether an ending ends here.
    pub ends: bool,
}

/// The text of a chart from the measures of a score. A measure without a chord goes on with the chord before it.
pub(super) fn text_of(mut measures: Vec<Measure>, meter: u32, key: Option<PitchName>) -> Result<String, Refused> {
    opened(&mut measures);
    let mut text = key.map_or_else(String::new, |key| format!("in {key} "));
    text.push_str(&format!("{meter}/4\n"));
    let mut sounding: Option<ChordSymbol> = None;
    let pickup = measures.len() > 1 && measures[0].length > 0.0 && measures[0].length + 0.5 < f64::from(meter);
    let (mut inside, mut closed) = (false, false);
    for (n, measure) in measures.iter().enumerate() {
        let beats = if n == 0 && pickup { measure.length.round() as u32 } else { meter };
        let body = body(measure, beats, &mut sounding)?;
        if n == 0 && pickup {
            text.push_str(&format!("pick-up {body}\n"));
            continue;
        }
        if let Some(name) = measure.name.as_ref().filter(|_| !inside || measure.open) {
            let name: String = name.chars().filter(|c| c.is_alphanumeric() || "-'+#".contains(*c)).take(16).collect();
            if !name.is_empty() {
                text.push_str(&format!("\n{name}: "));
            }
        }
        match &measure.begins {
            Some(number) if number.trim().parse::<u32>().is_err() => {
                let what = format!("the ending {number} is for several times at once");
                let place = format!("measure {}", measure.number);
                return Err(Refused::Nonsense { place, what, right: "one ending for each time" });
            }
            Some(number) => text.push_str(&format!("{}{}.", if closed { "" } else { "|" }, number.trim())),
            None => text.push_str(if measure.open { "|:" } else { "|" }),
        }
        inside |= measure.open;
        text.push_str(&format!(" {body} "));
        closed = measure.close.is_some();
        let goes_on = measures.get(n + 1).is_some_and(|next| next.begins.is_some());
        match measure.close {
            Some(_) if goes_on => text.push_str(":|"),
            Some(2) => text.push_str(":|\n"),
            Some(times) => text.push_str(&format!(":| {times}x\n")),
            None if measure.ends && inside => text.push_str("||\n"),
            None => {}
        }
        inside &= measure.close.is_none() && !measure.ends || goes_on;
    }
    text.push('|');
    Ok(text)
}

/// Opens each repeat whose beginning is not marked: it begins after the repeat before, or with the piece (common practice).
fn opened(measures: &mut [Measure]) {
    let mut from = usize::from(measures.first().is_some_and(|first| first.chords.is_empty() && first.length == 0.0));
    let mut open = false;
    for n in 0..measures.len() {
        open |= measures[n].open;
        if measures[n].close.is_some() {
            let more = measures.get(n + 1).is_some_and(|next| next.begins.is_some());
            if !open && let Some(first) = measures.get_mut(from) {
                first.open = true;
            }
            open = more;
            from = n + 1;
        }
    }
}

/// The words of a measure, one for each beat.
fn body(measure: &Measure, beats: u32, sounding: &mut Option<ChordSymbol>) -> Result<String, Refused> {
    let mut slots: Vec<Option<String>> = vec![None; beats as usize];
    let named = |chord: &Option<ChordSymbol>| chord.as_ref().map_or_else(|| "N.C.".to_owned(), ToString::to_string);
    if let Some(first) = slots.first_mut() {
        *first = Some(named(sounding));
    }
    for (at, chord) in &measure.chords {
        let Some(slot) = slots.get_mut(*at as usize) else {
            let place = format!("measure {}", measure.number);
            let what = "a chord begins after the end of its measure".to_owned();
            return Err(Refused::Nonsense { place, what, right: "a chord on a beat of the measure" });
        };
        *slot = Some(named(chord));
        sounding.clone_from(chord);
    }
    let words: Vec<String> = slots.into_iter().map(|slot| slot.unwrap_or_else(|| "-".to_owned())).collect();
    Ok(words.join(" "))
}
