//! A comment is added to a sitting that is kept: it stands after the last event of the record, in a file that is written whole.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use crate::files::FileError;
use crate::files::deferred_error::DeferredErrorFile;
use crate::files::places::{passing_name, write_private};
use crate::files::session_layout::{RECORD, REVIEW};
use crate::files::session_zip::{lock, passing_file, stamp};
use crate::files::sessions::record_bytes;
use crate::files::zip_reading::{open_zip, prefix, zip_error};
use crate::session::{Comment, Event, Session, read, write_line};

/// What was tried, for an error.
const DOING: &str = "add a word to the session in";

/// Adds a comment after the last event of a sitting: of a session file, of a folder that nobody uses, or of a bare record. A
/// session file is written anew, with the text that `review` makes for readers without earfirst; everything else in it stays, byte
/// for byte.
///
/// # Errors
/// When the sitting cannot be read, is cut off or in use, has no header, or its place cannot be written; the sitting then stays as it was.
pub fn add_comment(path: &Path, comment: &Comment, review: &dyn Fn(&Session) -> String) -> Result<(), FileError> {
    let pending = if path.is_dir() { lock(path)? } else { None };
    let (mut record, cut_off) = record_bytes(path)?;
    if cut_off {
        return Err(FileError::unreadable(DOING, path, "its end is missing", "ask for the file again"));
    }
    if !record.is_empty() && !record.ends_with(b"\n") {
        record.push(b'\n');
    }
    record.extend(write_line(&Event::Commented(comment.clone())).into_bytes());
    let Some(session) = Session::from_events(&read(&record).0) else {
        return Err(FileError::unreadable(DOING, path, "its record has no header", "check that it is a session file"));
    };
    let done = if path.is_dir() {
        write_private(&path.join(RECORD), &record)
    } else if path.extension().is_none_or(|end| end != "zip") {
        write_private(path, &record)
    } else {
        packed_anew(path, &record, &review(&session), &session.began.started)
    };
    drop(pending);
    done
}

/// Writes a session file anew with this record and this review, under a passing name first; the sound is copied as it lies there.
fn packed_anew(path: &Path, record: &[u8], review: &str, started: &str) -> Result<(), FileError> {
    let passing = passing_name(path);
    let written = fill(path, &passing, record, review, started)
        .and_then(|()| fs::rename(&passing, path).map_err(|error| FileError::system(DOING, path, &error)));
    if written.is_err() {
        // Best effort: the error that is reported is the one of the writing.
        let _ = fs::remove_file(&passing);
    }
    written
}

fn fill(path: &Path, passing: &Path, record: &[u8], review: &str, started: &str) -> Result<(), FileError> {
    let disk = |error: &io::Error| FileError::system(DOING, path, error);
    let mut old = open_zip(path, u64::MAX)?;
    let prefix = prefix(path, &old)?;
    let (record_name, review_name) = (format!("{prefix}{RECORD}"), format!("{prefix}{REVIEW}"));
    let mut zip = ZipWriter::new(DeferredErrorFile::over(passing_file(passing).map_err(|error| disk(&error))?));
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(stamp(started).unwrap_or_default());
    let failed = |error: &zip::result::ZipError| zip_error(DOING, path, error);
    // The record stands first, so that it is still found in a file that was cut off on its way.
    zip.start_file(record_name.as_str(), options).map_err(|error| failed(&error))?;
    zip.write_all(record).map_err(|error| disk(&error))?;
    for index in 0..old.len() {
        let entry = old.by_index_raw(index).map_err(|error| failed(&error))?;
        let ours = entry.name().is_ok_and(|name| name == record_name || name == review_name);
        if !ours {
            zip.raw_copy_file(entry).map_err(|error| failed(&error))?;
        }
    }
    zip.start_file(review_name.as_str(), options).map_err(|error| failed(&error))?;
    zip.write_all(review.as_bytes()).map_err(|error| disk(&error))?;
    let whole = zip.finish().map_err(|error| failed(&error))?.whole().map_err(|error| disk(&error))?;
    whole.sync_all().map_err(|error| disk(&error))
}
