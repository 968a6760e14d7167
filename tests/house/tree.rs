//! The source files of the crate as modules, and which of them names which.

use std::collections::{BTreeMap, BTreeSet};

/// A module's path below the crate, for `src/notes/segmenter/open.rs` the three names `notes segmenter open`.
pub type Path = Vec<String>;

/// The modules of `src`: the shipped code of each by its path, and what each gives on with `pub use`.
pub struct Tree {
    pub code: BTreeMap<Path, String>,
    given_on: BTreeMap<(Path, String), Path>,
}

impl Tree {
    /// `files`: (path as `src/a/b.rs`, shipped code without comments).
    pub fn new(files: impl Iterator<Item = (String, String)>) -> Tree {
        let mut code = BTreeMap::new();
        for (file, text) in files {
            let names = file.trim_start_matches("src/").trim_end_matches(".rs");
            let path: Path = names.split('/').filter(|name| *name != "mod").map(str::to_owned).collect();
            code.insert(path, text);
        }
        let mut given_on = BTreeMap::new();
        for (module, text) in &code {
            for used in statements(text, true) {
                let Some(name) = used.last() else { continue };
                given_on.insert((module.clone(), name.clone()), used);
            }
        }
        Tree { code, given_on }
    }

    /// The module whose file defines what `module` calls `path`.
    fn file_of(&self, module: &[String], path: &[String], depth: usize) -> Path {
        let mut here = module.to_vec();
        let mut rest = path;
        if rest.first().is_some_and(|name| name == "crate") {
            here.clear();
            rest = &rest[1..];
        }
        while let Some(name) = rest.first() {
            let below: Path = here.iter().cloned().chain([name.clone()]).collect();
            if name == "super" {
                here.pop();
            } else if name == "self" {
            } else if self.code.contains_key(&below) {
                here = below;
            } else if let Some(onward) = self.given_on.get(&(here.clone(), name.clone())).filter(|_| depth < 8) {
                let whole: Path = onward.iter().chain(&rest[1..]).cloned().collect();
                return self.file_of(&here, &whole, depth + 1);
            } else {
                break;
            }
            rest = &rest[1..];
        }
        here
    }

    /// For every module the modules of its own room that it names; what it only gives on does not count.
    pub fn names(&self) -> BTreeMap<Path, BTreeSet<Path>> {
        let mut all = BTreeMap::new();
        for (module, text) in &self.code {
            let mut named = BTreeSet::new();
            for path in statements(text, false).into_iter().chain(in_passing(text)) {
                let below: Path = module.iter().chain(path.first()).cloned().collect();
                let rooted = path.first().is_some_and(|name| matches!(name.as_str(), "crate" | "super" | "self"));
                if rooted || self.code.contains_key(&below) {
                    named.insert(self.file_of(module, &path, 0));
                }
            }
            named.retain(|other| other != module && other.first() == module.first() && self.code.contains_key(other));
            all.insert(module.clone(), named);
        }
        all
    }

    /// The circles: sets of modules of which each is reached from itself by going from module to module that the files name. The
    /// modules in `lists` are passed over: a `mod.rs` only lists its folder.
    pub fn circles(&self, lists: &BTreeSet<Path>) -> Vec<BTreeSet<Path>> {
        let names = self.names();
        let reached = |from: &Path| {
            let (mut reached, mut open) = (BTreeSet::new(), vec![from.clone()]);
            while let Some(module) = open.pop() {
                for next in names[&module].iter().filter(|next| !lists.contains(*next)) {
                    if reached.insert(next.clone()) {
                        open.push(next.clone());
                    }
                }
            }
            reached
        };
        let all: BTreeMap<&Path, BTreeSet<Path>> =
            names.keys().filter(|module| !lists.contains(*module)).map(|module| (module, reached(module))).collect();
        let mut circles: Vec<BTreeSet<Path>> = Vec::new();
        for (module, reached) in all.iter().filter(|(module, reached)| reached.contains(**module)) {
            let circle: BTreeSet<Path> =
                reached.iter().filter(|other| all[*other].contains(*module)).cloned().collect();
            if !circles.contains(&circle) {
                circles.push(circle);
            }
        }
        circles
    }
}

/// The paths of the `use` statements: of those that give on (`pub use`) where `giving_on` is true, else of the others.
fn statements(text: &str, giving_on: bool) -> Vec<Path> {
    let mut all = Vec::new();
    for (at, _) in text.match_indices("use ") {
        let before = text[..at].rsplit('\n').next().unwrap_or("").trim();
        let public = before.starts_with("pub");
        if (!before.is_empty() && !public) || public != giving_on {
            continue;
        }
        let Some(end) = text[at..].find(';') else { continue };
        grow(&[], &text[at + 4..at + end], &mut all);
    }
    all
}

/// A use tree's paths: `a::{b, c::d}` is `a::b` and `a::c::d`.
fn grow(stem: &[String], tree: &str, all: &mut Vec<Path>) {
    let tree = tree.trim();
    if let Some(inside) = tree.strip_prefix('{') {
        let (mut depth, mut begun) = (0, 0);
        for (at, letter) in inside.char_indices() {
            match letter {
                '{' => depth += 1,
                ',' | '}' if depth == 0 => {
                    grow(stem, &inside[begun..at], all);
                    begun = at + 1;
                }
                '}' => depth -= 1,
                _ => {}
            }
        }
        return;
    }
    let name: String = tree.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    if name.is_empty() {
        return;
    }
    let path: Path = stem.iter().cloned().chain([name.clone()]).collect();
    match tree[name.len()..].trim_start().strip_prefix("::") {
        Some(rest) => grow(&path, rest, all),
        None => all.push(path),
    }
}

/// The paths named outside `use` statements.
fn in_passing(text: &str) -> Vec<Path> {
    let mut all = Vec::new();
    for line in text.lines().filter(|line| !line.trim_start().starts_with("use ") && !line.contains("pub use ")) {
        let words = line.split(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':'));
        for word in words.filter(|word| word.contains("::") && !word.starts_with(':')) {
            all.push(word.split("::").filter(|name| !name.is_empty()).map(str::to_owned).collect());
        }
    }
    all
}

#[test]
fn a_path_is_followed_to_the_file_that_defines_it() {
    let files = [
        ("src/a/mod.rs", "pub use one::One;\nmod one;\nmod two;\n"),
        ("src/a/one.rs", "use super::two::{Two, three};\npub struct One;\n"),
        ("src/a/two.rs", "pub struct Two(super::One);\n"),
        ("src/a/four.rs", "use crate::a::One;\n"),
    ];
    let tree = Tree::new(files.iter().map(|(file, text)| ((*file).to_owned(), (*text).to_owned())));
    let path = |text: &str| text.split("::").map(str::to_owned).collect::<Path>();
    let lists = BTreeSet::from([path("a")]);
    assert_eq!(tree.circles(&lists), [BTreeSet::from([path("a::one"), path("a::two")])]);
    assert_eq!(tree.names()[&path("a::four")], BTreeSet::from([path("a::one")]));
}
