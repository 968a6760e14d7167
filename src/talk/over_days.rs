use std::collections::BTreeSet;

use crate::coach::LearnerModel;
use crate::files::SessionEntry;
use crate::music::{self, Mode};
use crate::pattern::{Pattern, PatternId};
use crate::report;
use crate::session;
use crate::talk::failure::Failure;
use crate::talk::library::library;
use crate::talk::output::say;
use crate::words::Page;

/// A picture of more days than this does not fit a screen.
const MOST_DAYS: i32 = 48;

/// The keys of each pattern day by day, where the sittings of an instrument lie on several days.
pub fn say_days(listed: &[SessionEntry]) -> Result<(), Failure> {
    let mut sittings: Vec<&SessionEntry> = listed.iter().collect();
    let whose = |it: &SessionEntry| {
        let began = &it.began;
        (began.player.as_ref().map(|player| player.id), began.instrument.clone(), began.simulated)
    };
    sittings.sort_by_cached_key(|it| (whose(it), it.began.day, it.began.started.clone()));
    let parts: Vec<&[&SessionEntry]> = sittings.chunk_by(|a, b| whose(a) == whose(b)).collect();
    for mine in &parts {
        let (first, last) = (&mine[0].began, &mine[mine.len() - 1].began);
        let Ok(instrument) = music::instrument(&last.instrument) else { continue };
        if first.day == last.day {
            continue;
        }
        let mut learner = LearnerModel::new();
        for stored in mine.iter().filter_map(|listed| listed.read().ok()) {
            session::replay_into(&mut learner, &stored.events);
        }
        let days = first.day.max(last.day - MOST_DAYS)..=last.day;
        let patterns: BTreeSet<&PatternId> = mine.iter().flat_map(|it| &it.began.patterns).collect();
        if parts.len() > 1 {
            let name = last.player.as_ref().map_or("unnamed", |player| player.name.as_str());
            say(format!("\n{name}, day by day"))?;
        }
        let (page, library) = (Page::new(instrument.clone(), last.reading), library()?);
        for pattern in patterns {
            let mode = library.get(pattern).map_or(Mode::Major, Pattern::mode);
            let picture = report::keys_over_days(&learner, pattern, days.clone(), mode, &page);
            say(format!("\n{}\n{}", pattern.0, picture.trim_end()))?;
        }
    }
    Ok(())
}
