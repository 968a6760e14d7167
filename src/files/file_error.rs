use std::io;
use std::path::{Path, PathBuf};

/// Something that could not be read or written: what, where, why, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("cannot {doing} {}: {why}; {mend}", place.display().to_string().replace(char::is_control, "\u{fffd}"))]
pub struct FileError {
    /// What was tried, such as `write the session in`.
    pub doing: String,
    /// Path of the file or folder.
    pub place: PathBuf,
    /// Why it did not work.
    pub why: String,
    /// How to mend it.
    pub mend: String,
    /// Kind of the error, by which a caller decides what to do next.
    pub kind: FileErrorKind,
}

/// Kinds of [`FileError`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileErrorKind {
    /// No space is left.
    Full,
    /// The system allows no reading or writing there, or a file stands where a folder should be.
    ReadOnly,
    /// Nothing is there.
    Missing,
    /// What is there is damaged or not what it should be; also a folder that is empty or missing where one is needed.
    Unreadable,
    /// The file is larger or longer than the limit.
    TooLarge,
    /// Another earfirst is using the file or folder.
    InUse,
    /// Anything else the system said.
    Other,
}

impl FileError {
    /// An error of the system, in a musician's words.
    pub(super) fn system(doing: &str, place: &Path, error: &io::Error) -> Self {
        use io::ErrorKind as Kind;
        let (kind, why, mend) = match error.kind() {
            Kind::StorageFull | Kind::QuotaExceeded => (
                FileErrorKind::Full,
                "the disk is full".to_owned(),
                "free some space, or choose another folder with EARFIRST_DATA",
            ),
            Kind::PermissionDenied | Kind::ReadOnlyFilesystem => (
                FileErrorKind::ReadOnly,
                "that is not allowed".to_owned(),
                "make it yours to read and write, or choose another folder with EARFIRST_DATA",
            ),
            Kind::NotADirectory | Kind::AlreadyExists => (
                FileErrorKind::ReadOnly,
                "a file stands where a folder should be".to_owned(),
                "remove it, or choose another folder with EARFIRST_DATA",
            ),
            Kind::NotFound => (FileErrorKind::Missing, "there is no such file or folder".to_owned(), "check the name"),
            Kind::FileTooLarge => {
                (FileErrorKind::TooLarge, "it grows too large".to_owned(), "choose another folder with EARFIRST_DATA")
            }
            _ => (FileErrorKind::Other, error.to_string(), "try another folder, or look at the disk"),
        };
        Self { doing: doing.to_owned(), place: place.to_owned(), why, mend: mend.to_owned(), kind }
    }

    /// An error that the program found itself: mostly of a file that is there but is not what it should be.
    pub(super) fn unreadable(doing: &str, place: &Path, why: impl Into<String>, mend: &str) -> Self {
        let (doing, place, mend) = (doing.to_owned(), place.to_owned(), mend.to_owned());
        Self { doing, place, why: why.into(), mend, kind: FileErrorKind::Unreadable }
    }

    /// An error of a file beyond a limit.
    pub(super) fn too_large(doing: &str, place: &Path, why: impl Into<String>, mend: &str) -> Self {
        Self { kind: FileErrorKind::TooLarge, ..Self::unreadable(doing, place, why, mend) }
    }
}
