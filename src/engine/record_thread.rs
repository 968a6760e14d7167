//! The record thread: appends what the drill hands out, says on the screen when the disk refuses, finishes at the end.

use std::path::PathBuf;
use std::time::Duration;

use crossbeam_channel::{Receiver, RecvTimeoutError, Sender};

use crate::drill::ToScreen;
use crate::engine::written_first::WrittenSoFar;
use crate::files::{self, FileError, FileErrorKind, KeepSound, LossCounts, Places, SessionFolder};
use crate::session::{AnswerRecord, Event, Judgement, Session};
use crate::sound::SharedSound;

/// How often the folder is looked at where nothing happens.
const LOOK: Duration = Duration::from_millis(500);

/// One thing for the record.
pub enum ToRecord {
    /// Something that happened, with the sound of an answer.
    Event(Box<Event>, Option<SharedSound>),
    /// An answer and its verdict that may still change.
    Draft(Box<[Event; 2]>),
}

/// How the record of a sitting ended.
pub enum Finished {
    /// The record lies in this file; the counts say what is missing from it, because disk and memory were full.
    Stored(PathBuf, LossCounts),
    /// Nothing was asked, or no device opened, so nothing is kept.
    Nothing,
    /// The disk refused to the end; the whole record is still in memory, for another place.
    InMemory(Box<SessionFolder>, FileError),
}

/// Text of a sitting for whoever has no earfirst; it is packed with the record.
pub type ReviewText = fn(&Session) -> String;

/// Makes whole files of sittings that were cut off (a kill, a power cut): for each the file, or why it is left as it is.
#[must_use]
pub fn finish_what_was_left(places: &Places, review: ReviewText) -> Vec<Result<PathBuf, FileError>> {
    let left = files::unfinished(&places.sessions()).unwrap_or_default();
    left.iter().filter_map(|folder| files::finish_unfinished(folder, &review).transpose()).collect()
}

/// Keeps everything that is handed out until its sender is gone, then finishes. `written` counts each thing once it is with the
/// system (an answer with sound: once its verdict is awaited), before the disk itself is waited for.
pub fn keep(
    mut folder: SessionFolder,
    (sounds, review): (KeepSound, ReviewText),
    handed_out: &Receiver<ToRecord>,
    written: &WrittenSoFar,
    screen: &Sender<ToScreen>,
) -> Finished {
    let mut noticed = None;
    let mut waiting: Option<(AnswerRecord, SharedSound)> = None;
    loop {
        let one = match handed_out.recv_timeout(LOOK) {
            Ok(one) => one,
            Err(RecvTimeoutError::Disconnected) => break,
            Err(RecvTimeoutError::Timeout) => {
                folder.look();
                tell(&folder, &mut noticed, screen);
                continue;
            }
        };
        match one {
            ToRecord::Event(event, sound) => match (*event, sound) {
                // The folder was begun with this event.
                (Event::Began(_), _) => {}
                // Whether the sound of an answer is kept can depend on its verdict, which follows at once.
                (Event::Answered(answer), Some(sound)) => {
                    if let Some((answer, _)) = waiting.replace((answer, sound)) {
                        folder.record(&Event::Answered(answer));
                    }
                }
                (event, _) => record(&mut folder, sounds, waiting.take(), event),
            },
            ToRecord::Draft(events) => folder.draft(&*events),
        }
        written.one();
        folder.settle();
        tell(&folder, &mut noticed, screen);
    }
    if let Some((answer, _)) = waiting {
        folder.record(&Event::Answered(answer));
    }
    match folder.finish(&review) {
        Ok(Some(path)) => {
            // The last screen shows the path; where the screen is gone, the farewell does.
            let _ = screen.send(ToScreen::Kept(path.clone()));
            Finished::Stored(path, folder.lost())
        }
        Ok(None) => Finished::Nothing,
        Err(failure) => Finished::InMemory(Box::new(folder), failure),
    }
}

/// Tells the player that the disk refuses, once for each way in which it does.
fn tell(folder: &SessionFolder, noticed: &mut Option<(FileErrorKind, bool)>, screen: &Sender<ToScreen>) {
    let trouble = folder.trouble().map(|failure| (failure.kind, folder.recorded()));
    if let (Some(trouble), Some(failure)) = (trouble.filter(|now| *noticed != Some(*now)), folder.trouble()) {
        *noticed = screen.send(ToScreen::Notice(refused(folder, failure))).ok().map(|()| trouble);
    }
}

/// What the screen says while the disk refuses. The farewell says where; on the screen a long path would push the reason off.
fn refused(folder: &SessionFolder, failure: &FileError) -> String {
    let (why, mend, minutes) = (&failure.why, &failure.mend, folder.memory().0 / 60.0);
    let what = if folder.recorded() {
        "the record is written, the sound of your answers not"
    } else {
        "the record cannot be written"
    };
    format!("{what}: {why}; {mend}; it is held in memory, up to {minutes:.0} minutes of sound")
}

/// Writes an event down, and before it the answer that waited for its verdict, with the sound where that is to be kept.
fn record(folder: &mut SessionFolder, keep: KeepSound, waiting: Option<(AnswerRecord, SharedSound)>, event: Event) {
    let Some((mut answer, sound)) = waiting else { return folder.record(&event) };
    let whole = matches!(&event, Event::Judged(Judgement { verdict, .. }) if verdict.whole());
    if keep.keeps(whole) {
        answer.sound = folder.sound_in_pieces(&sound);
    }
    folder.record_all(&[Event::Answered(answer), event]);
}
