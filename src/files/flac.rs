use std::io::{self, Read, Write};

use flac_codec::encode::{FlacStreamWriter, Options};

use crate::files::wav::sixteen;
use crate::sound::Clip;
use crate::units::SampleRate;

/// Samples of one frame. RFC 9639, section 7: a streamable file up to 48 kHz has at most 4608.
const BLOCK: usize = 4096;

/// Length and MD5 of the sound of one part. The head of a FLAC file has both, so the sound is read once before it is packed.
pub(super) struct PartDigest {
    /// Bytes of sound, two a sample.
    pub bytes: u64,
    /// MD5 of these bytes.
    pub digest: [u8; 16],
}

/// The name of a packed sound file by its index, from 0.
pub(super) fn flac_name(index: usize) -> String {
    if index == 0 { "answers.flac".to_owned() } else { format!("answers-{}.flac", index + 1) }
}

/// Whether the head of a frame can store this rate (RFC 9639, section 9.1.2): whole hertz, or tens of hertz, in 16 bits.
pub(super) fn fits_flac(rate: SampleRate) -> bool {
    rate.hz() <= 0xffff || (rate.hz().is_multiple_of(10) && rate.hz() / 10 <= 0xffff)
}

/// Takes length and MD5 of mono 16-bit sound, the low byte first, as WAV and the MD5 of FLAC both have it.
pub(super) fn sign(mut sound: impl Read) -> io::Result<PartDigest> {
    let (mut context, mut bytes, mut block) = (md5::Context::new(), 0, vec![0; 2 * BLOCK]);
    loop {
        let count = fill(&mut sound, &mut block)?;
        if count == 0 {
            return Ok(PartDigest { bytes, digest: context.finalize().0 });
        }
        context.consume(&block[..count]);
        bytes += count as u64;
    }
}

/// Packs mono 16-bit sound without loss as a FLAC file: its head, then a frame for every 4096 samples.
pub(super) fn encode(
    rate: SampleRate,
    signed: &PartDigest,
    mut sound: impl Read,
    mut out: impl Write,
) -> io::Result<()> {
    out.write_all(&head(rate, signed))?;
    let mut writer = FlacStreamWriter::new(out, Options::default());
    let mut block = vec![0; 2 * BLOCK];
    loop {
        let count = fill(&mut sound, &mut block)?;
        let samples: Vec<i32> =
            block[..count].as_chunks::<2>().0.iter().map(|two| i16::from_le_bytes(*two).into()).collect();
        if samples.is_empty() {
            return Ok(());
        }
        writer.write(rate.hz(), 1, 16, &samples).map_err(|error| io::Error::other(error.to_string()))?;
    }
}

/// A whole FLAC file of a clip, 16 bits a sample; `None` where FLAC cannot store its rate.
#[must_use]
pub fn flac_of(clip: &Clip) -> Option<Vec<u8>> {
    let bytes: Vec<u8> = clip.samples.iter().flat_map(|sample| sixteen(*sample).to_le_bytes()).collect();
    let signed = sign(&bytes[..]).ok().filter(|_| fits_flac(clip.rate))?;
    let mut file = Vec::new();
    encode(clip.rate, &signed, &bytes[..], &mut file).ok()?;
    Some(file)
}

/// "fLaC" and the one block of metadata that has to be there (RFC 9639, sections 6 and 8.2). The least and greatest length of a
/// frame stay 0, which means unknown.
fn head(rate: SampleRate, signed: &PartDigest) -> Vec<u8> {
    let mut head = b"fLaC\x80\x00\x00\x22".to_vec();
    head.extend((BLOCK as u16).to_be_bytes());
    head.extend((BLOCK as u16).to_be_bytes());
    head.extend([0; 6]);
    // 20 bits of rate, 3 of channels less one, 5 of bits a sample less one, 36 of the number of samples.
    let packed = u64::from(rate.hz()) << 44 | 15 << 36 | (signed.bytes / 2) & 0xf_ffff_ffff;
    head.extend(packed.to_be_bytes());
    head.extend(signed.digest);
    head
}

/// Reads until the block is full or there is no more.
fn fill(from: &mut impl Read, block: &mut [u8]) -> io::Result<usize> {
    let mut count = 0;
    while count < block.len() {
        match from.read(&mut block[count..]) {
            Ok(0) => break,
            Ok(more) => count += more,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    Ok(count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_head_is_that_of_the_standards_own_worked_example() {
        // The example of RFC 9639, appendix D.2 (44.1 kHz, 16 bits, 19 samples), but with one channel and with our own size of
        // blocks.
        let digest = [0xd5, 0xb0, 0x56, 0x49, 0x75, 0xe9, 0x8b, 0x8d, 0x8b, 0x93, 0x04, 0x22, 0x75, 0x7b, 0x81, 0x03];
        let head = head(SampleRate::CD, &PartDigest { bytes: 38, digest });
        assert_eq!(head[..12], *b"fLaC\x80\0\0\x22\x10\0\x10\0");
        // The RFC has 0x0ac442f000000013 here, because its example has two channels.
        assert_eq!(head[18..26], [0x0a, 0xc4, 0x40, 0xf0, 0, 0, 0, 0x13]);
        assert_eq!((head[26..].len(), &head[26..]), (16, &digest[..]));
    }

    #[test]
    fn a_rate_that_no_frame_can_hold_is_known_as_one() {
        let fits = |hertz: u32| fits_flac(SampleRate::new(hertz).unwrap());
        assert!([8000, 44_100, 48_000, 65_535, 96_000, 384_000].into_iter().all(fits));
        assert!([65_537, 700_000].into_iter().all(|hertz| !fits(hertz)));
    }
}
