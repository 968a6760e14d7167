//! What is wrong in the bytes of a damaged MIDI file, and where. Sources: Standard MIDI Files 1.0 and MIDI 1.0, from memory.

/// Length of the head of a file, in bytes.
const HEAD: usize = 14;

/// The first fault in a file: in which track and at which byte of the file, from 1; `None` where nothing is found.
pub(super) fn fault(bytes: &[u8]) -> Option<String> {
    // In a RIFF file the MIDI file begins later.
    let head = bytes.windows(4).position(|word| word == b"MThd")?;
    if bytes.len() < head + HEAD {
        return Some(ends_early(bytes));
    }
    let mut at = head;
    let mut tracks = 0;
    while at < bytes.len() {
        let name = bytes.get(at..at + 4);
        let length =
            bytes.get(at + 4..at + 8).map(|size| size.iter().fold(0, |all, byte| (all << 8) | usize::from(*byte)));
        let (Some(name), Some(length)) = (name, length) else { return Some(ends_early(bytes)) };
        let (begins, ends) = (at + 8, at.saturating_add(8).saturating_add(length));
        if name == b"MTrk" {
            tracks += 1;
            let track = &bytes[begins..ends.min(bytes.len())];
            match in_track(track) {
                // A track of a cut-off file ends in the middle of an event.
                Some((_, Wrong::Ends | Wrong::NoMark)) | None if ends > bytes.len() => return Some(ends_early(bytes)),
                Some((place, wrong)) => {
                    let (side, byte) = wrong.place(begins + place);
                    return Some(format!("in track {tracks}, {side} byte {byte} of the file, {}", wrong.text()));
                }
                None => {}
            }
        }
        at = ends;
    }
    let announced = bytes.get(head + 10..head + 12).map(|size| usize::from(size[0]) << 8 | usize::from(size[1]));
    let lacking = |announced| match tracks {
        0 => ends_early(bytes),
        some => format!("the file ends early: its head speaks of {announced} tracks, and {some} of them can be found"),
    };
    announced.filter(|announced| *announced > tracks).map(lacking)
}

fn ends_early(bytes: &[u8]) -> String {
    format!("the file ends early, after {} bytes", bytes.len())
}

/// What is wrong at a place of a track.
enum Wrong {
    /// A byte below 128 where a message begins and none came before whose kind it could share.
    NoStatus(u8),
    /// A byte of 128 or more that begins no message of a file.
    Status(u8),
    /// A byte of 128 or more within a message of a key, a pedal or a wheel.
    Data(u8),
    /// The track ends within an event.
    Ends,
    /// The track ends without its mark.
    NoMark,
}

impl Wrong {
    /// Whether it stands at a byte or comes after one, and which that is, from 1; `index` counts from 0.
    const fn place(&self, index: usize) -> (&'static str, usize) {
        match self {
            Self::Ends | Self::NoMark => ("after", index),
            Self::NoStatus(_) | Self::Status(_) | Self::Data(_) => ("at", index + 1),
        }
    }

    fn text(&self) -> String {
        match self {
            Self::NoStatus(byte) => {
                format!("{byte} stands where a message begins, and no kind of message is named before it")
            }
            Self::Status(byte) => {
                format!("{byte} stands where a message begins, and is no kind of message that a file may hold")
            }
            Self::Data(byte) => format!("{byte} stands within a message, where 0 to 127 belongs"),
            Self::Ends => "the track ends within a message".to_owned(),
            Self::NoMark => "the track ends without its end mark".to_owned(),
        }
    }
}

/// The first fault of a track, and the byte at which it stands, from 0. What follows the end mark is passed over.
fn in_track(track: &[u8]) -> Option<(usize, Wrong)> {
    let (mut at, mut running) = (0, None);
    while at < track.len() {
        let Some((_, event)) = number(track, at) else { return Some((track.len(), Wrong::Ends)) };
        let Some(first) = track.get(event).copied() else { return Some((track.len(), Wrong::Ends)) };
        let status = match (first, running) {
            (128.., _) => first,
            (_, Some(running)) => running,
            (_, None) => return Some((event, Wrong::NoStatus(first))),
        };
        let data = event + usize::from(first >= 128);
        running = (status < 0xF0).then_some(status);
        let ends = match status {
            0xC0..=0xDF => data + 1,
            0x80..=0xEF => data + 2,
            0xF0 | 0xF7 => match number(track, data) {
                Some((length, begins)) => begins + length,
                None => return Some((track.len(), Wrong::Ends)),
            },
            0xFF => match (track.get(data), number(track, data + 1)) {
                (Some(0x2F), Some(_)) => return None,
                (Some(_), Some((length, begins))) => begins + length,
                _ => return Some((track.len(), Wrong::Ends)),
            },
            _ => return Some((event, Wrong::Status(status))),
        };
        let held = track.get(data..ends.min(track.len())).unwrap_or_default();
        if let Some(place) = held.iter().position(|byte| *byte > 127).filter(|_| status < 0xF0) {
            return Some((data + place, Wrong::Data(held[place])));
        }
        if ends > track.len() {
            return Some((track.len(), Wrong::Ends));
        }
        at = ends;
    }
    Some((track.len(), Wrong::NoMark))
}

/// A number of one to four bytes of which all but the last have their top bit set, and where it ends.
fn number(track: &[u8], at: usize) -> Option<(usize, usize)> {
    let mut value = 0;
    for (place, byte) in track.iter().enumerate().skip(at).take(4) {
        value = (value << 7) | usize::from(byte & 127);
        if *byte < 128 {
            return Some((value, place + 1));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file of one track with these bytes, which its head says to be `length` long.
    fn file(track: &[u8], length: usize) -> Vec<u8> {
        let mut bytes = b"MThd\0\0\0\x06\0\0\0\x01\x01\xe0MTrk".to_vec();
        bytes.extend((length as u32).to_be_bytes());
        bytes.extend(track);
        bytes
    }

    fn said(track: &[u8]) -> Option<String> {
        fault(&file(track, track.len()))
    }

    const END: &[u8] = b"\0\xff\x2f\0";

    #[test]
    fn what_is_wrong_is_told_with_the_byte_at_which_it_stands() {
        // The head takes 14 bytes, that of the track 8: its first byte is the 23rd.
        let whole = [&[0, 0x90, 60, 80, 96, 60, 0][..], END].concat();
        assert_eq!(said(&whole), None, "running status is no fault");
        let first = said(&[&[0, 64, 64][..], END].concat()).unwrap();
        assert!(
            first.starts_with("in track 1, at byte 24 of the file, 64 stands where a message begins, and no kind"),
            "{first}"
        );
        let clock = said(&[&[0, 0x90, 60, 80, 0, 0xF8][..], END].concat()).unwrap();
        assert!(
            clock.starts_with("in track 1, at byte 28 of the file, 248 stands where a message begins, and is no"),
            "{clock}"
        );
        let data = said(&[&[0, 0x90, 60, 0x90, 0][..], END].concat()).unwrap();
        assert_eq!(data, "in track 1, at byte 26 of the file, 144 stands within a message, where 0 to 127 belongs");
        assert_eq!(
            said(&whole[..7]).unwrap(),
            "in track 1, after byte 29 of the file, the track ends without its end mark"
        );
        assert!(said(&whole[..6]).unwrap().ends_with("the track ends within a message"));
        assert_eq!(fault(&file(&whole[..6], 11)).unwrap(), "the file ends early, after 28 bytes");
        assert_eq!(fault(&file(&whole, 11)[..10]).unwrap(), "the file ends early, after 10 bytes", "within the head");
        assert_eq!(fault(&file(&whole[..7], 11)).unwrap(), "the file ends early, after 29 bytes");
    }

    #[test]
    fn no_bytes_make_the_search_fail() {
        arbtest::arbtest(|noise| {
            let track: Vec<u8> = noise.arbitrary()?;
            let length = usize::from(noise.arbitrary::<u16>()?);
            let _ = (fault(&track), fault(&file(&track, length)));
            Ok(())
        });
    }
}
