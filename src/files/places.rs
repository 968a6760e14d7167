use std::env;
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;

use crate::files::FileError;
use crate::files::file_kind::same_kind;

/// Where the player's own files live.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Places {
    /// Folder of everything but the settings: sessions, patterns, charts, the index.
    data: PathBuf,
    /// Path of the settings file.
    settings: PathBuf,
}

impl Places {
    /// The folder named by the variable `EARFIRST_DATA`, or the usual ones of the system: `earfirst` under the user's data
    /// folder, and `earfirst/settings.toml` under the configuration folder (XDG Base Directory Specification on Unix).
    /// Nothing is created yet.
    ///
    /// # Errors
    /// When no home folder is known.
    pub fn usual() -> Result<Self, FileError> {
        if let Some(folder) = env::var_os("EARFIRST_DATA").filter(|folder| !folder.is_empty()) {
            let folder = folder.into_string().map_or_else(PathBuf::from, |typed| typed_folder(&typed));
            return Ok(Self::at(&folder));
        }
        let strategy = etcetera::choose_base_strategy().map_err(|error| {
            FileError::unreadable("find", Path::new("~"), error.to_string(), "name a folder with EARFIRST_DATA")
        })?;
        let settings = strategy.config_dir().join("earfirst").join("settings.toml");
        Ok(Self { data: strategy.data_dir().join("earfirst"), settings })
    }

    /// Everything in one folder.
    #[must_use]
    pub fn at(folder: &Path) -> Self {
        Self { data: folder.to_owned(), settings: folder.join("settings.toml") }
    }

    /// Live folders and finished session files.
    #[must_use]
    pub fn sessions(&self) -> PathBuf {
        self.data.join("sessions")
    }
    /// The player's own pattern files.
    #[must_use]
    pub fn patterns(&self) -> PathBuf {
        self.data.join("patterns")
    }
    /// The player's own charts.
    #[must_use]
    pub fn charts(&self) -> PathBuf {
        self.data.join("charts")
    }
    /// The index of the sittings, which may be removed at any time.
    #[must_use]
    pub fn index(&self) -> PathBuf {
        self.data.join("index.sqlite")
    }
    /// The file of a school's key, which never lies among the school's tables.
    #[cfg(feature = "school")]
    #[must_use]
    pub fn school_key(&self) -> PathBuf {
        self.data.join("school.key")
    }
    /// The file that says which comments the players were shown: hashes, one a line.
    pub(super) fn shown_comments(&self) -> PathBuf {
        self.data.join("comments-told")
    }
    /// The settings file.
    #[must_use]
    pub fn settings(&self) -> &Path {
        &self.settings
    }

    /// The file that is locked by whoever changes the settings.
    #[must_use]
    pub fn settings_turn(&self) -> PathBuf {
        self.settings.with_extension("lock")
    }

    /// The player's own pattern files (`.toml`), as path and text, in the order of their names; none when there is no folder.
    ///
    /// # Errors
    /// A file that cannot be read, is no UTF-8, or is larger than a mebibyte.
    pub fn pattern_files(&self) -> Result<Vec<(PathBuf, String)>, FileError> {
        own_files(&self.patterns(), "read the pattern file")
    }

    /// The player's own files of charts, as [`Places::pattern_files`].
    ///
    /// # Errors
    /// As [`Places::pattern_files`].
    pub fn chart_files(&self) -> Result<Vec<(PathBuf, String)>, FileError> {
        own_files(&self.charts(), "read the file of charts")
    }
}

fn own_files(folder: &Path, doing: &str) -> Result<Vec<(PathBuf, String)>, FileError> {
    let mut paths = listed(folder)?;
    paths.retain(|path| path.extension().is_some_and(|end| end == "toml"));
    paths.into_iter().map(|path| Ok((path.clone(), read_text(&path, doing, PATTERN_LIMIT)?))).collect()
}

/// The text of a chart, or of a file of charts.
///
/// # Errors
/// When it is missing, cannot be read, is no plain file, no UTF-8, or larger than a mebibyte.
pub fn read_chart(path: &Path) -> Result<String, FileError> {
    read_text(path, "read the chart", PATTERN_LIMIT)
}

/// The text of a lesson.
///
/// # Errors
/// As [`read_chart`].
pub fn read_lesson(path: &Path) -> Result<String, FileError> {
    read_text(path, "read the lesson", PATTERN_LIMIT)
}

/// The text of a file of patterns.
///
/// # Errors
/// As [`read_chart`].
pub fn read_patterns(path: &Path) -> Result<String, FileError> {
    read_text(path, "read the patterns", PATTERN_LIMIT)
}

/// A path that no shell has read: a leading `~`, alone or before `/`, becomes the home folder.
#[must_use]
pub fn typed_folder(typed: &str) -> PathBuf {
    let below = typed.strip_prefix('~').filter(|rest| rest.is_empty() || rest.starts_with('/'));
    match (below, etcetera::home_dir()) {
        (Some(rest), Ok(home)) => home.join(rest.trim_start_matches('/')),
        _ => PathBuf::from(typed),
    }
}

/// Folders that may take a sitting that cannot be written to its own place, in the order in which they are tried: home, the current
/// folder, and the system's folder of temporary files.
#[must_use]
pub fn refuges() -> Vec<PathBuf> {
    let home = etcetera::home_dir().ok();
    home.into_iter().chain(env::current_dir()).chain([env::temp_dir()]).collect()
}

/// Most bytes of a file of patterns, charts or a lesson; a larger one is refused.
const PATTERN_LIMIT: u64 = 1 << 20;
/// Most bytes of a list of notes (ten hours of notes); a larger one is refused.
const LIST_LIMIT: u64 = 16 << 20;

/// The paths in a folder, in the order of their names; none where there is no such folder.
pub(super) fn listed(folder: &Path) -> Result<Vec<PathBuf>, FileError> {
    let failure = |error: &io::Error| FileError::system("read the folder", folder, error);
    let entries = match fs::read_dir(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        other => other.map_err(|error| failure(&error))?,
    };
    let mut paths = entries
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<Result<Vec<_>, _>>()
        .map_err(|error| failure(&error))?;
    paths.sort();
    Ok(paths)
}

/// Opens a file to read it. A path that is no plain file is refused before it is opened, because a pipe would be waited on for
/// ever; `mend` tells the player what to do then.
pub(super) fn open_plain(path: &Path, doing: &str, mend: &str) -> Result<fs::File, FileError> {
    let failure = |error: &io::Error| FileError::system(doing, path, error);
    let kind = fs::metadata(path).map_err(|error| failure(&error))?.file_type();
    if kind.is_dir() {
        return Err(FileError::unreadable(doing, path, "that is a folder", mend));
    }
    if !kind.is_file() {
        return Err(FileError::unreadable(doing, path, "it is no plain file", mend));
    }
    fs::File::open(path).map_err(|error| failure(&error))
}

/// Checks that a path is a plain file that can be opened: no folder, no pipe, no device.
///
/// # Errors
/// When the path is not one, or nothing is there.
pub fn plain(path: &Path) -> Result<(), FileError> {
    open_plain(path, "read", "name a file").map(|_| ())
}

/// The text of a list of notes.
///
/// # Errors
/// When it is missing, cannot be read, is no plain file, no UTF-8, or larger than 16 MiB.
pub fn read_list(path: &Path) -> Result<String, FileError> {
    read_text(path, "read the list of notes", LIST_LIMIT)
}

/// All bytes of a file of at most `limit` bytes.
pub(super) fn read_bytes(path: &Path, doing: &str, limit: u64) -> Result<Vec<u8>, FileError> {
    let failure = |error: &io::Error| FileError::system(doing, path, error);
    let file = open_plain(path, doing, "name another file, or take it out of its folder")?;
    let mut bytes = Vec::new();
    file.take(limit + 1).read_to_end(&mut bytes).map_err(|error| failure(&error))?;
    if bytes.len() as u64 > limit {
        let why = format!("it is larger than {} MiB", limit >> 20);
        return Err(FileError::too_large(doing, path, why, "check that it is the right file"));
    }
    Ok(bytes)
}

/// The text of a file of at most `limit` bytes.
pub(super) fn read_text(path: &Path, doing: &str, limit: u64) -> Result<String, FileError> {
    String::from_utf8(read_bytes(path, doing, limit)?)
        .map_err(|_| FileError::unreadable(doing, path, "it is not UTF-8 text", "save it as UTF-8"))
}

/// Writes a whole file under a passing name and renames it, so that the file is always either the old or the new one.
///
/// # Errors
/// When the place cannot be written.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    write_by(path, bytes, |folder| fs::create_dir_all(folder), |path| fs::File::create(path))
}

/// Writes a file whole, as [`write_whole`], that only the player may read.
///
/// # Errors
/// As [`write_whole`].
pub fn write_private(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    write_by(path, bytes, private_folders, private_file)
}

fn write_by(
    path: &Path,
    bytes: &[u8],
    folders: impl Fn(&Path) -> io::Result<()>,
    file: impl Fn(&Path) -> io::Result<fs::File>,
) -> Result<(), FileError> {
    let failure = |error: &io::Error| FileError::system("write", path, error);
    if let Some(folder) = path.parent() {
        folders(folder).map_err(|error| failure(&error))?;
    }
    let passing = passing_name(path);
    let written = file(&passing).and_then(|mut file| {
        // Another program that starts now sweeps what is not locked. Where files cannot be locked, it removes none.
        let _ = file.try_lock();
        io::Write::write_all(&mut file, bytes)?;
        file.sync_all()?;
        // The lock lasts until the file has its name.
        fs::rename(&passing, path)
    });
    written.map_err(|error| {
        // Best effort: the error that is reported is the one of the writing.
        let _ = fs::remove_file(&passing);
        failure(&error)
    })
}

/// Makes a folder and those above it. Folders that are made here can be read by the player alone; those that exist are left as they
/// are.
pub(super) fn private_folders(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.recursive(true).create(folder)
}

/// Makes one folder that only the player may read.
pub(super) fn private_folder(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

/// Makes an empty file that only the player may read.
pub(super) fn private_file(path: &Path) -> io::Result<fs::File> {
    let mut options = fs::File::options();
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.create(true).truncate(true).write(true).open(path)
}

/// Writes a file whole at a place that the user typed. Its folder has to be there, so that a slip of the finger makes none; and no
/// file of another kind may stand there, so that a slip overwrites no recording.
///
/// # Errors
/// When there is no such folder, a file of another kind is there, or the place cannot be written.
pub fn write_named(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    same_kind(path, bytes)?;
    match path.parent().filter(|folder| !folder.as_os_str().is_empty() && !folder.is_dir()) {
        Some(folder) => {
            let why = format!("there is no folder {}", folder.display());
            Err(FileError::unreadable("write", path, why, "make it first, or mend the path"))
        }
        None => write_whole(path, bytes),
    }
}

/// A name beside `path` that no other process uses while this one runs.
pub(super) fn passing_name(path: &Path) -> PathBuf {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    path.with_file_name(format!(".{name}.{}.part", std::process::id()))
}

/// Removes what killed writers left under passing names in a folder. A file that is still being written is locked, and stays.
pub(super) fn sweep(folder: &Path) {
    for path in listed(folder).unwrap_or_default() {
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let ours = name.strip_prefix('.').and_then(|name| name.strip_suffix(".part")).is_some_and(|name| {
            name.rsplit_once('.').is_some_and(|(name, number)| name.contains('.') && number.parse::<u32>().is_ok())
        });
        let plain = fs::symlink_metadata(&path).is_ok_and(|meta| meta.is_file());
        let free = |file: fs::File| file.try_lock().is_ok();
        if ours && plain && fs::File::options().write(true).open(&path).is_ok_and(free) {
            // What cannot be removed now is tried again at the next start.
            let _ = fs::remove_file(&path);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_another_program_is_writing_is_not_swept_away_and_what_a_killed_one_left_is() {
        let folder = std::env::temp_dir().join(format!("earfirst-swept-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let [writing, left] = ["a.json", "b.json"].map(|name| passing_name(&folder.join(name)));
        let file = private_file(&writing).unwrap();
        file.try_lock().unwrap();
        drop(private_file(&left).unwrap());
        sweep(&folder);
        assert!(writing.exists() && !left.exists());
        drop(file);
        sweep(&folder);
        assert!(!writing.exists());
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn no_text_is_written_over_a_recording_whatever_its_format() {
        // The first bytes of each format, by Apple's Audio Interchange File Format 1.3 (1989), Apple's Core Audio Format 1.0,
        // ISO/IEC 14496-12 (box `ftyp`), ISO/IEC 11172-3 and 13818-7 (the sync words).
        let heads: [&[u8]; 6] = [
            b"FORM\x00\x05\x62\x70AIFFCOMM",
            b"caff\x00\x01\x00\x00desc",
            b"\x00\x00\x00\x20ftypM4A ",
            b"\xff\xfb\x90\x64\x00",
            b"\xff\xf1\x50\x80\x02",
            b"ID3\x04\x00\x00",
        ];
        let path = std::env::temp_dir().join(format!("earfirst-over-{}", std::process::id()));
        for head in heads {
            fs::write(&path, head).unwrap();
            for bytes in [&b"{\"notes\": []}"[..], b"", b"<?xml version", b"MThd\x00\x00"] {
                let told = write_named(&path, bytes).unwrap_err().to_string();
                assert!(told.contains("a file of another kind is there"), "{told}");
                assert_eq!(fs::read(&path).unwrap(), head, "it stays as it was");
            }
        }
        let long = format!("{}\u{e9}\n", "a".repeat(63));
        for text in ["onset\tpitch\n", "# f\u{fc}r Anna\n", &long] {
            fs::write(&path, text).unwrap();
            write_named(&path, b"{}").unwrap();
        }
        fs::remove_file(&path).unwrap();
    }
}
