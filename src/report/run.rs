use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::music::{Concert, Instrument};
use crate::notes::HeardNote;
use crate::report::held::HeldTone;
use crate::report::tuning::hint;
use crate::units::{Cents, Midi, Seconds, median, spread};
use crate::words::numbers::signed;

/// Shorter notes say nothing of intonation.
const SHORTEST: Seconds = Seconds(0.08);

/// What a run of notes says of intonation: one row a pitch, going up and going down apart, and the general offset apart.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Run {
    /// Median distance of all notes from their equal-tempered pitch.
    pub offset: Option<Cents>,
    /// Change of that distance from the first third of the notes to the last.
    pub drift: Option<Cents>,
    /// Rows by rising pitch.
    pub rows: Vec<RunRow>,
    /// Tones held for two seconds or more.
    pub held: Vec<HeldTone>,
}

/// One pitch of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunRow {
    /// The equal-tempered pitch.
    pub pitch: Midi,
    /// How often it was played.
    pub times: u32,
    /// Median distance, the general offset taken out, when it was reached from below.
    pub up: Option<Cents>,
    /// And from above.
    pub down: Option<Cents>,
    /// Median of all its distances.
    pub all: Cents,
    /// Median absolute deviation of all its distances.
    pub spread: Cents,
}

impl Run {
    /// Works it out of the notes and of those tones that were held.
    #[must_use]
    pub fn of(notes: &[HeardNote], held: &[HeldTone]) -> Self {
        let clear: Vec<&HeardNote> =
            notes.iter().filter(|note| note.length().0 >= SHORTEST.0 && note.confidence >= 0.4).collect();
        let off: Vec<f64> = clear.iter().map(|note| note.pitch.cents_off().0).collect();
        let Some(offset) = median(&off) else { return Self::default() };
        let third = (off.len() / 3).max(1);
        let ends = (median(&off[..third]), median(&off[off.len() - third..]));
        let drift = if let (true, (Some(first), Some(last))) = (off.len() >= 6, ends) {
            Some(Cents(last - first))
        } else {
            None
        };
        let mut rows: BTreeMap<i32, [Vec<f64>; 3]> = BTreeMap::new();
        for (n, note) in clear.iter().enumerate() {
            let row = rows.entry(note.pitch.nearest()).or_default();
            // A first note and a repeated one were reached from nowhere.
            let before = n.checked_sub(1).and_then(|before| clear.get(before));
            match before.map(|before| note.pitch.0 - before.pitch.0) {
                Some(step) if step < -0.5 => row[1].push(off[n] - offset),
                Some(step) if step > 0.5 => row[0].push(off[n] - offset),
                _ => {}
            }
            row[2].push(off[n] - offset);
        }
        let rows = rows
            .into_iter()
            .map(|(pitch, [up, down, all])| RunRow {
                pitch: Midi(f64::from(pitch)),
                times: all.len() as u32,
                up: median(&up).map(Cents),
                down: median(&down).map(Cents),
                all: Cents(median(&all).unwrap_or(0.0)),
                spread: Cents(spread(&all).unwrap_or(0.0)),
            })
            .collect();
        Self { offset: Some(Cents(offset)), drift, rows, held: held.to_vec() }
    }
}

/// The table as text; `name` gives a pitch the name on the player's page. Below it stands what the instrument does to notes
/// that are out of tune, in written pitch; `g_flat` writes Gb for F#.
#[must_use]
pub fn run_to_text(run: &Run, instrument: &Instrument, g_flat: bool, name: &dyn Fn(Midi) -> String) -> String {
    let mut out = String::new();
    let Some(offset) = run.offset else { return out };
    let _ = write!(out, "\ngeneral offset {} cents (where your instrument or the room stands)", signed(offset));
    if let Some(drift) = run.drift {
        let _ = write!(out, ", moved by {} from first to last", signed(drift));
    }
    out.push_str(
        "\n\n(in cents, the general offset taken out)\nnote   times   going up   going down      all   spread\n",
    );
    let cents = |value: Option<Cents>| value.map_or("-".to_owned(), signed);
    for row in &run.rows {
        let (up, down, all) = (cents(row.up), cents(row.down), signed(row.all));
        // One note has no spread.
        let spread = if row.times > 1 { format!("{:.0}", row.spread.0) } else { "-".to_owned() };
        let _ = writeln!(out, "{:6} {:5} {up:>10} {down:>12} {all:>8} {spread:>8}", name(row.pitch), row.times);
    }
    for row in &run.rows {
        let hint = hint(instrument, g_flat, Concert(row.pitch.nearest()), row.all);
        out.extend(hint.map(|hint| hint + "\n"));
    }
    for tone in &run.held {
        let _ = write!(
            out,
            "held {:.1} s: {}, centre {} cents, drift {} from beginning to end, ",
            tone.length.0,
            name(tone.centre),
            signed(tone.centre.cents_off()),
            signed(tone.drift)
        );
        let _ = match tone.vibrato {
            Some(vibrato) => writeln!(
                out,
                "vibrato of {:.1} turns a second, {:.0} cents either way",
                vibrato.rate.0, vibrato.extent.0
            ),
            None => writeln!(out, "no vibrato, unrest of {:.0} cents", tone.spread.0),
        };
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::instrument;
    use crate::units::Decibels;

    fn note(at: f64, pitch: f64) -> HeardNote {
        HeardNote {
            number: 0,
            onset: Seconds(at),
            release: Seconds(at + 0.4),
            pitch: Midi(pitch),
            spread: Some(Cents(1.0)),
            loudness: Decibels(-20.0),
            confidence: 0.9,
            announced: Seconds(at),
            announced_pitch: Midi(pitch),
        }
    }

    #[test]
    fn a_horn_that_stands_ten_cents_sharp_is_told_apart_from_one_note_that_is() {
        let run: Vec<HeardNote> = [60.1, 61.1, 62.1, 63.3, 64.1, 63.3, 62.1, 61.1, 60.1]
            .iter()
            .enumerate()
            .map(|(n, pitch)| note(n as f64 * 0.5, *pitch))
            .collect();
        let run = Run::of(&run, &[]);
        assert!((run.offset.unwrap().0 - 10.0).abs() < 0.01);
        let odd = run.rows.iter().find(|row| row.pitch.0 == 63.0).unwrap();
        assert!((odd.up.unwrap().0 - 20.0).abs() < 0.01 && (odd.down.unwrap().0 - 20.0).abs() < 0.01);
        assert!(
            run.rows.iter().filter(|row| row.pitch.0 != 63.0).all(|row| row.up.or(row.down).unwrap().0.abs() < 0.01)
        );
    }

    #[test]
    fn nothing_played_makes_no_table() {
        let trumpet = instrument("trumpet").unwrap();
        assert_eq!(run_to_text(&Run::of(&[], &[]), trumpet, false, &|_| String::new()), "");
    }

    #[test]
    fn a_note_the_horn_pulls_sharp_is_explained_below_the_table() {
        // Sounding C4 is a written D4 on a trumpet in Bb: first and third valves (valve arithmetic: 18 cents sharp).
        let run: Vec<HeardNote> = [58.0, 60.3, 62.0, 63.0, 64.4, 65.0, 67.0]
            .iter()
            .enumerate()
            .map(|(n, pitch)| note(n as f64 * 0.5, *pitch))
            .collect();
        let text =
            run_to_text(&Run::of(&run, &[]), instrument("trumpet").unwrap(), false, &|pitch| format!("{:.0}", pitch.0));
        let told: Vec<&str> = text.lines().filter(|line| line.starts_with("Written")).collect();
        let why = "Written D4: first and third valves run sharp here, by about 18 cents";
        assert!(told.len() == 1 && told[0].starts_with(why), "the F sharp is the player's own: {text}");
    }
}
