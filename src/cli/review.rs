use crate::cli::args::Review;
use crate::cli::failure::Failure;
use crate::cli::notes::ear_settings;
use crate::cli::say;
use crate::engine;
use crate::files::{self, Stored};
use crate::music;
use crate::report;
use crate::session::Session;

/// What a teacher asks first, of a sitting or a folder of them.
pub fn run(typed: &Review) -> Result<(), Failure> {
    let found = files::read_sessions(&typed.paths);
    for failure in &found.failures {
        eprintln!("earfirst: {failure}");
    }
    for stored in &found.sessions {
        if let Some(damage) = &stored.damage {
            eprintln!("earfirst: {}: {damage}", stored.path.display());
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
        return say(super::review_json::review(&review));
    }
    say(report::to_text(&review).trim_end())?;
    if typed.again { again(&found.sessions) } else { Ok(()) }
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
