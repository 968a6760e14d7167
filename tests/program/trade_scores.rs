//! Scores of trades: two staves whose bars add up, with the notes of the record; and with an independent reader.

use std::process::Command;

use earfirst::outside::files::read_sessions;
use earfirst::outside::music::Spelled;
use earfirst::outside::session::Session;
use quick_xml::Reader;
use quick_xml::events::Event;

use crate::desk::Desk;

/// What a part of a score holds, read by the elements of MusicXML 4.0 alone.
#[derive(Debug, Default)]
struct PartRead {
    /// Sounding pitches of the notes, without those that are tied to the note before and those of a chord after its first.
    pitches: Vec<i32>,
    /// Sounding pitches of chords after their first note.
    stacked: usize,
    /// Length of each bar, in quarters.
    bars: Vec<f64>,
    /// Roots of the chord symbols, with their kinds.
    symbols: Vec<String>,
    /// Words over and under the staff.
    words: Vec<String>,
    transpose: i32,
    divisions: f64,
}

fn read(text: &str) -> Vec<PartRead> {
    let mut reader = Reader::from_str(text);
    let mut parts: Vec<PartRead> = Vec::new();
    let (mut element, mut step, mut alter, mut octave) = (String::new(), String::new(), 0, 0);
    let (mut rest, mut tied, mut stacked, mut duration, mut root) = (false, false, false, 0.0, String::new());
    loop {
        match reader.read_event().unwrap() {
            Event::Start(start) => {
                element = start.local_name().as_ref().to_owned();
                match element.as_str() {
                    "part" => parts.push(PartRead { divisions: 1.0, ..PartRead::default() }),
                    "measure" => parts.last_mut().unwrap().bars.push(0.0),
                    "note" => (rest, tied, stacked, alter) = (false, false, false, 0),
                    _ => {}
                }
            }
            Event::Empty(empty) => match empty.local_name().as_ref() {
                "rest" => rest = true,
                "chord" => stacked = true,
                "tie" => tied |= empty.try_get_attribute("type").unwrap().unwrap().value.as_ref() == "stop",
                _ => {}
            },
            Event::Text(text) => {
                let text = text.xml10_content().to_string();
                let Some(part) = parts.last_mut() else { continue };
                match element.as_str() {
                    "divisions" => part.divisions = text.parse().unwrap(),
                    "chromatic" => part.transpose += text.parse::<i32>().unwrap(),
                    "octave-change" => part.transpose += 12 * text.parse::<i32>().unwrap(),
                    "step" => step = text,
                    "alter" => alter = text.parse().unwrap(),
                    "octave" => octave = text.parse().unwrap(),
                    "duration" => duration = text.parse::<f64>().unwrap() / part.divisions,
                    "root-step" => root = text,
                    "root-alter" => root += if text.starts_with('-') { "b" } else { "#" },
                    "kind" => part.symbols.push(format!("{root} {text}")),
                    "words" => part.words.push(text),
                    _ => {}
                }
            }
            Event::End(end) if end.local_name().as_ref() == "note" => {
                let part = parts.last_mut().unwrap();
                if !stacked {
                    *part.bars.last_mut().unwrap() += duration;
                }
                let sign = if alter < 0 { "b" } else { "#" }.repeat(i32::unsigned_abs(alter) as usize);
                let sounding = || format!("{step}{sign}{octave}").parse::<Spelled>().unwrap().midi() + part.transpose;
                match (rest || tied, stacked) {
                    (true, _) => {}
                    (_, true) => part.stacked += 1,
                    _ => part.pitches.push(sounding()),
                }
            }
            Event::End(_) => element.clear(),
            Event::Eof => return parts,
            _ => {}
        }
    }
}

/// What stands in the record: each phrase as it was asked, then each note as it was heard.
fn recorded(session: &Session) -> Vec<i32> {
    let of_trial = |trial: &earfirst::outside::session::Trial| {
        let phrase = session.band.iter().flat_map(|chorus| &chorus.phrases).find(|it| it.cue == trial.cue.number);
        let asked: Vec<i32> = phrase.unwrap().line.notes.iter().map(|note| note.pitch.0).collect();
        let heard = trial.answer.as_ref().unwrap().heard.iter().map(|note| note.pitch.nearest());
        asked.into_iter().chain(heard).collect::<Vec<i32>>()
    };
    session.traded.iter().flat_map(of_trial).collect()
}

fn traded(desk: &Desk, typed: &str) -> (String, Session) {
    desk.done(&format!("trade {typed} --simulated --fast --musicxml now.musicxml"));
    desk.done("review data/sessions --musicxml later.musicxml");
    let [now, later] =
        ["now.musicxml", "later.musicxml"].map(|file| std::fs::read_to_string(desk.0.join(file)).unwrap());
    assert_eq!(now, later, "the score at the end is the score of the record");
    let found = read_sessions(&[desk.0.join("data/sessions")]);
    (now, found.sessions[0].session().unwrap())
}

#[test]
fn a_trade_is_written_on_two_staves_whose_bars_add_up_with_the_notes_of_its_record() {
    for (n, (typed, bars, symbols)) in [
        ("blues --key G --instrument flute --tempo 240 --choruses 1 --seed 3 --up-to 2", 24, 24),
        ("ii-v-i --bars 2 --finish --instrument alto-sax --tempo 280 --choruses 1 --seed 4 --up-to 2", 8, 0),
        ("minor-blues --key D --vary --instrument bass-guitar --tempo 280 --choruses 1 --seed 5 --up-to 2", 24, 0),
    ]
    .into_iter()
    .enumerate()
    {
        let desk = Desk::new(&format!("trade-score-{n}"));
        let (text, session) = traded(&desk, typed);
        let [line, chords] = &read(&text)[..] else { panic!("two staves") };
        assert_eq!((line.bars.len(), chords.bars.len()), (bars, bars), "{typed}");
        for bar in line.bars.iter().chain(&chords.bars) {
            assert!((bar - 4.0).abs() < 1e-9, "{typed}: {bar} quarters");
        }
        assert_eq!(line.pitches, recorded(&session), "{typed}");
        assert_eq!(line.symbols.len(), chords.symbols.len());
        // The blues has a chord a bar.
        assert!(symbols == 0 || line.symbols.len() == symbols, "{typed}: {:?}", line.symbols);
        assert!(chords.stacked > 2 * chords.pitches.len(), "third, fifth and seventh over the root");
        let said = |what: &str| line.words.iter().filter(|words| words.starts_with(what)).count();
        let phrases = session.traded.len();
        assert_eq!((said("asked: bar"), said("played")), (phrases, phrases), "{typed}: {:?}", line.words);
        assert!(said("landing") >= phrases, "{typed}: {:?}", line.words);
        let seams: usize = session.traded.iter().map(|trial| trial.cue.seam_notes().len()).sum();
        assert!(said("seam") >= seams && said("chorus 1 in") == 1, "{typed}: {:?}", line.words);
    }
}

#[test]
fn what_has_no_score_says_so() {
    let desk = Desk::new("trade-score-none");
    desk.done("trade blues --free --instrument flute --tempo 280 --choruses 1 --seed 2 --simulated --fast");
    let (code, said) = desk.run("review data/sessions --musicxml none.musicxml");
    assert!(code == 2 && said.contains("earfirst analyse"), "{said}");
}

/// Reads a score with music21 and says where it differs from the record.
const READER: &str = r#"
import json, sys, music21 as m
meant = json.load(open(sys.argv[2]))
score = m.converter.parse(sys.argv[1], forceSource=True)
assert len(score.parts) == 2, len(score.parts)
line, chords = score.parts
for part in (line, chords):
    symbols = list(part.recurse().getElementsByClass("ChordSymbol"))
    assert len(symbols) == meant["symbols"], len(symbols)
    for symbol in symbols: part.remove(symbol, recurse=True)
    bars = list(part.getElementsByClass("Measure"))
    assert len(bars) == meant["bars"], len(bars)
    for bar in bars: assert sum(n.quarterLength for n in bar.notesAndRests) == 4, bar.number
first = lambda n: n.tie is None or n.tie.type == "start"
pitches = [n.pitch.midi for n in line.toSoundingPitch().recurse().notes if first(n)]
assert pitches == meant["pitches"], (pitches, meant["pitches"])
assert all(len(n.pitches) >= 3 for n in chords.recurse().notes)
print(len(pitches), "notes,", len(bars), "bars,", len(symbols), "chord symbols agree")
"#;

/// With `EARFIRST_LONGER` and where python3 has music21 (an independent reader): the score says what the record says.
#[test]
fn an_independent_reader_finds_the_trade_in_its_score() {
    let there =
        || Command::new("python3").args(["-c", "import music21"]).output().is_ok_and(|run| run.status.success());
    if std::env::var_os("EARFIRST_LONGER").is_none() || !there() {
        return;
    }
    for (n, typed) in [
        "rhythm-changes --key Eb --instrument trumpet --tempo 280 --choruses 1 --seed 6 --up-to 3",
        "blues-ii-v --finish --bars 2 --instrument tenor-sax --tempo 280 --choruses 2 --seed 7 --up-to 2",
    ]
    .into_iter()
    .enumerate()
    {
        let desk = Desk::new(&format!("trade-score-read-{n}"));
        let (text, session) = traded(&desk, typed);
        let ours = read(&text);
        let meant = serde_json::json!({
            "pitches": recorded(&session), "bars": ours[0].bars.len(), "symbols": ours[0].symbols.len(),
        });
        desk.file("meant.json", meant.to_string().as_bytes());
        let files = ["now.musicxml", "meant.json"].map(|file| desk.0.join(file));
        let run = Command::new("python3").args(["-c", READER]).args(files).output().unwrap();
        println!("{}", String::from_utf8_lossy(&run.stdout));
        assert!(run.status.success(), "{typed}: {}", String::from_utf8_lossy(&run.stderr));
    }
}
