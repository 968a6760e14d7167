//! A file of the player's own patterns, to which one is added.

use std::path::{Path, PathBuf};

use crate::files::{FileErrorKind, Places, read_patterns, write_named, write_private};
use crate::pattern::{self, Pattern};
use crate::talk::failure::Failure;

/// A file of patterns as it was before.
pub struct SavedPatterns {
    path: PathBuf,
    /// Whether the user named the file; if not, the folder of the player's own patterns is made when it is needed.
    named: bool,
    before: String,
}

impl SavedPatterns {
    /// The file that is named, or the one in the player's own folder; it need not be there yet.
    pub fn open(named: Option<&Path>, places: &Places) -> Result<Self, Failure> {
        let path = named.map_or_else(|| places.patterns().join("own.toml"), Path::to_owned);
        let before = match read_patterns(&path) {
            Err(failure) if failure.kind == FileErrorKind::Missing => String::new(),
            read => read?,
        };
        Ok(Self { path, named: named.is_some(), before })
    }

    /// Writes the file as it was before with `pattern` after it; both must be sound. A second call replaces the pattern of the first.
    pub fn keep(&self, pattern: &Pattern) -> Result<(), Failure> {
        let text = pattern::print_file([pattern]);
        let before = self.before.trim_end();
        let all = if before.is_empty() { text } else { format!("{before}\n\n{text}") };
        let place = self.path.display();
        if let Some(trouble) = pattern::check(&all, &place.to_string()).first() {
            return Err(Failure::input(place, trouble, "Nothing was written; mend the file or choose another name."));
        }
        let write = if self.named { write_named } else { write_private };
        Ok(write(&self.path, all.as_bytes())?)
    }
    /// Where `pattern` is kept, and how it is practised.
    pub fn kept(&self, pattern: &Pattern) -> String {
        let id = &pattern.id;
        format!("kept as {id} in {}\npractise it with: earfirst drill {id}", self.path.display())
    }
}
