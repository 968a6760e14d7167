//! The library of forms, compared with what handbooks of harmony say of each form: its bars, its functions, the order of its keys.

use crate::chart::file::read_forms;
use crate::chart::{Forms, check_forms, print_form};
use crate::music::{ChordSymbol, PitchClass};

/// The chords of a form, bar by bar: half steps of the root above the tonic, and the quality.
fn bars(id: &str, tonic: i32) -> Vec<Vec<(i32, String)>> {
    let chorus = Forms::builtin().find(id).unwrap().in_key(PitchClass::new(tonic), false).chorus();
    let mut bars = vec![Vec::new(); chorus.bars as usize];
    for change in &chorus.changes {
        let chord: &ChordSymbol = change.chord.as_ref().unwrap();
        let above = (chord.root.class().get() - tonic).rem_euclid(12);
        bars[(change.at / chorus.meter) as usize].push((above, chord.quality.to_string()));
    }
    bars
}

fn same(id: &str, expected: &str) {
    for tonic in 0..12 {
        let found: Vec<String> = bars(id, tonic)
            .iter()
            .map(|bar| bar.iter().map(|(above, quality)| format!("{above}:{quality}")).collect::<Vec<_>>().join(","))
            .collect();
        assert_eq!(found.join(" "), expected, "{id} on {tonic}");
    }
}

#[test]
fn there_are_two_dozen_forms_and_each_tells_its_source() {
    let forms = Forms::builtin().all();
    assert!(forms.len() >= 24, "{}", forms.len());
    for form in forms {
        assert!(form.source.starts_with("common practice"), "{}", form.id);
        let text = print_form(form);
        assert_eq!(read_forms(&text), (vec![form.clone()], vec![]), "{text}");
        assert!(Forms::builtin().find(&form.name).is_ok_and(|found| found.id == form.id));
    }
    for text in [
        include_str!("../../assets/charts/blues.toml"),
        include_str!("../../assets/charts/cadences.toml"),
        include_str!("../../assets/charts/vamps.toml"),
        include_str!("../../assets/charts/songs.toml"),
    ] {
        assert_eq!(check_forms(text), []);
    }
}

#[test]
fn the_blues_has_its_functions_in_twelve_bars() {
    // Common practice: I I I I IV IV I I V IV I I, all dominant sevenths.
    same("blues", "0:7 0:7 0:7 0:7 5:7 5:7 0:7 0:7 7:7 5:7 0:7 0:7");
    same("blues-quick-change", "0:7 5:7 0:7 0:7 5:7 5:7 0:7 0:7 7:7 5:7 0:7 7:7");
    same("blues-ii-v", "0:7 5:7 0:7 0:7 5:7 5:7 0:7 0:7 2:m7 7:7 0:7 2:m7,7:7");
    same("blues-vi7", "0:7 5:7 0:7 7:m7,0:7 5:7 6:dim7 0:7 9:7 2:m7 7:7 0:7,9:7 2:m7,7:7");
    same("minor-blues", "0:m7 0:m7 0:m7 0:m7 5:m7 5:m7 0:m7 0:m7 8:7 7:7 0:m7 0:m7");
}

#[test]
fn a_tritone_substitute_has_the_third_and_seventh_of_what_it_stands_for() {
    // Common practice: its root lies six half steps from the dominant's, and its third and seventh are the dominant's
    // seventh and third.
    let (plain, other) = (bars("blues-vi7", 0), bars("blues-tritone", 0));
    let mut found = 0;
    for (ours, theirs) in plain.iter().flatten().zip(other.iter().flatten()) {
        if ours.0 != theirs.0 {
            assert_eq!((theirs.0 - ours.0).rem_euclid(12), 6, "{ours:?} {theirs:?}");
            assert_eq!(theirs.1, "7");
            let guides = |root: i32| [(root + 4) % 12, (root + 10) % 12];
            let (mut one, mut two) = (guides(ours.0), guides(theirs.0));
            one.sort_unstable();
            two.sort_unstable();
            assert_eq!(one, two);
            found += 1;
        }
    }
    assert_eq!(found, 4);
    same("turnaround-substitutes", "0:maj7,3:7 8:maj7,1:7 0:maj7,3:7 8:maj7,1:7");
}

#[test]
fn cycles_visit_twelve_keys_in_their_order_and_each_cell_is_a_cadence() {
    for (id, step, cell) in [
        ("ii-v-i-round-fourths", 5, &["2:m7", "7:7", "0:maj7", "0:maj7"][..]),
        ("ii-v-i-by-half-steps", 1, &["2:m7", "7:7", "0:maj7", "0:maj7"]),
        ("minor-ii-v-i-round-fourths", 5, &["2:m7b5", "7:7b9", "0:m6", "0:m6"]),
        ("minor-ii-v-i-by-half-steps", 1, &["2:m7b5", "7:7b9", "0:m6", "0:m6"]),
        ("short-ii-v-i-round-fourths", 5, &["2:m7 7:7", "0:maj7"]),
        ("cycle-of-dominants", 5, &["0:7", "0:7"]),
    ] {
        for tonic in [0, 3, 6, 11] {
            let bars = bars(id, tonic);
            assert_eq!(bars.len(), 12 * cell.len(), "{id}");
            for (n, bar) in bars.iter().enumerate() {
                let key = step * (n / cell.len()) as i32;
                let own: Vec<String> =
                    bar.iter().map(|(above, q)| format!("{}:{q}", (above - key).rem_euclid(12))).collect();
                assert_eq!(own.join(" "), cell[n % cell.len()], "{id}, bar {n}");
            }
        }
    }
    // Down by whole steps six keys are met; the other six follow a half step higher.
    let keys: Vec<i32> = bars("ii-v-i-down-whole-steps", 0).chunks(4).map(|cell| cell[2][0].0).collect();
    assert_eq!(keys, [0, 10, 8, 6, 4, 2, 1, 11, 9, 7, 5, 3]);
    let dominants: Vec<i32> = bars("cycle-of-dominants", 0).chunks(2).map(|cell| cell[0][0].0).collect();
    assert!(
        dominants.windows(2).all(|pair| (pair[0] - pair[1]).rem_euclid(12) == 7),
        "each is the dominant of the next"
    );
}

#[test]
fn each_key_of_a_cycle_is_spelled_as_that_key_is() {
    let chart = Forms::builtin().find("ii-v-i-round-fourths").unwrap().in_key(PitchClass::new(5), false);
    let names: Vec<&str> = chart.strains().iter().filter_map(|strain| strain.name.as_deref()).collect();
    assert_eq!(names, ["F", "Bb", "Eb", "Ab", "Db", "F#", "B", "E", "A", "D", "G", "C"]);
    let text = chart.to_string();
    for line in ["F#: | G#m7 | C#7 | F#maj7 | %", "B: | C#m7 | F#7 | Bmaj7 | %", "Db: | Ebm7 | Ab7 | Dbmaj7 | %"] {
        assert!(text.contains(line), "{line} in {text}");
    }
    assert_eq!(crate::chart::ChordChart::parse(&text), Ok(chart));
}

#[test]
fn descending_ii_vs_come_down_and_end_at_home() {
    same("descending-ii-vs", "4:m7,9:7 3:m7,8:7 2:m7,7:7 0:maj7");
    same("ii-vs-down-whole-steps", "6:m7,11:7 4:m7,9:7 2:m7,7:7 0:maj7");
}

#[test]
fn the_long_forms_have_their_strains_and_end_on_the_tonic() {
    // Common practice: AABA and ABAC are four times eight bars; the bridge of the rhythm-changes form is III7 VI7 II7 V7.
    for (id, names, bars_in_all) in
        [("rhythm-changes", "A B A", 32), ("practice-aaba", "A B A", 32), ("practice-abac", "A B A C", 32)]
    {
        let chart = Forms::builtin().find(id).unwrap().in_key(PitchClass::new(10), false);
        let found: Vec<&str> = chart.strains().iter().filter_map(|strain| strain.name.as_deref()).collect();
        assert_eq!(found.join(" "), names, "{id}");
        let all = bars(id, 10);
        assert_eq!(all.len(), bars_in_all, "{id}");
        assert_eq!(all.last().unwrap().last().unwrap().0, 0, "{id}");
    }
    let rhythm = bars("rhythm-changes", 0);
    let bridge: Vec<(i32, &str)> = rhythm[16..24].iter().map(|bar| (bar[0].0, bar[0].1.as_str())).collect();
    assert_eq!(bridge, [(4, "7"), (4, "7"), (9, "7"), (9, "7"), (2, "7"), (2, "7"), (7, "7"), (7, "7")]);
    assert_eq!(rhythm[..6], rhythm[24..30], "the last A is the first");
}

#[test]
fn modal_forms_stay_eight_bars_on_each_chord() {
    for (id, second) in [("modal-8-and-8", 1), ("modal-fourths-8-and-8", 5)] {
        let roots: Vec<i32> = bars(id, 2).iter().map(|bar| bar[0].0).collect();
        assert_eq!(roots, [[0; 8], [second; 8]].concat(), "{id}");
    }
    assert_eq!(bars("vamp-in-five", 0).len(), 8);
}

#[test]
fn a_form_that_is_not_there_is_told_with_what_is_near() {
    let unknown = Forms::builtin().find("minor-bleus").unwrap_err();
    assert_eq!(unknown.nearest[0], "minor-blues");
    assert!(Forms::builtin().find("Minor Blues").is_ok());
}

#[test]
fn what_is_wrong_in_a_file_of_forms_is_pointed_at_in_the_file() {
    let text = "[[chart]]\nid = \"mine\"\nname = \"mine\"\nbars = \"\"\"\n| C | H7 |\"\"\"\n";
    let wrong = check_forms(text);
    assert_eq!((wrong[0].line, wrong[0].column), (5, 7), "{}", wrong[0]);
    for (text, what) in [
        ("", "no form"),
        ("[[chart]]\nid = \"a\"\nname = \"a\"\n", "bars is missing"),
        ("[[chart]]\nid = \"A b\"\nname = \"a\"\nbars = \"| C |\"\n", "small letters"),
        ("[[chart]]\nid = \"a\"\nname = \"a\"\nbar = \"| C |\"\n", "no field is called bar"),
        ("[[chart]]\nid = \"a\"\nname = \"a\"\nbars = \"| C |\"\ncycle = \"fifth\"\n", "no cycle"),
        ("[[chart]]\nid = \"a\"\nname = \"a\"\nbars = \"| C |\"\ntempo = 999\n", "out of reach"),
        ("[[chart]\n", "TOML"),
        ("[chart]\nid = \"a\"\nname = \"a\"\nbars = \"| C |\"\n", "write [[chart]] in double brackets"),
        ("chart = \"| C |\"\n", "write [[chart]] in double brackets"),
        ("[[chart]]\nid = \"a\"\nname = \"a\"\nbars = \"| C |\"\n[[chrat]]\nid = \"b\"\n", "write `chart`"),
    ] {
        let wrong = check_forms(text);
        assert!(wrong.iter().any(|one| one.to_string().contains(what)), "{text}: {wrong:?}");
    }
}
