use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

use crate::files::record_file::{Opener, RecordFile};
use crate::units::SampleRate;

/// Bytes before the first sample.
pub(super) const HEADER: u64 = 44;
/// Bytes of sound in one file: RIFF counts in 32 bits, so a new file is begun well before 4 GiB.
pub(super) const PART_BYTES: u64 = 4_000_000_000;

/// The header of a mono 16-bit file (RIFF WAVE, format 1): valid for `bytes` of sound.
pub(super) fn header(rate: SampleRate, bytes: u32) -> [u8; HEADER as usize] {
    let mut head = [0; HEADER as usize];
    let mut place = 0;
    let mut put = |piece: &[u8]| {
        head[place..place + piece.len()].copy_from_slice(piece);
        place += piece.len();
    };
    put(b"RIFF");
    put(&bytes.saturating_add(36).to_le_bytes());
    put(b"WAVEfmt ");
    put(&16u32.to_le_bytes());
    put(&1u16.to_le_bytes());
    put(&1u16.to_le_bytes());
    put(&rate.hz().to_le_bytes());
    put(&rate.hz().saturating_mul(2).to_le_bytes());
    put(&2u16.to_le_bytes());
    put(&16u16.to_le_bytes());
    put(b"data");
    put(&bytes.to_le_bytes());
    head
}

/// The name of a sound file by its index, from 0.
pub(super) fn part_name(index: usize) -> String {
    if index == 0 { "answers.wav".to_owned() } else { format!("answers-{}.wav", index + 1) }
}

/// A sample of -1 to 1 as 16 bits; what is out of range is clipped, and what is no number becomes silence.
pub(super) fn sixteen(sample: f32) -> i16 {
    (sample * 32_768.0).round().clamp(-32_768.0, 32_767.0) as i16
}

/// The sound of the answers, one after the other. Each file is valid at any moment: sound is written first, the header that
/// counts it afterwards. What the disk will not take waits in memory, up to a limit.
pub(super) struct SoundLog {
    /// Samples a second.
    rate: SampleRate,
    /// The files so far; sound is added to the last.
    parts: Vec<WavFile>,
    /// Sound that is not on the disk yet.
    pub(super) pending: Vec<u8>,
    /// Number of samples so far, on the disk or in `pending`.
    total: u64,
    /// Bytes of sound after which a new file is begun.
    part_bytes: u64,
    /// Largest number of bytes in `pending`.
    pending_limit: usize,
}

struct WavFile {
    /// The file itself.
    file: Box<dyn RecordFile>,
    /// Bytes of sound that its header counts.
    bytes: u64,
}

impl SoundLog {
    /// An empty log. A new file is begun after `part_bytes` of sound; at most `pending_limit` bytes wait in memory.
    pub(super) fn new(rate: SampleRate, part_bytes: u64, pending_limit: usize) -> Self {
        Self { rate, parts: Vec::new(), pending: Vec::new(), total: 0, part_bytes, pending_limit }
    }

    /// The place of the next `count` samples, counted over all files: the first sample and the count. `None` where `pending` has no
    /// room.
    pub(super) const fn place(&self, count: usize) -> Option<(u64, u64)> {
        if self.pending.len() + count * 2 > self.pending_limit { None } else { Some((self.total, count as u64)) }
    }

    /// Takes samples, for which there is room.
    pub(super) fn take(&mut self, samples: &[f32]) {
        self.pending.extend(samples.iter().flat_map(|sample| sixteen(*sample).to_le_bytes()));
        self.total += samples.len() as u64;
    }

    /// Writes what is pending.
    pub(super) fn write(&mut self, open: &mut Opener) -> io::Result<()> {
        while !self.pending.is_empty() {
            if self.parts.last().is_none_or(|part| part.bytes >= self.part_bytes) {
                let mut file = open(&part_name(self.parts.len()))?;
                file.write_from(0, &header(self.rate, 0))?;
                self.parts.push(WavFile { file, bytes: 0 });
            }
            let Some(part) = self.parts.last_mut() else { return Ok(()) };
            let room = usize::try_from(self.part_bytes - part.bytes).unwrap_or(usize::MAX);
            let count = self.pending.len().min(room);
            part.file.write_from(HEADER + part.bytes, &self.pending[..count])?;
            let bytes = part.bytes + count as u64;
            part.file.write_from(0, &header(self.rate, u32::try_from(bytes).unwrap_or(u32::MAX)))?;
            part.bytes = bytes;
            self.pending.drain(..count);
        }
        Ok(())
    }

    /// Hands the newest file to the disk itself.
    pub(super) fn settle(&mut self) -> io::Result<()> {
        self.parts.last_mut().map_or(Ok(()), |part| part.file.settle())
    }

    /// Bytes of sound in each file that was begun.
    pub(super) fn written(&self) -> Vec<u64> {
        self.parts.iter().map(|part| part.bytes).collect()
    }

    /// Samples a second.
    pub(super) fn rate(&self) -> SampleRate {
        self.rate
    }
}

/// Rate and bytes of sound as one of our own headers says; `None` if it is not one of ours.
pub(super) fn header_of(head: &[u8; HEADER as usize]) -> Option<(SampleRate, u64)> {
    let four = |at: usize| u32::from_le_bytes([head[at], head[at + 1], head[at + 2], head[at + 3]]);
    let (rate, stated) = (SampleRate::new(four(24))?, four(40));
    // The header is ours where it is the one that we would write, apart from the two sizes.
    let mut ours = header(rate, stated);
    ours[4..8].copy_from_slice(&head[4..8]);
    (ours == *head).then_some((rate, u64::from(stated)))
}

/// Rate and bytes of sound of one of our own files, from its header; `None` if it is not one of ours. The count is what the
/// header says or what is there, whichever is less.
pub(super) fn look(file: &mut (impl Read + Seek)) -> io::Result<Option<(SampleRate, u64)>> {
    let length = file.seek(SeekFrom::End(0))?;
    file.seek(SeekFrom::Start(0))?;
    let mut head = [0; HEADER as usize];
    if length < HEADER {
        return Ok(None);
    }
    file.read_exact(&mut head)?;
    Ok(header_of(&head).map(|(rate, stated)| (rate, stated.min(length - HEADER) & !1)))
}

/// Makes the header of a file that was cut off count all whole samples that are there.
pub(super) fn repair(path: &Path) -> io::Result<()> {
    let mut file = File::options().read(true).write(true).open(path)?;
    let length = file.metadata()?.len();
    if let Some((rate, _)) = look(&mut file)? {
        let bytes = length.saturating_sub(HEADER) & !1;
        file.write_from(0, &header(rate, u32::try_from(bytes).unwrap_or(u32::MAX)))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    fn opener(folder: &Path) -> Opener {
        let folder = folder.to_owned();
        Box::new(move |name| {
            Ok(Box::new(File::options().create(true).truncate(true).write(true).open(folder.join(name))?))
        })
    }

    fn fresh(name: &str) -> std::path::PathBuf {
        let folder = std::env::temp_dir().join(format!("earfirst-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).unwrap();
        folder
    }

    #[test]
    fn another_reader_of_wav_agrees_with_every_sample_after_every_piece() {
        let folder = fresh("wav");
        let mut open = opener(&folder);
        let mut log = SoundLog::new(SampleRate::CD, PART_BYTES, 1 << 20);
        let mut stated: Vec<i16> = Vec::new();
        for piece in [vec![0.5, -0.5], vec![1.5, -1.5, f32::NAN], vec![1.0 / 32_768.0; 7]] {
            log.take(&piece);
            log.write(&mut open).unwrap();
            stated.extend(piece.iter().map(|sample| sixteen(*sample)));
            // The crate hound reads the file as an independent check.
            let mut reader = hound::WavReader::open(folder.join("answers.wav")).unwrap();
            assert_eq!((reader.spec().sample_rate, reader.spec().channels), (44_100, 1));
            assert_eq!(reader.samples::<i16>().map(Result::unwrap).collect::<Vec<_>>(), stated);
        }
        assert_eq!(&stated[..5], [16_384, -16_384, 32_767, -32_768, 0]);
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn a_new_file_is_begun_before_the_old_one_is_too_large() {
        let folder = fresh("parts");
        let mut log = SoundLog::new(SampleRate::CD, 10, 1 << 20);
        assert_eq!(log.place(3), Some((0, 3)));
        log.take(&[0.25; 3]);
        log.write(&mut opener(&folder)).unwrap();
        assert_eq!(log.place(9), Some((3, 9)));
        log.take(&[0.5; 9]);
        log.write(&mut opener(&folder)).unwrap();
        assert_eq!(log.written(), [10, 10, 4]);
        for (name, samples) in [("answers.wav", 5), ("answers-2.wav", 5), ("answers-3.wav", 2)] {
            assert_eq!(hound::WavReader::open(folder.join(name)).unwrap().len(), samples, "{name}");
        }
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn cut_at_any_byte_the_sound_that_is_there_is_kept() {
        let folder = fresh("cut");
        let mut log = SoundLog::new(SampleRate::CD, PART_BYTES, 1 << 20);
        log.take(&[0.25; 20]);
        log.write(&mut opener(&folder)).unwrap();
        let whole = fs::read(folder.join("answers.wav")).unwrap();
        for length in 0..=whole.len() {
            let path = folder.join("cut.wav");
            fs::write(&path, &whole[..length]).unwrap();
            repair(&path).unwrap();
            let found = look(&mut File::open(&path).unwrap()).unwrap();
            assert_eq!(found, (length >= 44).then(|| (SampleRate::CD, (length as u64 - 44) & !1)), "{length}");
        }
        // Killed between sound and header: the header counts nothing yet.
        let mut behind = whole.clone();
        behind[..44].copy_from_slice(&header(SampleRate::CD, 0));
        fs::write(folder.join("cut.wav"), behind).unwrap();
        repair(&folder.join("cut.wav")).unwrap();
        assert_eq!(fs::read(folder.join("cut.wav")).unwrap(), whole);
        fs::remove_dir_all(&folder).unwrap();
    }
}
