use crate::cli::args::Grade;
use crate::cli::failure::{Failure, Kind};
use crate::cli::json_lines;
use crate::cli::listening::grade_lines;
use crate::cli::listening::notes;
use crate::cli::output::say;
use crate::cli::resolve::{self, Who, pattern, tempo};
use crate::cue::Cue;
use crate::drill::Hints;
use crate::engine;
use crate::files;
use crate::notes::HeardNote;
use crate::pattern::{self, Line, Pattern, Register};
use crate::units::{Seconds, Tempo};
use crate::verdict::{self, Expectation, NoteLabel, NoteVerdict, TimeOrigin, Verdict};
use crate::words;
use crate::words::names::Reader;
use crate::words::numbers::{capital, ordinal, signed};

/// A verdict on a recording or a list of notes.
pub fn run(typed: &Grade) -> Result<(), Failure> {
    if typed.json_lines {
        return json_lines::each(|line| grade_lines::answer(line).map(Some));
    }
    let settings = files::UserSettings::load(&files::Places::usual()?)?;
    let who = Who::of(&typed.player, &settings)?;
    let library = resolve::library()?;
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
        say(json(&cue, &verdict, &sentence, hint.as_deref()))?
    } else {
        text(&who, &cue, &heard, &verdict, &sentence)?;
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
        (_, Some(list)) => {
            let text = files::read_list(list)?;
            notes::parse_table(&text, &list.display().to_string())
        }
        (Some(file), None) => {
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
        None => vec![Register::Low, Register::Middle, Register::High],
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

fn text(who: &Who, cue: &Cue, heard: &[HeardNote], verdict: &Verdict, sentence: &str) -> Result<(), Failure> {
    say(format!(
        "{} in {}, {}, quarter = {:.0}",
        cue.title,
        who.page.key(cue.key, cue.spelling.mode),
        who.page.instrument.name,
        cue.tempo.0
    ))?;
    if !verdict.related {
        let names: Vec<String> = heard.iter().map(|note| who.page.heard(note.pitch)).collect();
        if !names.is_empty() {
            say(format!("heard: {}", names.join(" ")))?;
        }
        return say(sentence);
    }
    if verdict.shift.0 != 0 {
        say(format!("played {:+} half steps from what was asked; held against that:", verdict.shift.0))?;
    }
    for (asked, note) in cue.line.notes.iter().zip(&verdict.expected) {
        let name = who.page.asked(asked, cue.key, cue.spelling);
        let said = match note.label {
            NoteLabel::Right => "right".to_owned(),
            NoteLabel::Wrong(by) => format!("wrong by {:+} half steps", by.0),
            NoteLabel::Octave(by) => format!("octave, {:+} half steps", by.0),
            NoteLabel::Missed => "missed".to_owned(),
            NoteLabel::Merged => "joined to its neighbour".to_owned(),
        };
        let cents = note.cents.map_or(String::new(), |cents| format!("  {} cents", signed(cents)));
        let at = note
            .heard
            .and_then(|index| heard.get(index))
            .map_or(String::new(), |note| format!("  at {:.2} s", note.onset.0));
        say(format!("  {name:4} {said}{cents}{at}"))?;
    }
    if verdict.attempts > 1 {
        say(format!("attempt {}", verdict.attempts))?;
    }
    if let Some(pace) = verdict.pace {
        say(format!("held at quarter = {:.0}, asked {:.0}", pace.0, cue.tempo.0))?;
    }
    for stood in &verdict.stood {
        say(format!("stood still before the {} note, {:.2} s", ordinal(stood.before), stood.by.0))?;
    }
    if let Some(centre) = verdict.centre {
        say(format!("as a whole {} cents; the cents above are against that", signed(centre)))?;
    }
    if let (Some(played), Some(asked)) = (verdict.swing, cue.line.swing()) {
        say(format!("long to short eighth {played:.1} to 1, asked {asked:.1} to 1"))?;
    }
    say(sentence)
}

fn json(cue: &Cue, verdict: &Verdict, sentence: &str, hint: Option<&str>) -> serde_json::Value {
    let off = |label: NoteLabel| match label {
        NoteLabel::Wrong(by) | NoteLabel::Octave(by) => by.0,
        NoteLabel::Right | NoteLabel::Missed | NoteLabel::Merged => 0,
    };
    let note = |note: &NoteVerdict| {
        serde_json::json!({
            "label": grade_lines::expected_word(note.label), "half_steps_off": off(note.label), "heard": note.heard,
            "cents": note.cents.map(|cents| cents.0), "late_s": note.late.map(|late| late.0),
        })
    };
    let expected: Vec<_> = verdict.expected.iter().map(note).collect();
    let played: Vec<_> = verdict.played.iter().map(|label| grade_lines::played_word(*label)).collect();
    let stood = verdict.stood.iter().map(|it| serde_json::json!({"before": it.before, "by_s": it.by.0}));
    serde_json::json!({
        "related": verdict.related, "shift_half_steps": verdict.shift.0, "attempts": verdict.attempts,
        "right": verdict.right, "of": verdict.of, "extra": verdict.extra, "passed": verdict.passed,
        "pace_quarter_per_minute": verdict.pace.map(|pace| pace.0), "evenness_percent_of_beat": verdict.evenness,
        "centre_cents": verdict.centre.map(|centre| centre.0), "expected": expected, "played": played, "sentence": sentence,
        "long_to_short_eighth": verdict.swing, "long_to_short_eighth_asked": cue.line.swing(), "hint": hint,
        "stood": stood.collect::<Vec<_>>(),
    })
}
