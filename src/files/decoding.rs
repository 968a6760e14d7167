use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use symphonia::core::audio::GenericAudioBufferRef;
use symphonia::core::codecs::audio::well_known::CODEC_ID_OPUS;
use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, TrackType};
use symphonia::core::io::{MediaSource, MediaSourceStream};
use symphonia::core::meta::MetadataOptions;

use crate::files::FileError;
use crate::units::SampleRate;

/// Lowest and highest rate that is read, in hertz.
const RATES: std::ops::RangeInclusive<u32> = 4_000..=384_000;
/// Most damaged packets in a row that are passed over; at one more the sound ends there, or the file is
/// refused where nothing was decoded yet.
const DAMAGED: u32 = 100;
/// What to do about a file of another kind, for an error.
pub(super) const SOUND_FORMATS: &str = "use WAV, AIFF, CAF, FLAC, MP3, M4A or Ogg Vorbis";

/// A sound file that is being decoded, block by block.
pub(super) struct Decoding {
    /// What was tried, for an error.
    doing: &'static str,
    /// Where the file lies, for an error.
    place: PathBuf,
    /// Takes the file apart into packets.
    reader: Box<dyn FormatReader>,
    /// Makes sound of the packets.
    decoder: Box<dyn AudioDecoder>,
    /// The track that is decoded.
    track: u32,
    /// Frames that were handed out.
    frames: u64,
    /// Number of damaged packets in a row, up to now.
    damaged: u32,
    /// Frames a second; `None` before the first block.
    rate: Option<SampleRate>,
    /// Number of frames that the head of the file promises; `None` where it gives none.
    pub(super) promised: Option<u64>,
}

impl Decoding {
    /// Finds out what kind of file `source` is; errors say that it lies at `place`, and that `doing` was tried.
    pub(super) fn over(source: Box<dyn MediaSource>, doing: &'static str, place: &Path) -> Result<Self, FileError> {
        let stream = MediaSourceStream::new(source, Default::default());
        let mut hint = Hint::new();
        if let Some(end) = place.extension().and_then(|end| end.to_str()).filter(|end| *end != "zip") {
            hint.with_extension(end);
        }
        let decoder_error = |error: &Error| decoder_error(doing, place, error);
        let (formats, meta) = (FormatOptions::default(), MetadataOptions::default());
        let reader =
            symphonia::default::get_probe().probe(&hint, stream, formats, meta).map_err(|e| decoder_error(&e))?;
        let nothing = || FileError::unreadable(doing, place, "there is no sound in it", SOUND_FORMATS);
        let track = reader.default_track(TrackType::Audio).ok_or_else(nothing)?;
        let (id, promised) = (track.id, track.num_frames);
        let parameters = track.codec_params.as_ref().and_then(|codec| codec.audio()).ok_or_else(nothing)?;
        if parameters.codec == CODEC_ID_OPUS {
            return Err(FileError::unreadable(doing, place, "it is Opus, which is not read", SOUND_FORMATS));
        }
        let decoder = symphonia::default::get_codecs()
            .make_audio_decoder(parameters, &AudioDecoderOptions::default())
            .map_err(|error| decoder_error(&error))?;
        let (frames, damaged, rate) = (0, 0, None);
        let place = place.to_owned();
        Ok(Self { doing, place, reader, decoder, track: id, frames, damaged, rate, promised })
    }

    /// Replaces `into` by the next block, interleaved. Returns the rate of the block and its number of channels, or `None` after
    /// the last block. A file that was cut off ends where it was cut.
    pub(super) fn block(&mut self, into: &mut Vec<f32>) -> Result<Option<(SampleRate, usize)>, FileError> {
        loop {
            let packet = match self.reader.next_packet() {
                Ok(Some(packet)) => packet,
                Ok(None) | Err(Error::IoError(_)) => return Ok(None),
                Err(error) if self.frames == 0 => return Err(decoder_error(self.doing, &self.place, &error)),
                Err(_) => return Ok(None),
            };
            if packet.track_id != self.track {
                continue;
            }
            let sound: GenericAudioBufferRef<'_> = match self.decoder.decode(&packet) {
                Ok(sound) => sound,
                Err(Error::DecodeError(_)) if self.damaged < DAMAGED => {
                    self.damaged += 1;
                    continue;
                }
                Err(error) if self.frames == 0 => return Err(decoder_error(self.doing, &self.place, &error)),
                Err(_) => return Ok(None),
            };
            self.damaged = 0;
            let (channels, hertz) = (sound.num_planes(), sound.spec().rate());
            if channels == 0 {
                return Ok(None);
            }
            let known = known_rate(self.doing, &self.place, hertz)?;
            if *self.rate.get_or_insert(known) != known {
                let (why, mend) = ("its rate changes on the way", "convert it to WAV first");
                return Err(FileError::unreadable(self.doing, &self.place, why, mend));
            }
            self.frames += sound.frames() as u64;
            sound.copy_to_vec_interleaved(into);
            return Ok(Some((known, channels)));
        }
    }

    /// Frames that were handed out so far.
    pub(super) const fn frames(&self) -> u64 {
        self.frames
    }
}

/// The sample rate, or an error where it is not one that is read.
fn known_rate(doing: &str, path: &Path, hertz: u32) -> Result<SampleRate, FileError> {
    SampleRate::new(hertz).filter(|_| RATES.contains(&hertz)).ok_or_else(|| {
        let why = format!("its rate of {hertz} Hz is not {} to {}", RATES.start(), RATES.end());
        FileError::unreadable(doing, path, why, "write it out anew at 44100 Hz")
    })
}

/// Makes an error for the player of what the decoder said.
fn decoder_error(doing: &str, path: &Path, error: &Error) -> FileError {
    match error {
        Error::IoError(error) if error.kind() != ErrorKind::UnexpectedEof => FileError::system(doing, path, error),
        Error::IoError(_) | Error::Unsupported(_) => {
            FileError::unreadable(doing, path, "it is no sound file of a kind that is read", SOUND_FORMATS)
        }
        other => FileError::unreadable(doing, path, format!("it is damaged ({other})"), SOUND_FORMATS),
    }
}
