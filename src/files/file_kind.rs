use std::fs;
use std::io::Read;
use std::path::Path;

use crate::files::FileError;

/// What kind of file some bytes begin.
#[derive(Debug, PartialEq, Eq)]
enum FileKind {
    /// One of [`SIGNS`], by its place there.
    Signed(usize),
    /// UTF-8 text.
    Text,
    /// Neither; as recordings in AIFF, CAF, M4A and MP3.
    Other,
}

/// The signs with which many files of sound, scores, zips and pages begin.
const SIGNS: [&[u8]; 8] = [b"RIFF", b"fLaC", b"OggS", b"ID3", b"MThd", b"<?xml", b"PK\x03\x04", b"<!DOCTYP"];
/// Number of bytes by which the kind of a file is told.
const HEAD: usize = 64;

impl FileKind {
    fn of(bytes: &[u8]) -> Self {
        if let Some(place) = SIGNS.iter().position(|sign| bytes.starts_with(sign)) {
            return Self::Signed(place);
        }
        let head = &bytes[..bytes.len().min(HEAD)];
        // The last character may be cut off.
        let utf8 = std::str::from_utf8(head).map_or_else(|error| error.error_len().is_none(), |_| true);
        if utf8 && !head.contains(&0) { Self::Text } else { Self::Other }
    }
}

/// Whether bytes begin as a WAV, FLAC, Ogg or MP3 file with a header does.
pub(super) fn is_recording(bytes: &[u8]) -> bool {
    matches!(FileKind::of(bytes), FileKind::Signed(0..=3))
}

/// Checks that the file at a path, if there is one, is of the same kind as these bytes, by its first [`HEAD`] bytes. An empty file
/// is of every kind.
///
/// # Errors
/// When it is of another kind.
pub(super) fn same_kind(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    let mut there = Vec::new();
    let read = fs::File::open(path).and_then(|file| file.take(HEAD as u64).read_to_end(&mut there));
    if read.is_ok_and(|length| length > 0) && FileKind::of(&there) != FileKind::of(bytes) {
        return Err(FileError::unreadable("write", path, "a file of another kind is there", "give another name"));
    }
    Ok(())
}
