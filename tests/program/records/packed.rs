//! The finished file of a sitting: its sound is packed without loss, and is read again exactly.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::Command;

use earfirst::outside::files::{
    KeepSound, Places, SessionFolder, Stored, finish_unfinished, read_sessions, survey, unfinished,
};
use earfirst::outside::session::{Event, Session};
use earfirst::outside::units::SampleRate;

use crate::chance::Chance;
use crate::records::kept::Fresh;
use crate::records::made;

fn review(session: &Session) -> String {
    format!("{} cues\n", session.trials.len())
}

/// Samples such as a room gives: a fading tone on noise, then full scale, silence and single clicks.
pub fn played(length: usize) -> Vec<i16> {
    let mut chance = Chance::new(5);
    (0..length)
        .map(|n| match n * 8 / length.max(1) {
            0 => *[i16::MIN, i16::MAX, 0, -1].get(n % 4).unwrap(),
            1 => 0,
            2 => i16::from(n % 997 == 0) * 30_000,
            3 => chance.whole(0, 65_535) as u16 as i16,
            _ => {
                let fades = (-((n % 20_000) as f64) / 9000.0).exp();
                (9000.0 * fades * (n as f64 * 0.0576).sin()) as i16 + chance.whole(0, 16) as i16 - 8
            }
        })
        .collect()
}

pub fn floats(samples: &[i16]) -> Vec<f32> {
    samples.iter().map(|sample| f32::from(*sample) / 32_768.0).collect()
}

/// A finished sitting whose first answer has this sound, and the bytes of the WAV file that the live folder had before.
pub fn finished(fresh: &Fresh, samples: &[i16], rate: SampleRate) -> (PathBuf, Vec<u8>) {
    let mut began = made::began();
    began.rate = rate;
    let mut live = SessionFolder::begin(&Places::at(&fresh.0), &began, KeepSound::All);
    let mut events = made::sitting(1);
    for block in floats(samples).chunks(10_000) {
        live.sound(block).unwrap();
    }
    if let Event::Answered(answer) = &mut events[2] {
        answer.sound = Some((0, samples.len() as u64));
    }
    events[1..].iter().for_each(|event| live.record(event));
    let wav = fs::read(live.folder().unwrap().join("answers.wav")).unwrap_or_default();
    (live.finish(&review).unwrap().unwrap(), wav)
}

pub fn only(path: &Path) -> Stored {
    let found = read_sessions(&[path.to_owned()]);
    assert_eq!((found.failures.as_slice(), found.sessions.len()), (&[][..], 1));
    found.sessions.into_iter().next().unwrap()
}

pub fn entry(path: &Path, name: &str) -> Vec<u8> {
    let mut zip = zip::ZipArchive::new(fs::File::open(path).unwrap()).unwrap();
    let mut bytes = Vec::new();
    zip.by_name(name).unwrap().read_to_end(&mut bytes).unwrap();
    bytes
}

#[test]
fn the_packed_sound_is_what_was_played_sample_for_sample_at_every_length_and_rate() {
    for (length, hertz) in [(1, 48_000), (15, 44_100), (4096, 48_000), (4097, 8000), (50_000, 44_100), (90_001, 96_000)]
    {
        let fresh = Fresh::new(&format!("lossless-{length}"));
        let samples = played(length);
        let (path, _) = finished(&fresh, &samples, SampleRate::new(hertz).unwrap());
        let clip = only(&path).sound((0, length as u64)).unwrap().unwrap();
        assert_eq!((clip.rate.hz(), clip.samples == floats(&samples)), (hertz, true), "{length}");
    }
}

#[test]
fn another_decoder_gives_the_same_bytes() {
    // ffmpeg is the outside opinion, where it is installed.
    let fresh = Fresh::new("outside");
    let samples = played(90_001);
    let (path, wav) = finished(&fresh, &samples, SampleRate::CD);
    let flac = fresh.0.join("answers.flac");
    fs::write(&flac, entry(&path, "answers.flac")).unwrap();
    let told = Command::new("ffmpeg")
        .args(["-v", "warning", "-xerror", "-err_detect", "explode+crccheck", "-i"])
        .arg(&flac)
        .args(["-f", "s16le", "-"])
        .output();
    let Ok(told) = told else { return eprintln!("skipped: ffmpeg is not installed") };
    assert_eq!(String::from_utf8_lossy(&told.stderr), "");
    assert_eq!(&wav[44..], &told.stdout[..], "as the live folder had it");
    // The digest in its head is that of the sound (RFC 9639, section 8.2); `md5sum` of the same bytes.
    let digest = md5::compute(&told.stdout);
    assert_eq!(fs::read(&flac).unwrap()[26..42], digest.0);
}

#[test]
fn rate_and_length_that_a_head_of_flac_cannot_tell_go_in_as_they_are() {
    let fresh = Fresh::new("odd-rate");
    let samples = played(3000);
    let (path, wav) = finished(&fresh, &samples, SampleRate::new(65_537).unwrap());
    assert_eq!(entry(&path, "answers.wav"), wav);
    assert_eq!(only(&path).sound((0, 3000)).unwrap().unwrap().samples, floats(&samples));
}

#[test]
fn what_a_killed_packing_left_is_removed_and_what_is_being_packed_is_not() {
    let fresh = Fresh::new("parts");
    let name = |number: u32| fresh.0.join(format!(".2026-11-25-1830-trumpet.zip.{number}.part"));
    fs::write(name(1), "half a zip").unwrap();
    fs::write(name(2), "another").unwrap();
    let busy = fs::File::options().write(true).open(name(2)).unwrap();
    busy.lock().unwrap();
    for other in [".hidden.part", "mine.zip.1.part", ".a.zip.x.part"] {
        fs::write(fresh.0.join(other), "not ours").unwrap();
    }
    assert_eq!(unfinished(&fresh.0).unwrap(), [] as [PathBuf; 0]);
    let mut left: Vec<_> = fs::read_dir(&fresh.0).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    left.sort();
    let busy_name = name(2).file_name().unwrap().to_owned();
    assert_eq!(left, [busy_name, ".a.zip.x.part".into(), ".hidden.part".into(), "mine.zip.1.part".into()]);
}

const ROLE: &str = "EARFIRST_TEST_PACKS";

/// The samples of a sitting: fading notes over noise of -70 dB, as in the room of the simulated player, with a moment at full scale in each
/// second.
fn evening(seconds: usize) -> impl Iterator<Item = i16> {
    let mut chance = Chance::new(8);
    (0..seconds * 48_000).map(move |n| {
        let fades = (-((n % 24_000) as f64) / 9000.0).exp();
        let tone = (7000.0 * fades * (n as f64 * 0.0576).sin()) as i16;
        if n % 48_000 < 16 { i16::MIN } else { tone + chance.whole(-18, 18) as i16 }
    })
}

/// Starts a process that finishes unfinished sittings, and kills it as soon as the file that it writes has more than `bytes` bytes.
/// Returns whether the process was killed; otherwise it had ended before.
fn killed_while_packing(fresh: &Fresh, bytes: u64) -> bool {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "records::packed::killed_while_a_long_sitting_is_packed_nothing_is_lost_and_nothing_stays"])
        .env(ROLE, &fresh.0)
        .stdout(std::process::Stdio::null())
        .spawn()
        .unwrap();
    loop {
        let parts = parts(&fresh.0.join("sessions"));
        if parts.iter().any(|part| fs::metadata(part).is_ok_and(|part| part.len() > bytes)) {
            child.kill().unwrap();
            child.wait().unwrap();
            return true;
        }
        if child.try_wait().unwrap().is_some() {
            return false;
        }
        std::thread::yield_now();
    }
}

fn parts(sessions: &Path) -> Vec<PathBuf> {
    let paths = fs::read_dir(sessions).unwrap().map(|entry| entry.unwrap().path());
    paths.filter(|path| path.extension().is_some_and(|end| end == "part")).collect()
}

/// `EARFIRST_LONGER=1` packs ten minutes of sound, as much as sounds in a sitting of twenty; else twenty seconds.
#[test]
fn killed_while_a_long_sitting_is_packed_nothing_is_lost_and_nothing_stays() {
    if let Some(data) = std::env::var_os(ROLE) {
        for folder in unfinished(&Path::new(&data).join("sessions")).unwrap() {
            finish_unfinished(&folder, &review).unwrap();
        }
        std::process::exit(0);
    }
    let seconds = if std::env::var_os("EARFIRST_LONGER").is_some() { 600 } else { 20 };
    let fresh = Fresh::new("packing-killed");
    let sessions = fresh.0.join("sessions");
    let mut live = SessionFolder::begin(&Places::at(&fresh.0), &made::began(), KeepSound::All);
    let samples: Vec<i16> = evening(seconds).collect();
    let mut events = made::sitting(1);
    for block in samples.chunks(48_000) {
        live.sound(&floats(block)).unwrap();
    }
    if let Event::Answered(answer) = &mut events[2] {
        answer.sound = Some((0, samples.len() as u64));
    }
    events[1..].iter().for_each(|event| live.record(event));
    drop(live);
    // As the first byte is written, on the way, and when all sound is in.
    let whole = samples.len() as u64;
    for bytes in [0, whole / 100, whole / 4, whole / 2] {
        assert!(killed_while_packing(&fresh, bytes), "packed before it could be killed");
        assert_eq!(parts(&sessions).len(), 1, "what the killed process left");
        assert_eq!(unfinished(&sessions).unwrap().len(), 1, "the sitting waits");
        assert_eq!(parts(&sessions), [] as [PathBuf; 0], "and the next start has cleaned");
    }
    assert!(!killed_while_packing(&fresh, u64::MAX));
    assert_eq!((unfinished(&sessions).unwrap(), parts(&sessions)), (Vec::new(), Vec::new()));
    let files: Vec<_> = fs::read_dir(&sessions).unwrap().map(|entry| entry.unwrap().path()).collect();
    let [path] = &files[..] else { panic!("one file: {files:?}") };
    let stored = only(path);
    assert_eq!(stored.events, events);
    let decoded = stored.sound((0, whole)).unwrap().unwrap().samples;
    assert!(decoded == floats(&samples), "bit for bit");
    let packed = fs::metadata(path).unwrap().len();
    eprintln!("{seconds} s of sound: {} bytes, packed {packed}", 2 * whole);
    assert!(packed as f64 / seconds as f64 * 600.0 < 24e6, "{packed}");
}

#[test]
fn a_session_that_was_unpacked_beside_the_others_is_read_and_stays() {
    let fresh = Fresh::new("unpacked");
    let samples = played(20_000);
    let (path, _) = finished(&fresh, &samples, SampleRate::DEVICE);
    let folder = fresh.0.join("sessions/unpacked");
    fs::create_dir(&folder).unwrap();
    for name in ["session.jsonl", "answers.flac"] {
        fs::write(folder.join(name), entry(&path, name)).unwrap();
    }
    assert_eq!(unfinished(&fresh.0.join("sessions")).unwrap(), [] as [PathBuf; 0]);
    assert_eq!(only(&folder).sound((0, 20_000)).unwrap().unwrap().samples, floats(&samples));
    let mut listed = survey(&[fresh.0.join("sessions")]);
    assert_eq!((listed.listed.len(), listed.once().len(), listed.listed.len()), (2, 1, 1));
}

#[test]
fn a_folder_that_dies_a_moment_later_is_taken_up_by_this_start() {
    let fresh = Fresh::new("dying");
    let mut live = SessionFolder::begin(&Places::at(&fresh.0), &made::began(), KeepSound::None);
    made::sitting(1)[1..].iter().for_each(|event| live.record(event));
    let folder = live.folder().unwrap().to_owned();
    // A killed process holds its files until it is all gone.
    let dies = std::thread::spawn(move || {
        std::thread::sleep(std::time::Duration::from_millis(100));
        drop(live);
    });
    assert_eq!(unfinished(&fresh.0.join("sessions")).unwrap(), std::slice::from_ref(&folder));
    dies.join().unwrap();
    assert!(finish_unfinished(&folder, &review).unwrap().is_some());
}

#[test]
fn a_folder_that_is_removed_under_the_player_is_told_at_once_and_what_comes_is_kept_with_its_sound() {
    let fresh = Fresh::new("removed");
    let mut live = SessionFolder::begin(&Places::at(&fresh.0), &made::began(), KeepSound::All);
    let (mut events, samples) = (made::sitting(2), played(30_000));
    for (index, sound) in [(2, &samples[..10_000]), (5, &samples[10_000..])] {
        if let Event::Answered(answer) = &mut events[index] {
            answer.sound = live.sound(&floats(sound));
        }
        live.record_all(&events[index - 1..index + 2]);
        live.look();
        assert_eq!(live.trouble().is_none(), index == 2);
        let folder = live.folder().unwrap();
        let _ = fs::remove_dir_all(folder);
        live.look();
        let told = live.trouble().unwrap().to_string();
        assert!(told.contains("its folder was removed or moved") && !live.recorded(), "{told}");
    }
    events[7..].iter().for_each(|event| live.record(event));
    let stored = only(&live.finish(&review).unwrap().unwrap());
    // The sound that was removed is not there, and nobody takes the next answer's for it.
    let Event::Answered(answer) = &mut events[2] else { panic!("{:?}", events[2]) };
    assert_eq!(answer.sound.take(), Some((0, 10_000)));
    assert_eq!(stored.events, events);
    assert_eq!(stored.sound((10_000, 20_000)).unwrap().unwrap().samples, floats(&samples[10_000..]));
}

#[cfg(unix)]
#[test]
fn whatever_is_kept_of_a_player_is_for_the_players_own_eyes() {
    use std::os::unix::fs::PermissionsExt;
    let fresh = Fresh::new("private");
    let home = fresh.0.join("home");
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    let mut live = SessionFolder::begin(&Places::at(&home), &made::began(), KeepSound::All);
    live.sound(&[0.5; 100]).unwrap();
    made::sitting(1)[1..].iter().for_each(|event| live.record(event));
    let folder = live.folder().unwrap().to_owned();
    for path in [&home, &home.join("sessions"), &folder] {
        assert_eq!(mode(path), 0o700, "{}", path.display());
    }
    for name in ["session.jsonl", "answers.wav", "in-use"] {
        assert_eq!(mode(&folder.join(name)), 0o600, "{name}");
    }
    assert_eq!(mode(&live.finish(&review).unwrap().unwrap()), 0o600);
    earfirst::outside::files::UserSettings::default().save(&Places::at(&home)).unwrap();
    assert_eq!(mode(&home.join("settings.toml")), 0o600);
}

/// Runs with `EARFIRST_LONGER` alone: twenty minutes of a simulated sitting, half of which sounds.
#[test]
fn twenty_minutes_take_less_than_24_megabytes() {
    if std::env::var_os("EARFIRST_LONGER").is_none() {
        return eprintln!("skipped: EARFIRST_LONGER=1 packs twenty minutes");
    }
    let fresh = Fresh::new("twenty");
    let desk = Command::new(env!("CARGO_BIN_EXE_earfirst"))
        .args(["demo", "--fast", "--plain", "--seed", "7", "--answers", "90", "--keep-sound", "all"])
        .env("EARFIRST_DATA", &fresh.0)
        .output()
        .unwrap();
    assert!(desk.status.success());
    let stored = read_sessions(&[fresh.0.join("sessions")]).sessions.remove(0);
    let session = stored.session().unwrap();
    let answers = session.trials.iter().filter_map(|turn| turn.answer.as_ref()?.sound);
    let sound: u64 = answers.map(|(_, count)| 2 * count).sum();
    let packed = fs::metadata(&stored.path).unwrap().len();
    let minutes = session.until.0 / 60.0;
    eprintln!("{minutes:.1} minutes: {sound} bytes of sound, {packed} packed, {:.3}", packed as f64 / sound as f64);
    assert!(packed as f64 / minutes * 20.0 < 24e6 && (packed as f64) < 0.46 * sound as f64);
}
