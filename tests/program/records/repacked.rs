//! Session files that another program packed anew. The program reads them where that is possible, and otherwise says what to do.

use std::fs;
use std::io::Write;
use std::path::Path;

use earfirst::outside::files::read_sessions;
use earfirst::outside::units::SampleRate;
use zip::CompressionMethod;
use zip::write::SimpleFileOptions;

use crate::records::kept::Fresh;
use crate::records::made;
use crate::records::packed::{entry, finished, floats, only, played};

/// Packs files into a zip as another program may do.
fn packed(path: &Path, method: CompressionMethod, files: &[(&str, &[u8])]) {
    let mut zip = zip::ZipWriter::new(fs::File::create(path).unwrap());
    for (name, bytes) in files {
        zip.start_file(*name, SimpleFileOptions::default().compression_method(method)).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap();
}

#[test]
fn a_session_of_before_and_one_that_another_program_packed_are_read_with_their_sound() {
    let fresh = Fresh::new("anew");
    let samples = played(60_000);
    let (path, wav) = finished(&fresh, &samples, SampleRate::DEVICE);
    let (record, flac) = (entry(&path, "session.jsonl"), entry(&path, "answers.flac"));
    let events = only(&path).events;
    let cases: [(&str, CompressionMethod, &str, &str, &[u8]); 5] = [
        ("before", CompressionMethod::Stored, "", "answers.wav", &wav),
        ("deflated", CompressionMethod::Deflated, "", "answers.flac", &flac),
        ("deflated-wav", CompressionMethod::Deflated, "", "answers.wav", &wav),
        ("folder", CompressionMethod::Deflated, "my evening/", "answers.flac", &flac),
        ("deep", CompressionMethod::Stored, "a/b/", "answers.flac", &flac),
    ];
    for (name, method, folder, sound, bytes) in cases {
        let path = fresh.0.join(name).with_extension("zip");
        let (first, second) = (format!("{folder}review.txt"), format!("{folder}session.jsonl"));
        let third = format!("{folder}{sound}");
        // As file managers of some systems add them.
        let fork = format!("__MACOSX/{folder}._session.jsonl");
        packed(&path, method, &[(&first, b"text"), (&fork, b"x"), (&third, bytes), (&second, &record)]);
        let stored = only(&path);
        assert_eq!(stored.events, events, "{name}");
        let mut sounds = stored.sounds().unwrap();
        // On, back, and beyond the end.
        for (first, count) in [(10, 100), (30_000, 5000), (4090, 20), (59_990, 10)] {
            let cut = sounds.cut((first, count)).unwrap().unwrap().samples;
            assert_eq!(cut, floats(&samples[first as usize..(first + count) as usize]), "{name} {first}");
        }
        assert_eq!(sounds.cut((59_990, 100)).unwrap().unwrap().samples.len(), 10, "{name}");
        assert_eq!(sounds.cut((60_000, 5)).unwrap(), None, "{name}");
    }
}

/// Changes the method of compression that a zip names for every file in it (APPNOTE 6.3.10, 4.3.7, 4.3.12 and 4.4.5).
fn marked(path: &Path, method: u8) {
    let mut bytes = fs::read(path).unwrap();
    for (head, place) in [(b"PK\x03\x04", 8), (b"PK\x01\x02", 10)] {
        let heads: Vec<usize> =
            bytes.windows(4).enumerate().filter(|(_, four)| four == head).map(|(at, _)| at).collect();
        heads.into_iter().for_each(|at| bytes[at + place] = method);
    }
    fs::write(path, bytes).unwrap();
}

#[test]
fn a_zip_packed_in_a_way_that_is_not_read_is_told_as_that_and_what_to_do() {
    let fresh = Fresh::new("other-way");
    let mend = "unpack it and name the folder, or pack that anew with deflate, no password";
    // Deflate64, bzip2, LZMA, Zstandard, xz.
    for method in [9, 12, 14, 93, 95] {
        let path = fresh.0.join("other.zip");
        packed(&path, CompressionMethod::Stored, &[("session.jsonl", &made::file(&made::sitting(1)))]);
        marked(&path, method);
        let found = read_sessions(std::slice::from_ref(&path));
        let told = found.failures[0].to_string();
        assert!(told.ends_with(mend) && told.contains("packed in a way that is not read here"), "{method}: {told}");
        // A password (bit 0 of the flags, 4.4.4).
        packed(&path, CompressionMethod::Stored, &[("session.jsonl", &made::file(&made::sitting(1)))]);
        let mut bytes = fs::read(&path).unwrap();
        let table = bytes.windows(4).position(|four| four == b"PK\x01\x02").unwrap();
        (bytes[6], bytes[table + 8]) = (bytes[6] | 1, bytes[table + 8] | 1);
        fs::write(&path, bytes).unwrap();
        let told = read_sessions(std::slice::from_ref(&path)).failures[0].to_string();
        assert!(told.ends_with(mend), "{told}");
    }
    // The same of the sound alone.
    let path = fresh.0.join("sound.zip");
    packed(&path, CompressionMethod::Stored, &[("answers.flac", b"fLaC")]);
    marked(&path, 12);
    let mut zip = zip::ZipWriter::new_append(fs::File::options().read(true).write(true).open(&path).unwrap()).unwrap();
    zip.start_file("session.jsonl", SimpleFileOptions::default().compression_method(CompressionMethod::Stored))
        .unwrap();
    zip.write_all(&made::file(&made::sitting(1))).unwrap();
    zip.finish().unwrap();
    let told = only(&path).sound((0, 10)).unwrap_err().to_string();
    assert!(told.ends_with(mend) && told.contains("read the sound of"), "{told}");
}

#[test]
fn a_zip_that_unpacks_without_end_is_refused() {
    let fresh = Fresh::new("bomb");
    let record = vec![b' '; 80 << 20];
    let path = fresh.0.join("x.zip");
    packed(&path, CompressionMethod::Deflated, &[("session.jsonl", &record)]);
    assert!(fs::metadata(&path).unwrap().len() < 1 << 20);
    let found = read_sessions(std::slice::from_ref(&path));
    assert!(found.sessions.is_empty() && found.failures[0].to_string().contains("larger than 64 MiB"), "{found:?}");
    // A sound that is no sound: said, not waited for.
    let record = made::file(&made::sitting(1));
    packed(&path, CompressionMethod::Deflated, &[("session.jsonl", &record), ("answers.flac", &vec![0; 40 << 20])]);
    assert!(only(&path).sound((0, 480)).unwrap_err().to_string().contains("no sound file"));
}
