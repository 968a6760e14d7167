//! What the commands about patterns print with `--json`.

use earfirst::outside::music::{Concert, Spelled};
use serde_json::{Value, json};

use crate::desk::Desk;

fn read(said: &str) -> Value {
    serde_json::from_str(said).unwrap_or_else(|why| panic!("{why}\n{said}"))
}

#[test]
fn a_pattern_is_shown_with_its_notes_in_a_key() {
    let desk = Desk::new("shown-json");
    let shown = read(&desk.done("patterns show major-triad-up --json"));
    assert_eq!(shown["degrees"], json!(["1", "3", "5", "8"]));
    assert_eq!((&shown["id"], &shown["lines"]), (&json!("major-triad-up"), &Value::Null));
    assert_eq!(shown["begun"][0]["on"], json!("3"), "{shown}");
    let in_key = read(&desk.done("patterns show major-triad-up --key C --instrument trumpet --range C4-C6 --json"));
    let [low, high] = [0, 1].map(|n| &in_key["lines"][n]);
    assert_eq!(low["registers"][0], json!("low"), "{in_key}");
    assert_eq!(high["registers"], json!(["high"]));
    // A trumpet in Bb sounds a whole tone lower than it is written (common practice).
    for (line, names) in [(low, ["C4", "E4", "G4", "C5"]), (high, ["C5", "E5", "G5", "C6"])] {
        for (note, name) in line["notes"].as_array().unwrap().iter().zip(names) {
            assert_eq!(note["name"], json!(name));
            let Concert(written) = name.parse::<Spelled>().unwrap().concert();
            assert_eq!(note["midi"], json!(written - 2), "{note}");
        }
    }
}

#[test]
fn a_checked_file_tells_its_troubles_by_line_and_column() {
    let desk = Desk::new("checked-json");
    let file = |notes: &str| {
        format!("[[pattern]]\nid='a'\nname='a'\nfamily='stepwise'\nlevel=1\ntempo=[60, 90]\nnotes='{notes}'\n")
    };
    desk.file("right.toml", file("1 2 3").as_bytes());
    let right = read(&desk.done("patterns check right.toml --json"));
    assert_eq!(right, json!({ "file": "right.toml", "patterns": 1, "hides": [], "troubles": [] }));
    desk.file("wrong.toml", file("1 2 b9x").as_bytes());
    let (code, said) = desk.run("patterns check wrong.toml --json");
    let wrong = read(said.lines().next().unwrap());
    assert_eq!((code, &wrong["patterns"]), (4, &json!(0)), "{said}");
    let trouble = &wrong["troubles"][0];
    assert_eq!((&trouble["line"], &trouble["found"]), (&json!(7), &json!("b9x")), "{said}");
    assert_eq!(trouble["column"], json!("notes='1 2 b9x'".find('b').unwrap() + 1));
}
