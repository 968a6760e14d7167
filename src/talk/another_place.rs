//! Another place is found for a sitting that the disk refused. Nothing typed by mistake loses the sitting.

use std::io::IsTerminal;
use std::path::PathBuf;
use std::time::Duration;

use crossbeam_channel::{Receiver, RecvTimeoutError};

use crate::engine;
use crate::files::{self, SessionFolder};
use crate::talk::failure::Failure;
use crate::talk::output::ask;
use crate::talk::output::{say, warn};
use crate::talk::record_words::review;
use crate::tui::{self, Interrupts};

/// What a player has to type in full to give a sitting up.
const GIVE_UP: &str = "give up";

/// What came of asking for another place.
enum AskedPlace {
    /// The record was kept in this file.
    Kept(PathBuf),
    /// The player gave the sitting up.
    GivenUp,
    /// No answer comes any more, no place is left to offer, or there was nothing to keep.
    Left,
}

/// Keeps the sitting in another place: the one that is typed where a player sits at the terminal, else the first that takes it.
pub fn keep(folder: &mut SessionFolder, failure: Failure) -> Result<(), Failure> {
    warn(&failure);
    let mut refuges = files::refuges();
    if std::io::stdin().is_terminal() {
        match asked(folder, &mut refuges) {
            AskedPlace::Kept(path) => return kept(path),
            AskedPlace::GivenUp => {
                return Err(Failure { what: "this sitting was given up".to_owned(), mend: String::new(), ..failure });
            }
            AskedPlace::Left => {}
        }
    }
    if let Some(path) = refuges.iter().find_map(|refuge| folder.finish_at(refuge, &review).ok().flatten()) {
        return kept(path);
    }
    let Some(left) = folder.folder().filter(|_| folder.recorded()) else {
        return Err(Failure {
            what: "no other folder takes it either, so this sitting is not kept".to_owned(),
            ..failure
        });
    };
    let mend = format!("Its record lies in {}; the next start makes a file of it.", left.display());
    Err(Failure { mend, ..failure })
}

fn kept(path: PathBuf) -> Result<(), Failure> {
    say(format!("kept in {}", path.display()))?;
    say(format!("review it with: earfirst review {}", path.display()))
}

/// Asks until a place takes the sitting, the player gives it up, or no place is left to offer. A place that is offered for Enter and
/// does not take the sitting is not offered again.
fn asked(folder: &mut SessionFolder, refuges: &mut Vec<PathBuf>) -> AskedPlace {
    let (Ok(interrupts), Ok(typed)) = (tui::interrupts(), engine::typed_lines()) else { return AskedPlace::Left };
    while let Some(offered) = refuges.first().cloned() {
        ask(format!("Another folder to keep this sitting in [{}], or \"{GIVE_UP}\": ", offered.display()));
        let Some(line) = next(&typed, &interrupts) else {
            ask("\n");
            return AskedPlace::Left;
        };
        let place = match line.trim() {
            GIVE_UP => return AskedPlace::GivenUp,
            "" => refuges.remove(0),
            typed => files::typed_folder(typed),
        };
        // No folder is made from a slip of the finger.
        if place.is_relative() && !place.is_dir() {
            warn(format!("there is no folder {} here; with ~ or / before it one is made", place.display()));
            continue;
        }
        match folder.finish_at(&place, &review) {
            Ok(Some(path)) => return AskedPlace::Kept(path),
            Ok(None) => return AskedPlace::Left,
            Err(failure) => warn(failure),
        }
    }
    AskedPlace::Left
}

fn next(typed: &Receiver<String>, interrupts: &Interrupts) -> Option<String> {
    loop {
        match typed.recv_timeout(Duration::from_millis(100)) {
            Ok(line) => return Some(line),
            Err(RecvTimeoutError::Timeout) if !interrupts.raised() => {}
            Err(_) => return None,
        }
    }
}
