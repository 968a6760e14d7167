//! Pattern files as strangers write them: every trouble told at its place, nothing that panics, and the schema in step.

use earfirst::outside::pattern::{self, PatternTrouble, Quality};
use serde_json::Value;

const SCHEMA: &str = include_str!("../../assets/schema/pattern.schema.json");
const FILES: [&str; 4] = [
    include_str!("../../assets/patterns/stepwise.toml"),
    include_str!("../../assets/patterns/half-steps.toml"),
    include_str!("../../assets/patterns/skips.toml"),
    include_str!("../../assets/patterns/phrase.toml"),
];

/// A right pattern with some fields replaced or added.
fn file(changes: &[(&str, &str)]) -> String {
    let mut fields = vec![
        ("id", "'a'"),
        ("name", "'a'"),
        ("family", "'stepwise'"),
        ("level", "1"),
        ("tempo", "[60, 90]"),
        ("notes", "'1 2 3'"),
    ];
    for change in changes {
        fields.retain(|field| field.0 != change.0);
        fields.push(*change);
    }
    let lines: Vec<String> = fields.iter().map(|(name, value)| format!("{name} = {value}\n")).collect();
    format!("[[pattern]]\n{}", lines.concat())
}

fn troubles(text: &str) -> Vec<PatternTrouble> {
    pattern::check(text, "mine.toml")
}

/// The one trouble of a file: what it points at and what is offered.
fn trouble(changes: &[(&str, &str)]) -> (String, Option<String>) {
    let text = file(changes);
    let all = troubles(&text);
    assert_eq!(all.len(), 1, "{text}\n{all:?}");
    (text[all[0].span.clone()].to_owned(), all[0].nearest.clone())
}

#[test]
fn a_trouble_is_told_with_file_line_column_and_the_right_spelling() {
    let text = "[[pattern]]\nid = \"turn\"\nname = \"turn\"\nfamily = \"stepwise\"\nlevel = 1\ntempo = [60, 120]\nnotes = \"1 2 1 7' 1\"\n";
    let all: Vec<String> = troubles(text).iter().map(ToString::to_string).collect();
    assert_eq!(
        all,
        [
            "mine.toml:7:16: expected a degree from 1 to 15 such as 5, b3, #4 or 7, (a comma: an octave lower), found `7'`; write `14`"
        ]
    );
}

#[test]
fn a_chord_in_another_spelling_of_the_trade_is_offered_as_the_same_chord() {
    // Spellings: common practice, as in any harmony handbook.
    for (written, offered) in [
        ("-7", "m7"),
        ("ø", "m7b5"),
        ("Ø7", "m7b5"),
        ("-7b5", "m7b5"),
        ("Δ", "maj7"),
        ("Δ7", "maj7"),
        ("M7", "maj7"),
        ("CΔ7", "maj7"),
        ("G-7", "m7"),
        ("M", "maj"),
        ("-", "m"),
        ("o7", "dim7"),
        ("+7", "7#5"),
        ("7sus", "7sus4"),
        ("-Δ7", "mMaj7"),
        ("69", "6/9"),
        ("min7", "m7"),
    ] {
        assert_eq!(trouble(&[("over", &format!("['{written}']"))]).1.as_deref(), Some(offered), "{written}");
    }
    assert_eq!(trouble(&[("over", "['7b5b9b13']")]).1, None, "no other chord in place of one that is read");
    assert_eq!(trouble(&[("over", "['mja7']")]).1.as_deref(), Some("maj7"), "a slip of the finger");
}

#[test]
fn every_wrong_field_is_pointed_at() {
    let offered = |text: &str| Some(text.to_owned());
    assert_eq!(trouble(&[("family", "'stepwize'")]), ("'stepwize'".into(), offered("stepwise")));
    assert_eq!(trouble(&[("unit", "'eigth'")]), ("'eigth'".into(), offered("eighth")));
    assert_eq!(trouble(&[("tempi", "[60, 90]")]), ("tempi".into(), offered("tempo")));
    assert_eq!(trouble(&[("over", "['maj7', 'm7b']")]), ("'m7b'".into(), offered("m7")));
    assert_eq!(trouble(&[("over", "[]")]).0, "[]");
    assert_eq!(trouble(&[("over", "['7', '7']")]).0, "'7'");
    assert_eq!(trouble(&[("level", "6")]).0, "6");
    assert_eq!(trouble(&[("level", "'2'")]).0, "'2'");
    assert_eq!(trouble(&[("tempo", "[90, 60]")]).0, "[90, 60]");
    assert_eq!(trouble(&[("id", "'My Turn'")]).0, "'My Turn'");
    assert_eq!(trouble(&[("name", "''")]).0, "''");
    assert_eq!(trouble(&[("swing", "1")]).0, "1");
    assert_eq!(trouble(&[("notes", "'1 2\\t3x'")]).0, "2\\t3x");
    assert_eq!(trouble(&[("notes", "'8,,,,'")]).0, "8,,,,", "the whole of a text, without its quotes");
    assert_eq!(trouble(&[("notes", "'. .'")]).0, "'. .'");
    assert_eq!(trouble(&[("scale", "'1 3 2'")]).0, "'1 3 2'");
    assert_eq!(trouble(&[("scale", "'1 2 y'")]).0, "y");
    assert_eq!(trouble(&[("sequence", "'up the scale'")]).0, "'up the scale'");
    assert_eq!(trouble(&[("times", "3")]).0, "3");
    assert_eq!(trouble(&[("sequence", "'up the scal'"), ("times", "3")]).1, offered("up the scale"));
    let outside = [("sequence", "'up the scale'"), ("times", "3"), ("scale", "'1 2 3'"), ("notes", "'1 4'")];
    assert_eq!(trouble(&outside).0, "'up the scale'");
    assert_eq!(trouble(&[("reads", "'chord tones'"), ("notes", "'1 3 7'"), ("over", "['m']")]).0, "['m']");
}

#[test]
fn all_troubles_of_a_file_are_listed_at_once_in_order() {
    let text = "[[pattern]]\nid = 'a'\nlevel = 9\nnotes = '1 2 hm 4 V7 : 5'\n\n[[pattern]]\nid = 'b'\nname = 'b'\nfamily = 'stpwise'\nlevel = 1\ntempo = 3\nnotes = 4\n";
    let all = troubles(text);
    let lines: Vec<usize> = all.iter().map(|trouble| trouble.line).collect();
    assert_eq!(lines, [1, 1, 1, 3, 4, 4, 4, 9, 11, 12]);
    assert!(troubles("").len() == 1 && troubles("pattern = 3").len() == 1 && troubles("[pattern]\n").len() == 1);
    let twice = format!("{}{}", file(&[]), file(&[]));
    assert_eq!(troubles(&twice).iter().map(|trouble| trouble.line).collect::<Vec<_>>(), [9]);
}

#[test]
fn what_is_not_toml_is_told_with_its_place_and_the_rest_is_checked_too() {
    let text = "[[pattern]]\nid = \nname = 'a'\nfamily = 'stepwsie'\nlevel = 1\ntempo = [60, 90]\nnotes = '1'\n";
    let all = troubles(text);
    assert!(all.iter().any(|trouble| trouble.line == 2 && trouble.expected.starts_with("TOML")), "{all:?}");
    assert!(all.iter().any(|trouble| trouble.nearest.as_deref() == Some("stepwise")), "{all:?}");
}

#[test]
fn no_file_makes_the_reader_panic() {
    arbtest::arbtest(|bytes| {
        let text: String = bytes.arbitrary()?;
        let _ = troubles(&text);
        Ok(())
    });
    // Right files with bytes cut, doubled and swapped reach deeper than noise does.
    arbtest::arbtest(|bytes| {
        let text = *bytes.choose(&FILES)?;
        let mut text = text.as_bytes()[..4000].to_vec();
        for _ in 0..bytes.int_in_range(1..=12)? {
            let at = bytes.int_in_range(0..=text.len() - 1)?;
            match bytes.int_in_range(0..=3)? {
                0 => text[at] = bytes.arbitrary()?,
                1 => text.truncate(at.max(1)),
                2 => text[at] = *bytes.choose(b"[]'\"=.-#\\,\n1b")?,
                _ => {
                    let byte = text[at];
                    text.insert(at, byte);
                }
            }
        }
        let text = String::from_utf8_lossy(&text).into_owned();
        for trouble in troubles(&text) {
            assert!(text.get(trouble.span.clone()).is_some() && trouble.line >= 1 && trouble.column >= 1);
        }
        Ok(())
    });
    let deep = format!("pattern = {}", "[".repeat(100_000));
    assert!(!troubles(&deep).is_empty());
    let long = file(&[("notes", &format!("'{}'", "1 ".repeat(2000)))]);
    assert_eq!(troubles(&long).len(), 1);
    let many = file(&[("notes", &format!("'{}'", "1 ".repeat(500))), ("repeats", "16")]);
    assert_eq!(troubles(&many).len(), 1);
}

fn as_json(text: &str) -> Value {
    let table: toml::Table = text.parse().unwrap();
    serde_json::to_value(table).unwrap()
}

#[test]
fn the_schema_agrees_with_the_reader() {
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for text in FILES {
        let value = as_json(text);
        let errors: Vec<String> = validator.iter_errors(&value).map(|error| error.to_string()).collect();
        assert!(errors.is_empty(), "{errors:?}");
    }
    for wrong in [
        &[("level", "6")][..],
        &[("unit", "'eigth'")],
        &[("tempi", "3")],
        &[("over", "['m7b']")],
        &[("id", "'My Turn'")],
        &[("times", "3")],
    ] {
        let text = file(wrong);
        assert!(!validator.is_valid(&as_json(&text)), "{text}");
        assert!(!troubles(&text).is_empty());
    }
    // Every word the schema allows is one that the reader knows.
    let words = |field: &str| {
        let list = &schema["properties"]["pattern"]["items"]["properties"][field]["enum"];
        list.as_array().unwrap().iter().map(|word| format!("'{}'", word.as_str().unwrap())).collect::<Vec<_>>()
    };
    for field in ["family", "unit", "cycle"] {
        assert!(words(field).iter().all(|word| troubles(&file(&[(field, word)])).is_empty()), "{field}");
    }
    for word in words("sequence") {
        assert_eq!(troubles(&file(&[("sequence", &word), ("times", "3")])), []);
    }
    let over = &schema["properties"]["pattern"]["items"]["properties"]["over"]["oneOf"][1]["items"]["enum"];
    let names: Vec<&str> = over.as_array().unwrap().iter().filter_map(Value::as_str).collect();
    assert_eq!(names, Quality::all().map(Quality::name).collect::<Vec<_>>());
}

#[test]
fn a_dash_stands_for_a_blank_in_every_name() {
    for (field, word) in [("family", "half-steps"), ("unit", "quarter-triplet"), ("cycle", "minor-thirds")] {
        assert_eq!(troubles(&file(&[(field, &format!("'{word}'"))])), [], "{field}");
    }
    let read = |family: &str| pattern::read(&file(&[("family", family)]), "mine.toml").0;
    assert_eq!(read("'half-steps'"), read("'half steps'"));
    let steps = |word: &str| troubles(&file(&[("reads", word), ("notes", "'0 1 2'")]));
    assert_eq!((steps("'half-steps'"), steps("'half steps'")), (vec![], vec![]));
    let moved = [("sequence", "'up-the-scale'"), ("times", "3")];
    assert_eq!(troubles(&file(&moved)), []);
}

#[test]
fn what_is_offered_is_in_the_grammar_and_mends_the_file() {
    // Notes with slips: of right notation, letters left out, doubled, of another notation.
    let mut offered = 0;
    let mut mends = |changes: &[(&str, &str)]| {
        let text = file(changes);
        for trouble in troubles(&text) {
            let Some(nearest) = &trouble.nearest else { continue };
            offered += 1;
            let quoted = text[trouble.span.clone()].starts_with('\'');
            let right = if quoted { format!("'{nearest}'") } else { nearest.clone() };
            let (before, after) = (&text[..trouble.span.start], &text[trouble.span.end..]);
            let mended = format!("{before}{right}{after}");
            let there =
                |left: &PatternTrouble| left.span.start == trouble.span.start && left.expected == trouble.expected;
            assert!(!troubles(&mended).iter().any(there), "{trouble}\n{mended}");
            assert!(troubles(&mended).len() < troubles(&text).len(), "{trouble}\n{mended}");
        }
    };
    for notes in [
        "1 2 b9x",
        "1 7'",
        "1 [2 [3 4] 5]",
        "1 | 2",
        "- 1 2",
        "iim7: 1 2",
        "IIm7 1 2",
        "V7b : 1",
        "b3b 2",
        "1 4## 5",
        "0 1",
        "16 1",
        "1,,,, 2",
        "ii-7: 1",
        "vi: 1 3",
        "IVM7: 1",
        "bVIIø: 1",
        "x1",
        "♭3 3♭",
        "1 #III7: 2",
        "[1 2 [3]",
        "1 2' 3,'",
    ] {
        mends(&[("notes", &format!("\"{notes}\""))]);
        mends(&[("notes", &format!("\"{notes}\"")), ("reads", "'half steps'")]);
        mends(&[("notes", &format!("\"{notes}\"")), ("reads", "'chord tones'"), ("over", "['7']")]);
    }
    for (field, words) in [
        ("family", ["'half-step'", "'skip'"]),
        ("unit", ["'8th'", "'quarter triplets'"]),
        ("cycle", ["'fifth'", "'whole-step'"]),
        ("over", ["['Maj7', 'm']", "['min9']"]),
    ] {
        words.iter().for_each(|word| mends(&[(field, word)]));
    }
    assert!(offered > 40, "{offered}");
}
