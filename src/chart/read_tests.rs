use proptest::prelude::*;

use crate::chart::model::{ChartBar, ChordChart, ChordShare, Passage, Strain};
use crate::chart::numeral::Numeral;
use crate::music::{ChordQuality, Degree, PitchName, Tonality};

fn chart(text: &str) -> ChordChart {
    ChordChart::parse(text).unwrap_or_else(|wrong| panic!("{}", wrong[0]))
}

/// The chords of each beat, as they are named.
fn beats(text: &str) -> String {
    let chorus = chart(text).chorus();
    let named = chorus.each_beat().map(|chord| chord.map_or("N.C.".to_owned(), ToString::to_string));
    named.collect::<Vec<_>>().join(" ")
}

fn first_wrong(text: &str) -> String {
    ChordChart::parse(text).unwrap_err()[0].to_string()
}

#[test]
fn a_bar_with_one_chord_is_filled_by_it_and_two_share_it() {
    assert_eq!(beats("| Dm7 | G7 | Cmaj7 | % |").split(' ').filter(|name| *name == "Cmaj7").count(), 8);
    assert_eq!(beats("| Dm7 G7 |"), "Dm7 Dm7 G7 G7");
    assert_eq!(beats("| Dm7 - - G7 |"), "Dm7 Dm7 Dm7 G7");
    assert_eq!(beats("| Dm7 / G7 / |"), "Dm7 Dm7 G7 G7", "a slash a beat, as in the trade");
    assert_eq!(beats("3/4 | C - G7 |"), "C C G7");
    assert_eq!(beats("5/4 | Cm7 - - Gm7 - |"), "Cm7 Cm7 Cm7 Gm7 Gm7");
    assert_eq!(beats("| C N.C. |"), "C C N.C. N.C.");
}

#[test]
fn repeats_and_endings_are_played_out() {
    let bars = |text: &str| {
        let chorus = chart(text).chorus();
        let firsts = chorus.each_beat().step_by(4).map(|chord| chord.map(|chord| chord.root.to_string()));
        firsts.map(Option::unwrap_or_default).collect::<String>()
    };
    assert_eq!(bars("|: C | D :| E |"), "CDCDE");
    assert_eq!(bars("|: C | D :| 3x | E |"), "CDCDCDE");
    assert_eq!(bars("|: C | D |1. E :|2. F || G |"), "CDECDFG");
    assert_eq!(bars("|: C |1. E :|2. F :|3. G ||"), "CECFCG");
    assert_eq!(bars("A: |: C :| B: D | A: |C|"), "CCDC");
}

#[test]
fn strains_keep_their_names_and_places() {
    let chorus = chart("A: |: C | D :|\nB: | E |\n| F |\nA: | C | D |").chorus();
    let named: Vec<_> = chorus.strains.iter().map(|(bar, name)| (*bar, name.as_deref().unwrap())).collect();
    assert_eq!(named, [(0, "A"), (4, "B"), (6, "A")]);
    assert_eq!(chorus.strain(5), Some("B"));
    assert_eq!((chorus.bars, chorus.beats()), (8, 32));
}

#[test]
fn a_pick_up_stands_before_the_first_bar() {
    let chorus = chart("pick-up G7 - | Cmaj7 | % |").chorus();
    assert_eq!((chorus.pickup_beats(), chorus.bars), (2, 2));
    assert_eq!(chorus.under(0).and_then(|change| change.chord.as_ref()).unwrap().to_string(), "Cmaj7");
    assert_eq!(chorus.under(8), None);
}

#[test]
fn the_same_changes_in_letters_and_in_numerals_are_the_same_chart_in_any_key() {
    let letters = chart("| Dm7 | G7 | Cmaj7 A7 | % |");
    let numerals = chart("| IIm7 | V7 | Imaj7 VI7 | % |");
    assert_eq!(letters.in_numerals(), numerals);
    assert_eq!(numerals.in_key("C".parse().unwrap()), letters);
    let eb = numerals.in_key("Eb".parse().unwrap());
    assert_eq!(eb.to_string(), "in Eb\n| Fm7 | Bb7 | Ebmaj7 C7 | % |");
    assert_eq!(chart("in Eb | IIm7 | V7 | Imaj7 VI7 | % |"), eb, "numerals may be told their key");
}

#[test]
fn a_chart_that_tells_no_key_ends_at_home_or_begins_there() {
    // Common practice: a dominant comes to rest a fifth lower, its substitute a half step lower.
    let home = |text: &str| chart(text).home().unwrap().to_string();
    assert_eq!(home("| Dm7 | G7 | Cmaj7 | % |"), "C");
    assert_eq!(home("| Am7 | Ab7 | Gmaj7 |"), "G");
    assert_eq!(home("| Dm7 | G7 | Cmaj7 A7 | % |"), "C", "a turnaround may follow");
    assert_eq!(home("| F#m7b5 | B7b9 | Em6 |"), "E");
    assert_eq!(home("| F7 | Bb7 | F7 | C7 |"), "F");
    assert_eq!(home("| Bbmaj7 Gm7 | Cm7 F7 |"), "Bb");
    assert_eq!(home("in Ab | Fm7 | Bbm7 Eb7 |"), "Ab");
}

#[test]
fn slash_basses_move_with_the_key() {
    assert_eq!(chart("| C/E | G7/B |").in_key("Ab".parse().unwrap()).to_string(), "in Ab\n| Ab/C | Eb7/G |");
    assert_eq!(chart("| C/E | G7/B |").in_numerals().to_string(), "| I/III | V7/VII |");
    assert_eq!(chart("| I6/9/V | V7/VII |").in_key("D".parse().unwrap()).to_string(), "in D\n| D6/9/A | A7/C# |");
}

#[test]
fn roots_are_named_as_on_a_page() {
    let roots = |text: &str, key: &str| {
        let chart = chart(text).in_key(key.parse().unwrap());
        let chords = chart.chorus().changes.into_iter().filter_map(|change| change.chord);
        chords.map(|chord| chord.root.to_string()).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(roots("| bII7 | bIII7 | bVI7 | bVII7 | #IVdim7 |", "Db"), "D E A B G");
    assert_eq!(roots("| IV7 | bVII7 |", "Gb"), "Cb E", "Cb where the key has it, no Fb");
    assert_eq!(roots("| VII7 | III7 |", "F#"), "E# A#");
}

#[test]
fn what_is_wrong_is_pointed_at_and_mended() {
    for (text, place, mend) in [
        ("| Dm7 | H7 |", "1:9", "capital letter from A to G"),
        ("| Dm7 | dm7 |", "1:9", "write `Dm7`"),
        ("| IIm7 | iim7 |", "1:10", "write `IIm7`"),
        ("| ii7 | V7 |", "1:3", "write `IIm7`"),
        ("| C | Cm7b |", "1:11", "after the sign"),
        ("| C D E |", "1:3", "write 4 signs, a beat each"),
        ("3/4 | C D |", "1:7", "write 3 signs"),
        ("| C\n| C D E F G |", "2:3", "write 4 signs"),
        ("| % | C |", "1:3", "write its chord"),
        ("| C % |", "1:5", "alone between bar lines"),
        ("| - C |", "1:3", "N.C."),
        ("|: C | D |", "1:1", "write `:|`"),
        ("A: |: C | D |\nB: | E |", "1:4", "write `:|`"),
        ("| C | D :|", "1:9", "write `|:`"),
        ("|: C |: D :|", "1:1", "write `:|`"),
        ("|: C |1. D :| E |", "1:15", "`2.`"),
        ("| C |1. D |", "1:6", "each after a bar line"),
        ("|: C |2. D :|", "1:7", "each after a bar line"),
        ("| C | | D |", "1:7", "write a chord"),
        ("| C |:| D |", "1:5", "blanks between two"),
        ("| C | V7 |", "1:7", "write all in letters"),
        ("9/4 | C |", "1:1", "2/4 to 7/4"),
        ("in H | C |", "1:4", "in Eb"),
        ("pick-up C D E F | C |", "1:9", "as a bar"),
        ("|: C | D :| pick-up G | C |", "1:13", ""),
        ("|: C |1. D :|2. E || pick-up G | C |", "1:22", ""),
        ("", "1:1", "| Dm7 | G7 |"),
        ("|: C :| 99x", "1:9", "2x to 16x"),
    ] {
        let said = first_wrong(text);
        assert!(said.starts_with(&format!("{place}:")) && said.contains(mend), "{text}: {said}");
    }
}

#[test]
fn all_misprints_are_told_at_once() {
    let wrong = ChordChart::parse("| H7 | C D E |\n| X |").unwrap_err();
    assert_eq!(wrong.iter().map(|one| (one.line, one.column)).collect::<Vec<_>>(), [(1, 3), (1, 8), (2, 3)]);
}

#[test]
fn reading_charts_never_panics_on_any_text() {
    const PIECES: [&str; 24] = [
        "|", "||", "|:", ":|", ":", "1.", "2.", "3x", "%", "-", "/", "N.C.", "Dm7", "IIm7", "A:", "in", "Eb", "5/4",
        "pick-up", "\n", " ", "é", "G7/B", "V7/",
    ];
    arbtest::arbtest(|bytes| {
        let mut text = String::new();
        for _ in 0..bytes.int_in_range(0..=24)? {
            text.push_str(bytes.choose(&PIECES)?);
            if bytes.arbitrary()? {
                text.push(' ');
            }
        }
        if let Ok(chart) = ChordChart::parse(&text) {
            assert_eq!(ChordChart::parse(&chart.to_string()).as_ref(), Ok(&chart), "{text}");
        }
        let text: String = bytes.arbitrary()?;
        let _ = ChordChart::parse(&text);
        Ok(())
    });
}

/// Draws any numeral.
fn numeral() -> impl Strategy<Value = Numeral> {
    let quality =
        prop::sample::select(vec!["", "m", "7", "maj7", "m7b5", "dim7", "7#9", "6/9", "sus4", "mMaj7", "7alt"]);
    let degree = || (0..7, -1..=1).prop_map(|(letters, sign)| Degree::altered(letters, sign));
    (degree(), quality, prop::option::weighted(0.2, degree())).prop_map(|(root, quality, bass)| {
        let quality = ChordQuality::parse(quality).unwrap();
        Numeral { root, quality, bass }
    })
}

fn bar(meter: u32) -> impl Strategy<Value = ChartBar> {
    let chord = prop::option::weighted(0.9, numeral());
    prop::collection::vec((1..=meter, chord), 1..=meter as usize).prop_map(move |drawn| {
        let mut left = meter;
        let mut shares = Vec::new();
        for (beats, chord) in drawn {
            let beats = beats.min(left);
            if beats > 0 {
                shares.push(ChordShare { beats, chord });
            }
            left -= beats;
        }
        shares.last_mut().unwrap().beats += left;
        ChartBar(shares)
    })
}

fn bars(meter: u32) -> impl Strategy<Value = Vec<ChartBar>> {
    // Each bar comes once or twice in a row; the second of two is printed as `%`.
    prop::collection::vec((bar(meter), 1..3usize), 1..4)
        .prop_map(|drawn| drawn.into_iter().flat_map(|(bar, times)| vec![bar; times]).collect())
}

fn any_chart() -> impl Strategy<Value = ChordChart> {
    (2..=7u32).prop_flat_map(|meter| {
        let passage = prop_oneof![
            bars(meter).prop_map(Passage::Once),
            (bars(meter), 2..5u32).prop_map(|(bars, times)| Passage::Repeated { bars, times }),
            (bars(meter), prop::collection::vec(bars(meter), 2..4))
                .prop_map(|(bars, endings)| Passage::Ended { bars, endings }),
        ];
        let strain = prop::collection::vec(passage, 1..4).prop_map(|mut passages| {
            // Two passages in a row that are played once read back as one passage.
            passages.dedup_by(|later, first| matches!((later, first), (Passage::Once(_), Passage::Once(_))));
            passages
        });
        let key = prop::option::of(0..12i32);
        let pickup = prop::collection::vec(numeral(), 0..meter as usize);
        (key, pickup, prop::collection::vec((strain, "[A-Z][a-z]{0,5}"), 1..4)).prop_map(move |(key, pickup, drawn)| {
            let named = drawn.into_iter().enumerate();
            let strains = named.map(|(n, (passages, name))| Strain { name: (n > 0).then_some(name), passages });
            let pickup = pickup.into_iter().map(|chord| ChordShare { beats: 1, chord: Some(chord) }).collect();
            let chart = ChordChart { home: None, meter, pickup, strains: strains.collect() };
            let tonic = key.map(|key| Tonality::major(crate::music::PitchClass::new(key), false).tonic);
            tonic.map_or(chart.clone(), |tonic| chart.in_key(tonic))
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn every_chart_reads_back_as_it_was_printed(chart in any_chart()) {
        let text = chart.to_string();
        let read = ChordChart::parse(&text);
        prop_assert_eq!(read.as_ref(), Ok(&chart), "{}", text);
        prop_assert_eq!(read.map(|read| read.to_string()), Ok(text));
    }

    #[test]
    fn a_chart_moved_up_and_back_sounds_the_same(chart in any_chart(), up in 0..12i32) {
        let classes = |chart: &ChordChart| -> Vec<Option<Vec<i32>>> {
            let sounds = |chord: &crate::music::ChordSymbol| {
                let tones = chord.tones().into_iter().chain(chord.bass);
                tones.map(|tone| tone.class().get()).collect()
            };
            chart.chorus().each_beat().map(|chord| chord.map(sounds)).collect()
        };
        let tonic = |class| Tonality::major(crate::music::PitchClass::new(class), false).tonic;
        let here = chart.in_key(PitchName::natural(crate::music::Letter::C));
        let there = here.in_key(tonic(up));
        let raised = classes(&here).into_iter().map(|chord| {
            chord.map(|tones| tones.into_iter().map(|tone| (tone + up) % 12).collect::<Vec<_>>())
        });
        prop_assert_eq!(raised.collect::<Vec<_>>(), classes(&there));
        prop_assert_eq!(classes(&there.in_key(tonic(0))), classes(&here));
    }
}
