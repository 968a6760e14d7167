use super::{beside, places};
use crate::cue::Cue;
use crate::music::{Concert, HalfSteps, Intonation};
use crate::notes::HeardNote;
use crate::verdict::{NoteLabel, PaceMove, PlayedLabel, Verdict, pace_moved};
use crate::words::numbers::{direction, distance, ordinal, signed};
use crate::words::reader::Reader;

/// What is said of a note that did not come.
const LEFT_OUT: &str = "left out";

/// A last note that is held longer than asked by so many beats is told.
const HELD_ON: f64 = 2.0;

/// A verdict note by note, a line each, below a line that says what was asked; `sentence` is the last line. `any_octave`: no octave was
/// asked, and the line of the cue stands in the one that was played.
#[must_use]
pub fn note_by_note(
    reader: &Reader,
    cue: &Cue,
    any_octave: bool,
    heard: &[HeardNote],
    verdict: &Verdict,
    sentence: &str,
) -> Vec<String> {
    let page = reader.page;
    let mut lines = vec![was_asked(reader, cue, any_octave)];
    if !verdict.related {
        let names: Vec<String> = heard.iter().map(|note| spelled(reader, cue, verdict, note)).collect();
        if !names.is_empty() {
            lines.push(format!("heard: {}", names.join(" ")));
        }
        lines.push(sentence.to_owned());
        return lines;
    }
    if verdict.shift.0 != 0 {
        lines.push(format!("played {}; held against that:", moved(verdict.shift, any_octave)));
    }
    let name = |note: &HeardNote| spelled(reader, cue, verdict, note);
    let came = |place: Option<usize>| place.and_then(|n| heard.get(n)).map_or(String::new(), name);
    for (asked, note) in cue.line.notes.iter().zip(&verdict.expected) {
        let name = page.asked(asked, cue.key, cue.spelling);
        let said = match note.label {
            NoteLabel::Right if verdict.in_key() => "right".to_owned(),
            NoteLabel::Right => format!("{} came, right in that key", came(note.heard)),
            NoteLabel::Wrong(by) | NoteLabel::Octave(by) => {
                format!("{} came, {} {}", came(note.heard), distance(by), direction(by))
            }
            NoteLabel::Missed => LEFT_OUT.to_owned(),
            NoteLabel::Merged => "joined to its neighbour".to_owned(),
        };
        let cents = note.cents.map_or(String::new(), |cents| format!("  {} cents", signed(cents)));
        let at = note
            .heard
            .and_then(|index| heard.get(index))
            .map_or(String::new(), |note| format!("  at {:.2} s", note.onset.0));
        lines.push(format!("  {name:4} {said}{cents}{at}"));
    }
    lines.extend(beside::which_attempt(heard, verdict));
    let held_to = if reader.usual_tempo { "usual" } else { "asked" };
    if let Some(PaceMove { from, to, .. }) = pace_moved(verdict, &cue.line) {
        lines.push(format!("from quarter = {:.0} to {:.0}, {held_to} {:.0}", from.0, to.0, cue.tempo.0));
    } else if let Some(pace) = verdict.pace {
        lines.push(format!("held at quarter = {:.0}, {held_to} {:.0}", pace.0, cue.tempo.0));
    }
    for stood in &verdict.stood {
        let (before, by_s) = (stood.before, stood.by.0);
        lines.push(match beside::sounds_on(heard, verdict, before) {
            Some((on, held)) => beside::too_long(held, &format!("the {} note", ordinal(on)), &format!("{by_s:.2} s")),
            None => format!("stood still before the {} note, {by_s:.2} s", ordinal(before)),
        });
    }
    lines.extend(last_held(reader, cue, heard, verdict));
    if let Some(centre) = verdict.centre.filter(|centre| centre.0.abs() >= 0.5) {
        lines.push(format!("as a whole {} cents; the cents of each note are counted from there", signed(centre)));
    }
    lines.extend(beside::lines(&name, again(cue, heard, verdict), heard, verdict));
    if let (Some(played), Some(asked)) = (verdict.swing, cue.line.swing()) {
        lines.push(format!("long to short eighth {played:.1} to 1, asked {asked:.1} to 1"));
    }
    lines.push(sentence.to_owned());
    lines
}

/// The same lines where the recording is cut off after so many notes of the line: what is not in it was not left out.
#[must_use]
pub fn of_a_cut_recording(lines: Vec<String>, after: usize) -> Vec<String> {
    let mut notes = 0;
    let told = lines.into_iter().map(|line| {
        let note = line.starts_with("  ");
        notes += usize::from(note);
        if note && notes > after {
            line.replace(LEFT_OUT, "not in the recording")
        } else {
            line.replace("Broke off after", "The recording ends after")
        }
    });
    told.collect()
}

/// What was asked, in a line.
fn was_asked(reader: &Reader, cue: &Cue, any_octave: bool) -> String {
    let (page, first) = (reader.page, cue.line.notes.first());
    let octave = if any_octave { " (the whole in any octave counts)" } else { "" };
    format!(
        "{} in {}, {}, {}quarter = {:.0}{}",
        cue.title,
        page.key(cue.key, cue.spelling.mode),
        page.instrument.name,
        if reader.usual_tempo { "no tempo asked, the usual " } else { "" },
        cue.tempo.0,
        first.map_or(String::new(), |first| {
            let name = page.with_octave(page.spelled(first.pitch, cue.key, cue.spelling));
            format!(", from {name}{octave}")
        })
    )
}

/// The name of a heard note with its octave.
fn spelled(reader: &Reader, cue: &Cue, verdict: &Verdict, note: &HeardNote) -> String {
    reader.page.with_octave(places::came_as(Concert(note.pitch.nearest()), &cue.line, verdict, reader))
}

/// How long the last note was held, where that is beats longer than asked. Keys and strings that ring on are not held.
fn last_held(reader: &Reader, cue: &Cue, heard: &[HeardNote], verdict: &Verdict) -> Option<String> {
    let asked = cue.tempo.lasting(cue.line.notes.last()?.length);
    let held = heard.get(verdict.expected.last()?.heard?)?.length();
    let sings = matches!(reader.instrument().intonation, Intonation::Scored { .. });
    let far = (held - asked).0 >= HELD_ON * cue.tempo.beat().0;
    (sings && far).then(|| format!("held the last note for {:.2} s, asked {:.2} s", held.0, asked.0))
}

/// Index of the heard note with which a second playing of the whole line begins, behind the one that is judged.
fn again(cue: &Cue, heard: &[HeardNote], verdict: &Verdict) -> Option<usize> {
    let from = verdict.expected.iter().filter_map(|note| note.heard).max()? + 1;
    let more = heard.get(from..)?;
    let same =
        more.iter().zip(&cue.line.notes).all(|(note, asked)| note.pitch.nearest() == (asked.pitch + verdict.shift).0);
    (more.len() == cue.line.notes.len() && same).then_some(from)
}

/// The word of the printed lines and of JSON for an asked note.
#[must_use]
pub const fn expected_word(label: NoteLabel) -> &'static str {
    match label {
        NoteLabel::Right => "right",
        NoteLabel::Wrong(_) => "wrong",
        NoteLabel::Octave(_) => "octave",
        NoteLabel::Missed => "missed",
        NoteLabel::Merged => "merged",
    }
}

/// The word of the printed lines and of JSON for a played note.
#[must_use]
pub const fn played_word(label: PlayedLabel) -> &'static str {
    match label {
        PlayedLabel::Note => "note",
        PlayedLabel::Extra => "extra",
        PlayedLabel::Artefact => "artefact",
        PlayedLabel::Earlier => "earlier",
    }
}

/// How far the whole line was moved. Where any octave is right, up and down are the same, and both are told.
fn moved(shift: HalfSteps, any_octave: bool) -> String {
    let (side, other) = if shift.0 < 0 { ("lower", "higher") } else { ("higher", "lower") };
    let rest = 12 - shift.0.abs() % 12;
    if any_octave && rest < 12 {
        return format!("{} {side}, or {} {other}, than asked", distance(shift), distance(HalfSteps(rest)));
    }
    format!("{} {side} than asked", distance(shift))
}

#[cfg(test)]
mod tests {
    use super::note_by_note;
    use crate::cue::Cue;
    use crate::music::{ConcertKey, Reading, instrument};
    use crate::notes::HeardNote;
    use crate::pattern::{Library, Register, realise};
    use crate::units::Tempo;
    use crate::verdict::judge;
    use crate::words::Page;
    use crate::words::reader::Reader;
    use crate::words::verdict::tests::{in_tempo, plays};

    /// The lines on a five-note row up and down in C, played on a piano with these pitches, eighths at quarter = 120.
    fn lines(pitches: &[f64]) -> Vec<String> {
        lines_of(&|first| plays(&pitches.iter().map(|pitch| first - 60.0 + pitch).collect::<Vec<_>>(), 2.5, 0.25))
    }

    /// The same lines on what was heard, made for the first pitch that was asked.
    fn lines_of(heard: &dyn Fn(f64) -> Vec<HeardNote>) -> Vec<String> {
        lines_on("piano", heard)
    }

    /// The same on another instrument.
    fn lines_on(id: &str, heard: &dyn Fn(f64) -> Vec<HeardNote>) -> Vec<String> {
        let piano = instrument(id).unwrap().clone();
        let pattern = Library::builtin().find("five-note-row-up-and-down").unwrap();
        let key = ConcertKey::FIFTHS[0];
        let line = realise(pattern, key, None, piano.advanced, Register::Middle).unwrap();
        let cue = Cue::new(pattern, key, Register::Middle, Tempo(120.0), line);
        let asked = crate::verdict::Expectation { line: cue.line.clone(), ..in_tempo(&[60]) };
        let first = f64::from(cue.line.notes[0].pitch.0);
        let heard = heard(first);
        let page = Page::new(piano, Reading::default());
        note_by_note(&Reader::of(&page, &cue, false), &cue, true, &heard, &judge(&asked, &heard), "")
    }

    #[test]
    fn a_note_that_stands_in_no_line_is_named_with_its_time() {
        let said = lines(&[60.0, 62.0, 64.0, 65.0, 67.0, 69.0, 65.0, 64.0, 62.0, 60.0]).join("\n");
        assert!(said.contains("too many: A") && said.contains(" at 3.75 s, 0.22 s long"), "{said}");
    }

    #[test]
    fn one_note_has_one_name_in_every_line() {
        // A minor third over C is an Eb, and the half step over A in C a Bb (common practice).
        let said = lines(&[60.0, 62.0, 63.0, 65.0, 67.0, 65.0, 64.0, 62.0, 60.0]);
        assert!(said[3].contains("Eb4 came, a half step low"), "{said:?}");
    }

    #[test]
    fn a_last_note_held_for_beats_is_told_of_a_violin_and_not_of_a_piano_that_rings_on() {
        let held = |first: f64| {
            let mut heard = plays(&[0.0, 2.0, 4.0, 5.0, 7.0, 5.0, 4.0, 2.0, 0.0].map(|step| first + step), 2.5, 0.25);
            heard[8].release = heard[8].onset + crate::units::Seconds(2.25);
            heard
        };
        assert!(lines_on("violin", &held).contains(&"held the last note for 2.25 s, asked 0.25 s".to_owned()));
        assert!(!lines_of(&held).iter().any(|line| line.starts_with("held the last")));
    }

    #[test]
    fn a_second_playing_is_one_line_and_not_nine() {
        let row = [0.0, 2.0, 4.0, 5.0, 7.0, 5.0, 4.0, 2.0, 0.0];
        let said = lines_of(&|first| {
            let pitches = row.map(|step| first + step);
            [plays(&pitches, 2.5, 0.25), plays(&pitches, 5.5, 0.25)].concat()
        });
        let more: Vec<&String> =
            said.iter().filter(|line| line.contains("more") || line.starts_with("not counted")).collect();
        assert_eq!(more, ["played once more from 5.50 s on"], "{said:?}");
    }

    #[test]
    fn how_far_a_note_was_wrong_is_said_as_a_musician_names_it_and_that_the_octave_was_free() {
        let said = lines(&[60.0, 62.0, 64.0, 65.0, 68.0, 65.0, 52.0, 62.0, 60.0]);
        assert!(said[0].ends_with(" (the whole in any octave counts)"), "{said:?}");
        assert!(said[5].contains(" came, a half step high"), "{said:?}");
        assert!(said[7].contains(" came, an octave low"), "{said:?}");
    }

    #[test]
    fn in_another_key_each_note_is_called_what_was_played() {
        let said = lines(&[62.0, 64.0, 66.0, 67.0, 69.0, 67.0, 66.0, 64.0, 62.0]);
        let rows = said.iter().filter(|line| line.contains(" came, right in that key"));
        let rows: Vec<Vec<&str>> = rows.map(|line| line.split_whitespace().collect()).collect();
        assert_eq!(rows.len(), 9, "{said:?}");
        assert!(rows[0][0] == "C" && rows[0][1].starts_with('D') && rows[4][1].starts_with('A'), "{rows:?}");
    }
}
