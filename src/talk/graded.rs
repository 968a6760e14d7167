//! A verdict on what was heard outside a drill.

use std::path::{Path, PathBuf};

use crate::cue::Cue;
use crate::drill::Hints;
use crate::exchange::{HeldReading, OtherLine, PlayedFile};
use crate::music::{Concert, HalfSteps};
use crate::notes::HeardNote;
use crate::pattern::{ExpectedNote, Line};
use crate::report::{self, NoteMoved, TuningFaults};
use crate::talk::failure::{Failure, Kind};
use crate::talk::keys_told;
use crate::talk::notation_files::{Hands, played_for_judge, unheeded};
use crate::talk::output::{say, warn, warned};
use crate::talk::player::Who;
use crate::talk::recordings;
use crate::units::{Seconds, median};
use crate::verdict::{self, Expectation, PlayedLabel, TimeOrigin, Verdict};
use crate::words;
use crate::words::numbers::capital;
use crate::words::reader::Reader;

/// A line moved to the octave in which it was played: nobody asked for a register, so the octave is not judged. That is the one by the middle
/// of what was played, or its neighbour where half of the line or more came there, and more than in the middle.
pub fn in_the_octave_played(line: &Line, heard: &[HeardNote]) -> Line {
    // Of an answer that broke off the middle is that of its own notes.
    let asked: Vec<f64> = line.notes.iter().take(heard.len()).map(|note| f64::from(note.pitch.0)).collect();
    let played: Vec<f64> = heard.iter().map(|note| note.pitch.0).collect();
    let (Some(middle), Some(came)) = (median(&asked), median(&played)) else { return line.clone() };
    let octave = ((came - middle) / 12.0).round() as i32;
    let fits = |octave: i32| {
        let mut left: Vec<i32> = heard.iter().map(|note| note.pitch.nearest()).collect();
        let came = |note: &&ExpectedNote| {
            let place = left.iter().position(|pitch| *pitch == note.pitch.0 + 12 * octave);
            place.map(|place| left.swap_remove(place)).is_some()
        };
        line.notes.iter().filter(came).count()
    };
    let better = [octave - 1, octave + 1].into_iter().max_by_key(|other| fits(*other)).unwrap_or(octave);
    let moved = fits(better) > fits(octave) && 2 * fits(better) >= line.notes.len();
    line.transposed(HalfSteps(12 * if moved { better } else { octave }))
}

/// Of lines shorter than this nobody can say that they stand several times in what was played.
const SEVERAL: usize = 3;

/// So many notes too many below a line are those of a left hand.
const LEFT_HAND: usize = 3;

/// A line that was heard.
pub struct HeardLine {
    /// Its notes.
    pub notes: Vec<HeardNote>,
    /// How these moved while they sounded; nothing where no sound was heard, but keys or a list.
    pub moved: Vec<NoteMoved>,
    /// The file, where it is cut off: what is not in it is no fault of the player.
    pub cut_off: Option<PathBuf>,
}

/// What was played in a file, or stands in a list of notes, and what was asked by it, which `asked` works out. Where keys are held over
/// others in a MIDI file, the reading counts that fits best; another than the usual one is said.
pub fn heard(
    file: Option<&Path>,
    notes: Option<&Path>,
    a4: bool,
    who: &Who,
    asked: &dyn Fn(&[HeardNote]) -> Result<Cue, Failure>,
) -> Result<(Cue, HeardLine), Failure> {
    let list_named = notes;
    let (notes, moved, cut_off) = match (file, notes) {
        (_, Some(list)) => (recordings::read_table(list)?, Vec::new(), None),
        (Some(file), None) => {
            unheeded(file, a4);
            match played_for_judge(file, &who.page)? {
                Some(played) => return best(file, played, who, asked),
                None => {
                    let heard = recordings::heard_moving(file, who)?;
                    (heard.notes, heard.moved, heard.missing.map(|_| file.to_owned()))
                }
            }
        }
        (None, None) => {
            let mend = "Name a FILE, or --notes TSV, or --json-lines.";
            return Err(Failure::usage("no recording was named", mend));
        }
    };
    let name = file.or(list_named).map(|file| file.display().to_string()).unwrap_or_default();
    let (cue, heard) = one_answer(&name, asked(&notes)?, notes, moved, who, asked)?;
    Ok((cue, HeardLine { cut_off, ..heard }))
}

/// What is judged of a line: all of it, or, where the line that was asked stands in it whole in several keys, one after the other, the one in
/// the key that was asked. That it holds more than one answer is said, and how to give one.
fn one_answer(
    name: &str,
    cue: Cue,
    notes: Vec<HeardNote>,
    moved: Vec<NoteMoved>,
    who: &Who,
    asked: &dyn Fn(&[HeardNote]) -> Result<Cue, Failure>,
) -> Result<(Cue, HeardLine), Failure> {
    let whole = whole_lines(&cue.line, &notes);
    let key = |by: i32| by.rem_euclid(12);
    if !whole.iter().any(|(_, by)| key(*by) != key(whole[0].1)) {
        return Ok((cue, HeardLine { notes, moved, cut_off: None }));
    }
    let (answers, in_key) = (whole.len(), who.page.key(cue.key, cue.spelling.mode));
    let told = format!("{name}: {answers} answers stand in it, in several keys");
    let Some((from, _)) = whole.into_iter().find(|(_, by)| key(*by) == 0) else {
        warn(format!("{told}, none of them in {in_key}; --key judges the one in another key"));
        return Ok((cue, HeardLine { notes, moved, cut_off: None }));
    };
    warn(format!("{told}; the one in {in_key} is judged, and --key judges another"));
    let notes = notes[from..from + cue.line.notes.len()].to_vec();
    Ok((asked(&notes)?, HeardLine { notes, moved, cut_off: None }))
}

/// Where a line stands whole in what was heard, note after note, in whatever key: the place of its first note, and how many half steps it lies
/// from the line.
fn whole_lines(line: &Line, heard: &[HeardNote]) -> Vec<(usize, i32)> {
    let asked: Vec<i32> = line.notes.iter().map(|note| note.pitch.0).collect();
    let mut found = Vec::new();
    let mut from = 0;
    while asked.len() >= SEVERAL && from + asked.len() <= heard.len() {
        let by = heard[from].pitch.nearest() - asked[0];
        if heard[from..].iter().zip(&asked).all(|(note, asked)| note.pitch.nearest() == asked + by) {
            found.push((from, by));
            from += asked.len();
        } else {
            from += 1;
        }
    }
    found
}

/// The reading of a MIDI file that fits best, which is said where it is another than the usual one; and that the line may be that of two
/// hands, where it is not all right.
fn best(
    file: &Path,
    (played, hands): (PlayedFile, Hands),
    who: &Who,
    asked: &dyn Fn(&[HeardNote]) -> Result<Cue, Failure>,
) -> Result<(Cue, HeardLine), Failure> {
    let judged = |cue: &Cue, line: &[HeardNote]| verdict::judge(&expected(cue, line, who), line);
    let cue = asked(&played.line)?;
    let mut fit = judged(&cue, &played.line);
    let (mut told, mut best) = (None, (cue, played.line.clone()));
    for OtherLine { reading, line } in &played.others {
        let Ok(cue) = asked(line) else { continue };
        let other = judged(&cue, line);
        // Of two hands in octaves one is the answer, however the other fits.
        let octaves = *reading == HeldReading::OneOfOctaves && fits(&other) == fits(&fit);
        if fits(&other) > fits(&fit) || octaves {
            (best, fit, told) = ((cue, line.clone()), other, Some(reading));
        }
    }
    let never = &played.told.never_let_go;
    let held = played.told.held.as_ref().map_or(&[][..], |held| &held.chord);
    let named = |keys: &[Concert]| held == keys || keys.iter().all(|key| never.contains(key));
    if let Some(reading) = told {
        warn(format!(
            "{}: {}",
            file.display(),
            keys_told::read_otherwise(reading, &named, &who.page, "the answer is judged")
        ));
    }
    if !fit.whole() {
        hands.tell(file, &best.1, &played.beside, left_hand(&fit, &best.1));
    }
    one_answer(&file.display().to_string(), best.0, best.1, Vec::new(), who, asked)
}

/// The highest of the notes too many and the lowest of the others, where there are so many of them and all lie below: those of a left hand.
fn left_hand(verdict: &Verdict, heard: &[HeardNote]) -> Option<(i32, i32)> {
    let pitches = |of: PlayedLabel| {
        let labelled = heard.iter().zip(&verdict.played).filter(move |(_, label)| **label == of);
        labelled.map(|(note, _)| note.pitch.nearest())
    };
    let (extra, others) = (|| pitches(PlayedLabel::Extra), || pitches(PlayedLabel::Note));
    let apart = extra().max().zip(others().min()).filter(|(top, bottom)| top < bottom);
    apart.filter(|_| extra().count() >= LEFT_HAND)
}

/// How well an answer fits what was asked: the right notes less those too many.
fn fits(verdict: &Verdict) -> i64 {
    if verdict.related { i64::from(verdict.right) - i64::from(verdict.extra) } else { i64::MIN }
}

/// What an answer outside a drill is compared with.
fn expected(cue: &Cue, heard: &[HeardNote], who: &Who) -> Expectation {
    let start = heard.first().map_or(0.0, |note| note.onset.0);
    Expectation {
        line: cue.line.clone(),
        tempo: cue.tempo,
        // A recording has no cue in it: its end is set a second before the first note, so no reflex time is known.
        clock: TimeOrigin::Free { cue_end: Seconds(start - 1.0) },
        delay: Some(Seconds(0.0)),
        intonation: who.page.instrument.intonation,
        usual: verdict::UsualTuning::Unknown,
    }
}

/// What nobody asked for, so that the verdict says so.
#[derive(Clone, Copy)]
pub struct LeftOpen {
    /// The tempo is the usual one.
    pub tempo: bool,
    /// The octave is the one in which the answer came.
    pub octave: bool,
}

/// Judges what was heard against what was asked, and says the verdict, for a player or for machines. An answer with a fault of its notes or
/// their tuning is a failure, and so is a recording that ends within the line.
pub fn judge(cue: &Cue, open: LeftOpen, line: &HeardLine, who: &Who, json: bool) -> Result<(), Failure> {
    let heard = &line.notes[..];
    let asked = expected(cue, heard, who);
    if let Some(file) = line.cut_off.as_ref().filter(|_| heard.is_empty()) {
        return Err(cut_off(file, "before the first note, so nothing is judged"));
    }
    let mut verdict = verdict::judge(&asked, heard);
    verdict.reflex = None;
    let reader = Reader { usual_tempo: open.tempo, ..Reader::of(&who.page, cue, false) };
    let mut sentence = words::verdict::sentence(&verdict, &asked, heard, &reader, &[]);
    if !open.tempo
        && let Some(slower) = words::verdict::slower(&verdict, &asked)
    {
        sentence = format!("{}; {slower}.", sentence.trim_end_matches('.'));
    }
    let explained = Hints::default().of(&verdict, &cue.line, &who.page.instrument);
    let written = who.page.in_written_pitch();
    let name = |pitch| written.note(pitch, cue.key, cue.spelling);
    let hint = explained.and_then(|note| words::fingering::hint(&name(note.pitch), &note.tendency, note.off));
    if json {
        let told = report::verdict_json(cue, &verdict, &sentence, hint.as_deref());
        say(report::with_remarks(told, &warned()))?
    } else {
        let lines = words::verdict::note_by_note(&reader, cue, open.octave, heard, &verdict, &sentence);
        let ends = line.cut_off.as_ref().and_then(|_| verdict::broke_off(&verdict));
        let lines = ends.map_or(lines.clone(), |after| words::verdict::of_a_cut_recording(lines, after));
        lines.into_iter().try_for_each(say)?;
        let named = words::verdict::names_out_of_tune(&verdict, &asked);
        let faults = if named { TuningFaults::Told } else { TuningFaults::Untold };
        report::line_tuning(&who.page, cue, heard, &line.moved, &verdict, faults).into_iter().try_for_each(say)?;
        if let Some(hint) = hint {
            say(capital(&hint) + ".")?;
        }
    }
    match &line.cut_off {
        Some(file) if verdict::broke_off(&verdict).is_some() => {
            Err(cut_off(file, "within the line, so the rest of it is not judged"))
        }
        _ if verdict::has_fault(&verdict, &asked) => Err(Failure {
            kind: Kind::Short,
            what: "the answer has a fault".to_owned(),
            place: None,
            mend: String::new(),
        }),
        _ => Ok(()),
    }
}

/// The fault of a recording that ends before the line does.
fn cut_off(file: &Path, what: &str) -> Failure {
    let what = format!("the recording is cut off {what}");
    Failure::input(file.display(), what, "Copy the file once more from where it was recorded, or record again.")
}
