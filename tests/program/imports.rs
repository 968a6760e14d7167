//! Files that the program imports and checks.

use crate::desk::Desk;

#[test]
fn a_file_taken_out_is_brought_in_again_as_it_was() {
    let desk = Desk::new("imports");
    let name = "ii-v-i-from-a-three-note-pick-up";
    desk.done(&format!(
        "patterns export {name} --instrument trumpet --keys C --midi line.mid --musicxml line.musicxml"
    ));
    for file in ["line.mid", "line.musicxml"] {
        // Written C on a trumpet sounds Bb: either says the same.
        for key in ["--key Bb", "--key C --instrument trumpet"] {
            let made = desk.done(&format!("patterns import {file} {key} --name back"));
            for said in ["notes = \"1 2 3 4 6 8 6 7 6 5 4 3 - - - - - - -\"", "swing = true", "pickup = 3"] {
                assert!(made.contains(said), "{file} {key}: {made}");
            }
        }
    }
    // A score that does not say how it sounds stands on the page of whoever names an instrument.
    let score = std::fs::read_to_string(desk.0.join("line.musicxml")).unwrap();
    let (before, rest) = score.split_once("<transpose>").unwrap();
    let untold = format!("{before}{}", rest.split_once("</transpose>").unwrap().1);
    std::fs::write(desk.0.join("untold.musicxml"), untold).unwrap();
    let made = desk.done("patterns import untold.musicxml --key C --instrument trumpet --name back");
    assert!(made.contains("notes = \"1 2 3 4 6 8 6 7"), "{made}");
    let (code, said) = desk.run("patterns import line.mid --instrument gong --name back");
    assert!(code == 2 && said.contains("Instruments are named like"), "{said}");
}

#[test]
fn the_page_and_what_is_shown_name_one_signature() {
    let desk = Desk::new("signatures");
    for (name, key, heading, words) in [
        ("minor-triad-up", "Db", "C# minor", "four sharps"),
        ("minor-triad-up", "Ab", "G# minor", "five sharps"),
        ("altered-scale-up", "C", "C7alt", "four flats"),
        ("major-triad-up", "C", "C major", "no sharps or flats"),
    ] {
        let shown = desk.done(&format!("patterns show {name} --key {key} --instrument piano"));
        assert!(shown.contains(&format!("signature    {heading}: {words}")), "{shown}");
        desk.done(&format!("patterns export {name} --keys {key} --instrument piano --musicxml page.musicxml"));
        let page = std::fs::read_to_string(desk.0.join("page.musicxml")).unwrap();
        assert!(page.contains(&format!("<words>{heading}</words>")), "{page}");
    }
}

#[test]
fn an_own_pattern_that_hides_one_of_the_library_is_said_when_the_file_is_checked() {
    let desk = Desk::new("hiding");
    let own =
        "[[pattern]]\nid='major-triad-up'\nname='mine'\nfamily='half-steps'\nlevel=1\ntempo=[60, 90]\nnotes='1 3 5'\n";
    std::fs::write(desk.0.join("own.toml"), own).unwrap();
    let said = desk.done("patterns check own.toml");
    assert!(
        said.contains("`major-triad-up` takes the place of the library's") && said.contains("no trouble"),
        "{said}"
    );
    assert!(desk.done("patterns check own.toml --json").contains("\"hides\":[\"major-triad-up\"]"));
    std::fs::write(desk.0.join("own.toml"), own.replace("major-triad-up", "mine-alone")).unwrap();
    assert!(!desk.done("patterns check own.toml").contains("takes the place"));
}
