//! Which comments on their sittings the players were shown: each is shown once, however many copies of its sitting there are.

use std::collections::BTreeSet;

use crate::files::index::CommentedSitting;
use crate::files::places::{read_bytes, write_private};
use crate::files::{FileError, FileErrorKind, Places, sha256_hex};
use crate::session::{Began, Comment, Event, write_line};

/// Most bytes of the list of shown comments; a longer one is none of ours.
const LIMIT: u64 = 1 << 20;
/// Length of a mark: SHA-256 in hexadecimal digits.
const DIGITS: usize = 64;
/// The most marks that are kept, the newest: about sixteen thousand, which the limit has room for.
const KEPT: usize = LIMIT as usize / (DIGITS + 1);

/// The mark by which a comment is known; it names nobody.
fn mark(began: &Began, comment: &Comment) -> String {
    let id = began.player.as_ref().map(|player| player.id.to_string()).unwrap_or_default();
    let line = write_line(&Event::Commented(comment.clone()));
    sha256_hex(format!("{}\n{id}\n{line}", began.started).as_bytes())
}

/// The marks of the list; none where there is no list yet. Lines that are no mark, as after a power cut, are passed over.
fn marks(places: &Places) -> Result<Vec<String>, FileError> {
    let bytes = match read_bytes(&places.shown_comments(), "read which comments were shown in", LIMIT) {
        Err(failure) if failure.kind == FileErrorKind::Missing => return Ok(Vec::new()),
        other => other?,
    };
    let whole = |line: &&str| line.len() == DIGITS && line.bytes().all(|c| c.is_ascii_hexdigit());
    Ok(String::from_utf8_lossy(&bytes).lines().filter(whole).map(str::to_owned).collect())
}

/// The sittings that have comments not shown yet, with only these comments, each once. Where the list cannot be read all count as not
/// shown: a comment is better read twice than never.
#[must_use]
pub fn not_shown(places: &Places, found: Vec<CommentedSitting>) -> Vec<CommentedSitting> {
    let mut known: BTreeSet<String> = marks(places).unwrap_or_default().into_iter().collect();
    let mut fresh = Vec::new();
    for mut sitting in found {
        let CommentedSitting { began, comments, .. } = &mut sitting;
        comments.retain(|comment| known.insert(mark(began, comment)));
        if !sitting.comments.is_empty() {
            fresh.push(sitting);
        }
    }
    fresh
}

/// Writes down that these comments were shown.
///
/// # Errors
/// When the list cannot be read or written; it stays as it is, and these comments are shown once more then.
pub fn keep_shown(places: &Places, shown: &[CommentedSitting]) -> Result<(), FileError> {
    let new = shown.iter().flat_map(|it| it.comments.iter().map(|comment| mark(&it.began, comment)));
    let all: Vec<String> = marks(places)?.into_iter().chain(new).collect();
    let kept: String = all[all.len().saturating_sub(KEPT)..].iter().map(|mark| format!("{mark}\n")).collect();
    write_private(&places.shown_comments(), kept.as_bytes())
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn a_list_that_was_damaged_keeps_what_is_whole_and_one_that_cannot_be_read_is_not_written_over() {
        let folder = std::env::temp_dir().join(format!("earfirst-comments-{}", std::process::id()));
        let places = Places::at(&folder);
        keep_shown(&places, &[]).unwrap();
        assert_eq!(fs::read(places.shown_comments()).unwrap(), b"", "there was no list yet");
        let (one, other) = ("a1".repeat(32), "b2".repeat(32));
        let damaged = [one.as_bytes(), b"\n\xff\x00\xff\nshort\n", other.as_bytes(), b"\n"].concat();
        fs::write(places.shown_comments(), damaged).unwrap();
        keep_shown(&places, &[]).unwrap();
        assert_eq!(fs::read_to_string(places.shown_comments()).unwrap(), format!("{one}\n{other}\n"));
        // Another program's file, far too long for a list of ours.
        let long = vec![b'x'; LIMIT as usize + 1];
        fs::write(places.shown_comments(), &long).unwrap();
        let told = keep_shown(&places, &[]).unwrap_err().to_string();
        assert!(told.contains("larger than 1 MiB"), "{told}");
        assert_eq!(fs::read(places.shown_comments()).unwrap(), long, "it stays as it was");
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn a_list_never_grows_beyond_what_is_read() {
        let folder = std::env::temp_dir().join(format!("earfirst-many-comments-{}", std::process::id()));
        let places = Places::at(&folder);
        let full: String = (0..KEPT).map(|n| format!("{n:064x}\n")).collect();
        write_private(&places.shown_comments(), full.as_bytes()).unwrap();
        keep_shown(&places, &[]).unwrap();
        assert_eq!(marks(&places).unwrap().len(), KEPT);
        fs::remove_dir_all(&folder).unwrap();
    }
}
