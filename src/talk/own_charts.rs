//! A file of the player's own charts, to which one is added.

use std::path::{Path, PathBuf};

use crate::chart::{NamedChart, check_forms, print_form};
use crate::files::{FileErrorKind, Places, read_chart, write_named, write_private};
use crate::talk::failure::Failure;

/// Adds a chart to the file that is named, or to the one in the player's own folder; gives the path of that file.
pub fn keep(form: &NamedChart, named: Option<&Path>) -> Result<PathBuf, Failure> {
    let path = match named {
        Some(path) => path.to_owned(),
        None => Places::usual()?.charts().join("own.toml"),
    };
    let before = match read_chart(&path) {
        Err(failure) if failure.kind == FileErrorKind::Missing => String::new(),
        read => read?,
    };
    let all = if before.trim().is_empty() {
        print_form(form)
    } else {
        format!("{}\n\n{}", before.trim_end(), print_form(form))
    };
    if let Some(misprint) = check_forms(&all).first() {
        let mend = "Nothing was written; mend the file or choose another name.";
        return Err(Failure::input(path.display(), misprint, mend));
    }
    let write = if named.is_some() { write_named } else { write_private };
    write(&path, all.as_bytes())?;
    Ok(path)
}
