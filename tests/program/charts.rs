//! Charts as scores: written to MusicXML, read again by the program's reader, and files of strangers.

use std::collections::BTreeSet;

use crate::desk::Desk;
use earfirst::outside::chart::{ChordChart, Forms};
use earfirst::outside::exchange::{ChartSheet, Refused, chart_from_musicxml, chart_to_musicxml};
use earfirst::outside::music::{HalfSteps, PitchClass, chords, instrument};
use earfirst::outside::units::Tempo;

fn score(chart: &ChordChart, transposition: i32) -> Vec<u8> {
    let title = "a form".to_owned();
    let (transposition, tempo) = (HalfSteps(transposition), Tempo(120.0));
    chart_to_musicxml(&ChartSheet { title, chart: chart.clone(), transposition, tempo, swing: true })
}

fn back(bytes: &[u8]) -> ChordChart {
    chart_from_musicxml(bytes).unwrap_or_else(|why| panic!("{why}\n{}", String::from_utf8_lossy(bytes))).1
}

#[test]
fn every_form_in_every_key_comes_back_from_its_score() {
    for form in Forms::builtin().all() {
        for key in 0..12 {
            let chart = form.in_key(PitchClass::new(key), false);
            let read = back(&score(&chart, 0));
            assert_eq!(read.to_string(), chart.to_string(), "{}", form.id);
            assert_eq!(read, chart, "{}", form.id);
        }
    }
}

#[test]
fn every_chord_that_can_be_written_comes_back_from_a_score() {
    let mut symbols: Vec<String> = chords().iter().map(|chord| format!("Bb{}", chord.quality)).collect();
    symbols.extend(["Bb7b9#9", "Bb(b5)", "Bb7add13", "BbdimMaj7", "F#m7/E", "C6/9/G"].map(str::to_owned));
    for symbol in symbols {
        let chart = ChordChart::parse(&format!("in F | {symbol} | C7 N.C. |")).unwrap();
        assert_eq!(back(&score(&chart, 0)).to_string(), chart.to_string(), "{symbol}");
    }
}

#[test]
fn endings_pick_up_and_meters_come_back_from_a_score() {
    for text in [
        "in C\npick-up G7 -\n| C |",
        "in C 3/4\n|: C | F - G7 :| 3x\n| C |",
        "in C 5/4\n|: C |1. F |% :|2. G7 | C || Am7 |\n|: Dm7 | G7 :|",
        "in C\nA: |: C |1. F :|2. G7 :|3. C |\nB: | Am7 | N.C. |\n|: F :|\n|: G7 :|",
    ] {
        let chart = ChordChart::parse(text).unwrap();
        assert_eq!(back(&score(&chart, 0)).to_string(), chart.to_string());
    }
}

#[test]
fn a_page_for_an_instrument_sounds_as_the_chart_does() {
    for (id, half_steps) in [("trumpet", -2), ("alto-sax", -9), ("tenor-sax", -14), ("guitar", 0)] {
        assert!(instrument(id).is_ok_and(|one| one.transposition.0 == half_steps || id == "guitar"));
        let chart = Forms::builtin().find("minor-blues-ii-v").unwrap().in_key(PitchClass::new(0), false);
        let written = chart.in_key(chart.tonality(PitchClass::new(-half_steps), false).tonic);
        assert_eq!(back(&score(&written, half_steps)), chart, "{id}");
    }
}

fn strange(measures: &str) -> Result<ChordChart, Refused> {
    let xml = format!("<score-partwise><part id=\"P1\">{measures}</part></score-partwise>");
    chart_from_musicxml(xml.as_bytes()).map(|read| read.1)
}

fn harmony(root: &str, kind: &str) -> String {
    format!("<harmony><root><root-step>{root}</root-step></root><kind>{kind}</kind></harmony>")
}

#[test]
fn a_lead_sheet_with_a_tune_and_chords_between_its_notes_is_read() {
    let note = |length: u32| {
        format!("<note><pitch><step>C</step><octave>4</octave></pitch><duration>{length}</duration></note>")
    };
    let xml = format!(
        "<measure number=\"1\"><attributes><divisions>2</divisions><time><beats>4</beats><beat-type>4</beat-type></time>\
         </attributes>{}{}{}{}</measure><measure number=\"2\">{}{}</measure><measure number=\"3\">{}<barline><repeat \
         direction=\"backward\"/></barline></measure>",
        harmony("D", "minor-seventh"),
        note(4),
        harmony("G", "dominant"),
        note(4),
        harmony("C", "major-seventh"),
        note(8),
        note(8),
    );
    assert_eq!(strange(&xml).unwrap().to_string(), "in C\n|: Dm7 G7 | Cmaj7 | % :|");
}

#[test]
fn what_no_chart_can_hold_is_refused_with_its_place() {
    let time = |beats, unit| {
        format!("<attributes><time><beats>{beats}</beats><beat-type>{unit}</beat-type></time></attributes>")
    };
    let half = "<note><rest/><duration>0.5</duration></note>";
    for (measures, what) in [
        (format!("<measure number=\"1\">{}</measure>", time(6, 8)), "6/8"),
        (
            format!("<measure number=\"7\">{half}{}</measure>", harmony("C", "major")),
            "measure 7: a chord begins between",
        ),
        (format!("<measure number=\"1\">{}</measure>", harmony("C", "Neapolitan")), "kind Neapolitan"),
        ("<measure number=\"1\"/>".to_owned(), "no chord symbol"),
        ("<measure number=\"1\"><harmony><kind>major</kind></harmony></measure>".to_owned(), "no root"),
    ] {
        let told = strange(&measures).unwrap_err().to_string();
        assert!(told.contains(what), "{told}");
    }
}

#[test]
fn reading_a_damaged_score_never_panics() {
    let chart = Forms::builtin().find("rhythm-changes").unwrap().in_key(PitchClass::new(10), false);
    let whole = score(&chart, 0);
    let mut refused = 0;
    for n in 0..400 {
        let mut bytes = whole.clone();
        let at = (n * 7919) % bytes.len();
        match n % 3 {
            0 => bytes.truncate(at),
            1 => bytes[at] = b'<',
            _ => drop(bytes.drain(at..(at + 40).min(whole.len()))),
        }
        refused += usize::from(chart_from_musicxml(&bytes).is_err());
    }
    assert!(refused > 100, "{refused}");
}

#[test]
fn a_player_lists_shows_and_moves_the_charts() {
    let desk = Desk::new("charts-shown");
    let listed = desk.done("charts list");
    assert!(listed.contains("blues-ii-v") && listed.contains("12 bars  4/4"), "{listed}");
    assert!(desk.done("charts show minor-blues").contains("| bVI7 | V7 | Im7 | % |"));
    // Written Eb of a trumpet stands as Eb on its page; the sixth degree of its minor is Cb (common practice).
    let shown = desk.done("charts show minor-blues --key Eb --instrument trumpet");
    assert!(shown.contains("| Cb7 | Bb7 | Ebm7 | % |"), "{shown}");
    let json: serde_json::Value = serde_json::from_str(&desk.done("charts show blues --key F --json")).unwrap();
    assert_eq!(json["beats"].as_array().unwrap().len(), 48);
    assert_eq!(json["beats"][16], "Bb7");
    let (code, said) = desk.run("charts show bleus");
    assert!(code == 2 && said.contains("near it: blues"), "{said}");
}

#[test]
fn a_player_writes_a_tune_down_keeps_it_and_is_told_what_to_mend() {
    let desk = Desk::new("charts-kept");
    let wrong = desk.file("wrong.txt", b"| Dm7 | G7 G7 G7 |\n|: Cmaj7 | H7 |");
    let (code, said) = desk.run(&format!("charts check {wrong}"));
    assert_eq!(code, 4);
    for told in ["wrong.txt:1:9:", "write 4 signs", "wrong.txt:2:1:", "never closed", "wrong.txt:2:12:"] {
        assert!(said.contains(told), "{told} in {said}");
    }
    let tune = desk.file("tune.txt", b"A: | Dm7 | G7 | Cmaj7 A7 | % |\n");
    desk.done(&format!("charts check {tune}"));
    desk.done(&format!("charts import {tune} --name my-tune"));
    let shown = desk.done("charts show my-tune --key F --instrument flute");
    assert!(shown.contains("A: | Gm7 | C7 | Fmaj7 D7 | %"), "{shown}");
    let (code, said) = desk.run(&format!("charts import {tune} --name my-tune"));
    assert!(code == 4 && said.contains("Nothing was written"), "{said}");
    desk.done("charts export my-tune --key G --instrument tenor-sax --musicxml tune.musicxml");
    // Written G of a tenor saxophone sounds F.
    let printed = desk.done("charts import tune.musicxml --name again --print");
    assert!(printed.contains("in F\nA: | Gm7 | C7 | Fmaj7 D7 | %"), "{printed}");
}

#[test]
fn a_band_plays_a_chart_into_a_file_the_same_for_the_same_seed() {
    let desk = Desk::new("charts-sounded");
    let told = desk.done("charts sound turnaround-vi7 --key C --concert --tempo 200 --choruses 1 --wav one.wav");
    // Two bars of lead-in, four of the form, one of the end: 28 beats of .3 s.
    assert!(told.contains("8.4 s") && told.contains("-1"), "{told}");
    desk.done("charts sound turnaround-vi7 --key C --concert --tempo 200 --choruses 1 --seed 2 --wav two.wav");
    desk.done("charts sound turnaround-vi7 --key C --concert --tempo 200 --choruses 1 --wav again.wav");
    let bytes = |name: &str| std::fs::read(desk.0.join(name)).unwrap();
    assert!(bytes("one.wav") == bytes("again.wav") && bytes("one.wav") != bytes("two.wav"));
    for (line, told) in [
        ("charts sound blues --tempo 20 --wav out.wav", "40 to 300"),
        ("charts sound blues --level 0 --wav out.wav", "-60 to -12"),
        ("charts sound blues --choruses 100 --tempo 60 --wav out.wav", "fewer --choruses"),
    ] {
        let (code, said) = desk.run(line);
        assert!(code == 2 && said.contains(told), "{said}");
    }
}

#[test]
fn music21_reads_the_same_chords_on_the_same_beats() {
    // How they were asked for is said in the file.
    let mut read = 0;
    for row in include_str!("../data/music21/charts.tsv").lines().filter(|line| !line.starts_with('#')) {
        let [id, key, beats, chords] = row.split('\t').collect::<Vec<_>>()[..] else { panic!("{row}") };
        let class = key.parse::<earfirst::outside::music::PitchName>().unwrap().class();
        let chorus = Forms::builtin().find(id).unwrap().in_key(class, false).chorus();
        assert_eq!(chorus.beats().to_string(), beats, "{id}");
        let ours = chorus.changes.iter().map(|change| {
            let chord = change.chord.as_ref().unwrap();
            let mut tones: BTreeSet<i32> = chord.tones().iter().map(|tone| tone.class().get()).collect();
            // A seventh that is added to a suspended fourth without an alteration is minor, because an added degree is relative to a
            // dominant chord (MusicXML 4.0, `degree-alter`). music21 adds a major one, so ours is made major for the comparison.
            let above = |steps: i32| (chord.root.class().get() + steps).rem_euclid(12);
            if tones == BTreeSet::from([above(0), above(5), above(7), above(10)]) {
                tones.remove(&above(10));
                tones.insert(above(11));
            }
            let tones: Vec<String> = tones.iter().map(ToString::to_string).collect();
            format!("{}:{}:{}", change.at, chord.root, tones.join(","))
        });
        assert_eq!(ours.collect::<Vec<_>>().join(" "), chords, "{id} in {key}");
        read += 1;
    }
    assert_eq!(read, Forms::builtin().all().len());
}
