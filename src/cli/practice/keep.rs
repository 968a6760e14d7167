//! The record thread: appends what the drill hands out, tells the screen when the disk refuses, finishes at the end.

use std::path::PathBuf;
use std::sync::Arc;

use crossbeam_channel::{Receiver, Sender};

use crate::cli::failure::{Failure, clean};
use crate::cli::output::warn;
use crate::cli::practice::gate::Written;
use crate::devices::DeviceError as NoSound;
use crate::files::{self, KeepSound, LossCounts, Places, SessionFolder};
use crate::report;
use crate::session::{AnswerRecord, Event, Judgement, Session};
use crate::sound::Clip;
use crate::tui::ScreenEvent;

/// One thing to keep.
pub enum Kept {
    /// Something that happened, with the sound of an answer.
    Event(Box<Event>, Option<Arc<Clip>>),
    /// An answer and its verdict that may still change.
    Draft(Box<[Event; 2]>),
}

/// Where a sitting ended up.
pub enum Ending {
    /// In this file; not all of it where memory was full too.
    Stored(PathBuf, LossCounts),
    /// Nothing was asked, so nothing is kept.
    Nothing,
    /// Microphone or loudspeaker did not open, so nothing began.
    NoSound(NoSound),
    /// The disk refused to the end; all of it is still in memory, for another place.
    Held(Box<SessionFolder>, Failure),
}

/// Sittings that were cut off (a kill, a power cut) are made whole files now; what cannot be is told and left as it is.
pub fn finish_what_was_left(places: &Places) {
    for folder in files::unfinished(&places.sessions()).unwrap_or_default() {
        match files::finish_unfinished(&folder, &review) {
            Ok(Some(path)) => {
                warn(format!("a sitting that was cut off is kept in {}", clean(&path.display().to_string())));
            }
            Ok(None) => {}
            Err(failure) => warn(failure),
        }
    }
}

/// Keeps everything until whoever hands it out is gone, then finishes. Of each thing handed out `written` is told, before the
/// disk itself is waited for.
pub fn keep(
    mut folder: SessionFolder,
    sounds: KeepSound,
    kept: &Receiver<Kept>,
    written: &Written,
    notices: &Sender<ScreenEvent>,
) -> Ending {
    let mut told = None;
    let mut waiting: Option<(AnswerRecord, Arc<Clip>)> = None;
    for kept in kept {
        match kept {
            Kept::Event(event, sound) => match (*event, sound) {
                // The folder began with it.
                (Event::Began(_), _) => {}
                // Whether its sound is kept can depend on the verdict, which follows at once.
                (Event::Answered(answer), Some(sound)) => {
                    if let Some((answer, _)) = waiting.replace((answer, sound)) {
                        folder.record(&Event::Answered(answer));
                    }
                }
                (event, _) => record(&mut folder, sounds, waiting.take(), event),
            },
            Kept::Draft(events) => folder.draft(&*events),
        }
        written.one();
        folder.settle();
        let trouble = folder.trouble().map(|failure| (failure.kind, folder.recorded()));
        if let (Some(trouble), Some(failure)) = (trouble.filter(|now| told != Some(*now)), folder.trouble()) {
            told = notices.send(ScreenEvent::Notice(refused(&folder, failure))).ok().map(|()| trouble);
        }
    }
    if let Some((answer, _)) = waiting {
        folder.record(&Event::Answered(answer));
    }
    match folder.finish(&review) {
        Ok(Some(path)) => {
            // The last screen tells it; where that has gone, the farewell does.
            let _ = notices.send(ScreenEvent::Kept(path.clone()));
            Ending::Stored(path, folder.lost())
        }
        Ok(None) => Ending::Nothing,
        Err(failure) => Ending::Held(Box::new(folder), failure.into()),
    }
}

/// What a player is told while the disk refuses. The end tells where; a long path would push the reason off the screen.
fn refused(folder: &SessionFolder, failure: &files::FileError) -> String {
    let (why, mend, minutes) = (&failure.why, &failure.mend, folder.memory().0 / 60.0);
    let what = if folder.recorded() {
        "the record is written, the sound of your answers not"
    } else {
        "the record cannot be written"
    };
    format!("{what}: {why}; {mend}; it is held in memory, up to {minutes:.0} minutes of sound")
}

/// Writes an event down, and with it the answer that waited for its verdict, with its sound where that is to be kept.
fn record(folder: &mut SessionFolder, keep: KeepSound, waiting: Option<(AnswerRecord, Arc<Clip>)>, event: Event) {
    let Some((mut answer, sound)) = waiting else { return folder.record(&event) };
    let whole = matches!(&event, Event::Judged(Judgement { verdict, .. }) if verdict.whole());
    if keep.keeps(whole) {
        answer.sound = folder.sound(&sound.samples);
    }
    folder.record_all(&[Event::Answered(answer), event]);
}

/// The text for whoever has no earfirst.
pub fn review(session: &Session) -> String {
    report::to_text(&report::review(std::slice::from_ref(session)))
}
