//! `review`: what a teacher asks first, of a sitting or a folder of them; `class`: players and lessons; `tables`: a class for a
//! database; `log`: weeks at a glance; `forget`: sittings and players are removed.

mod answer;
pub mod class;
mod comment;
pub mod forget;
mod html;
pub mod log;
#[cfg(feature = "school")]
pub mod tables;

use crate::cli::args::ReviewTyped;
use crate::files::{self, SessionEntry, SessionIndex};
use crate::report;
use crate::session::Session;
use crate::talk::failure::Failure;
use crate::talk::judged_again;
use crate::talk::output::say;
use crate::talk::read_records::{self, ReadRecords};
use crate::talk::sitting::after_today;
use crate::talk::told_files;
use crate::talk::trade_score;

/// Tells what a teacher asks first, of a sitting or a folder of them.
pub fn run(typed: &ReviewTyped) -> Result<(), Failure> {
    let mut found = files::survey_below(&typed.paths);
    told_files::twice(&found.once());
    let ReadRecords { sessions, whose, here } = read_records::each(&mut found);
    told_files::unreadable(&found.failures);
    if sessions.is_empty() {
        return Err(told_files::none(found.failures));
    }
    let listed: Vec<&SessionEntry> = whose.iter().filter_map(|index| here.get(*index)).collect();
    if let Some(words) = &typed.comment {
        return comment::write(words, &sessions, &listed);
    }
    if let Some(musicxml) = &typed.musicxml {
        trade_score::of_sittings(musicxml, &sessions)?;
    }
    match (&typed.html, &typed.wav, typed.play) {
        (Some(file), ..) => return html::write(file, &sessions, &listed),
        (_, Some(wav), _) => return answer::write(wav, &sessions, &listed),
        (.., Some(number)) => return answer::play(number, &sessions, &listed),
        _ if typed.musicxml.is_some() => return Ok(()),
        _ => {}
    }
    if typed.json {
        return as_json(&sessions, SessionIndex { listed: here, ..found });
    }
    let text = report::sittings_to_text_on(&sessions, Some(files::today().day));
    drop(sessions);
    let mut found = SessionIndex { listed: here, ..found };
    let later = found.later(files::today().day);
    told_files::after(None, &later);
    say(text.trim_end())?;
    if typed.again { judged_again::say_again(&[found.listed, later].concat()) } else { Ok(()) }
}

/// Prints the review as JSON.
fn as_json(sessions: &[Session], mut found: SessionIndex) -> Result<(), Failure> {
    let later: Vec<String> =
        found.later(files::today().day).iter().map(|it| after_today(&it.path, &it.began)).collect();
    let unreadable: Vec<String> = found.failures.iter().map(ToString::to_string).collect();
    say(report::review_json(&report::review(sessions), &unreadable, &later))
}
