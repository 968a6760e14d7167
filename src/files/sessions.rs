use std::collections::{BTreeMap, BTreeSet};
use std::io::Read;
use std::path::{Path, PathBuf};

use crate::files::file_kind::is_recording;
use crate::files::places::{listed, open_plain, read_bytes};
use crate::files::session_layout::{HEAD, READING, RECORD, RECORD_FILE_LIMIT};
use crate::files::stored_sound::StoredSound;
use crate::files::zip_reading::{head_in_zip, record_in_zip, salvaged};
use crate::files::{FileError, FileErrorKind};
use crate::session::{Began, Damage, Event, Session, read};
use crate::sound::Clip;

/// Most sessions of one folder that are read.
const FOLDER_LIMIT: usize = 10_000;
/// Levels of folders within folders that are searched: enough for school, year, class and student.
const DEEP: usize = 6;

/// A sitting that was read from the disk.
#[derive(Debug, Clone, PartialEq)]
pub struct Stored {
    /// The live folder, session file or record from which the sitting was read.
    pub path: PathBuf,
    /// All events that could be read.
    pub events: Vec<Event>,
    /// The part that could not be read; `None` where everything was read.
    pub damage: Option<Damage>,
}

/// What was found under some paths.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LoadedSessions {
    /// Sittings, in the order of the paths and, in a folder, of their names, which begin with date, hour and minute.
    pub sessions: Vec<Stored>,
    /// What could not be read at all.
    pub failures: Vec<FileError>,
}

/// The sittings under some paths, by their headers alone: records are read one by one with [`SessionEntry::read`], because a year
/// of records does not fit into memory at once.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SessionIndex {
    /// Sittings, in the same order as in [`LoadedSessions`].
    pub listed: Vec<SessionEntry>,
    /// What could not be read at all.
    pub failures: Vec<FileError>,
}

/// A sitting whose header was read.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionEntry {
    /// The live folder, session file or record in which the sitting lies.
    pub path: PathBuf,
    /// The first line of the record.
    pub began: Began,
}

impl SessionEntry {
    /// Reads the whole record.
    ///
    /// # Errors
    /// When it went away or changed meanwhile.
    pub fn read(&self) -> Result<Stored, FileError> {
        read_one(&self.path)
    }
}

/// Reads sittings: a live folder, a finished `.zip`, a bare `.jsonl`, or a folder of these. What cannot be read is listed beside
/// what can. All records are in memory afterwards; [`survey`] is for many.
#[must_use]
pub fn read_sessions(paths: &[PathBuf]) -> LoadedSessions {
    let mut found = LoadedSessions::default();
    let failures = each_path(paths, 0, &mut |path| read_one(path).map(|stored| found.sessions.push(stored)));
    found.failures = failures;
    found
}

/// Reads the headers of sittings, as [`read_sessions`] finds them.
#[must_use]
pub fn survey(paths: &[PathBuf]) -> SessionIndex {
    survey_to(paths, 0)
}

/// The sittings under some paths, as [`survey`], and in the folders below: a teacher has a folder for each student.
#[must_use]
pub fn survey_below(paths: &[PathBuf]) -> SessionIndex {
    survey_to(paths, DEEP)
}

fn survey_to(paths: &[PathBuf], deep: usize) -> SessionIndex {
    let mut listed = Vec::new();
    let failures = each_path(paths, deep, &mut |path| {
        let began = match beginning(path) {
            Some(began) => began,
            // Reading the whole record finds out what is wrong.
            None => match read_one(path)?.events.into_iter().next() {
                Some(Event::Began(began)) => began,
                _ => return Err(headless(path)),
            },
        };
        listed.push(SessionEntry { path: path.to_owned(), began });
        Ok(())
    });
    SessionIndex { listed, failures }
}

/// The error for a record without a header.
pub(super) fn headless(path: &Path) -> FileError {
    FileError::unreadable(READING, path, "it has no header", "check that it is a session file")
}

/// The header, where it is the first line of a record that can be read.
fn beginning(path: &Path) -> Option<Began> {
    let head = if path.is_dir() {
        read_head(&path.join(RECORD)).ok()?
    } else if path.extension().is_some_and(|end| end == "zip") {
        head_in_zip(path).ok()?
    } else {
        read_head(path).ok()?
    };
    let line = head.split_inclusive(|byte| *byte == b'\n').next().filter(|line| line.ends_with(b"\n"))?;
    match read(line).0.into_iter().next() {
        Some(Event::Began(began)) => Some(began),
        _ => None,
    }
}

fn read_head(path: &Path) -> Result<Vec<u8>, FileError> {
    let failure = |error: &std::io::Error| FileError::system(READING, path, error);
    let mut head = Vec::new();
    let file = open_plain(path, READING, "take it out of the folder")?;
    file.take(HEAD).read_to_end(&mut head).map_err(|error| failure(&error))?;
    Ok(head)
}

/// Calls `take` with every path under `paths` that may be a sitting; returns what failed.
pub(super) fn each_path(
    paths: &[PathBuf],
    deep: usize,
    take: &mut dyn FnMut(&Path) -> Result<(), FileError>,
) -> Vec<FileError> {
    let mut failures = Vec::new();
    for path in paths {
        let folder = path.is_dir() && !path.join(RECORD).exists();
        match if folder { in_folder(path, deep) } else { Ok((vec![path.clone()], None)) } {
            Ok((found, over)) => {
                failures.extend(found.iter().filter_map(|path| take(path).err()));
                failures.extend(over);
            }
            Err(failure) => failures.push(failure),
        }
    }
    failures
}

/// The paths that may be sittings in a folder, and in folders up to `deep` levels below it, and an error where they were too many.
fn in_folder(folder: &Path, deep: usize) -> Result<(Vec<PathBuf>, Option<FileError>), FileError> {
    let mut paths = Vec::new();
    gather(listed(folder)?, deep, &mut paths);
    if paths.is_empty() {
        let mend = "name a session file, or a folder of them";
        return Err(FileError::unreadable("find a session in", folder, "there is none", mend));
    }
    let over = (paths.len() > FOLDER_LIMIT).then(|| {
        let why = format!("it holds more than {FOLDER_LIMIT} sessions");
        FileError::too_large("read all of", folder, why, "sort them into folders")
    });
    paths.truncate(FOLDER_LIMIT);
    Ok((paths, over))
}

/// Gathers the paths that may be sittings, then those in the folders among them. A link to a folder is not followed, because it may
/// lead back; a folder that cannot be read counts as empty.
fn gather(all: Vec<PathBuf>, deep: usize, into: &mut Vec<PathBuf>) {
    let hidden = |path: &PathBuf| path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
    let (mine, others): (Vec<PathBuf>, Vec<PathBuf>) = all.into_iter().filter(|path| !hidden(path)).partition(|path| {
        path.extension().is_some_and(|end| end == "zip" || end == "jsonl") || path.join(RECORD).is_file()
    });
    into.extend(mine);
    if deep == 0 {
        return;
    }
    for folder in others.iter().filter(|path| path.is_dir() && !path.is_symlink()) {
        if into.len() <= FOLDER_LIMIT {
            gather(listed(folder).unwrap_or_default(), deep - 1, into);
        }
    }
}

impl SessionIndex {
    /// Keeps the fuller copy of each sitting that lies there twice, as [`LoadedSessions::once`], and returns the copies that were
    /// left out.
    pub fn once(&mut self) -> Vec<PathBuf> {
        let mut again: BTreeSet<PathBuf> = BTreeSet::new();
        let mut starts: BTreeMap<&str, Vec<&SessionEntry>> = BTreeMap::new();
        for listed in &self.listed {
            starts.entry(&listed.began.started).or_default().push(listed);
        }
        // Only those that began in the same second are read and compared.
        for same in starts.values().filter(|same| same.len() > 1) {
            let sessions = same.iter().filter_map(|listed| listed.read().ok()).collect();
            again.extend(LoadedSessions { sessions, failures: Vec::new() }.once());
        }
        let left_out = self.listed.iter().map(|listed| &listed.path).filter(|path| again.contains(*path)).cloned();
        let left_out = left_out.collect();
        self.listed.retain(|listed| !again.contains(&listed.path));
        left_out
    }

    /// Takes out the sittings that are dated later than the day after `today`, and returns them. One day is allowed, because a
    /// player may have flown westward since.
    pub fn later(&mut self, today: i32) -> Vec<SessionEntry> {
        let (later, listed) = self.listed.drain(..).partition(|listed| listed.began.day > today.saturating_add(1));
        self.listed = listed;
        later
    }
}

impl LoadedSessions {
    /// Keeps the fuller copy of each sitting that lies there twice (one may have been cut off or damaged on its way), and returns
    /// the paths of the others.
    pub fn once(&mut self) -> Vec<PathBuf> {
        let mut order: Vec<usize> = (0..self.sessions.len()).collect();
        let full = |stored: &Stored| (stored.played().count() as i64, stored.events.len() as i64);
        order.sort_by_cached_key(|&index| {
            let (played, events) = full(&self.sessions[index]);
            (-played, -events)
        });
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
}

/// Reads one sitting.
pub(super) fn read_one(path: &Path) -> Result<Stored, FileError> {
    let (bytes, cut_off) = record_bytes(path)?;
    stored(path, &bytes, cut_off)
}

/// The bytes of a record, and whether its file is cut off behind them.
pub(super) fn record_bytes(path: &Path) -> Result<(Vec<u8>, bool), FileError> {
    if path.is_dir() {
        return Ok((read_bytes(&path.join(RECORD), READING, RECORD_FILE_LIMIT)?, false));
    }
    if path.extension().is_none_or(|end| end != "zip") {
        return Ok((read_bytes(path, READING, RECORD_FILE_LIMIT)?, false));
    }
    match record_in_zip(path) {
        Ok(bytes) => Ok((bytes, false)),
        Err(failure) if failure.kind == FileErrorKind::TooLarge => Err(failure),
        Err(failure) => salvaged(path).map(|bytes| (bytes, true)).ok_or(failure),
    }
}

/// Makes a sitting of the bytes of its record.
pub(super) fn stored(path: &Path, bytes: &[u8], cut_off: bool) -> Result<Stored, FileError> {
    let (events, mut damage) = read(bytes);
    if events.is_empty() {
        let why = damage.map_or_else(String::new, |damage| format!("line {}: {}", damage.line, damage.why));
        if is_recording(bytes) {
            let mend = "earfirst grade, hear, notes and analyse read recordings";
            return Err(FileError::unreadable(READING, path, "it is a recording", mend));
        }
        let mend = "check that it is a session file of this or an older earfirst";
        return Err(FileError::unreadable(READING, path, why, mend));
    }
    if cut_off {
        let why = "the file is cut off here, so the sound is lost".to_owned();
        damage = damage.or(Some(Damage { line: events.len(), why, kept: events.len(), lost: 0 }));
    }
    Ok(Stored { path: path.to_owned(), events, damage })
}

impl Stored {
    /// Whether `other` is the same sitting: this copy is the beginning of the other, or one of the two is damaged and both have the
    /// same header.
    fn is_part_of(&self, other: &Self) -> bool {
        let damaged = self.damage.is_some() || other.damage.is_some();
        let mut theirs = other.played();
        self.played().all(|event| theirs.next() == Some(event))
            || (damaged && other.events.first() == self.events.first())
    }

    /// The events of the sitting itself, without the comments that were added afterwards: they make no other sitting of it.
    fn played(&self) -> impl Iterator<Item = &Event> {
        self.events.iter().filter(|event| !matches!(event, Event::Commented(_)))
    }

    /// Makes a session of the events; `None` only when the header is missing.
    #[must_use]
    pub fn session(&self) -> Option<Session> {
        Session::from_events(&self.events)
    }

    /// The stored sound of the sitting, for reading several answers in their order.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn sounds(&self) -> Result<StoredSound, FileError> {
        StoredSound::of(&self.path)
    }

    /// The sound of one answer, by [`StoredSound::cut`].
    ///
    /// # Errors
    /// As [`Stored::sounds`] and [`StoredSound::cut`].
    pub fn sound(&self, place: (u64, u64)) -> Result<Option<Clip>, FileError> {
        self.sounds()?.cut(place)
    }
}
