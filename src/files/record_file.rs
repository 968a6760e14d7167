use std::fs::File;
use std::io::{self, Seek, SeekFrom, Write};

/// What a file that grows must be able to do. Tests use a full disk in its place.
pub(super) trait RecordFile: Send {
    /// Writes all `bytes` from byte `place` on. After an error any part of the bytes may stand there.
    fn write_from(&mut self, place: u64, bytes: &[u8]) -> io::Result<()>;
    /// Makes the file end at byte `length`.
    fn cut(&mut self, length: u64) -> io::Result<()>;
    /// Hands everything to the disk itself, so that a power cut does not take it.
    fn settle(&mut self) -> io::Result<()>;
}

/// Opens a new growing file of this name in the live folder.
pub(super) type Opener = Box<dyn FnMut(&str) -> io::Result<Box<dyn RecordFile>> + Send>;

impl RecordFile for File {
    fn write_from(&mut self, place: u64, bytes: &[u8]) -> io::Result<()> {
        self.seek(SeekFrom::Start(place))?;
        self.write_all(bytes)
    }
    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.set_len(length)
    }
    fn settle(&mut self) -> io::Result<()> {
        self.sync_data()
    }
}
