use std::borrow::Cow;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use crate::files::disk_reserve::Reserve;
use crate::files::places::private_file;
use crate::files::record_file::{Opener, RecordFile};
use crate::files::session_layout::{RECORD, claim, remove_live};
use crate::files::session_zip::{Contents, pack};
use crate::files::wav::{HEADER, PART_BYTES, SoundLog, part_name};
use crate::files::{FileError, KeepSound, Places};
use crate::session::{Began, Event, Session, read, write_line};
use crate::sound::SharedSound;
use crate::units::Seconds;

/// Most bytes of the record, all of which is kept in memory (a sitting of twenty minutes needs about half a megabyte).
pub const RECORD_LIMIT: usize = 32 << 20;
/// Most bytes of sound kept in memory while the disk does not take it: nearly six minutes at 48 kHz.
pub const SOUND_LIMIT: usize = 32 << 20;
/// What was tried, for an error.
const DOING: &str = "write the session in";

/// The record of the sitting that is going on. When [`SessionFolder::record`] returns, the operating system has every event, so a
/// kill costs at most what was being written; what was judged is safe from a power cut after [`SessionFolder::settle`]. The record
/// comes first: room is kept for it, and sound is written only beyond that. While the disk is full or refuses to be written, sound
/// goes on in memory up to [`SOUND_LIMIT`], as the record always does up to [`RECORD_LIMIT`]; the disk is tried again with every
/// event, and the sitting can be finished in another place.
///
/// Where sound is kept, it belongs on a thread of its own, because writing may block.
pub struct SessionFolder {
    /// Name of the sitting, without the number that makes it unique.
    name: String,
    /// Folder of all sessions.
    sessions: PathBuf,
    /// The live folder; `None` where none could be made, and once the sitting is finished.
    home: Option<PathBuf>,
    /// Opens a new file in the live folder.
    open: Opener,
    /// Locked, never read: other processes see that the folder is in use.
    lock: Option<File>,
    /// The answers whose sound is kept.
    keep: KeepSound,
    /// The file of the record, once it was opened.
    log: Option<Box<dyn RecordFile>>,
    /// All lines of the record so far.
    text: Vec<u8>,
    /// Bytes of `text` that are on the disk.
    written: usize,
    /// Lines that would be recorded if the sitting ended now. In the file they stand after `text`; the next event overwrites them.
    draft: Vec<u8>,
    /// Bytes that may stand in the file after the first `written` bytes: a draft, or a part of a write that failed.
    beyond: usize,
    /// Whether a header, a verdict or an end was recorded since the last [`SessionFolder::settle`].
    unsettled: bool,
    /// Room on the disk that is kept for the record.
    reserve: Reserve,
    /// The sound of the answers.
    sound: SoundLog,
    /// Why the disk does not take the record or its sound; `None` when all is written.
    trouble: Option<FileError>,
    /// What did not fit into memory.
    lost: LossCounts,
}

/// What no longer fitted: events beyond `RECORD_LIMIT`, and sound beyond `SOUND_LIMIT` while the disk took none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LossCounts {
    /// Events that were not recorded.
    pub events: u64,
    /// Answers whose sound was not kept.
    pub sounds: u64,
}

impl SessionFolder {
    /// Begins a live folder under the player's sessions and records the header. Never fails: where no folder can be made,
    /// [`SessionFolder::trouble`] says so and the record is kept in memory.
    #[must_use]
    pub fn begin(places: &Places, began: &Began, keep: KeepSound) -> Self {
        let sessions = places.sessions();
        let name = name(began);
        let (home, lock, refused) = match claim(&sessions, &name) {
            Ok((home, lock)) => (Some(home), Some(lock), None),
            Err(error) => (None, None, Some(error)),
        };
        let folder = home.clone();
        let open: Opener = Box::new(move |file| match &folder {
            Some(folder) => Ok(Box::new(private_file(&folder.join(file))?)),
            None => Err(refused.as_ref().map_or(io::ErrorKind::NotFound, io::Error::kind).into()),
        });
        let mut this = Self::on(open, sessions, name, began, keep);
        (this.home, this.lock) = (home, lock);
        this
    }

    /// Length of the sound that fits into memory while the disk takes none.
    #[must_use]
    pub fn memory(&self) -> Seconds {
        self.sound.rate().seconds(SOUND_LIMIT / 2)
    }

    /// Begins a record on any disk.
    pub(super) fn on(open: Opener, sessions: PathBuf, name: String, began: &Began, keep: KeepSound) -> Self {
        let mut this = Self {
            name,
            sessions,
            home: None,
            open,
            lock: None,
            keep,
            log: None,
            // This reserves addresses; memory is taken only as the text grows. Otherwise the text would be copied each time it
            // outgrows its room.
            text: Vec::with_capacity(RECORD_LIMIT),
            written: 0,
            draft: Vec::new(),
            beyond: 0,
            unsettled: false,
            reserve: Reserve::default(),
            sound: SoundLog::new(began.rate, PART_BYTES, SOUND_LIMIT),
            trouble: None,
            lost: LossCounts::default(),
        };
        this.record(&Event::Began(began.clone()));
        this
    }

    /// Records an event. See [`SessionFolder::trouble`] for whether the disk took it.
    pub fn record(&mut self, event: &Event) {
        self.record_all(std::slice::from_ref(event));
    }

    /// Records events that belong together: after a kill either all of these events are there, or none.
    pub fn record_all(&mut self, events: &[Event]) {
        self.draft.clear();
        for event in events {
            let line = write_line(event);
            if self.text.len() + line.len() > RECORD_LIMIT {
                self.lost.events += 1;
                continue;
            }
            self.text.extend(line.into_bytes());
            // Between two verdicts a power cut can take a cue, a pause or the like, but nothing that was judged.
            self.unsettled |=
                matches!(event, Event::Began(_) | Event::Judged(_) | Event::FreeChorus(_) | Event::Ended(_));
        }
        let done = self.write();
        self.note(done);
    }

    /// Writes down what is not final yet, so that a kill does not take what the player has seen. The next events, or the next
    /// draft, stand in its place.
    pub fn draft(&mut self, events: &[Event]) {
        self.draft = events.iter().map(write_line).collect::<String>().into_bytes();
        let done = self.write();
        self.note(done);
    }

    /// Hands what was judged to the disk itself, so that a power cut does not take it. May take a while. While there is
    /// trouble, nothing is done.
    pub fn settle(&mut self) {
        if self.unsettled && self.trouble.is_none() {
            self.unsettled = false;
            let done = self.log.as_mut().map_or(Ok(()), |log| log.settle()).and_then(|()| self.sound.settle());
            self.note(done);
        }
    }

    /// Keeps the sound of an answer, before its event is recorded. Returns the place in the sound for that event: the first sample
    /// and the number of samples. `None` where no sound is kept, there is none, or no more fits into memory.
    pub fn sound(&mut self, samples: &[f32]) -> Option<(u64, u64)> {
        self.keep_sound(samples.len(), std::iter::once(samples))
    }

    /// Keeps sound that lies in pieces, as [`SessionFolder::sound`]: each is written before the next is taken.
    pub fn sound_in_pieces(&mut self, sound: &SharedSound) -> Option<(u64, u64)> {
        self.keep_sound(sound.count, sound.pieces())
    }

    fn keep_sound<'s>(&mut self, count: usize, pieces: impl Iterator<Item = &'s [f32]>) -> Option<(u64, u64)> {
        if self.keep == KeepSound::None || count == 0 {
            return None;
        }
        let place = self.sound.place(count);
        self.lost.sounds += u64::from(place.is_none());
        let mut done = Ok(());
        for piece in pieces.filter(|_| place.is_some()) {
            self.sound.take(piece);
            if done.is_ok() {
                done = self.write_sound();
            }
        }
        let done = if place.is_some() { done } else { self.write_sound() };
        self.note(done);
        place
    }

    /// Writes whatever the disk does not have yet, the record first.
    fn write(&mut self) -> io::Result<()> {
        let mut done = self.write_text();
        if done.as_ref().is_err_and(full) && self.reserve.release() {
            done = self.write_text();
        }
        done.and_then(|()| self.write_sound())
    }

    fn write_text(&mut self) -> io::Result<()> {
        if self.log.is_some() && self.gone() {
            // Nothing that was written is on the disk any more.
            self.beyond += std::mem::take(&mut self.written);
            return Err(io::ErrorKind::NotFound.into());
        }
        let log = match &mut self.log {
            Some(log) => log,
            None => self.log.insert((self.open)(RECORD)?),
        };
        let mut bytes = [&self.text[self.written..], &self.draft].concat();
        let (before, end) = (self.beyond, bytes.len());
        // Empty lines go over what is left of a longer draft: whoever kills the program before the cut leaves nothing of it.
        bytes.resize(end.max(before), b'\n');
        self.beyond = bytes.len();
        log.write_from(self.written as u64, &bytes)?;
        if before > end {
            log.cut((self.written + end) as u64)?;
        }
        (self.written, self.beyond) = (self.text.len(), self.draft.len());
        Ok(())
    }

    /// Whether the record is no longer where it was begun. A file that was removed while it is open takes every byte and keeps
    /// none.
    fn gone(&self) -> bool {
        self.home.as_ref().is_some_and(|home| !home.join(RECORD).exists())
    }

    /// Looks whether the record is still there, so that the loss of a folder between two events is reported before the next event.
    pub fn look(&mut self) {
        if self.log.is_some() && self.gone() {
            let done = self.write_text();
            self.note(done);
        }
    }

    /// Writes the sound, where the room of the record is safe and what was written before is still there.
    fn write_sound(&mut self) -> io::Result<()> {
        if self.keep == KeepSound::None {
            return Ok(());
        }
        if self.home.is_some() && (self.gone() || self.lost_sound() > 0) {
            return Err(io::ErrorKind::NotFound.into());
        }
        if self.reserve.take(&mut self.open) {
            self.sound.write(&mut self.open)
        } else {
            Err(io::ErrorKind::StorageFull.into())
        }
    }

    fn note(&mut self, done: io::Result<()>) {
        let place = self.home.as_ref().unwrap_or(&self.sessions);
        self.trouble = done.err().map(|error| match error.kind() {
            io::ErrorKind::NotFound if self.home.is_some() => FileError {
                why: "its folder was removed or moved".to_owned(),
                mend: "what was judged is kept all the same, the sound before this is not".to_owned(),
                ..FileError::system(DOING, place, &error)
            },
            _ => FileError::system(DOING, place, &error),
        });
    }

    /// Why the disk does not take the record or its sound at present; `None` when all is written.
    #[must_use]
    pub const fn trouble(&self) -> Option<&FileError> {
        self.trouble.as_ref()
    }
    /// Whether all events are on the disk, even if their sound is not.
    #[must_use]
    pub const fn recorded(&self) -> bool {
        self.written == self.text.len() && self.log.is_some()
    }
    /// What did not fit into memory.
    #[must_use]
    pub const fn lost(&self) -> LossCounts {
        self.lost
    }
    /// The answers whose sound is kept.
    #[must_use]
    pub const fn keeps(&self) -> KeepSound {
        self.keep
    }
    /// The live folder, where there is one.
    #[must_use]
    pub fn folder(&self) -> Option<&Path> {
        self.home.as_deref()
    }
    /// The events so far, as a session to look at.
    #[must_use]
    pub fn session(&self) -> Option<Session> {
        Session::from_events(&read(&self.text).0)
    }

    /// Makes one file of the sitting in the player's sessions folder and removes the live folder. `review` makes the text for
    /// whoever has no earfirst. `Ok(None)` when nothing was asked: nothing is kept then.
    ///
    /// # Errors
    /// When the place cannot be written; everything is still in memory or in the live folder, so that another place can be tried.
    pub fn finish(&mut self, review: &dyn Fn(&Session) -> String) -> Result<Option<PathBuf>, FileError> {
        self.finish_at(&self.sessions.clone(), review)
    }

    /// Finishes the sitting, as [`SessionFolder::finish`], in another folder.
    ///
    /// # Errors
    /// As [`SessionFolder::finish`].
    pub fn finish_at(
        &mut self,
        folder: &Path,
        review: &dyn Fn(&Session) -> String,
    ) -> Result<Option<PathBuf>, FileError> {
        // Whatever the disk does not take now is packed from memory.
        let done = self.write();
        self.note(done);
        self.settle();
        self.reserve.release();
        let session = self.session();
        let asked = session.as_ref().filter(|session| !session.is_empty());
        let finished = match asked {
            None => None,
            Some(session) => {
                let review = review(session);
                let lost = self.lost_sound();
                let contents = Contents {
                    record: &without_sound(&self.text, lost),
                    review: &review,
                    rate: self.sound.rate(),
                    sounds: self.sounds_on_disk(),
                    lost,
                    pending: &self.sound.pending,
                    started: &session.began.started,
                };
                Some(pack(folder, &self.name, &contents)?)
            }
        };
        self.log = None;
        self.lock = None;
        self.sound = SoundLog::new(self.sound.rate(), PART_BYTES, SOUND_LIMIT);
        if let Some(home) = self.home.take() {
            // What cannot be removed now is found at the next start, together with the file that was made of it.
            let _ = remove_live(&home);
        }
        Ok(finished)
    }

    /// Bytes of sound that were written and are no longer there.
    fn lost_sound(&self) -> u64 {
        if self.sounds_on_disk().is_empty() { self.sound.written().iter().sum() } else { 0 }
    }

    /// The sound files that can still be read, with the bytes of sound in each; empty if one of the files cannot be read.
    fn sounds_on_disk(&self) -> Vec<(PathBuf, u64)> {
        let Some(home) = &self.home else { return Vec::new() };
        let written = self.sound.written();
        let all = written.iter().enumerate().map(|(index, bytes)| (home.join(part_name(index)), *bytes));
        let all: Vec<_> = all.collect();
        let whole = |(path, bytes): &(PathBuf, u64)| fs::metadata(path).is_ok_and(|meta| meta.len() >= HEADER + bytes);
        if all.iter().all(whole) { all } else { Vec::new() }
    }
}

/// The record, without the places of what lies in the first `lost` bytes of sound, which are no longer there.
fn without_sound(text: &[u8], lost: u64) -> Cow<'_, [u8]> {
    if lost == 0 {
        return text.into();
    }
    let mut events = read(text).0;
    for event in &mut events {
        if let Event::Answered(answer) = event {
            answer.sound = answer.sound.filter(|(first, _)| first * 2 >= lost);
        }
        if let Event::Band(band) = event {
            band.sound = band.sound.filter(|sound| sound.first * 2 >= lost);
        }
    }
    events.iter().map(write_line).collect::<String>().into_bytes().into()
}

/// Whether the disk has no room.
fn full(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded)
}

/// The name of a sitting: `2026-11-25-1830-trumpet-anna-3f2a`, without the player `2026-11-25-1830-trumpet`.
pub(super) fn name(began: &Began) -> String {
    let started: String = began.started.chars().take(16).filter(|sign| *sign != ':').collect();
    let words = format!("{}-{}", started.replace('T', "-"), began.instrument);
    let words: String =
        words.chars().map(|sign| if sign.is_ascii_alphanumeric() { sign } else { '-' }).take(60).collect();
    began.player.as_ref().map_or_else(|| words.clone(), |player| format!("{words}-{}", player.in_file_name()))
}
