use std::fs::{self, File};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use crate::files::deferred_error::DeferredErrorFile;
use crate::files::disk_reserve::RESERVE;
use crate::files::flac::{PartDigest, encode, fits_flac, flac_name, sign};
use crate::files::places::{listed, passing_name, private_file, private_folders, read_bytes, sweep};
use crate::files::session_layout::{LOCK, RECORD, RECORD_FILE_LIMIT, REVIEW, numbered, remove_live};
use crate::files::sessions::read_one;
use crate::files::stored_sound::StoredSound;
use crate::files::wav::{HEADER, header, look, part_name, repair, sixteen};
use crate::files::{FileError, FileErrorKind};
use crate::session::{Session, read};
use crate::units::SampleRate;

/// What was tried, for an error.
const DOING: &str = "finish the session in";
/// Time for which a process that was killed may still lock its files.
const DYING: Duration = Duration::from_millis(500);

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
    /// Bytes of sound before `pending` that are no longer on any disk: silence stands for them, so that places stay true.
    pub lost: u64,
    /// Sound after that of the files, which is only in memory: 16-bit samples, the low byte first.
    pub pending: &'a [u8],
    /// When the sitting began, RFC 3339.
    pub started: &'a str,
}

/// Writes `name.zip` into a folder (`name-2.zip` where that is taken), never over another file: under a passing name first; it gets
/// its own name when it is whole.
pub(super) fn pack(folder: &Path, name: &str, contents: &Contents<'_>) -> Result<PathBuf, FileError> {
    let failure = |error: &io::Error| FileError::system(DOING, folder, error);
    private_folders(folder).map_err(|error| failure(&error))?;
    let passing = passing_name(&folder.join(name).with_added_extension("zip"));
    let packed = fill_proved(&passing, contents).and_then(|()| settle(&passing, folder, name));
    packed.map_err(|error| {
        // Best effort: the error that is reported is the one of the writing.
        let _ = fs::remove_file(&passing);
        failure(&error)
    })
}

/// Fills the zip with FLAC and reads the sound back, as any reader would. Where one sample differs, which no test has seen, the zip
/// is filled with WAV instead: it holds the only copy once the live folder is gone.
fn fill_proved(passing: &Path, contents: &Contents<'_>) -> io::Result<()> {
    let signed = fill(DeferredErrorFile::over(passing_file(passing)?), contents, Packing::Flac)?;
    if proved(passing, &signed) {
        return Ok(());
    }
    fill(DeferredErrorFile::over(passing_file(passing)?), contents, Packing::Wav).map(|_| ())
}

/// Opens a file to write it and locks it, so that other processes see that it is being written.
pub(super) fn passing_file(passing: &Path) -> io::Result<File> {
    let file = private_file(passing)?;
    // A file system without locks is no reason not to keep what was played.
    let _ = file.try_lock();
    Ok(file)
}

/// Whether the sound in the zip is the sound that was signed.
fn proved(passing: &Path, signed: &[PartDigest]) -> bool {
    let mut heard: Vec<md5::Context> = signed.iter().map(|_| md5::Context::new()).collect();
    let mut take = |index: usize, samples: &[f32]| {
        let bytes: Vec<u8> = samples.iter().flat_map(|sample| sixteen(*sample).to_le_bytes()).collect();
        if let Some(context) = heard.get_mut(index) {
            context.consume(&bytes);
        }
    };
    let read = StoredSound::of_zip(passing).and_then(|mut sounds| sounds.all(&mut take));
    read.is_ok() && heard.into_iter().zip(signed).all(|(context, signed)| context.finalize().0 == signed.digest)
}

/// How sound goes into the zip.
#[derive(Clone, Copy, PartialEq)]
enum Packing {
    /// Without loss, where FLAC can store its rate.
    Flac,
    /// The sound as it is.
    Wav,
}

/// Fills the zip. Returns length and MD5 of the sound that went in, part by part.
fn fill(file: DeferredErrorFile<File>, contents: &Contents<'_>, packing: Packing) -> io::Result<Vec<PartDigest>> {
    let mut zip = ZipWriter::new(file);
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(stamp(contents.started).unwrap_or_default());
    zip.start_file(RECORD, options)?;
    zip.write_all(contents.record)?;
    let mut all = Vec::new();
    let parts = contents.sounds.len().max(usize::from(!contents.pending.is_empty()));
    for index in 0..parts {
        let signed = sign(contents.part(index, parts)?)?;
        let options = options.large_file(signed.bytes > 4_200_000_000);
        if packing == Packing::Flac && signed.bytes > 0 && fits_flac(contents.rate) {
            zip.start_file(flac_name(index), options)?;
            encode(contents.rate, &signed, contents.part(index, parts)?, &mut zip)?;
        } else {
            zip.start_file(part_name(index), options)?;
            zip.write_all(&header(contents.rate, u32::try_from(signed.bytes).unwrap_or(u32::MAX)))?;
            io::copy(&mut contents.part(index, parts)?, &mut zip)?;
        }
        all.push(signed);
    }
    zip.start_file(REVIEW, options)?;
    zip.write_all(contents.review.as_bytes())?;
    zip.finish()?.whole()?.sync_all()?;
    Ok(all)
}

impl Contents<'_> {
    /// The bytes of sound of one part: from the disk, or silence for those that are lost; in the last part also those in memory.
    fn part(&self, index: usize, parts: usize) -> io::Result<impl Read> {
        let stored: Box<dyn Read> = match self.sounds.get(index) {
            Some((path, bytes)) => {
                let mut sound = File::open(path)?;
                sound.seek(SeekFrom::Start(HEADER))?;
                Box::new(sound.take(*bytes))
            }
            None => Box::new(io::repeat(0).take(self.lost)),
        };
        Ok(stored.chain(if index + 1 == parts { self.pending } else { &[] }))
    }
}

/// Gives the finished file the first name that is free.
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

/// A time such as `2026-11-25T18:30:00...` as a zip stores it; `None` where the text is no such time.
pub(super) fn stamp(started: &str) -> Option<DateTime> {
    let part = |from: usize, to: usize| started.get(from..to)?.parse::<u16>().ok();
    let byte = |from: usize| u8::try_from(part(from, from + 2)?).ok();
    DateTime::from_date_and_time(part(0, 4)?, byte(5)?, byte(8)?, byte(11)?, byte(14)?, byte(17)?).ok()
}

/// Live folders that nobody is using: sittings that were killed, to be finished with [`finish_unfinished`]. What a killed packing
/// left behind is removed. A process that was killed a moment ago may still lock its folder, so locked folders are tried again, for
/// half a second in all.
///
/// # Errors
/// When the sessions folder is there but cannot be read.
pub fn unfinished(sessions: &Path) -> Result<Vec<PathBuf>, FileError> {
    sweep(sessions);
    let mut folders = listed(sessions)?;
    // A finished session that somebody unpacked here is no live folder.
    let unpacked = |folder: &Path| folder.join(REVIEW).exists() || folder.join(flac_name(0)).exists();
    folders.retain(|folder| folder.join(RECORD).is_file() && !unpacked(folder));
    let began = Instant::now();
    folders.retain(|folder| {
        while lock(folder).is_err() {
            if began.elapsed() > DYING {
                return false;
            }
            thread::sleep(DYING / 50);
        }
        true
    });
    Ok(folders)
}

/// The lock of a live folder; an error when another process has it. Dropping it frees the folder.
pub(super) fn lock(folder: &Path) -> Result<Option<File>, FileError> {
    let path = folder.join(LOCK);
    // An unpacked session has no such file; nobody is using it.
    let Ok(file) = File::options().write(true).open(&path) else { return Ok(None) };
    match file.try_lock() {
        Err(fs::TryLockError::WouldBlock) => Err(FileError {
            doing: DOING.to_owned(),
            place: folder.to_owned(),
            why: "another earfirst is using it".to_owned(),
            mend: "end that one first".to_owned(),
            kind: FileErrorKind::InUse,
        }),
        _ => Ok(Some(file)),
    }
}

/// Makes one file of a sitting that was killed: cuts off the line that was being written, mends the headers of the sound, packs
/// it beside the folder, and removes the folder. `Ok(None)` when nothing was asked in it.
///
/// # Errors
/// When the folder is in use, cannot be read, has no header, or the file cannot be written; the folder is left then.
pub fn finish_unfinished(folder: &Path, review: &dyn Fn(&Session) -> String) -> Result<Option<PathBuf>, FileError> {
    let pending = lock(folder)?;
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
        return Err(FileError::unreadable(DOING, folder, "its record has no header", mend));
    };
    let name = folder.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let finished = if session.is_empty() {
        None
    } else if let Some(path) = finished_before(folder, &record) {
        Some(path)
    } else {
        let review = review(&session);
        // The room that was kept for the record is needed now.
        let _ = fs::remove_file(folder.join(RESERVE));
        let sounds = mended_sounds(folder).map_err(|error| FileError::system("mend the sound in", folder, &error))?;
        let contents = Contents {
            record: &record,
            review: &review,
            rate: session.began.rate,
            sounds,
            lost: 0,
            pending: &[],
            started: &session.began.started,
        };
        Some(pack(folder.parent().unwrap_or(folder), &name, &contents)?)
    };
    drop(pending);
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
