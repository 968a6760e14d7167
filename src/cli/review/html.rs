use std::path::Path;

use crate::cli::review::answer::by_midi;
use crate::files::{self, SessionEntry, flac_of};
use crate::report::{self, ChosenTake};
use crate::session::Session;
use crate::sound::Clip;
use crate::talk::failure::{Failure, clean};
use crate::talk::output::{say, warn};
use crate::units::SampleRate;

/// Samples a second of the sounds in a page: up to 12 kHz are heard, at a third of the size.
const PAGE_RATE: u32 = 24_000;

/// Writes the page of these sittings; `listed` are their files, in the same order.
pub fn write(file: &Path, sessions: &[Session], listed: &[&SessionEntry]) -> Result<(), Failure> {
    let (mut pages, mut recorded) = (report::gather(sessions), false);
    for page in &mut pages {
        for take in page.again.iter_mut().chain(&mut page.best) {
            take.flac = if take.rendered {
                sessions.get(take.session).and_then(|session| for_page(by_midi(session, take.cue)?))
            } else {
                listed.get(take.session).and_then(|listed| sound_of(take, listed))
            };
            recorded |= take.flac.is_some() && !take.rendered;
        }
    }
    files::write_named(file, report::to_html(&pages).as_bytes())?;
    let holds = if recorded { "; it holds sound of the answers, so give it only to whom you trust" } else { "" };
    say(format!("the page is {}{holds}", clean(&file.display().to_string())))
}

/// The sound of one answer as FLAC; `None` where it was not kept. What cannot be read is said.
fn sound_of(take: &ChosenTake, listed: &SessionEntry) -> Option<Vec<u8>> {
    let place = take.sound?;
    let stored = listed.read().inspect_err(|failure| warn(failure)).ok()?;
    let mut sounds = stored.sounds().inspect_err(|failure| warn(failure)).ok()?;
    for_page(sounds.cut(place).inspect_err(|failure| warn(failure)).ok()??)
}

/// A whole week of sounds has to fit into a letter.
fn for_page(clip: Clip) -> Option<Vec<u8>> {
    flac_of(&SampleRate::new(PAGE_RATE).and_then(|rate| clip.at_rate(rate)).unwrap_or(clip))
}
