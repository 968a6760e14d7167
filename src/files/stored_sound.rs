use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use flate2::read::DeflateDecoder;
use symphonia::core::io::{MediaSource, ReadOnlySource};

use crate::files::FileError;
use crate::files::decoding::Decoding;
use crate::files::flac::flac_name;
use crate::files::places::open_plain;
use crate::files::session_layout::PARTS;
use crate::files::wav::{HEADER, PART_BYTES, header_of, part_name};
use crate::files::zip_reading::{Entry, sound_entries};
use crate::sound::Clip;
use crate::units::SampleRate;

/// The longest piece of stored sound that is given out, in seconds.
const SOUND_LIMIT_S: u64 = 600;
/// What was tried, for an error.
const DOING: &str = "read the sound of";

/// The stored sound of a sitting, read from its beginning to its end: an answer that lies further on is quick to reach, one
/// that lies before is looked for from the beginning again.
pub struct StoredSound {
    /// The live folder, session folder or session file.
    path: PathBuf,
    /// Where each sound file lies.
    parts: Vec<PartLocation>,
    /// The sound file that is being read, with its index.
    open: Option<(usize, SoundFile)>,
}

/// Where a sound file lies.
enum PartLocation {
    File(PathBuf),
    Entry(Entry),
}

impl StoredSound {
    /// The sound of a live folder, of an unpacked session, or of a session file; any other path has none.
    pub(super) fn of(path: &Path) -> Result<Self, FileError> {
        let parts = if path.is_dir() {
            let there = |index: usize| {
                let names = [flac_name(index), part_name(index)];
                names.map(|name| path.join(name)).into_iter().find(|path| path.exists())
            };
            (0..PARTS).map_while(there).map(PartLocation::File).collect()
        } else if path.extension().is_some_and(|end| end == "zip") {
            return Self::of_zip(path);
        } else {
            Vec::new()
        };
        Ok(Self { path: path.to_owned(), parts, open: None })
    }

    /// The sound of a session file, whatever its name.
    pub(super) fn of_zip(path: &Path) -> Result<Self, FileError> {
        let parts = sound_entries(path, DOING)?.into_iter().map(PartLocation::Entry).collect();
        Ok(Self { path: path.to_owned(), parts, open: None })
    }

    /// The sound of an answer, by the place that its record names. It is shorter than the place says where the sound was cut off;
    /// `Ok(None)` where no sound was kept.
    ///
    /// # Errors
    /// When the sound is there but cannot be read, or the place is longer than ten minutes.
    pub fn cut(&mut self, place: (u64, u64)) -> Result<Option<Clip>, FileError> {
        let (mut first, mut left) = place;
        let mut clip: Option<Clip> = None;
        for index in 0..self.parts.len() {
            if left == 0 {
                break;
            }
            let part = self.at(index, first)?;
            if left > SOUND_LIMIT_S * u64::from(part.rate.hz()) {
                let why = "the answer is longer than ten minutes";
                return Err(FileError::unreadable(DOING, &self.path, why, "look whether the record was changed"));
            }
            if first >= part.samples {
                first -= part.samples;
                continue;
            }
            let clip = clip.get_or_insert_with(|| Clip { rate: part.rate, samples: Vec::new() });
            let before = clip.samples.len();
            let count = left.min(part.samples - first);
            let read = part.take(count, &mut clip.samples);
            let got = (clip.samples.len() - before) as u64;
            if read.is_err() || got < count {
                self.open = None;
            }
            read?;
            (first, left) = (0, left - count);
        }
        Ok(clip)
    }

    /// Hands all sound to `take`: part by part, in blocks.
    pub(super) fn all(&mut self, take: &mut dyn FnMut(usize, &[f32])) -> Result<(), FileError> {
        for index in 0..self.parts.len() {
            let part = self.at(index, 0)?;
            let mut block = Vec::new();
            loop {
                block.clear();
                part.take(1 << 16, &mut block)?;
                if block.is_empty() {
                    break;
                }
                take(index, &block);
            }
        }
        Ok(())
    }

    /// The sound file of this number, ready to be read at sample `first`; where it ends before `first`, it stays where it was.
    fn at(&mut self, index: usize, first: u64) -> Result<&mut SoundFile, FileError> {
        let open = self.open.take().filter(|(open, part)| *open == index && part.at <= first);
        let mut part = match open {
            Some((_, part)) => part,
            None => self.parts[index].open(&self.path)?,
        };
        if first < part.samples {
            part.skip(first - part.at)?;
        }
        Ok(&mut self.open.insert((index, part)).1)
    }
}

impl PartLocation {
    fn open(&self, path: &Path) -> Result<SoundFile, FileError> {
        let whole = |file: &File| file.metadata().map_or(0, |meta| meta.len());
        let (bytes, place) = match self {
            Self::File(path) => {
                let file = open_plain(path, DOING, "take it out of the folder")?;
                let length = whole(&file);
                (Bytes::Plain(FileSlice { file, start: 0, length, at: 0 }), path.as_path())
            }
            Self::Entry(entry) => {
                let mut file = open_plain(path, DOING, "name a session file")?;
                let (start, length) = (entry.start, entry.length.min(whole(&file).saturating_sub(entry.start)));
                file.seek(SeekFrom::Start(start)).map_err(|error| FileError::system(DOING, path, &error))?;
                let section = FileSlice { file, start, length, at: 0 };
                let packed = |section| Bytes::Packed(Box::new(DeflateDecoder::new(section).take(PART_BYTES + HEADER)));
                (if entry.deflated { packed(section) } else { Bytes::Plain(section) }, path)
            }
        };
        let flac = match self {
            Self::File(path) => path.extension().is_some_and(|end| end == "flac"),
            Self::Entry(entry) => entry.flac,
        };
        if flac { SoundFile::flac(bytes, place) } else { SoundFile::wav(bytes, place) }
    }
}

/// A sound file that is being read.
struct SoundFile {
    /// Where the sound file lies, for an error.
    place: PathBuf,
    /// Samples a second.
    rate: SampleRate,
    /// Number of samples in the file: as its head says; in a WAV file that is not deflated, at most those that are there.
    samples: u64,
    /// Index of the next sample that is read.
    at: u64,
    /// Where the samples come from.
    sound: SampleSource,
}

enum SampleSource {
    Wav(Bytes),
    /// With samples that were decoded and not handed out yet, from the last back to the first.
    Flac(Box<Decoding>, Vec<f32>),
}

impl SoundFile {
    fn wav(mut bytes: Bytes, place: &Path) -> Result<Self, FileError> {
        let mut head = [0; HEADER as usize];
        bytes.read_exact(&mut head).map_err(|_| foreign(place))?;
        let (rate, stated) = header_of(&head).ok_or_else(|| foreign(place))?;
        let there = if let Bytes::Plain(section) = &bytes { section.length - HEADER } else { PART_BYTES };
        let samples = stated.min(there) / 2;
        Ok(Self { place: place.to_owned(), rate, samples, at: 0, sound: SampleSource::Wav(bytes) })
    }

    fn flac(bytes: Bytes, place: &Path) -> Result<Self, FileError> {
        let source: Box<dyn MediaSource> = match bytes {
            Bytes::Plain(section) => Box::new(section),
            Bytes::Packed(packed) => Box::new(ReadOnlySource::new(packed)),
        };
        let open = || Decoding::over(source, DOING, place);
        let mut decoding = catch_unwind(AssertUnwindSafe(open)).unwrap_or_else(|_| Err(foreign(place)))?;
        let (samples, mut block) = (decoding.promised.unwrap_or(u64::MAX), Vec::new());
        let first = catch_unwind(AssertUnwindSafe(|| decoding.block(&mut block)));
        let (rate, channels) = first.unwrap_or_else(|_| Err(foreign(place)))?.ok_or_else(|| foreign(place))?;
        if channels != 1 {
            return Err(foreign(place));
        }
        block.reverse();
        Ok(Self { place: place.to_owned(), rate, samples, at: 0, sound: SampleSource::Flac(Box::new(decoding), block) })
    }

    fn skip(&mut self, count: u64) -> Result<(), FileError> {
        if let SampleSource::Wav(Bytes::Plain(section)) = &mut self.sound {
            let step = i64::try_from(2 * count).unwrap_or(i64::MAX);
            section.seek(SeekFrom::Current(step)).map_err(|error| FileError::system(DOING, &self.place, &error))?;
            self.at += count;
            return Ok(());
        }
        let (mut left, mut passed) = (count, Vec::new());
        while left > 0 {
            passed.clear();
            self.take(left.min(1 << 16), &mut passed)?;
            if passed.is_empty() {
                return Ok(());
            }
            left -= passed.len() as u64;
        }
        Ok(())
    }

    /// Adds the next samples, fewer where the sound ends.
    fn take(&mut self, count: u64, into: &mut Vec<f32>) -> Result<(), FileError> {
        let before = into.len();
        let wanted = count.min(self.samples - self.at);
        match &mut self.sound {
            SampleSource::Wav(bytes) => {
                let mut raw = Vec::new();
                let read = bytes.take(2 * wanted).read_to_end(&mut raw);
                read.map_err(|error| FileError::system(DOING, &self.place, &error))?;
                into.extend(raw.as_chunks::<2>().0.iter().map(|two| f32::from(i16::from_le_bytes(*two)) / 32_768.0));
            }
            SampleSource::Flac(decoding, block) => {
                while ((into.len() - before) as u64) < wanted {
                    if block.is_empty() {
                        let next = catch_unwind(AssertUnwindSafe(|| decoding.block(block)));
                        if next.unwrap_or_else(|_| Err(foreign(&self.place)))?.is_none() {
                            break;
                        }
                        block.reverse();
                    }
                    let left = wanted as usize - (into.len() - before);
                    into.extend(block.drain(block.len().saturating_sub(left)..).rev());
                }
            }
        }
        self.at += (into.len() - before) as u64;
        Ok(())
    }
}

fn foreign(place: &Path) -> FileError {
    FileError::unreadable(DOING, place, "it is damaged, or no sound file of ours", "ask for the file again")
}

/// The bytes of a sound file.
enum Bytes {
    Plain(FileSlice),
    Packed(Box<io::Take<DeflateDecoder<FileSlice>>>),
}

impl Read for Bytes {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        match self {
            Self::Plain(section) => section.read(to),
            Self::Packed(packed) => packed.read(to),
        }
    }
}

/// A stretch of a file, as if it were a file of its own.
struct FileSlice {
    /// The file that the slice lies in.
    file: File,
    /// First byte of the slice in the file.
    start: u64,
    /// Bytes of the slice.
    length: u64,
    /// Byte of the slice that is read next.
    at: u64,
}

impl Read for FileSlice {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let room = usize::try_from(self.length.saturating_sub(self.at)).unwrap_or(usize::MAX).min(to.len());
        let count = self.file.read(&mut to[..room])?;
        self.at += count as u64;
        Ok(count)
    }
}

impl Seek for FileSlice {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let at = match to {
            SeekFrom::Start(at) => Some(at),
            SeekFrom::Current(by) => self.at.checked_add_signed(by),
            SeekFrom::End(by) => self.length.checked_add_signed(by),
        };
        let at = at.ok_or(io::ErrorKind::InvalidInput)?.min(self.length);
        self.file.seek(SeekFrom::Start(self.start + at))?;
        self.at = at;
        Ok(at)
    }
}

impl MediaSource for FileSlice {
    fn is_seekable(&self) -> bool {
        true
    }
    fn byte_len(&self) -> Option<u64> {
        Some(self.length)
    }
}
