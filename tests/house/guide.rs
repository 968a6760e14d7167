//! The guide, `DEVELOPERS.md`, is short enough to be read. Every file that the guide or the head of a room's `mod.rs` names is there.

use std::path::{Path, PathBuf};

use crate::{guide_text, root, sources};

#[test]
fn the_guide_is_read_in_ten_minutes() {
    let guide = guide_text();
    assert!(guide.lines().count() <= 180, "{} lines", guide.lines().count());
    let wide: Vec<&str> = guide.lines().filter(|line| line.chars().count() > 140).collect();
    assert!(wide.is_empty(), "over 140 columns:\n{}", wide.join("\n"));
}

/// The file or folder that a text names, with or without `.rs`. It is looked for in the text's own folder, in the folder of what the
/// text named before (`beside`), in `src`, and in the folder of the whole project; `None` where it is in none of them.
fn found(named: &str, folder: &Path, beside: &Path) -> Option<PathBuf> {
    let places = [folder.to_owned(), beside.to_owned(), root().join("src"), root()];
    let paths = places.iter().flat_map(|from| [from.join(named), from.join(format!("{named}.rs"))]);
    paths.into_iter().find(|path| path.exists())
}

/// What stands between backticks in a text and is a file or a folder, with its line.
fn named_files(text: &str) -> Vec<(usize, &str)> {
    let lines = text.lines().enumerate();
    let all = lines.flat_map(|(n, line)| line.split('`').skip(1).step_by(2).map(move |named| (n + 1, named)));
    all.filter(|(_, named)| named.contains('/') || named.ends_with(".rs"))
        .filter(|(_, named)| named.chars().all(|c| c.is_alphanumeric() || "_/.-".contains(c)))
        .filter(|(_, named)| !named.starts_with(|c: char| c.is_numeric()) && !named.contains("FAMILY"))
        .collect()
}

#[test]
fn every_file_that_the_guide_and_the_rooms_name_is_there() {
    let mut texts = vec![("DEVELOPERS.md".to_owned(), root(), guide_text())];
    let mut paths = Vec::new();
    sources(&root().join("src"), &mut paths);
    for path in paths.into_iter().filter(|path| path.ends_with("mod.rs")) {
        let text = std::fs::read_to_string(&path).expect("source");
        let doc = text.lines().take_while(|line| line.starts_with("//!")).collect::<Vec<_>>().join("\n");
        let short = path.strip_prefix(root()).expect("inside").display().to_string();
        texts.push((short, path.parent().expect("a folder").to_owned(), doc));
    }
    let mut gone = Vec::new();
    for (short, folder, text) in &texts {
        let mut beside = folder.clone();
        for (line, named) in named_files(text) {
            match found(named, folder, &beside) {
                Some(path) => beside = path.parent().expect("a folder").to_owned(),
                None => gone.push(format!("{short}:{line}: {named}")),
            }
        }
    }
    assert!(gone.is_empty(), "named, and not there:\n{}", gone.join("\n"));
}
