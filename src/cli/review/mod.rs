//! `review`: what a teacher asks first, of a sitting or a folder of them; `log`: weeks at a glance; `forget`: sittings and players.

mod answer;
pub mod forget;
mod html;
pub mod log;

use std::collections::BTreeSet;

use crate::cli::args::ReviewTyped;
use crate::cli::practice::sitting::after_today;
use crate::coach::LearnerModel;
use crate::engine;
use crate::files::{self, SessionEntry, SessionIndex};
use crate::music::{self, Mode};
use crate::pattern::{Pattern, PatternId};
use crate::report;
use crate::session::{self, Session};
use crate::talk::failure::{Failure, clean};
use crate::talk::output::{say, warn};
use crate::words::Page;
use crate::words::numbers::numbered;

/// A picture of more days than this does not fit a screen.
const MOST_DAYS: i32 = 48;

/// What a teacher asks first, of a sitting or a folder of them.
pub fn run(typed: &ReviewTyped) -> Result<(), Failure> {
    let mut found = files::survey_below(&typed.paths);
    for path in found.once() {
        warn(format!("{} is there twice and counts once", clean(&path.display().to_string())));
    }
    // One record after the other: what is kept of each is what the review needs.
    let (mut sessions, mut whose, mut here) = (Vec::new(), Vec::new(), Vec::new());
    for listed in std::mem::take(&mut found.listed) {
        match listed.read() {
            Ok(stored) => {
                if let Some(damage) = &stored.damage {
                    warn(format!("{}: {damage}", clean(&stored.path.display().to_string())));
                }
                if let Some(session) = Session::of(stored.events) {
                    sessions.push(session);
                    whose.push(here.len());
                }
                here.push(listed);
            }
            Err(failure) => found.failures.push(failure),
        }
    }
    for failure in &found.failures {
        warn(failure);
    }
    if sessions.is_empty() {
        return Err(match found.failures.into_iter().next() {
            Some(failure) => Failure { what: "no sitting could be read".to_owned(), ..failure.into() },
            None => Failure::input("these paths", "no sitting is there", "A finished sitting is one zip file."),
        });
    }
    let listed: Vec<&SessionEntry> = whose.iter().filter_map(|index| here.get(*index)).collect();
    match (&typed.html, &typed.wav, typed.play) {
        (Some(file), ..) => return html::write(file, &sessions, &listed),
        (_, Some(wav), _) => return answer::write(wav, &sessions, &listed),
        (.., Some(number)) => return answer::play(number, &sessions, &listed),
        _ => {}
    }
    if typed.json {
        return as_json(&sessions, SessionIndex { listed: here, ..found });
    }
    let text = report::sittings_to_text(&sessions);
    drop(sessions);
    let mut found = SessionIndex { listed: here, ..found };
    let later = found.later(files::today().day);
    later.iter().map(|it| after_today(&it.path, &it.began)).for_each(warn);
    say(text.trim_end())?;
    over_days(&found.listed)?;
    if typed.again { again(&[found.listed, later].concat()) } else { Ok(()) }
}

/// The review for machines.
fn as_json(sessions: &[Session], mut found: SessionIndex) -> Result<(), Failure> {
    let later: Vec<String> =
        found.later(files::today().day).iter().map(|it| after_today(&it.path, &it.began)).collect();
    let unreadable: Vec<String> = found.failures.iter().map(ToString::to_string).collect();
    say(report::review_json(&report::review(sessions), &unreadable, &later))
}

/// The keys of each pattern day by day, where the sittings of an instrument lie on several days.
fn over_days(listed: &[SessionEntry]) -> Result<(), Failure> {
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
        let (page, library) = (Page::new(instrument.clone(), last.reading), crate::cli::resolve::library()?);
        for pattern in patterns {
            let mode = library.get(pattern).map_or(Mode::Major, Pattern::mode);
            let picture = report::keys_over_days(&learner, pattern, days.clone(), mode, &page);
            say(format!("\n{}\n{}", pattern.0, picture.trim_end()))?;
        }
    }
    Ok(())
}

/// The stored sound judged again, and every sentence made again from the record.
fn again(listed: &[SessionEntry]) -> Result<(), Failure> {
    let (mut differ, mut judged, mut soundless, mut sentences) = (0, 0, 0, 0);
    for found in listed.iter().filter_map(|listed| listed.read().ok()) {
        let sounds = found.sounds();
        let Some(session) = Session::of(found.events) else { continue };
        sentences += session.trials.iter().filter(|turn| turn.judgement.is_some()).count();
        for mismatch in report::recheck(&session) {
            differ += 1;
            say(format!("cue {}: the sentence is now: {}", mismatch.cue, mismatch.now))?;
        }
        let Ok(instrument) = music::instrument(&session.began.instrument) else { continue };
        let settings = engine::ear_settings(session.began.rate, session.began.a4, Some(instrument));
        let mut sounds = sounds.inspect_err(|failure| warn(failure)).ok();
        // What is wrong with the sound of all answers is told once.
        let mut failures = BTreeSet::new();
        let mut sound = |place| match sounds.as_mut()?.cut(place) {
            Ok(cut) => cut,
            Err(failure) => {
                if failures.insert(failure.to_string()) {
                    warn(failure);
                }
                None
            }
        };
        let again = engine::judge_again(&session, &mut sound, instrument, &settings);
        judged += again.judged;
        soundless += again.soundless;
        for other in again.differ {
            differ += 1;
            let ((then, of), (now, _)) = (other.then, other.now);
            say(format!("cue {}: {then} of {of} then, {now} when judged again", other.cue))?;
        }
    }
    say(told(judged, soundless, sentences, differ))
}

/// How much was judged again, and what came of it.
fn told(judged: usize, soundless: usize, sentences: usize, differ: usize) -> String {
    let differ = match differ {
        0 => "nothing differs".to_owned(),
        1 => "1 differs".to_owned(),
        _ => format!("{differ} differ"),
    };
    let sentences = numbered(sentences, "sentence");
    let none = if soundless == 1 { "1 has no sound" } else { &format!("{soundless} have no sound") };
    match (judged, soundless) {
        (0, 0) => "judged again: nothing, for no answer was judged".to_owned(),
        (0, _) => format!("no answer was judged again: {none}; {sentences} made again: {differ}"),
        (_, 0) => format!("judged again: {}, and {sentences} made again: {differ}", numbered(judged, "answer")),
        _ => format!("judged again: {}, {none}; {sentences} made again: {differ}", numbered(judged, "answer")),
    }
}
