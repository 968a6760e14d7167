use std::fs::File;
use std::panic::catch_unwind;
use std::path::Path;

use symphonia::core::audio::GenericAudioBufferRef;
use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, TrackType};
use symphonia::core::io::MediaSourceStream;
use symphonia::core::meta::MetadataOptions;

use crate::files::Failure;
use crate::files::places::{passing_name, same_kind};
use crate::sound::Clip;
use crate::units::{SampleRate, Seconds};

/// Bytes of a recording that is read.
const FILE_LIMIT: u64 = 2 << 30;
/// Minutes of a recording that are read.
const MINUTES: u64 = 60;
/// Lowest and highest rate that is read, in hertz.
const RATES: std::ops::RangeInclusive<u32> = 4_000..=384_000;
/// How far beyond full scale a sample may lie (60 dB); more is another kind of number read as sound.
const BEYOND: f32 = 1000.0;
/// Less than this may be a coder's padding or an estimate, in seconds and as a share of what is there.
const MISSING_S: f64 = 0.1;
const MISSING_SHARE: f64 = 0.02;
/// Damaged packets in a row after which a file is given up.
const DAMAGED: u32 = 100;
const DOING: &str = "read the recording";
const KINDS: &str = "use WAV, FLAC, MP3 or Ogg Vorbis";

/// A recording as far as it is there.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// Its sound.
    pub clip: Clip,
    /// How much less that is than the file promises, where it was cut off.
    pub missing: Option<Seconds>,
}

/// The sound of a recording, by [`read_recording`].
///
/// # Errors
/// As there.
pub fn read_sound(path: &Path) -> Result<Clip, Failure> {
    read_recording(path).map(|recording| recording.clip)
}

/// A recording as a mono clip at its own rate: WAV, FLAC, MP3 or Ogg Vorbis. Of several channels the louder one, chosen once
/// for the whole recording: averaging would halve a microphone with one dead side.
///
/// # Errors
/// A file that is missing, of another kind, damaged from the start, over two gibibytes or over an hour.
pub fn read_recording(path: &Path) -> Result<Recording, Failure> {
    let file = File::open(path).map_err(|error| Failure::system(DOING, path, &error))?;
    let known = file.metadata().map_err(|error| Failure::system(DOING, path, &error))?;
    if known.is_dir() {
        return Err(Failure::unreadable(DOING, path, "that is a folder", "name the recording itself"));
    }
    let length = known.len();
    if length > FILE_LIMIT {
        let why = format!("it is larger than {} GiB", FILE_LIMIT >> 30);
        return Err(Failure::too_large(DOING, path, why, "cut out the part you want looked at"));
    }
    drop(file);
    // The decoders are others' work, and damaged files have made them panic (a shift beyond the width in the WAV reader of
    // symphonia 0.6.1, found by the tests); a stranger's file must not end the program.
    catch_unwind(|| louder_channel(path)).unwrap_or_else(|_| {
        Err(Failure::unreadable(
            DOING,
            path,
            "it is damaged in a way its decoder cannot take",
            "convert it to WAV first",
        ))
    })
}

/// Two passes, so that memory is needed for one channel only.
fn louder_channel(path: &Path) -> Result<Recording, Failure> {
    let mut sums: Vec<f64> = Vec::new();
    let (rate, missing) = decode(path, &mut |block, channels| {
        sums.resize(sums.len().max(channels), 0.0);
        for frame in block.chunks_exact(channels) {
            for (sum, sample) in sums.iter_mut().zip(frame) {
                *sum += f64::from(*sample) * f64::from(*sample);
            }
        }
    })?;
    // The first of equally loud channels.
    let louder = (1..sums.len()).fold(0, |best, channel| if sums[channel] > sums[best] { channel } else { best });
    let mut samples = Vec::new();
    decode(path, &mut |block, channels| {
        let chosen = louder.min(channels - 1);
        samples.extend(block.chunks_exact(channels).map(|frame| frame[chosen]));
    })?;
    // What is no number is not within the bound either.
    if let Some(at) = samples.iter().position(|sample| !(..=BEYOND).contains(&sample.abs())) {
        let why = format!("{:.2} s in, it holds what is no sound", at as f64 / f64::from(rate.hz()));
        return Err(Failure::unreadable(DOING, path, why, "cut that place out, or write the recording out anew"));
    }
    Ok(Recording { clip: Clip { rate, samples }, missing })
}

/// Hands every block of a recording, interleaved, to `take`; returns its rate, and how much is missing at its end.
fn decode(path: &Path, take: &mut dyn FnMut(&[f32], usize)) -> Result<(SampleRate, Option<Seconds>), Failure> {
    let Opened { mut reader, mut decoder, track, promised } = open(path)?;
    let mut interleaved: Vec<f32> = Vec::new();
    let mut rate: Option<SampleRate> = None;
    let (mut frames, mut damaged) = (0u64, 0u32);
    loop {
        // A file that was cut off counts up to where it was cut.
        let packet = match reader.next_packet() {
            Ok(Some(packet)) => packet,
            Ok(None) | Err(Error::IoError(_)) => break,
            Err(error) if frames == 0 => return Err(told(path, &error)),
            Err(_) => break,
        };
        if packet.track_id != track {
            continue;
        }
        let sound: GenericAudioBufferRef<'_> = match decoder.decode(&packet) {
            Ok(sound) => sound,
            Err(Error::DecodeError(_)) if damaged < DAMAGED => {
                damaged += 1;
                continue;
            }
            Err(error) if frames == 0 => return Err(told(path, &error)),
            Err(_) => break,
        };
        damaged = 0;
        let (channels, hertz) = (sound.num_planes(), sound.spec().rate());
        if channels == 0 {
            break;
        }
        let known = known_rate(path, hertz)?;
        if *rate.get_or_insert(known) != known {
            return Err(Failure::unreadable(DOING, path, "its rate changes on the way", "convert it to WAV first"));
        }
        frames += sound.frames() as u64;
        if frames > MINUTES * 60 * u64::from(hertz) {
            let why = format!("it is longer than {MINUTES} minutes");
            return Err(Failure::too_large(DOING, path, why, "cut out the part you want looked at"));
        }
        sound.copy_to_vec_interleaved(&mut interleaved);
        take(&interleaved, channels);
    }
    let rate = rate.ok_or_else(|| Failure::unreadable(DOING, path, "there is no sound in it", KINDS))?;
    let missing = promised.map(|promised| rate.seconds(promised.saturating_sub(frames) as usize));
    let whole = rate.seconds(frames as usize);
    Ok((rate, missing.filter(|missing| missing.0 > MISSING_S.max(MISSING_SHARE * whole.0))))
}

/// The rate, where it is one that is read.
fn known_rate(path: &Path, hertz: u32) -> Result<SampleRate, Failure> {
    SampleRate::new(hertz).filter(|_| RATES.contains(&hertz)).ok_or_else(|| {
        let why = format!("its rate of {hertz} Hz is not {} to {}", RATES.start(), RATES.end());
        Failure::unreadable(DOING, path, why, "write it out anew at 44100 Hz")
    })
}

struct Opened {
    reader: Box<dyn FormatReader>,
    decoder: Box<dyn AudioDecoder>,
    track: u32,
    /// Frames that its head tells of.
    promised: Option<u64>,
}

fn open(path: &Path) -> Result<Opened, Failure> {
    let file = File::open(path).map_err(|error| Failure::system(DOING, path, &error))?;
    let stream = MediaSourceStream::new(Box::new(file), Default::default());
    let mut hint = Hint::new();
    if let Some(end) = path.extension().and_then(|end| end.to_str()) {
        hint.with_extension(end);
    }
    let (formats, meta) = (FormatOptions::default(), MetadataOptions::default());
    let reader =
        symphonia::default::get_probe().probe(&hint, stream, formats, meta).map_err(|error| told(path, &error))?;
    let nothing = || Failure::unreadable(DOING, path, "there is no sound in it", KINDS);
    let track = reader.default_track(TrackType::Audio).ok_or_else(nothing)?;
    let (id, promised) = (track.id, track.num_frames);
    let parameters = track.codec_params.as_ref().and_then(|codec| codec.audio()).ok_or_else(nothing)?;
    let decoder = symphonia::default::get_codecs()
        .make_audio_decoder(parameters, &AudioDecoderOptions::default())
        .map_err(|error| told(path, &error))?;
    Ok(Opened { reader, decoder, track: id, promised })
}

/// What the decoder said.
fn told(path: &Path, error: &Error) -> Failure {
    match error {
        Error::IoError(error) if error.kind() != std::io::ErrorKind::UnexpectedEof => {
            Failure::system(DOING, path, error)
        }
        Error::IoError(_) | Error::Unsupported(_) => {
            Failure::unreadable(DOING, path, "it is no sound file of a kind that is read", KINDS)
        }
        other => Failure::unreadable(DOING, path, format!("it is damaged ({other})"), KINDS),
    }
}

/// Writes a clip as a mono WAV file of 32-bit floats, whole or not at all.
///
/// # Errors
/// When a file of another kind is there, or the place cannot be written.
pub fn write_wav(path: &Path, clip: &Clip) -> Result<(), Failure> {
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
        // Best effort: the failure that is told is the one of the writing.
        let _ = std::fs::remove_file(&passing);
        Failure::system("write the sound to", path, &error)
    })
}
