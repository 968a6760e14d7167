//! Rules of the house that the compiler does not check: no permission that nobody uses, no circle of files, no name for two types, no
//! public thing without a doc.

use std::collections::{BTreeMap, BTreeSet};

use crate::tree::{Path, Tree};
use crate::{modules, root, shipped, sources, table};

#[test]
fn a_permission_that_nobody_uses_is_taken_back() {
    let rooms = table();
    let mut used: BTreeMap<String, String> = BTreeMap::new();
    for (_, module, code) in modules() {
        used.entry(module).or_default().push_str(&shipped(&code));
    }
    let mut idle = Vec::new();
    for (module, room) in &rooms {
        let code = &used[module];
        for import in room.imports.iter().filter(|import| *import != "all") {
            if !code.contains(&format!("crate::{import}")) {
                idle.push(format!("{module} may import {import} and does not"));
            }
        }
        for owned in &room.owns {
            if !code.contains(&format!("{owned}::")) {
                idle.push(format!("{module} owns {owned} and does not use it"));
            }
        }
    }
    assert!(idle.is_empty(), "{}", idle.join("\n"));
}

fn tree() -> Tree {
    Tree::new(
        modules().into_iter().filter(|(_, room, _)| crate::is_room(room)).map(|(path, _, code)| (path, shipped(&code))),
    )
}

#[test]
fn no_files_of_a_room_stand_in_a_circle() {
    let mut paths = Vec::new();
    sources(&root().join("src"), &mut paths);
    let lists: BTreeSet<Path> = paths
        .iter()
        .filter(|path| path.ends_with("mod.rs"))
        .map(|path| path.parent().expect("a folder").strip_prefix(root().join("src")).expect("inside"))
        .map(|path| path.iter().map(|name| name.to_string_lossy().into_owned()).collect())
        .collect();
    let circles: Vec<String> = tree().circles(&lists).into_iter().map(|circle| circle_of(&circle)).collect();
    assert!(circles.is_empty(), "files of one room name each other in a circle:\n{}", circles.join("\n"));
}

fn circle_of(circle: &BTreeSet<Path>) -> String {
    circle.iter().map(|module| module.join("::")).collect::<Vec<_>>().join(" ")
}

/// The name of the type that a line begins to define; associated types are indented and do not count.
fn defined(line: &str) -> Option<String> {
    let line = line.trim_start_matches("pub ").trim_start_matches("pub(crate) ").trim_start_matches("pub(super) ");
    let kind = ["struct ", "enum ", "trait ", "type "].iter().find_map(|kind| line.strip_prefix(kind))?;
    Some(kind.chars().take_while(|c| c.is_alphanumeric()).collect())
}

#[test]
fn a_type_has_a_name_of_its_own() {
    let mut places: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (path, _, code) in modules() {
        for name in shipped(&code).lines().filter_map(defined) {
            places.entry(name).or_default().push(path.clone());
        }
    }
    let twice: Vec<String> = places
        .into_iter()
        .filter(|(_, places)| places.len() > 1)
        .map(|(name, places)| format!("{name}: {}", places.join(" ")))
        .collect();
    assert!(twice.is_empty(), "one name for several types:\n{}", twice.join("\n"));
}

/// The words of a text, each once.
fn said(text: &str) -> BTreeSet<&str> {
    text.split(|c: char| !(c.is_alphanumeric() || c == '_')).collect()
}

#[test]
fn what_is_given_to_tests_and_benches_is_used_there() {
    let mut paths = Vec::new();
    ["tests", "benches"].iter().for_each(|folder| sources(&root().join(folder), &mut paths));
    let users: String = paths.iter().map(|path| std::fs::read_to_string(path).expect("source")).collect();
    let users = said(&users);
    let given = std::fs::read_to_string(root().join("src/outside.rs")).expect("outside.rs");
    let given: String = given.lines().filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join(" ");
    let idle: Vec<&str> = said(&given).into_iter().filter(|name| !users.contains(name)).collect();
    assert!(idle.is_empty(), "src/outside.rs gives what nobody takes: {}", idle.join(" "));
}

/// The compiler asks for docs only of what leaves the crate, and most of our public things do not leave it.
#[test]
fn whatever_is_public_says_what_it_is() {
    let mut bare = Vec::new();
    let mut paths = Vec::new();
    sources(&root().join("src"), &mut paths);
    for path in paths {
        let text = std::fs::read_to_string(&path).expect("source");
        let short = path.strip_prefix(root()).expect("inside").display().to_string();
        if crate::is_test_file(&short) || short.ends_with("lib.rs") {
            continue;
        }
        let lines: Vec<&str> = text.lines().map(str::trim_start).collect();
        for (at, code) in lines.iter().enumerate() {
            let public = code.starts_with("pub ") || code.starts_with("pub(crate) ") || code.starts_with("pub(super) ");
            let given_on = code.contains(" use ") || (code.contains(" mod ") && code.ends_with(';'));
            if public && !given_on && !has_doc(&lines[..at]) {
                bare.push(format!("{short}:{}: {code}", at + 1));
            }
        }
    }
    assert!(bare.is_empty(), "public and without a doc:\n{}", bare.join("\n"));
}

/// Whether these lines end with a doc; attributes and plain comments after the doc do not count.
fn has_doc(above: &[&str]) -> bool {
    let mut inside_attribute = false;
    for line in above.iter().rev() {
        // In a macro the doc is an argument.
        if line.starts_with("///") || *line == "$(#[$doc])*" {
            return true;
        }
        let begins = line.starts_with("#[");
        inside_attribute = !begins && (inside_attribute || line.ends_with(")]"));
        if !begins && !inside_attribute && !line.starts_with("//") {
            return false;
        }
    }
    false
}

#[test]
fn a_doc_is_seen_through_attributes() {
    assert!(has_doc(&["/// A pitch.", "#[derive(", "Debug", ")]", "#[must_use]"]));
    assert!(!has_doc(&["/// A pitch.", "struct Pitch;", "#[must_use]"]));
}
