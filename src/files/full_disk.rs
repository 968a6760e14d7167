//! Tests of a live folder on a disk that fills up.

use std::collections::BTreeMap;
use std::io;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard};

use crate::coach::{Goals, OutOfRange};
use crate::files::record_file::{Opener, RecordFile};
use crate::files::session_folder::{LossCounts, SessionFolder, name};
use crate::files::session_layout::RECORD;
use crate::files::{FileErrorKind, KeepSound};
use crate::session::{Began, Event, PauseCause, read};
use crate::units::{A440, SampleRate, Seconds, Tempo};

/// A disk in memory on which a limited number of bytes is free.
#[derive(Clone, Default)]
struct Disk(Arc<Mutex<Inside>>);

/// Number of free bytes, and the files by name.
type Inside = (usize, BTreeMap<String, Vec<u8>>);

struct OpenedFile(Disk, String);

impl Disk {
    fn with(room: usize) -> Self {
        let disk = Self::default();
        disk.inside().0 = room;
        disk
    }
    fn inside(&self) -> MutexGuard<'_, Inside> {
        self.0.lock().unwrap()
    }
    fn file(&self, name: &str) -> Vec<u8> {
        self.inside().1.get(name).cloned().unwrap_or_default()
    }
    fn opener(&self) -> Opener {
        let disk = self.clone();
        Box::new(move |name| Ok(Box::new(OpenedFile(disk.clone(), name.to_owned()))))
    }
}

impl RecordFile for OpenedFile {
    fn write_from(&mut self, place: u64, bytes: &[u8]) -> io::Result<()> {
        let mut inside = self.0.inside();
        let (room, files) = &mut *inside;
        let file = files.entry(self.1.clone()).or_default();
        for (index, byte) in bytes.iter().enumerate() {
            let at = place as usize + index;
            if at < file.len() {
                file[at] = *byte;
            } else if *room == 0 {
                return Err(io::ErrorKind::StorageFull.into());
            } else {
                *room -= 1;
                file.push(*byte);
            }
        }
        Ok(())
    }
    fn cut(&mut self, length: u64) -> io::Result<()> {
        let mut inside = self.0.inside();
        let (room, files) = &mut *inside;
        let file = files.entry(self.1.clone()).or_default();
        *room = room.saturating_add(file.len().saturating_sub(length as usize));
        file.truncate(length as usize);
        Ok(())
    }
    fn settle(&mut self) -> io::Result<()> {
        Ok(())
    }
}

fn began() -> Began {
    Began {
        started: "2026-11-25T18:30:00+01:00".to_owned(),
        day: 20_782,
        player: None,
        instrument: "alto sax/x".to_owned(),
        a4: A440,
        seed: 1,
        patterns: Vec::new(),
        keys: Vec::new(),
        out_of_range: OutOfRange::default(),
        goals: Goals { tempo: Tempo(120.0), reflex: Seconds(1.0) },
        rate: SampleRate::DEVICE,
        delay: None,
        simulated: false,
        by_midi: false,
        one_by_one: false,
        reading: crate::music::Reading::default(),
        level: crate::music::Level::Student,
        ear: 2,
        lesson: None,
        trade: None,
        second_task: false,
        keeps_sound: true,
    }
}

fn folder(disk: &Disk) -> SessionFolder {
    SessionFolder::on(disk.opener(), PathBuf::from("sessions"), name(&began()), &began(), KeepSound::All)
}

#[test]
fn a_disk_that_fills_up_at_any_byte_is_reported_and_loses_nothing_once_there_is_room_again() {
    let tone: Vec<f32> = (0..100).map(|n| (n as f32 * 0.1).sin()).collect();
    let events: Vec<Event> =
        (0..4).map(|n| Event::Paused { at: Seconds(f64::from(n)), cause: PauseCause::Asked }).collect();
    let whole = Disk::with(usize::MAX);
    let mut all = folder(&whole);
    for event in &events {
        assert!(all.sound(&tone).is_some());
        all.record(event);
    }
    assert_eq!(all.trouble(), None);
    let size: usize = [RECORD, "answers.wav"].map(|name| whole.file(name).len()).iter().sum();
    for room in 0..size {
        let disk = Disk::with(room);
        let mut live = folder(&disk);
        for event in &events {
            assert!(live.sound(&tone).is_some());
            live.record(event);
        }
        let trouble = live.trouble().unwrap_or_else(|| panic!("{room} of {size} bytes were enough"));
        assert_eq!(trouble.kind, FileErrorKind::Full);
        assert_eq!(live.session(), all.session());
        disk.inside().0 = usize::MAX;
        live.record(&Event::Resumed { at: Seconds(5.0) });
        assert_eq!((live.trouble(), live.lost()), (None, LossCounts::default()));
        assert_eq!(disk.file("answers.wav"), whole.file("answers.wav"), "{room}");
        assert_eq!(read(&disk.file(RECORD)).0.len(), 6, "{room}");
        assert_eq!(read(&disk.file(RECORD)).1, None, "{room}");
    }
}

#[test]
fn the_record_is_written_to_its_end_where_sound_has_taken_all_the_room_it_may_have() {
    let disk = Disk::with(1 << 20);
    let mut live = folder(&disk);
    let answer = vec![0.25; 48_000 * 4];
    for n in 0..4 {
        assert!(live.sound(&answer).is_some());
        for at in 0..1000 {
            live.record(&Event::Paused { at: Seconds(f64::from(n * 1000 + at)), cause: PauseCause::Asked });
        }
    }
    assert_eq!(live.trouble().map(|failure| failure.kind), Some(FileErrorKind::Full));
    assert!(live.recorded());
    let (events, damage) = read(&disk.file(RECORD));
    assert_eq!((events.len(), damage), (4001, None));
    assert!(disk.file("answers.wav").len() > 300_000, "some sound found room");
}

#[test]
fn a_draft_stands_in_the_file_until_what_is_final_takes_its_place() {
    let disk = Disk::with(usize::MAX);
    let mut live = folder(&disk);
    let pause = |at: f64| Event::Paused { at: Seconds(at), cause: PauseCause::Asked };
    let there = || read(&disk.file(RECORD)).0[1..].to_vec();
    live.draft(&[pause(1.25), pause(1.5), pause(1.75)]);
    assert_eq!(there(), [pause(1.25), pause(1.5), pause(1.75)]);
    live.draft(&[pause(2.0)]);
    assert_eq!(there(), [pause(2.0)]);
    live.record_all(&[pause(3.0), pause(3.125)]);
    assert_eq!(there(), [pause(3.0), pause(3.125)]);
    assert_eq!(read(&disk.file(RECORD)).1, None);
    assert_eq!(live.session().map(|session| session.pauses.len()), Some(2));
}

#[test]
fn sound_beyond_what_memory_holds_is_counted_and_the_record_goes_on() {
    let disk = Disk::with(0);
    let mut live = folder(&disk);
    let minute = vec![0.25; 48_000 * 60];
    let kept = (0..7).filter(|_| live.sound(&minute).is_some()).count();
    assert_eq!((kept, live.lost()), (5, LossCounts { events: 0, sounds: 2 }));
    let text = live.trouble().map(ToString::to_string).unwrap_or_default();
    assert!(text.contains("the disk is full; free some space"), "{text}");
}

#[test]
fn a_sitting_is_named_after_its_time_and_instrument_whatever_they_hold() {
    assert_eq!(name(&began()), "2026-11-25-1830-alto-sax-x");
    assert_eq!(
        name(&Began { started: "../../x".to_owned(), instrument: "/etc\u{0}".to_owned(), ..began() }),
        "------x--etc-"
    );
}
