use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

use zip::ZipArchive;
use zip::read::read_zipfile_from_stream;
use zip::result::ZipError;

use crate::files::Failure;
use crate::files::live::RECORD;
use crate::files::places::{listed, open_plain, read_bytes};
use crate::files::wav::{HEADER, look, part_name};
use crate::session::{Damage, Event, Session, read};
use crate::sound::Clip;
use crate::units::SampleRate;

/// Bytes of a record that are read.
pub(super) const RECORD_FILE_LIMIT: u64 = 64 << 20;
/// Bytes of a zip that are read to find the record in it, the record included: its table may lie about anything.
const ZIP_LIMIT: u64 = RECORD_FILE_LIMIT + (16 << 20);
/// Files in a zip that are looked at.
const ZIP_FILES: usize = 1000;
/// Sessions of one folder that are read.
const FOLDER_LIMIT: usize = 10_000;
/// The longest piece of stored sound that is given out, in seconds.
const SOUND_LIMIT_S: u64 = 600;
const DOING: &str = "read the session in";
const DOING_SOUND: &str = "read the sound of";

/// A sitting that was read from the disk.
#[derive(Debug, Clone, PartialEq)]
pub struct Stored {
    /// The live folder, session file or record it was read from.
    pub path: PathBuf,
    /// All events that could be read.
    pub events: Vec<Event>,
    /// What could not.
    pub damage: Option<Damage>,
}

/// What was found under some paths.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Found {
    /// Sittings, in the order of the paths and, in a folder, of their names: that is the order of time.
    pub sessions: Vec<Stored>,
    /// What could not be read at all.
    pub failures: Vec<Failure>,
}

/// Reads sittings: a live folder, a finished `.zip`, a bare `.jsonl`, or a folder of these. Whatever cannot be read is told
/// beside what can.
#[must_use]
pub fn read_sessions(paths: &[PathBuf]) -> Found {
    let mut found = Found::default();
    for path in paths {
        if path.is_dir() && !path.join(RECORD).exists() {
            read_folder(path, &mut found);
        } else {
            found.take(read_one(path));
        }
    }
    found
}

fn read_folder(folder: &Path, found: &mut Found) {
    let mut paths = match listed(folder) {
        Ok(paths) => paths,
        Err(failure) => return found.failures.push(failure),
    };
    let before = (found.sessions.len(), found.failures.len());
    paths.retain(|path| {
        let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        let end = path.extension().is_some_and(|end| end == "zip" || end == "jsonl");
        !hidden && (end || path.join(RECORD).is_file())
    });
    for path in paths.iter().take(FOLDER_LIMIT) {
        found.take(read_one(path));
    }
    if paths.len() > FOLDER_LIMIT {
        let why = format!("it holds more than {FOLDER_LIMIT} sessions");
        found.failures.push(Failure::too_large("read all of", folder, why, "sort them into folders"));
    }
    if before == (found.sessions.len(), found.failures.len()) {
        let mend = "name a session file, or a folder of them";
        found.failures.push(Failure::unreadable("find a session in", folder, "there is none", mend));
    }
}

impl Found {
    /// Leaves of each sitting that lies there twice (a copy, or one that was cut off or damaged on its way) the fuller one,
    /// and tells which were left out.
    pub fn once(&mut self) -> Vec<PathBuf> {
        let mut order: Vec<usize> = (0..self.sessions.len()).collect();
        order.sort_by_key(|&index| std::cmp::Reverse(self.sessions[index].events.len()));
        let mut kept: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        let mut again = BTreeSet::new();
        for index in order {
            let Some(Event::Began(began)) = self.sessions[index].events.first() else { continue };
            let same_start = kept.entry(began.started.clone()).or_default();
            if same_start.iter().any(|&other| self.sessions[index].is_part_of(&self.sessions[other])) {
                again.insert(index);
            } else {
                same_start.push(index);
            }
        }
        let left_out = again.iter().map(|&index| self.sessions[index].path.clone()).collect();
        let mut index = 0..;
        self.sessions.retain(|_| index.next().is_some_and(|index| !again.contains(&index)));
        left_out
    }

    fn take(&mut self, read: Result<Stored, Failure>) {
        match read {
            Ok(stored) => self.sessions.push(stored),
            Err(failure) => self.failures.push(failure),
        }
    }
}

/// Reads one sitting.
pub(super) fn read_one(path: &Path) -> Result<Stored, Failure> {
    let mut cut_off = false;
    let bytes = if path.is_dir() {
        read_bytes(&path.join(RECORD), DOING, RECORD_FILE_LIMIT)?
    } else if path.extension().is_some_and(|end| end == "zip") {
        record_in_zip(path).or_else(|failure| {
            cut_off = true;
            salvaged(path).ok_or(failure)
        })?
    } else {
        read_bytes(path, DOING, RECORD_FILE_LIMIT)?
    };
    let (events, mut damage) = read(&bytes);
    if events.is_empty() {
        let why = damage.map_or_else(String::new, |damage| format!("line {}: {}", damage.line, damage.why));
        return Err(Failure::unreadable(
            DOING,
            path,
            why,
            "check that it is a session file of this or an older earfirst",
        ));
    }
    if cut_off {
        let why = "the file is cut off here, so the sound is lost".to_owned();
        damage = damage.or(Some(Damage { line: events.len(), why, kept: events.len(), lost: 0 }));
    }
    Ok(Stored { path: path.to_owned(), events, damage })
}

impl Stored {
    /// The same sitting, with no more of it: its beginning, or all but the lines that are damaged.
    fn is_part_of(&self, other: &Self) -> bool {
        let damaged = self.damage.is_some() || other.damage.is_some();
        other.events.starts_with(&self.events) || (damaged && other.events.first() == self.events.first())
    }

    /// The events joined; `None` only when the header is missing.
    #[must_use]
    pub fn session(&self) -> Option<Session> {
        Session::from_events(&self.events)
    }

    /// The sound of an answer, by the place its record names. Shorter than told where the sound was cut off; `Ok(None)` where
    /// no sound was kept.
    ///
    /// # Errors
    /// When the sound is there but cannot be read, or the place is longer than ten minutes.
    pub fn sound(&self, place: (u64, u64)) -> Result<Option<Clip>, Failure> {
        let mut span = Span { first: place.0, left: place.1, clip: None };
        if self.path.is_dir() {
            for index in 0.. {
                let part = self.path.join(part_name(index));
                if span.left == 0 || !part.exists() {
                    break;
                }
                let mut file = open_plain(&part, DOING_SOUND)?;
                span.take(&mut file).map_err(|error| Failure::system(DOING_SOUND, &part, &error))?;
            }
        } else if self.path.extension().is_some_and(|end| end == "zip") {
            let mut zip = open_zip(&self.path, u64::MAX)?;
            let prefix = prefix(&self.path, &zip)?;
            for index in 0.. {
                let Some(entry) = zip.index_for_name(&format!("{prefix}{}", part_name(index))) else { break };
                let mut file = zip.by_index_seek(entry).map_err(|error| told(DOING_SOUND, &self.path, &error))?;
                span.take(&mut file).map_err(|error| Failure::system(DOING_SOUND, &self.path, &error))?;
            }
        }
        Ok(span.clip)
    }
}

/// A stretch of sound that is being collected over the files it lies in.
struct Span {
    first: u64,
    left: u64,
    clip: Option<Clip>,
}

impl Span {
    fn take(&mut self, file: &mut (impl Read + Seek)) -> io::Result<()> {
        let foreign = || io::Error::new(io::ErrorKind::InvalidData, "it is not a sound file of ours");
        let (rate, bytes): (SampleRate, u64) = look(file)?.ok_or_else(foreign)?;
        if self.left > SOUND_LIMIT_S * u64::from(rate.hz()) {
            return Err(io::Error::new(io::ErrorKind::InvalidData, "the answer is longer than ten minutes"));
        }
        let samples = bytes / 2;
        if self.first >= samples {
            self.first -= samples;
            return Ok(());
        }
        let count = self.left.min(samples - self.first);
        file.seek(SeekFrom::Start(HEADER + self.first * 2))?;
        let mut raw = Vec::new();
        file.take(count * 2).read_to_end(&mut raw)?;
        let clip = self.clip.get_or_insert_with(|| Clip { rate, samples: Vec::new() });
        clip.samples.extend(raw.as_chunks::<2>().0.iter().map(|two| f32::from(i16::from_le_bytes(*two)) / 32_768.0));
        (self.first, self.left) = (0, self.left - count);
        Ok(())
    }
}

/// A file of which only so much is read.
struct Budget {
    file: File,
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

fn open_zip(path: &Path, limit: u64) -> Result<ZipArchive<Budget>, Failure> {
    let file = open_plain(path, DOING)?;
    let zip = ZipArchive::new(Budget { file, left: limit }).map_err(|error| told(DOING, path, &error))?;
    if zip.len() > ZIP_FILES {
        let why = format!("it holds more than {ZIP_FILES} files");
        return Err(Failure::too_large(DOING, path, why, "check that it is a session file"));
    }
    Ok(zip)
}

fn record_in_zip(path: &Path) -> Result<Vec<u8>, Failure> {
    let mut zip = open_zip(path, ZIP_LIMIT)?;
    let name = format!("{}{RECORD}", prefix(path, &zip)?);
    let file = zip.by_name(&name).map_err(|error| told(DOING, path, &error))?;
    let mut bytes = Vec::new();
    file.take(RECORD_FILE_LIMIT + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| Failure::unreadable(DOING, path, error.to_string(), "ask for the file again"))?;
    if bytes.len() as u64 > RECORD_FILE_LIMIT {
        let why = format!("its record is larger than {} MiB", RECORD_FILE_LIMIT >> 20);
        return Err(Failure::too_large(DOING, path, why, "check that it is a session file"));
    }
    Ok(bytes)
}

/// What there is of the record in a zip that was cut off on its way: the table at the end is gone, but ours begin with the
/// record.
fn salvaged(path: &Path) -> Option<Vec<u8>> {
    let mut file = Budget { file: open_plain(path, DOING).ok()?, left: ZIP_LIMIT };
    let first = read_zipfile_from_stream(&mut file).ok()??;
    if !first.name().is_ok_and(|name| name.ends_with(RECORD)) {
        return None;
    }
    let mut bytes = Vec::new();
    // Where it ends too early, what came before is kept.
    let _ = first.take(RECORD_FILE_LIMIT).read_to_end(&mut bytes);
    Some(bytes)
}

/// The folder inside the zip in which the record lies: none in ours, one in a zip that somebody made of an unpacked session.
/// It is only compared, never made a path of.
fn prefix(path: &Path, zip: &ZipArchive<Budget>) -> Result<String, Failure> {
    let names = zip.file_names().filter_map(Result::ok);
    let mut prefixes = names.filter_map(|name| name.strip_suffix(RECORD).map(str::to_owned));
    let fits = |prefix: &String| prefix.is_empty() || prefix.ends_with('/');
    prefixes.find(fits).ok_or_else(|| {
        Failure::unreadable(DOING, path, format!("there is no {RECORD} in it"), "check that it is a session file")
    })
}

/// What the zip reader said.
fn told(doing: &str, path: &Path, error: &ZipError) -> Failure {
    match error {
        ZipError::Io(error) if error.kind() != io::ErrorKind::InvalidData => Failure::system(doing, path, error),
        ZipError::UnsupportedArchive(_) | ZipError::CompressionMethodNotSupported(_) => Failure::unreadable(
            doing,
            path,
            "it was packed anew in another way",
            "unpack it and name the folder instead",
        ),
        other => {
            let why = match other {
                ZipError::FileNotFound => "what should be in it is not there",
                _ => "it is damaged, or no session file",
            };
            Failure::unreadable(doing, path, why, "ask for the file again")
        }
    }
}
