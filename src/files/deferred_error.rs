use std::io::{self, Seek, SeekFrom, Write};

/// A file that takes every byte and reports the first error of writing only at the end (errors of flushing and seeking before it at once).
/// The reason: a zip writer that is dropped half-way tries to finish, and prints its failure on standard error, in the middle of
/// whatever is shown there.
#[derive(Debug)]
pub(super) struct DeferredErrorFile<F> {
    /// The file itself.
    file: F,
    /// The first error of writing; nothing is written after it.
    refused: Option<io::Error>,
    /// Byte at which the writer believes that it writes next.
    at: u64,
    /// Byte at which the writer believes that the file ends.
    end: u64,
}

impl<F> DeferredErrorFile<F> {
    /// Writes to `file`, from its beginning.
    pub(super) fn over(file: F) -> Self {
        Self { file, refused: None, at: 0, end: 0 }
    }

    /// The file, or the first error of writing.
    pub(super) fn whole(self) -> io::Result<F> {
        self.refused.map_or(Ok(self.file), Err)
    }
}

impl<F: Write> Write for DeferredErrorFile<F> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let taken = match &self.refused {
            Some(_) => bytes.len(),
            None => self.file.write(bytes).or_else(|error| match error.kind() {
                io::ErrorKind::Interrupted => Err(error),
                _ => {
                    self.refused = Some(error);
                    Ok(bytes.len())
                }
            })?,
        };
        self.at += taken as u64;
        self.end = self.end.max(self.at);
        Ok(taken)
    }

    fn flush(&mut self) -> io::Result<()> {
        match &self.refused {
            Some(_) => Ok(()),
            None => self.file.flush(),
        }
    }
}

impl<F: Seek> Seek for DeferredErrorFile<F> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.at = match (&self.refused, to) {
            (None, to) => self.file.seek(to)?,
            (Some(_), SeekFrom::Start(at)) => at,
            (Some(_), SeekFrom::Current(by)) => self.at.saturating_add_signed(by),
            (Some(_), SeekFrom::End(by)) => self.end.saturating_add_signed(by),
        };
        Ok(self.at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use zip::ZipWriter;
    use zip::write::SimpleFileOptions;

    /// A disk with room for this many bytes.
    struct SmallDisk(io::Cursor<Vec<u8>>, usize);

    impl Write for SmallDisk {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            if self.0.get_ref().len() + bytes.len() > self.1 {
                return Err(io::ErrorKind::StorageFull.into());
            }
            self.0.write(bytes)
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    impl Seek for SmallDisk {
        fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
            self.0.seek(to)
        }
    }

    /// Zips a file of a thousand bytes on to a disk with room for `room` bytes.
    fn zipped(room: usize) -> io::Result<SmallDisk> {
        let mut zip = ZipWriter::new(DeferredErrorFile::over(SmallDisk(io::Cursor::default(), room)));
        zip.start_file("a file", SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored))?;
        zip.write_all(&[7; 1000])?;
        zip.finish()?.whole()
    }

    #[test]
    fn a_disk_that_is_full_half_way_is_reported_at_the_end() {
        for room in [0, 20, 200, 900] {
            assert_eq!(zipped(room).map(|_| ()).unwrap_err().kind(), io::ErrorKind::StorageFull, "room for {room}");
        }
        assert!(zipped(10_000).is_ok());
    }
}
