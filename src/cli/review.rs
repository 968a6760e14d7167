use std::collections::BTreeSet;

use crate::cli::args::Review;
use crate::cli::failure::Failure;
use crate::cli::notes::ear_settings;
use crate::cli::{say, warn};
use crate::engine;
use crate::files::{self, Stored};
use crate::music;
use crate::pattern::PatternId;
use crate::report;
use crate::session::{self, Began, Event, Session};

/// A picture of more days than this does not fit a screen.
const MOST_DAYS: i32 = 48;

/// What a teacher asks first, of a sitting or a folder of them.
pub fn run(typed: &Review) -> Result<(), Failure> {
    let mut found = files::read_sessions(&typed.paths);
    for path in found.once() {
        warn(format!("{} is there twice and counts once", path.display()));
    }
    for failure in &found.failures {
        warn(failure);
    }
    for stored in &found.sessions {
        if let Some(damage) = &stored.damage {
            warn(format!("{}: {damage}", stored.path.display()));
        }
    }
    let sessions: Vec<Session> = found.sessions.iter().filter_map(Stored::session).collect();
    if sessions.is_empty() {
        return Err(match found.failures.into_iter().next() {
            Some(failure) => Failure { what: "no sitting could be read".to_owned(), ..failure.into() },
            None => Failure::input("these paths", "no sitting is there", "A finished sitting is one zip file."),
        });
    }
    let review = report::review(&sessions);
    if typed.json {
        let unreadable: Vec<String> = found.failures.iter().map(ToString::to_string).collect();
        return say(super::review_json::review(&review, &unreadable));
    }
    say(report::to_text(&review).trim_end())?;
    over_days(&found.sessions)?;
    if typed.again { again(&found.sessions) } else { Ok(()) }
}

/// The keys of each pattern day by day, where the sittings of an instrument lie on several days.
fn over_days(stored: &[Stored]) -> Result<(), Failure> {
    let mut sittings: Vec<(&Began, &Stored)> = stored
        .iter()
        .filter_map(|one| if let Some(Event::Began(began)) = one.events.first() { Some((began, one)) } else { None })
        .collect();
    sittings.sort_by_key(|(began, _)| (&began.instrument, began.simulated, began.day, &began.started));
    for mine in sittings.chunk_by(|(a, _), (b, _)| (&a.instrument, a.simulated) == (&b.instrument, b.simulated)) {
        let (first, last) = (mine[0].0, mine[mine.len() - 1].0);
        let Ok(instrument) = music::instrument(&last.instrument) else { continue };
        if first.day == last.day {
            continue;
        }
        let events: Vec<Event> = mine.iter().flat_map(|(_, one)| one.events.iter().cloned()).collect();
        let beliefs = session::replay(&events);
        let days = first.day.max(last.day - MOST_DAYS)..=last.day;
        let patterns: BTreeSet<&PatternId> = mine.iter().flat_map(|(began, _)| &began.patterns).collect();
        for pattern in patterns {
            let picture = report::keys_over_days(&beliefs, pattern, days.clone(), instrument, last.g_flat);
            say(format!("\n{}\n{}", pattern.0, picture.trim_end()))?;
        }
    }
    Ok(())
}

/// The stored sound judged again, and every sentence made again from the record.
fn again(stored: &[Stored]) -> Result<(), Failure> {
    let mut differ = 0;
    for found in stored {
        let Some(session) = found.session() else { continue };
        for mismatch in report::recheck(&session) {
            differ += 1;
            say(format!("cue {}: the sentence is now: {}", mismatch.cue, mismatch.now))?;
        }
        let Ok(instrument) = music::instrument(&session.began.instrument) else { continue };
        let settings = ear_settings(session.began.rate, session.began.a4, Some(instrument));
        let sound = |place| found.sound(place).ok().flatten();
        for other in engine::judge_again(&session, &sound, instrument, &settings) {
            differ += 1;
            let ((then, of), (now, _)) = (other.then, other.now);
            say(format!("cue {}: {then} of {of} then, {now} when judged again", other.cue))?;
        }
    }
    say(if differ == 0 { "judged again: nothing differs".to_owned() } else { format!("judged again: {differ} differ") })
}
