use std::path::Path;

use crate::files::{self, SessionEntry};
use crate::report;
use crate::session::Session;
use crate::talk::answer_sound::on_page;
use crate::talk::failure::{Failure, clean};
use crate::talk::free_choruses::FreeChoruses;
use crate::talk::output::say;

/// Writes the page of these sittings; `listed` are their files, in the same order.
pub fn write(file: &Path, sessions: &[Session], listed: &[&SessionEntry]) -> Result<(), Failure> {
    let (mut pages, mut recorded) = (report::gather(sessions), false);
    for page in &mut pages {
        for take in page.again.iter_mut().chain(&mut page.best) {
            take.flac = on_page(take, sessions.get(take.session), listed.get(take.session));
            recorded |= take.flac.is_some() && !take.rendered;
        }
    }
    for (page, session) in pages.iter_mut().filter_map(|page| page.played_freely.map(|at| (page, sessions.get(at)))) {
        page.choruses = session.map_or_else(|| Ok(Vec::new()), FreeChoruses::pictures_of)?;
    }
    files::write_named(file, report::to_html(&pages).as_bytes())?;
    let holds = if recorded { "; it holds sound of the answers, so give it only to whom you trust" } else { "" };
    say(format!("the page is {}{holds}", clean(&file.display().to_string())))
}
