use std::fs::{self, File};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use crate::files::live::{LOCK, RECORD, numbered, remove_live};
use crate::files::patient::Patient;
use crate::files::places::{listed, passing_name, read_bytes};
use crate::files::reserve::RESERVE;
use crate::files::stored::{RECORD_FILE_LIMIT, read_one};
use crate::files::wav::{HEADER, header, look, part_name, repair};
use crate::files::{Failure, FailureKind};
use crate::session::{Session, read};
use crate::units::SampleRate;

const DOING: &str = "finish the session in";
/// The text for whoever has no earfirst.
const REVIEW: &str = "review.txt";

/// What goes into a session file.
pub(super) struct Contents<'a> {
    /// The lines of the record.
    pub record: &'a [u8],
    /// The review as text.
    pub review: &'a str,
    /// Rate of the sound.
    pub rate: SampleRate,
    /// Sound files on the disk, with the bytes of sound in each.
    pub sounds: Vec<(PathBuf, u64)>,
    /// Sound that follows them.
    pub held: &'a [u8],
    /// When the sitting began, RFC 3339.
    pub started: &'a str,
}

/// Writes `name.zip` into a folder, never over another file: under a passing name first, and renamed when it is whole.
pub(super) fn pack(folder: &Path, name: &str, contents: &Contents<'_>) -> Result<PathBuf, Failure> {
    let failure = |error: &io::Error| Failure::system(DOING, folder, error);
    fs::create_dir_all(folder).map_err(|error| failure(&error))?;
    let passing = passing_name(&folder.join(name).with_added_extension("zip"));
    let packed = File::create(&passing)
        .and_then(|file| fill(Patient::over(file), contents))
        .and_then(|()| settle(&passing, folder, name));
    packed.map_err(|error| {
        // Best effort: the failure that is told is the one of the writing.
        let _ = fs::remove_file(&passing);
        failure(&error)
    })
}

fn fill(file: Patient<File>, contents: &Contents<'_>) -> io::Result<()> {
    let mut zip = ZipWriter::new(file);
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(stamp(contents.started).unwrap_or_default());
    zip.start_file(RECORD, options)?;
    zip.write_all(contents.record)?;
    let parts = contents.sounds.len().max(usize::from(!contents.held.is_empty()));
    for index in 0..parts {
        let (path, bytes) = contents.sounds.get(index).map_or((None, 0), |(path, bytes)| (Some(path), *bytes));
        let held = if index + 1 == parts { contents.held } else { &[] };
        let total = bytes + held.len() as u64;
        zip.start_file(part_name(index), options.large_file(total > 4_200_000_000))?;
        zip.write_all(&header(contents.rate, u32::try_from(total).unwrap_or(u32::MAX)))?;
        if let Some(path) = path {
            let mut sound = File::open(path)?;
            sound.seek(SeekFrom::Start(HEADER))?;
            io::copy(&mut sound.take(bytes), &mut zip)?;
        }
        zip.write_all(held)?;
    }
    zip.start_file(REVIEW, options)?;
    zip.write_all(contents.review.as_bytes())?;
    zip.finish()?.whole()?.sync_all()
}

/// Gives the whole file its name, the first that is free.
fn settle(passing: &Path, folder: &Path, name: &str) -> io::Result<PathBuf> {
    for n in 1..10_000 {
        let path = folder.join(numbered(name, n)).with_added_extension("zip");
        // A link never replaces a file; where there are no links, the name is claimed with an empty file first.
        match fs::hard_link(passing, &path) {
            Ok(()) => {
                fs::remove_file(passing)?;
                return Ok(path);
            }
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => continue,
            Err(_) => {}
        }
        match File::options().write(true).create_new(true).open(&path) {
            Ok(_) => return fs::rename(passing, &path).map(|()| path),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => continue,
            Err(error) => return Err(error),
        }
    }
    Err(io::ErrorKind::AlreadyExists.into())
}

/// `2026-11-25T18:30:00...` as a zip tells time.
fn stamp(started: &str) -> Option<DateTime> {
    let part = |from: usize, to: usize| started.get(from..to)?.parse::<u16>().ok();
    let byte = |from: usize| u8::try_from(part(from, from + 2)?).ok();
    DateTime::from_date_and_time(part(0, 4)?, byte(5)?, byte(8)?, byte(11)?, byte(14)?, byte(17)?).ok()
}

/// Live folders that nobody is using: sittings that were killed, to be finished with [`finish_unfinished`].
///
/// # Errors
/// When the sessions folder is there but cannot be read.
pub fn unfinished(sessions: &Path) -> Result<Vec<PathBuf>, Failure> {
    let mut folders = listed(sessions)?;
    folders.retain(|folder| folder.join(RECORD).is_file() && lock(folder).is_ok());
    Ok(folders)
}

/// The lock of a live folder; an error when another process holds it. Dropping it frees the folder.
fn lock(folder: &Path) -> Result<Option<File>, Failure> {
    let path = folder.join(LOCK);
    // A folder that was copied from elsewhere has no lock; nobody is using it.
    let Ok(file) = File::options().write(true).open(&path) else { return Ok(None) };
    match file.try_lock() {
        Err(fs::TryLockError::WouldBlock) => Err(Failure {
            doing: DOING.to_owned(),
            place: folder.to_owned(),
            why: "another earfirst is using it".to_owned(),
            mend: "end that one first".to_owned(),
            kind: FailureKind::InUse,
        }),
        _ => Ok(Some(file)),
    }
}

/// Makes one file of a sitting that was killed: cuts off the line that was being written, mends the headers of the sound, packs
/// it beside the folder, and removes the folder. `Ok(None)` when nothing was asked in it.
///
/// # Errors
/// When the folder is in use, cannot be read, holds no header, or the file cannot be written; the folder is left then.
pub fn finish_unfinished(folder: &Path, review: &dyn Fn(&Session) -> String) -> Result<Option<PathBuf>, Failure> {
    let held = lock(folder)?;
    let mut record = read_bytes(&folder.join(RECORD), "read the session in", RECORD_FILE_LIMIT)?;
    // The last line counts if it is whole, even without its line end.
    let lines = record.iter().rposition(|byte| *byte == b'\n').map_or(0, |place| place + 1);
    let (events, damage) = read(&record);
    if lines < record.len() {
        match damage {
            Some(_) if read(&record[..lines]).0.len() == events.len() => record.truncate(lines),
            _ => record.push(b'\n'),
        }
    }
    let Some(session) = Session::from_events(&events) else {
        let mend = "look into it, or remove the folder";
        return Err(Failure::unreadable(DOING, folder, "its record has no header", mend));
    };
    let name = folder.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let finished = if session.turns.is_empty() {
        None
    } else if let Some(path) = finished_before(folder, &record) {
        Some(path)
    } else {
        let review = review(&session);
        // The room that was kept for the record is needed now.
        let _ = fs::remove_file(folder.join(RESERVE));
        let sounds = mended_sounds(folder).map_err(|error| Failure::system("mend the sound in", folder, &error))?;
        let contents = Contents {
            record: &record,
            review: &review,
            rate: session.began.rate,
            sounds,
            held: &[],
            started: &session.began.started,
        };
        Some(pack(folder.parent().unwrap_or(folder), &name, &contents)?)
    };
    drop(held);
    remove_live(folder)?;
    Ok(finished)
}

/// The file that was already made of this folder, where the kill came between making it and removing the folder.
fn finished_before(folder: &Path, record: &[u8]) -> Option<PathBuf> {
    let path = folder.with_added_extension("zip");
    let (theirs, _) = read(record);
    let stored = read_one(&path).ok()?;
    (stored.events == theirs).then_some(path)
}

/// The sound files of a live folder, their headers mended, with the bytes of sound in each.
fn mended_sounds(folder: &Path) -> io::Result<Vec<(PathBuf, u64)>> {
    let mut sounds = Vec::new();
    loop {
        let path = folder.join(part_name(sounds.len()));
        if !path.exists() {
            return Ok(sounds);
        }
        repair(&path)?;
        let bytes = look(&mut File::open(&path)?)?.map_or(0, |(_, bytes)| bytes);
        sounds.push((path, bytes));
    }
}
