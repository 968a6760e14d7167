use crate::cli::args::Grade;
use crate::cli::listening::notes;
use crate::cli::patterns::exchange as midi_file;
use crate::cue::Cue;
use crate::drill::Hints;
use crate::engine;
use crate::exchange;
use crate::files;
use crate::notes::HeardNote;
use crate::pattern::{self, Line, Pattern, Register};
use crate::report;
use crate::talk::failure::{Failure, Kind};
use crate::talk::json_lines;
use crate::talk::library::{library, pattern};
use crate::talk::output::say;
use crate::talk::player::{Who, tempo};
use crate::units::{Seconds, Tempo};
use crate::verdict::{self, Expectation, TimeOrigin};
use crate::words;
use crate::words::numbers::capital;
use crate::words::reader::Reader;

/// A verdict on a recording or a list of notes.
pub fn run(typed: &Grade) -> Result<(), Failure> {
    if typed.json_lines {
        return json_lines::each(|line| exchange::answer_to_case(line).map(Some));
    }
    let settings = files::UserSettings::load(&files::Places::usual()?)?;
    let who = Who::of(&typed.player, &settings)?;
    let library = library()?;
    let name = typed.pattern.as_deref().ok_or_else(|| {
        Failure::usage("which pattern was asked?", "Add --pattern NAME; earfirst patterns list shows them all.")
    })?;
    let pattern = pattern(&library, name)?;
    let key = typed.key.as_deref().ok_or_else(|| Failure::usage("which key was asked?", "Add --key Eb, written."))?;
    let key = who.key(key)?;
    let tempo = tempo(typed.tempo)?.unwrap_or(Tempo(96.0));
    let heard = heard(typed, &who)?;
    let place = register(typed, &pattern, key, &who, &heard)?;
    let cue = Cue::new(&pattern, key, place.0, tempo, place.1);
    let start = heard.first().map_or(0.0, |note| note.onset.0);
    let asked = Expectation {
        line: cue.line.clone(),
        tempo,
        // A recording has no cue in it: time is counted from its first sound, so no reflex time can be told.
        clock: TimeOrigin::Free { cue_end: Seconds(start - 1.0) },
        delay: Some(Seconds(0.0)),
        intonation: who.page.instrument.intonation,
        usual: verdict::Usual::Unknown,
    };
    let mut verdict = verdict::judge(&asked, &heard);
    verdict.reflex = None;
    let reader = Reader::of(&who.page, &cue, false);
    let sentence = words::verdict::sentence(&verdict, &asked, &reader, &[]);
    let explained = Hints::default().of(&verdict, &cue.line, &who.page.instrument);
    let written = who.page.in_written_pitch();
    let name = |pitch| written.note(pitch, cue.key, cue.spelling);
    let hint = explained.and_then(|note| words::fingering::hint(&name(note.pitch), &note.tendency, note.off));
    if typed.json {
        say(report::verdict_json(&cue, &verdict, &sentence, hint.as_deref()))?
    } else {
        words::verdict::note_by_note(&who.page, &cue, &heard, &verdict, &sentence).into_iter().try_for_each(say)?;
        if let Some(hint) = hint {
            say(capital(&hint) + ".")?;
        }
    }
    if verdict.whole() {
        Ok(())
    } else {
        Err(Failure { kind: Kind::Short, what: "the answer falls short".to_owned(), place: None, mend: String::new() })
    }
}

fn heard(typed: &Grade, who: &Who) -> Result<Vec<HeardNote>, Failure> {
    match (&typed.file, &typed.notes) {
        (_, Some(list)) => notes::read_table(list),
        (Some(file), None) => {
            if let Some(heard) = midi_file::played(file)? {
                return Ok(heard);
            }
            let recording = notes::read(file)?;
            let settings = engine::ear_settings(recording.rate, who.a4, Some(&who.page.instrument));
            Ok(engine::hear_recording(&settings, &recording, false)?.1)
        }
        (None, None) => Err(Failure::usage("no recording was named", "Name a FILE, or --notes TSV, or --json-lines.")),
    }
}

/// The register that was asked; where none is named, the octave nearest to what was played.
fn register(
    typed: &Grade,
    pattern: &Pattern,
    key: crate::music::ConcertKey,
    who: &Who,
    heard: &[HeardNote],
) -> Result<(Register, Line), Failure> {
    let wanted = match typed.register {
        Some(third) => vec![third.into()],
        None => Register::ALL.to_vec(),
    };
    let middle = crate::units::median(&heard.iter().map(|note| note.pitch.0).collect::<Vec<_>>()).unwrap_or(60.0);
    let far = |line: &Line| {
        let range = line.range();
        (f64::from(range.low.0 + range.high.0) / 2.0 - middle).abs()
    };
    let nearest = |range| {
        let lines =
            wanted.iter().filter_map(|&place| Some((place, pattern::realise(pattern, key, None, range, place).ok()?)));
        lines.min_by(|a, b| far(&a.1).total_cmp(&far(&b.1)))
    };
    // A register is a third of the player's own range; an answer may lie anywhere the instrument reaches.
    let own = typed.register.and_then(|_| nearest(who.range));
    own.or_else(|| nearest(who.page.instrument.advanced)).ok_or_else(|| {
        let what = format!(
            "{} in {} does not fit the {}",
            pattern.name,
            who.page.key(key, pattern.mode()),
            who.page.instrument.name
        );
        Failure::usage(what, "Choose another pattern, key or instrument.")
    })
}
