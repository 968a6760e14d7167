//! The record thread: appends what the drill hands out, tells the screen when the disk refuses, finishes at the end.

use std::path::PathBuf;

use crossbeam_channel::{Receiver, Sender};

use crate::cli::failure::{Failure, clean};
use crate::devices::Failure as NoSound;
use crate::files::{self, KeepSound, Places, SessionFolder};
use crate::report;
use crate::session::{AnswerRecord, Event, Judgement, Session};
use crate::tui::Shown;
use crate::units::SampleRate;

/// One thing to keep.
pub type Kept = (Event, Option<(Vec<f32>, SampleRate)>);

/// Where a sitting ended up.
pub enum Ending {
    /// In this file.
    Stored(PathBuf),
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
                let path = clean(&path.display().to_string());
                eprintln!("earfirst: a sitting that was cut off is kept in {path}");
            }
            Ok(None) => {}
            Err(failure) => eprintln!("earfirst: {failure}"),
        }
    }
}

/// Keeps everything until whoever hands it out is gone, then finishes.
pub fn keep(mut folder: SessionFolder, sounds: KeepSound, kept: &Receiver<Kept>, notices: &Sender<Shown>) -> Ending {
    let mut told = false;
    let mut waiting: Option<(AnswerRecord, Vec<f32>)> = None;
    for (event, sound) in kept {
        match (event, sound) {
            // The folder began with it.
            (Event::Began(_), _) => continue,
            // Whether its sound is kept can depend on the verdict, which follows at once.
            (Event::Answered(answer), Some((samples, _))) => {
                if let Some((answer, _)) = waiting.replace((answer, samples)) {
                    folder.record(&Event::Answered(answer));
                }
                continue;
            }
            (event, _) => {
                flush(&mut folder, sounds, &mut waiting, &event);
                folder.record(&event);
            }
        }
        if let (Some(trouble), false) = (folder.trouble(), told) {
            let minutes = folder.holds().0 / 60.0;
            // The end tells where; a long path would push the reason off the screen.
            let (why, mend) = (&trouble.why, &trouble.mend);
            let notice = format!(
                "the record cannot be written: {why}; {mend}; it is held in memory, up to {minutes:.0} minutes of sound"
            );
            told = notices.send(Shown::Notice(notice)).is_ok();
        }
    }
    if let Some((answer, _)) = waiting {
        folder.record(&Event::Answered(answer));
    }
    match folder.finish(&review) {
        Ok(Some(path)) => {
            // The last screen tells it; where that has gone, the farewell does.
            let _ = notices.send(Shown::Kept(path.clone()));
            Ending::Stored(path)
        }
        Ok(None) => Ending::Nothing,
        Err(failure) => Ending::Held(Box::new(folder), failure.into()),
    }
}

/// Writes down an answer that waited for its verdict, with its sound where that is to be kept.
fn flush(folder: &mut SessionFolder, keep: KeepSound, waiting: &mut Option<(AnswerRecord, Vec<f32>)>, next: &Event) {
    let Some((mut answer, samples)) = waiting.take() else { return };
    let whole = matches!(next, Event::Judged(Judgement { verdict, .. }) if verdict.whole());
    if keep.keeps(whole) {
        answer.sound = folder.sound(&samples);
    }
    folder.record(&Event::Answered(answer));
}

/// The text for whoever has no earfirst.
pub fn review(session: &Session) -> String {
    report::to_text(&report::review(std::slice::from_ref(session)))
}
