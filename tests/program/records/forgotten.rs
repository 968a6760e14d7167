//! `forget`: the program first says what it would delete; afterwards no byte of it is left in files or index.

use std::fs;
use std::path::Path;

use earfirst::outside::files::{KeepSound, Places, SessionFolder};
use earfirst::outside::session::Event;

use crate::desk::Desk;
use crate::records::logged::evening;
use crate::records::who::{player, record};

/// The name of the player who is forgotten, which must then be in no file.
const PLANTED: &str = "Zerlinda-Qvx";

/// A desk with sittings of two players and one sitting without a player's id, with settings that name both players, and with an index of
/// the sittings.
fn both(name: &str) -> Desk {
    let desk = Desk::new(name);
    let folder = desk.0.join("data/sessions");
    for (at, whose) in [player(0xa1, PLANTED), player(0xb2, "Ben"), player(0xa1, PLANTED), None].into_iter().enumerate()
    {
        record(&folder, &format!("{at:04}.jsonl"), &evening(whose, 20_700 + i32::try_from(at).unwrap(), at, 30));
    }
    let ids = [("b2", "Ben"), ("a1", PLANTED)]
        .map(|(byte, name)| format!("[[player]]\nid = \"{}\"\nname = \"{name}\"\n", byte.repeat(16)));
    fs::write(desk.0.join("data/settings.toml"), ids.concat()).unwrap();
    desk.done("log");
    desk
}

/// The files below a folder that contain these bytes.
fn holding(folder: &Path, wanted: &[u8]) -> Vec<String> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        if entry.is_dir() {
            found.extend(holding(&entry, wanted));
        } else if fs::read(&entry).unwrap().windows(wanted.len()).any(|bytes| bytes == wanted) {
            found.push(entry.file_name().unwrap().to_string_lossy().into_owned());
        }
    }
    found.sort();
    found
}

#[test]
fn what_would_go_is_listed_first_and_nothing_goes() {
    let desk = both("forget-dry");
    let said = desk.done(&format!("forget {PLANTED}"));
    for wanted in
        ["This would go:", "0000.jsonl", "0002.jsonl", "settings.toml", "Not reached: copies and backups", "--yes"]
    {
        assert!(said.contains(wanted), "{wanted}\n{said}");
    }
    assert!(!said.contains("0001.jsonl") && !said.contains("0003.jsonl"), "{said}");
    let data = desk.0.join("data");
    assert_eq!(holding(&data, PLANTED.as_bytes()), ["0000.jsonl", "0002.jsonl", "index.sqlite", "settings.toml"]);
}

#[test]
fn a_player_who_is_forgotten_is_in_no_file_and_in_no_page_of_the_index() {
    let desk = both("forget-player");
    let said = desk.done(&format!("forget {} --yes", PLANTED.to_lowercase()));
    assert!(said.contains("Gone: 2 sittings and the player."), "{said}");
    let data = desk.0.join("data");
    for wanted in [PLANTED, &"a1".repeat(16), "0000.jsonl", "0002.jsonl"] {
        assert_eq!(holding(&data, wanted.as_bytes()), Vec::<String>::new(), "{wanted}");
    }
    assert_eq!(fs::metadata(data.join("index.sqlite-journal")).map_or(0, |meta| meta.len()), 0, "the journal is empty");
    let said = desk.done("log");
    assert!(said.contains("written pitch), Ben") && said.contains("written pitch), unnamed"), "{said}");
}

#[test]
fn the_first_player_takes_along_what_is_from_before_players_had_ids() {
    let desk = both("forget-first");
    let said = desk.done("forget Ben --yes");
    assert!(said.contains("0001.jsonl") && said.contains("0003.jsonl"), "{said}");
    assert_eq!(fs::read_dir(desk.0.join("data/sessions")).unwrap().count(), 2);
    assert!(fs::read_to_string(desk.0.join("data/settings.toml")).unwrap().contains(PLANTED));
}

#[test]
fn one_sitting_goes_by_its_files_name_or_path_and_the_player_stays() {
    let desk = both("forget-one");
    let here = desk.0.join("data/sessions");
    fs::copy(here.join("0002.jsonl"), here.join("copy.jsonl")).unwrap();
    let said = desk.done("forget 0002 --yes");
    assert!(said.contains("copy.jsonl") && !here.join("copy.jsonl").exists(), "a copy is the same sitting\n{said}");
    desk.done("forget data/sessions/0000.jsonl --yes");
    let data = desk.0.join("data");
    assert_eq!(holding(&data, PLANTED.as_bytes()), ["settings.toml"], "the player is still known");
    let (code, said) = desk.run("forget 0002 --yes");
    assert!(code == 2 && said.contains("no sitting and no player here"), "{said}");
    desk.file("mine.jsonl", b"x");
    assert_eq!(desk.run("forget mine.jsonl --yes").0, 2, "a file outside the sessions is not touched");
    assert!(desk.0.join("mine.jsonl").exists());
}

#[test]
fn two_of_one_name_are_told_apart_by_their_ids() {
    let desk = both("forget-two");
    record(&desk.0.join("data/sessions"), "0009.jsonl", &evening(player(0xc3, PLANTED), 20_709, 9, 4));
    let (code, said) = desk.run(&format!("forget {PLANTED} --yes"));
    assert!(code == 2 && said.contains(&"c3".repeat(16)) && said.contains(&"a1".repeat(16)), "{said}");
    desk.done("forget c3c3 --yes");
    assert!(!desk.0.join("data/sessions/0009.jsonl").exists() && desk.0.join("data/sessions/0000.jsonl").exists());
}

#[test]
fn a_broken_index_is_removed_whole_when_somebody_is_forgotten() {
    let desk = both("forget-broken");
    let index = desk.0.join("data/index.sqlite");
    let mut bytes = fs::read(&index).unwrap();
    bytes[..90].fill(7);
    fs::write(&index, bytes).unwrap();
    desk.done(&format!("forget {PLANTED} --yes"));
    assert_eq!(holding(&desk.0.join("data"), PLANTED.as_bytes()), Vec::<String>::new());
}

#[test]
fn a_sitting_that_is_being_played_is_left_alone() {
    let desk = both("forget-live");
    let places = Places::at(&desk.0.join("data"));
    let events = evening(player(0xa1, PLANTED), 20_710, 700, 4);
    let Event::Began(began) = &events[0] else { panic!("a header") };
    let mut live = SessionFolder::begin(&places, began, KeepSound::None);
    events[1..].iter().for_each(|event| live.record(event));
    let (code, said) = desk.run(&format!("forget {PLANTED} --yes"));
    assert!(code == 4 && said.contains("another earfirst is using it") && said.contains("Gone: 2 sittings."), "{said}");
    drop(live);
    desk.done(&format!("forget {PLANTED} --yes"));
    assert_eq!(holding(&desk.0.join("data"), PLANTED.as_bytes()), Vec::<String>::new());
}
