use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

use zip::read::{ZipFile, read_zipfile_from_stream};
use zip::result::ZipError;
use zip::{CompressionMethod, ZipArchive};

use crate::files::FileError;
use crate::files::flac::flac_name;
use crate::files::places::open_plain;
use crate::files::session_layout::{HEAD, PARTS, READING, RECORD, RECORD_FILE_LIMIT};
use crate::files::wav::part_name;

/// Most bytes of a zip that are read to find and read its record: the zip's own table of files may claim anything.
const ZIP_LIMIT: u64 = RECORD_FILE_LIMIT + (16 << 20);
/// Most files in a zip; one with more is refused.
const ZIP_FILES: usize = 1000;

/// Where a sound file lies in a zip.
pub(super) struct Entry {
    /// First byte of the sound file in the zip.
    pub start: u64,
    /// Number of its bytes in the zip.
    pub length: u64,
    /// Whether the bytes are deflated, by somebody who packed the zip anew; this program stores them as they are.
    pub deflated: bool,
    /// Whether the sound file is FLAC; otherwise it is WAV.
    pub flac: bool,
}

/// The sound files of a session file, in their order.
pub(super) fn sound_entries(path: &Path, doing: &str) -> Result<Vec<Entry>, FileError> {
    let mut zip = open_zip(path, u64::MAX)?;
    let prefix = prefix(path, &zip)?;
    let mut entries = Vec::new();
    for index in 0..PARTS {
        let names = [(flac_name(index), true), (part_name(index), false)];
        let found =
            names.iter().find_map(|(name, flac)| Some((zip.index_for_name(&format!("{prefix}{name}"))?, *flac)));
        let Some((entry, flac)) = found else { break };
        let file = zip.by_index(entry).map_err(|error| zip_error(doing, path, &error))?;
        readable(&file, doing, path)?;
        let start = file.data_start().ok_or_else(|| zip_error(doing, path, &ZipError::FileNotFound))?;
        let deflated = file.compression() == CompressionMethod::Deflated;
        entries.push(Entry { start, length: file.compressed_size(), deflated, flac });
    }
    Ok(entries)
}

/// A file of which only a limited number of bytes is read.
pub(super) struct Budget {
    /// The file itself.
    file: File,
    /// Bytes that may still be read.
    left: u64,
}

impl Read for Budget {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let count = self.file.read(to)?;
        let over = || io::Error::new(io::ErrorKind::InvalidData, "it is larger inside than a session can be");
        self.left = self.left.checked_sub(count as u64).ok_or_else(over)?;
        Ok(count)
    }
}

impl Seek for Budget {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.file.seek(to)
    }
}

/// Opens a zip of which at most `limit` bytes are read.
pub(super) fn open_zip(path: &Path, limit: u64) -> Result<ZipArchive<Budget>, FileError> {
    let file = open_plain(path, READING, "take it out of the folder")?;
    let zip = ZipArchive::new(Budget { file, left: limit }).map_err(|error| zip_error(READING, path, &error))?;
    if zip.len() > ZIP_FILES {
        let why = format!("it holds more than {ZIP_FILES} files");
        return Err(FileError::too_large(READING, path, why, "check that it is a session file"));
    }
    Ok(zip)
}

/// The record in a zip.
pub(super) fn record_in_zip(path: &Path) -> Result<Vec<u8>, FileError> {
    let bytes = read_record(path, RECORD_FILE_LIMIT + 1)?;
    if bytes.len() as u64 > RECORD_FILE_LIMIT {
        let why = format!("its record is larger than {} MiB", RECORD_FILE_LIMIT >> 20);
        return Err(FileError::too_large(READING, path, why, "check that it is a session file"));
    }
    Ok(bytes)
}

/// The beginning of the record in a zip.
pub(super) fn head_in_zip(path: &Path) -> Result<Vec<u8>, FileError> {
    read_record(path, HEAD)
}

fn read_record(path: &Path, most: u64) -> Result<Vec<u8>, FileError> {
    let mut zip = open_zip(path, ZIP_LIMIT)?;
    let name = format!("{}{RECORD}", prefix(path, &zip)?);
    let file = zip.by_name(&name).map_err(|error| zip_error(READING, path, &error))?;
    readable(&file, READING, path)?;
    let mut bytes = Vec::new();
    file.take(most)
        .read_to_end(&mut bytes)
        .map_err(|error| FileError::unreadable(READING, path, error.to_string(), "ask for the file again"))?;
    Ok(bytes)
}

/// The part of the record that is left in a zip that was cut off on its way. The zip's table of files, at its end, is gone; but our
/// zips begin with the record.
pub(super) fn salvaged(path: &Path) -> Option<Vec<u8>> {
    let mut file = Budget { file: open_plain(path, READING, "").ok()?, left: ZIP_LIMIT };
    let first = read_zipfile_from_stream(&mut file).ok()??;
    if !first.name().is_ok_and(|name| name.ends_with(RECORD)) {
        return None;
    }
    let mut bytes = Vec::new();
    // Where it ends too early, what came before is kept.
    let _ = first.take(RECORD_FILE_LIMIT).read_to_end(&mut bytes);
    (!bytes.is_empty()).then_some(bytes)
}

/// The folder inside the zip in which the record lies: none in ours, one in a zip that somebody made of an unpacked session.
/// The name of that folder is only compared, never made a path of.
pub(super) fn prefix(path: &Path, zip: &ZipArchive<Budget>) -> Result<String, FileError> {
    let names = zip.file_names().filter_map(Result::ok);
    let mut prefixes = names.filter_map(|name| name.strip_suffix(RECORD).map(str::to_owned));
    let fits = |prefix: &String| prefix.is_empty() || prefix.ends_with('/');
    prefixes.find(fits).ok_or_else(|| {
        FileError::unreadable(READING, path, format!("there is no {RECORD} in it"), "check that it is a session file")
    })
}

/// Refuses a file in the zip that is neither stored nor deflated: the zip reader itself would notice it only when the bytes are
/// wanted.
fn readable<R: Read>(file: &ZipFile<'_, R>, doing: &str, path: &Path) -> Result<(), FileError> {
    match file.compression() {
        CompressionMethod::Stored | CompressionMethod::Deflated => Ok(()),
        _ => Err(foreign(doing, path)),
    }
}

/// The error for a file that is whole, but packed in a way that this program does not read.
fn foreign(doing: &str, path: &Path) -> FileError {
    let why = "it was packed in a way that is not read here";
    FileError::unreadable(
        doing,
        path,
        why,
        "unpack it and name the folder, or pack that anew with deflate, no password",
    )
}

/// What the zip reader said.
pub(super) fn zip_error(doing: &str, path: &Path, error: &ZipError) -> FileError {
    match error {
        ZipError::Io(error) if error.kind() != io::ErrorKind::InvalidData => FileError::system(doing, path, error),
        ZipError::UnsupportedArchive(_) | ZipError::CompressionMethodNotSupported(_) => foreign(doing, path),
        other => {
            let why = match other {
                ZipError::FileNotFound => "what should be in it is not there",
                _ => "it is damaged, or no session file",
            };
            FileError::unreadable(doing, path, why, "ask for the file again")
        }
    }
}
