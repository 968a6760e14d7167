//! The page on which a part of a report is written.

use crate::music::{Reading, instrument, instruments};
use crate::words::Page;

/// The page of a player with this reading, and whether the instrument is known; for an unknown instrument the page is in concert pitch.
pub(super) fn page(id: &str, reading: Reading) -> Option<(Page, bool)> {
    let known = instrument(id).ok();
    let reading = Reading { concert: reading.concert || known.is_none(), ..reading };
    Some((Page::new(known.or(instruments().first())?.clone(), reading), known.is_some()))
}
