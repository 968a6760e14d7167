use std::fs::File;
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};

use crate::files::FileError;
use crate::files::decoding::Decoding;
use crate::files::file_kind::same_kind;
use crate::files::places::{open_plain, passing_name};
use crate::sound::Clip;
use crate::units::{SampleRate, Seconds};

/// Most bytes of a recording; a larger one is refused.
const FILE_LIMIT: u64 = 2 << 30;
/// Most minutes of a recording; a longer one is refused.
const MINUTES: u64 = 60;
/// Largest size of a sample, where 1 is full scale (60 dB more). A larger one is another kind of number that was read as sound.
const BEYOND: f32 = 1000.0;
/// A missing end of up to this many seconds is not reported: it may be a coder's padding.
const MISSING_S: f64 = 0.1;
/// A missing end of up to this share of the length is not reported: the head of the file may hold an estimate.
const MISSING_SHARE: f64 = 0.02;
/// What an error says was being done.
const DOING: &str = "read the recording";

/// A recording that was looked through: all of its sound can be read. It is never in memory as a whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// Where the recording lies.
    path: PathBuf,
    /// The channel that is heard.
    channel: usize,
    /// Samples a second.
    pub rate: SampleRate,
    /// Length of the sound.
    pub length: Seconds,
    /// Length of the sound that the file promises and that is missing at its end; `None` where none is, or too little to report.
    pub missing: Option<Seconds>,
}

impl Recording {
    /// Looks through a recording of one or more channels: WAV, AIFF, CAF, FLAC, MP3, M4A or Ogg Vorbis. Of several channels the
    /// loudest one is heard, chosen once for the whole recording: an average would halve a microphone with one dead side.
    ///
    /// # Errors
    /// A file that is missing, no plain file (a folder, a pipe, a device), of another kind, without sound, damaged from the start, over
    /// two gibibytes or over an hour, of a rate that changes or is not read, or with values in the heard channel that are no sound.
    pub fn open(path: &Path) -> Result<Self, FileError> {
        let file = open_plain(path, DOING, "name the recording itself")?;
        let length = file.metadata().map_err(|error| FileError::system(DOING, path, &error))?.len();
        drop(file);
        if length > FILE_LIMIT {
            let why = format!("it is larger than {} GiB", FILE_LIMIT >> 30);
            return Err(FileError::too_large(DOING, path, why, "cut out the part you want looked at"));
        }
        guarded(path, || look_through(path))
    }

    /// Hands out the sound from its beginning, block by block; the blocks have the lengths that the file gives them.
    ///
    /// # Errors
    /// When the file went away or changed since it was looked through.
    pub fn play(&self, hear: &mut dyn FnMut(&[f32])) -> Result<(), FileError> {
        let hear = std::panic::AssertUnwindSafe(hear);
        guarded(&self.path, move || {
            let hear = hear;
            let mut samples = Vec::new();
            decode(&self.path, &mut |block, channels| {
                let chosen = self.channel.min(channels - 1);
                samples.clear();
                samples.extend(block.chunks_exact(channels).map(|frame| frame[chosen]));
                (hear.0)(&samples);
            })
            .map(|_| ())
        })
    }
}

/// The decoders are others' work, and damaged files have made them panic (a shift beyond the width in the WAV reader of
/// symphonia 0.6.1, found by the tests); a stranger's file must not end the program.
fn guarded<T>(
    path: &Path,
    work: impl FnOnce() -> Result<T, FileError> + std::panic::UnwindSafe,
) -> Result<T, FileError> {
    catch_unwind(work).unwrap_or_else(|_| {
        let why = "it is damaged in a way its decoder cannot take";
        Err(FileError::unreadable(DOING, path, why, "convert it to WAV first"))
    })
}

/// All sound of a recording in memory, read by [`Recording`].
///
/// # Errors
/// As [`Recording::open`].
pub fn read_sound(path: &Path) -> Result<Clip, FileError> {
    let recording = Recording::open(path)?;
    let mut samples = Vec::new();
    recording.play(&mut |block| samples.extend_from_slice(block))?;
    Ok(Clip { rate: recording.rate, samples })
}

/// What is known of one channel after it was looked through.
#[derive(Debug, Clone, Copy, Default)]
struct Channel {
    /// Sum of squares of the samples.
    power: f64,
    /// Index of the first sample that is no number, or lies beyond [`BEYOND`].
    odd: Option<u64>,
}

fn look_through(path: &Path) -> Result<Recording, FileError> {
    let mut heard: Vec<Channel> = Vec::new();
    let mut before = 0;
    let whole = decode(path, &mut |block, channels| {
        heard.resize(heard.len().max(channels), Channel::default());
        for (n, frame) in block.chunks_exact(channels).enumerate() {
            for (channel, sample) in heard.iter_mut().zip(frame) {
                channel.power += f64::from(*sample) * f64::from(*sample);
                // A value that is no number is outside the bound, too.
                if !(..=BEYOND).contains(&sample.abs()) {
                    channel.odd.get_or_insert(before + n as u64);
                }
            }
        }
        before += (block.len() / channels) as u64;
    })?;
    // Of equally loud channels the first is taken.
    let louder =
        (1..heard.len()).fold(0, |best, channel| if heard[channel].power > heard[best].power { channel } else { best });
    if let Some(at) = heard.get(louder).and_then(|channel| channel.odd) {
        let why = format!("{:.2} s in, it holds what is no sound", at as f64 / whole.rate.per_second());
        return Err(FileError::unreadable(DOING, path, why, "cut that place out, or write the recording out anew"));
    }
    let length = whole.rate.seconds(whole.frames as usize);
    let missing = whole.promised.map(|promised| whole.rate.seconds(promised.saturating_sub(whole.frames) as usize));
    let missing = missing.filter(|missing| missing.0 > MISSING_S.max(MISSING_SHARE * length.0));
    Ok(Recording { path: path.to_owned(), channel: louder, rate: whole.rate, length, missing })
}

/// What was decoded of a file.
struct Decoded {
    /// Frames a second.
    rate: SampleRate,
    /// Number of frames that were decoded.
    frames: u64,
    /// Number of frames that the head of the file promises; `None` where it gives none.
    promised: Option<u64>,
}

/// Hands every block of a recording, interleaved, and its number of channels to `take`.
fn decode(path: &Path, take: &mut dyn FnMut(&[f32], usize)) -> Result<Decoded, FileError> {
    let file = File::open(path).map_err(|error| FileError::system(DOING, path, &error))?;
    let mut decoding = Decoding::over(Box::new(file), DOING, path)?;
    let (mut block, mut heard) = (Vec::new(), None);
    while let Some((rate, channels)) = decoding.block(&mut block)? {
        if decoding.frames() > MINUTES * 60 * u64::from(rate.hz()) {
            let why = format!("it is longer than {MINUTES} minutes");
            return Err(FileError::too_large(DOING, path, why, "cut out the part you want looked at"));
        }
        heard = Some(rate);
        take(&block, channels);
    }
    let nothing = || FileError::unreadable(DOING, path, "there is no sound in it", super::decoding::SOUND_FORMATS);
    let rate = heard.ok_or_else(nothing)?;
    Ok(Decoded { rate, frames: decoding.frames(), promised: decoding.promised })
}

/// Writes a clip as a mono WAV file of 32-bit floats, whole or not at all.
///
/// # Errors
/// When a file of another kind is there, or the place cannot be written.
pub fn write_wav(path: &Path, clip: &Clip) -> Result<(), FileError> {
    same_kind(path, b"RIFF")?;
    let passing = passing_name(path);
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: clip.rate.hz(),
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let written = (|| {
        let mut writer = hound::WavWriter::create(&passing, spec)?;
        clip.samples.iter().try_for_each(|sample| writer.write_sample(*sample))?;
        writer.finalize()
    })();
    let written = written.map_err(|error| match error {
        hound::Error::IoError(error) => error,
        other => std::io::Error::other(other.to_string()),
    });
    written.and_then(|()| std::fs::rename(&passing, path)).map_err(|error| {
        // Best effort: the error that is reported is the one of the writing.
        let _ = std::fs::remove_file(&passing);
        FileError::system("write the sound to", path, &error)
    })
}
