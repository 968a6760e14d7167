use std::path::Path;

use crate::files::{self, SessionEntry, flac_of};
use crate::report::{self, ChosenTake};
use crate::session::Session;
use crate::talk::failure::{Failure, clean};
use crate::talk::output::{say, warn};
use crate::units::SampleRate;

/// Samples a second of the sounds in a page: up to 12 kHz are heard, at a third of the size.
const PAGE_RATE: u32 = 24_000;

/// Writes the page of these sittings; `listed` are their files, in the same order.
pub fn write(file: &Path, sessions: &[Session], listed: &[&SessionEntry]) -> Result<(), Failure> {
    let mut pages = report::gather(sessions);
    for page in &mut pages {
        for take in page.again.iter_mut().chain(&mut page.best) {
            take.flac = listed.get(take.session).and_then(|listed| sound_of(take, listed));
        }
    }
    files::write_named(file, report::to_html(&pages).as_bytes())?;
    say(format!(
        "the page is {}; it holds sound of the answers, so give it only to whom you trust",
        clean(&file.display().to_string())
    ))
}

/// The sound of one answer as FLAC; `None` where it was not kept. What cannot be read is said.
fn sound_of(take: &ChosenTake, listed: &SessionEntry) -> Option<Vec<u8>> {
    let place = take.sound?;
    let stored = listed.read().inspect_err(|failure| warn(failure)).ok()?;
    let mut sounds = stored.sounds().inspect_err(|failure| warn(failure)).ok()?;
    let clip = sounds.cut(place).inspect_err(|failure| warn(failure)).ok()??;
    // A whole week of sounds has to fit into a letter.
    flac_of(&SampleRate::new(PAGE_RATE).and_then(|rate| clip.at_rate(rate)).unwrap_or(clip))
}
