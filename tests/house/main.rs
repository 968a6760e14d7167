//! The house rules, executed: floors, owners, absences and sizes, read from the table in DEVELOPERS.md.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]

mod guide;
mod rules;
mod tree;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Most lines of a file, so that one idea lives in each.
const LINES: usize = 400;

/// Lines of the command line without the definitions of its arguments: what is more belongs into a room below.
const CLI_LINES: usize = 2000;

struct Room {
    floor: usize,
    imports: BTreeSet<String>,
    owns: BTreeSet<String>,
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn words(cell: &str) -> BTreeSet<String> {
    cell.split(|c: char| !(c.is_alphanumeric() || c == '_' || c == '-'))
        .filter(|word| word.contains(char::is_alphanumeric))
        .map(|word| word.replace('-', "_"))
        .collect()
}

fn guide_text() -> String {
    std::fs::read_to_string(root().join("DEVELOPERS.md")).expect("DEVELOPERS.md")
}

/// The floors table of the guide, room by room. A row whose first cell is a number begins a room; a row whose first cell is empty adds
/// to the room above it.
fn table() -> BTreeMap<String, Room> {
    let mut rooms: BTreeMap<String, Room> = BTreeMap::new();
    let mut last = None;
    for line in guide_text().lines() {
        let cells: Vec<&str> =
            line.strip_prefix('|').into_iter().flat_map(|row| row.split('|')).map(str::trim).collect();
        let [floor, module, _, _, imports, owns, ""] = cells[..] else {
            last = None;
            continue;
        };
        let (imports, owns) = (words(imports), words(owns));
        if let Ok(floor) = floor.parse() {
            last = Some(module.trim_matches('`').to_owned());
            rooms.insert(module.trim_matches('`').to_owned(), Room { floor, imports, owns });
        } else if let Some(room) = last.as_ref().filter(|_| floor.is_empty()).and_then(|name| rooms.get_mut(name)) {
            room.imports.extend(imports);
            room.owns.extend(owns);
        }
    }
    rooms
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("folder").map(|entry| entry.expect("entry").path()) {
        if entry.is_dir() {
            sources(&entry, found);
        } else if entry.extension().is_some_and(|end| end == "rs") {
            found.push(entry);
        }
    }
}

/// (path as shown, module, text without comments) for every source file below `src`.
fn modules() -> Vec<(String, String, String)> {
    let mut paths = Vec::new();
    sources(&root().join("src"), &mut paths);
    let mut all = Vec::new();
    for path in paths {
        let short = path.strip_prefix(root()).expect("inside").display().to_string();
        let module = short.split('/').nth(1).expect("below src").trim_end_matches(".rs").to_owned();
        let text = std::fs::read_to_string(&path).expect("source");
        if is_test_file(&short) {
            continue;
        }
        let code: String = text.lines().map(|line| line.split("//").next().unwrap_or("").to_owned() + "\n").collect();
        all.push((short, module, code));
    }
    all
}

/// The text of a file without what is compiled for its unit tests only, because the house rules bind what ships. What is left out
/// becomes empty lines, so that the other lines keep their numbers.
fn shipped(code: &str) -> String {
    let mut out = String::new();
    // The line with which the item being left out ends.
    let mut until: Option<String> = None;
    let mut tests_begin = false;
    for line in code.lines() {
        let indent = &line[..line.len() - line.trim_start().len()];
        if let Some(end) = &until {
            if line == end {
                until = None;
            }
        } else if line.trim() == "#[cfg(test)]" {
            tests_begin = true;
        } else if tests_begin {
            // More attributes may follow; an item of one line ends where it begins.
            tests_begin = line.trim_start().starts_with("#[");
            let whole = line.trim_end().ends_with([';', '}']);
            until = (!tests_begin && !whole).then(|| format!("{indent}}}"));
        } else {
            out.push_str(line);
        }
        out.push('\n');
    }
    out
}

#[test]
fn what_follows_a_unit_test_still_ships() {
    let code = "use a;\n#[cfg(test)]\nmod tests {\n    use b;\n}\nuse c;\n#[cfg(test)]\nmod more;\nuse d;\n";
    assert_eq!(shipped(code), "use a;\n\n\n\n\nuse c;\n\n\nuse d;\n");
}

/// A file of nothing but unit tests.
fn is_test_file(path: &str) -> bool {
    path.ends_with("tests.rs") || path.contains("/tests/")
}

fn is_room(module: &str) -> bool {
    !["lib", "main", "outside"].contains(&module)
}

#[test]
fn every_module_has_a_room_and_every_room_a_module() {
    let rooms = table();
    let there: BTreeSet<String> = modules().into_iter().map(|(_, module, _)| module).filter(|m| is_room(m)).collect();
    let drawn: BTreeSet<String> = rooms.keys().cloned().collect();
    assert_eq!(there, drawn, "the folders of src and the floors table of DEVELOPERS.md are not the same");
}

#[test]
fn data_only_climbs() {
    let rooms = table();
    for (module, room) in &rooms {
        for lower in room.imports.iter().filter(|name| *name != "all") {
            let floor =
                rooms.get(lower).unwrap_or_else(|| panic!("{module} may import {lower}, which is no module")).floor;
            assert!(
                floor <= room.floor && lower != module,
                "{module} (floor {}) may not import {lower} (floor {floor})",
                room.floor
            );
        }
    }
    let mut broken = Vec::new();
    for (path, module, code) in modules() {
        let Some(room) = rooms.get(&module) else { continue };
        for (n, line) in shipped(&code).lines().enumerate() {
            for used in line.split("crate::").skip(1) {
                let used: String = used.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                let below = rooms.get(&used).is_some_and(|other| other.floor < room.floor);
                let allowed = used == module || (room.imports.contains("all") && below) || room.imports.contains(&used);
                if !allowed {
                    broken.push(format!("{path}:{}: {module} may not import {used}", n + 1));
                }
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn every_foreign_crate_stays_in_the_rooms_that_own_it() {
    let rooms = table();
    let manifest: toml::Table =
        std::fs::read_to_string(root().join("Cargo.toml")).expect("Cargo.toml").parse().expect("toml");
    let mut crates: BTreeSet<String> =
        manifest["dependencies"].as_table().expect("dependencies").keys().map(|name| name.replace('-', "_")).collect();
    crates.insert("rustix".to_owned());
    crates.remove("thiserror");
    // The allocator is the program's: `main.rs` alone names it, and no room may.
    for name in crates.iter().filter(|name| *name != "dlmalloc") {
        assert!(rooms.values().any(|room| room.owns.contains(name)), "no room owns {name}");
    }
    let mut broken = Vec::new();
    for (path, module, code) in modules() {
        let Some(room) = rooms.get(&module) else { continue };
        for (n, line) in shipped(&code).lines().enumerate() {
            for name in crates.iter().filter(|name| !room.owns.contains(*name)) {
                let named = line.split(&format!("{name}::")).count() > 1;
                let whole = line
                    .split(&format!("{name}::"))
                    .next()
                    .is_some_and(|before| !before.ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == ':'));
                if named && whole {
                    broken.push(format!("{path}:{}: {module} does not own {name}", n + 1));
                }
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn below_the_shell_nobody_opens_prints_spawns_sleeps_or_reads_a_clock() {
    let rooms = table();
    let shell = rooms.get("devices").expect("devices").floor;
    let banned = [
        "std::fs",
        "File::",
        "std::io::std",
        "println!",
        "print!(",
        "eprintln!",
        "eprint!(",
        "dbg!",
        "std::thread",
        "thread::spawn",
        "Instant::now",
        "SystemTime",
        "std::env",
        "std::net",
        "std::process",
        "rand::rng",
        "thread_rng",
        "from_os_rng",
    ];
    let mut broken = Vec::new();
    for (path, module, code) in modules() {
        if rooms.get(&module).is_none_or(|room| room.floor >= shell) {
            continue;
        }
        for (n, line) in shipped(&code).lines().enumerate() {
            for word in banned.iter().filter(|word| line.contains(**word)) {
                broken.push(format!("{path}:{}: {word} below the shell", n + 1));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn written_pitch_is_for_eyes_only() {
    let allowed = ["music", "words", "exchange", "report", "tui", "talk", "cli"];
    let mut broken = Vec::new();
    for (path, module, code) in modules() {
        if allowed.contains(&module.as_str()) || !is_room(&module) {
            continue;
        }
        for (n, line) in shipped(&code).lines().enumerate() {
            if line.contains("Written::")
                || line.contains("Written,")
                || line.contains("WrittenKey")
                || line.contains("Written(")
            {
                broken.push(format!("{path}:{}: written pitch outside the rooms that make words", n + 1));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn fingerings_are_told_only_after_an_answer() {
    let allowed = ["src/music/", "src/words/fingering", "src/drill/hints", "src/report/tuning"];
    let mut broken = Vec::new();
    for (path, _, code) in modules() {
        let after = allowed.iter().any(|start| path.starts_with(start));
        for (n, line) in shipped(&code).lines().enumerate() {
            if !after && line.contains("tendency(") {
                broken.push(format!("{path}:{}: a fingering before the answer is the answer", n + 1));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn only_the_edges_promise_a_file_format() {
    let allowed = ["src/session/wire", "src/music/file", "src/files/settings", "src/exchange/"];
    let mut broken = Vec::new();
    for (path, _, code) in modules() {
        let edge = allowed.iter().any(|start| path.starts_with(start));
        // Two writers of the crate parquet are called so; no other name is let through.
        let code = shipped(&code).replace("SerializedFileWriter", "").replace("SerializedColumnWriter", "");
        for (n, line) in code.lines().enumerate() {
            if !edge && (line.contains("Serialize") || line.contains("Deserialize")) {
                broken.push(format!("{path}:{}: a domain type is not a file format", n + 1));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn one_idea_lives_in_each_file() {
    let mut sizes: Vec<(usize, String)> = Vec::new();
    let mut paths = Vec::new();
    for folder in ["src", "tests", "benches"] {
        sources(&root().join(folder), &mut paths);
    }
    for path in paths {
        let lines = std::fs::read_to_string(&path).expect("source").lines().count();
        sizes.push((lines, path.strip_prefix(root()).expect("inside").display().to_string()));
    }
    sizes.sort();
    for (lines, path) in sizes.iter().rev().take(5) {
        println!("{lines:4} {path}");
    }
    let long: Vec<_> = sizes.iter().filter(|(lines, _)| *lines > LINES).collect();
    assert!(long.is_empty(), "over {LINES} lines: {long:?}");
}

#[test]
fn the_command_line_parses_resolves_and_calls() {
    let banned = ["std::fs", "File::", "std::thread", "thread::", "Instant::now", "std::io", "serde_json"];
    let mut broken = Vec::new();
    let mut lines = 0;
    for (path, _, code) in modules().iter().filter(|(_, module, _)| module == "cli") {
        lines += if path.starts_with("src/cli/args/") { 0 } else { code.lines().count() };
        for (n, line) in shipped(code).lines().enumerate() {
            for word in banned.iter().filter(|word| line.contains(**word)) {
                broken.push(format!("{path}:{}: {word} in the command line", n + 1));
            }
        }
    }
    println!("{lines} lines of src/cli without the definitions of its arguments");
    assert!(broken.is_empty(), "{}", broken.join("\n"));
    assert!(lines <= CLI_LINES, "src/cli has {lines} lines without the definitions of its arguments, over {CLI_LINES}");
}

#[test]
fn nobody_above_the_engine_waits_or_listens_in_a_loop() {
    let banned = ["sleep(", "std::thread", ".hear()", ".gather(", "serde_json"];
    let mut broken = Vec::new();
    for (path, _, code) in modules().iter().filter(|(_, module, _)| ["talk", "cli"].contains(&module.as_str())) {
        for (n, line) in shipped(code).lines().enumerate() {
            for word in banned.iter().filter(|word| line.contains(**word)) {
                broken.push(format!("{path}:{}: {word} above the engine", n + 1));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn the_top_level_holds_what_was_agreed() {
    let agreed = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "LICENSE-MIT",
        "LICENSE-APACHE",
        "src",
        "tests",
        "assets",
        "benches",
        "target",
    ];
    for entry in std::fs::read_dir(root()).expect("root").map(|entry| entry.expect("entry").file_name()) {
        let name = entry.to_string_lossy().into_owned();
        assert!(name.starts_with('.') || agreed.contains(&name.as_str()), "{name} stands at the top level");
    }
}

#[test]
fn the_main_file_only_calls_the_command_line() {
    let main = std::fs::read_to_string(root().join("src/main.rs")).expect("main.rs");
    assert!(main.lines().count() < 15);
    let lib = std::fs::read_to_string(root().join("src/lib.rs")).expect("lib.rs");
    assert!(lib.contains("#![forbid(unsafe_code)]"));
    let open: Vec<&str> = lib.lines().filter(|line| line.starts_with("pub mod ")).collect();
    assert_eq!(open, ["pub mod outside;"], "in an open room the compiler does not see what is dead");
}
