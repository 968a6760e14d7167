//! Recordings that the program writes and reads.

use std::fs;
use std::path::Path;

use earfirst::outside::files::{FileErrorKind, Recording, read_sound, write_named, write_wav};
use earfirst::outside::sound::Clip;
use earfirst::outside::units::SampleRate;

use crate::records::kept::Fresh;

/// The frequency of a clip: its rising zero crossings a second, counted in its middle half.
fn hertz(clip: &Clip) -> f64 {
    let quarter = clip.samples.len() / 4;
    let middle = &clip.samples[quarter..3 * quarter];
    let rises: Vec<usize> = (1..middle.len()).filter(|n| middle[n - 1] < 0.0 && middle[*n] >= 0.0).collect();
    (rises.len() - 1) as f64 * clip.rate.per_second() / (rises[rises.len() - 1] - rises[0]) as f64
}

#[test]
fn every_kind_of_recording_gives_its_louder_side() {
    // The files were made with ffmpeg 5.1 from half a second of sound: 440 Hz on the right and, 32 dB softer, 660 Hz on the left. For AAC
    // the sound fades in and out over 50 ms, because the coder overshoots where a sound is cut.
    for (name, rate) in [
        ("a4-two-sides-24.wav", 16_000),
        ("a4-two-sides.flac", 44_100),
        ("a4-two-sides.mp3", 44_100),
        ("a4-two-sides.ogg", 44_100),
        ("a4-two-sides.aiff", 44_100),
        ("a4-two-sides.caf", 44_100),
        ("a4-two-sides-alac.caf", 44_100),
        ("a4-two-sides-aac.m4a", 44_100),
    ] {
        let clip = read_sound(&Path::new("tests/data/sounds").join(name)).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(clip.rate.hz(), rate, "{name}");
        assert!((clip.length().0 - 0.5).abs() < 0.06, "{name}: {:?}", clip.length());
        assert!((hertz(&clip) - 440.0).abs() < 1.0, "{name}: {}", hertz(&clip));
        assert!((clip.peak().0 + 8.0).abs() < 1.0, "{name}: {:?}", clip.peak());
    }
}

#[test]
fn a_clip_that_was_written_is_read_sample_for_sample() {
    let fresh = Fresh::new("clip");
    let path = fresh.0.join("clip.wav");
    let samples = (0..3000).map(|n| (n as f32 * 0.01).sin() * 1.25).collect();
    let clip = Clip { rate: SampleRate::new(96_000).unwrap(), samples };
    write_wav(&path, &clip).unwrap();
    assert_eq!(read_sound(&path).unwrap(), clip);
    let told = write_wav(&fresh.0.join("absent/clip.wav"), &clip).unwrap_err();
    assert_eq!(told.kind, FileErrorKind::Missing);
    assert_eq!(fs::read_dir(&fresh.0).unwrap().count(), 1);
}

#[test]
fn what_is_no_recording_is_refused_with_the_way_out() {
    let fresh = Fresh::new("foreign");
    // Opus is not read, and told by its name.
    let opus = fs::read("tests/data/sounds/a4.opus.ogg").unwrap();
    for (name, bytes) in [
        ("opus.ogg", opus.as_slice()),
        ("text.wav", b"these are words"),
        ("empty.wav", b""),
        ("head.flac", b"fLaC\0\0\0\x22"),
    ] {
        let path = fresh.0.join(name);
        fs::write(&path, bytes).unwrap();
        let told = read_sound(&path).unwrap_err();
        assert_eq!(told.kind, FileErrorKind::Unreadable, "{told}");
        assert!(told.to_string().ends_with("use WAV, AIFF, CAF, FLAC, MP3, M4A or Ogg Vorbis"), "{told}");
        assert_eq!(told.why.contains("Opus"), name == "opus.ogg", "{told}");
    }
    assert_eq!(read_sound(&fresh.0.join("absent.wav")).unwrap_err().kind, FileErrorKind::Missing);
    assert!(read_sound(&fresh.0).is_err());
}

#[test]
fn a_rate_that_is_not_read_is_told_as_what_it_is() {
    let fresh = Fresh::new("odd");
    let path = fresh.0.join("odd.wav");
    write_wav(&path, &Clip { rate: SampleRate::new(1000).unwrap(), samples: vec![0.1; 100] }).unwrap();
    let told = read_sound(&path).unwrap_err().to_string();
    assert!(told.ends_with("its rate of 1000 Hz is not 4000 to 384000; write it out anew at 44100 Hz"), "{told}");
}

#[test]
fn a_recording_with_what_is_no_sound_in_it_is_told_with_its_place() {
    let fresh = Fresh::new("no-sound");
    let path = fresh.0.join("odd.wav");
    for odd in [f32::NAN, f32::INFINITY, -1e30] {
        let mut samples = vec![0.1; 8000];
        samples[2000] = odd;
        write_wav(&path, &Clip { rate: SampleRate::new(8000).unwrap(), samples }).unwrap();
        let told = read_sound(&path).unwrap_err().to_string();
        assert!(told.contains("0.25 s in, it holds what is no sound"), "{told}");
    }
}

#[test]
fn a_recording_that_was_cut_off_tells_how_much_is_missing() {
    let fresh = Fresh::new("cut");
    for name in ["a4-two-sides-24.wav", "a4-two-sides.flac", "a4-two-sides.mp3", "a4-two-sides.ogg"] {
        let whole = fs::read(Path::new("tests/data/sounds").join(name)).unwrap();
        let path = fresh.0.join(name);
        fs::write(&path, &whole).unwrap();
        assert_eq!(Recording::open(&path).unwrap().missing, None, "{name}");
    }
    for name in ["a4-two-sides-24.wav", "a4-two-sides.flac"] {
        let whole = fs::read(Path::new("tests/data/sounds").join(name)).unwrap();
        let path = fresh.0.join(name);
        // A head of some length stands before the sound of a FLAC file.
        fs::write(&path, &whole[..whole.len() * 4 / 5]).unwrap();
        let missing = Recording::open(&path).unwrap().missing.unwrap_or_else(|| panic!("{name}"));
        assert!((0.05..0.4).contains(&missing.0), "{name}: {missing:?}");
    }
}

#[test]
fn what_is_of_another_kind_is_not_written_over() {
    let fresh = Fresh::new("kinds");
    let path = fresh.0.join("mine.wav");
    let clip = Clip { rate: SampleRate::CD, samples: vec![0.1; 100] };
    write_wav(&path, &clip).unwrap();
    let told = write_named(&path, b"MThd\0\0").unwrap_err().to_string();
    assert!(told.contains("a file of another kind is there"), "{told}");
    assert_eq!(read_sound(&path).unwrap(), clip, "the recording is as it was");
    write_wav(&path, &clip).unwrap();
}

#[test]
fn a_recording_beyond_an_hour_is_refused_whatever_it_holds() {
    let fresh = Fresh::new("hour");
    let path = fresh.0.join("long.wav");
    let short = Clip { rate: SampleRate::new(4000).unwrap(), samples: vec![0.0; 8] };
    write_wav(&path, &short).unwrap();
    let mut bytes = fs::read(&path).unwrap();
    let data = bytes.windows(4).position(|four| four == b"data").unwrap();
    let sound = 61 * 60 * 4000 * 4u32;
    bytes[data + 4..data + 8].copy_from_slice(&sound.to_le_bytes());
    bytes[4..8].copy_from_slice(&(sound + data as u32).to_le_bytes());
    fs::write(&path, bytes).unwrap();
    fs::File::options().write(true).open(&path).unwrap().set_len(u64::from(sound) + data as u64 + 8).unwrap();
    let told = read_sound(&path).unwrap_err();
    assert!(told.kind == FileErrorKind::TooLarge && told.why.contains("longer than 60 minutes"), "{told}");
}

#[test]
fn a_recording_with_bytes_changed_is_read_or_refused() {
    let fresh = Fresh::new("spoilt");
    let names = ["a4-two-sides-24.wav", "a4-two-sides.flac", "a4-two-sides.mp3", "a4-two-sides.ogg"];
    let whole: Vec<Vec<u8>> =
        names.iter().map(|name| fs::read(Path::new("tests/data/sounds").join(name)).unwrap()).collect();
    arbtest::arbtest(|u| {
        let n = u.choose_index(names.len())?;
        let mut bytes = whole[n].clone();
        for _ in 0..u.int_in_range(1..=8)? {
            let limit = if u.arbitrary()? { 100 } else { bytes.len() };
            let at = u.choose_index(limit)?;
            bytes[at] = u.arbitrary()?;
        }
        let path = fresh.0.join(names[n]);
        fs::write(&path, &bytes).unwrap();
        if let Ok(clip) = read_sound(&path) {
            assert!(clip.samples.iter().all(|sample| sample.is_finite()));
        }
        Ok(())
    })
    .budget_ms(1500);
}
