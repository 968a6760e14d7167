//! Keys held out of practice: those typed, those kept, and what is said of them.

use crate::coach::{HeldOut, LearnerModel, Plan};
use crate::files::{Places, UserSettings};
use crate::report;
use crate::session::PlayerId;
use crate::talk::asked::Meant;
use crate::talk::failure::{Failure, clean};
use crate::talk::output::{say, warn};
use crate::talk::player::Who;

/// How long a key is held out where no date is given, in days.
const FOUR_WEEKS: i32 = 28;

/// The keys that a player holds out: those of the settings and those typed beside them (a key of both with the typed date), or none
/// where "none" was typed.
pub fn held_out(
    typed: Option<&str>,
    stored: &UserSettings,
    player: Option<PlayerId>,
    who: &Who,
    today: i32,
) -> Result<Vec<HeldOut>, Failure> {
    let mut held = stored.held_out(player, &who.page.instrument.id);
    held.retain(|it| today < it.until);
    let Some(typed) = typed else { return Ok(held) };
    if typed.trim().eq_ignore_ascii_case("none") {
        return Ok(Vec::new());
    }
    let (dates, names): (Vec<&str>, Vec<&str>) = typed
        .split([' ', ',', ':', '='])
        .filter(|word| !word.is_empty())
        .partition(|word| word.starts_with(|first: char| first.is_ascii_digit()));
    let until = match dates[..] {
        [] => today.saturating_add(FOUR_WEEKS),
        [date] => report::day_of(date).filter(|day| *day > today).ok_or_else(|| {
            let what = format!("\"{}\" is no date after today", clean(date));
            Failure::usage(what, "Such as --hold-out \"Ab 2026-12-27\".")
        })?,
        _ => return Err(Failure::usage("a key is held out until one date", "Such as --hold-out \"Ab 2026-12-27\".")),
    };
    if names.is_empty() {
        return Err(Failure::usage("no key was named to hold out", "Such as --hold-out Ab, or none to hold none out."));
    }
    for name in names {
        let key = who.key(name)?;
        held.retain(|it| it.key != key);
        held.push(HeldOut { key, until });
    }
    Ok(held)
}

/// Takes the held-out keys out of a plan.
pub fn hold_out(plan: &mut Plan, held: &[HeldOut]) -> Result<(), Failure> {
    plan.hold_out(held);
    if plan.keys.is_empty() {
        let mend = "Name others with --keys, or practise them again: --hold-out none.";
        return Err(Failure::usage("every key that may be asked is held out of practice", mend));
    }
    Ok(())
}

/// Keeps the held-out keys for the next sittings; where they cannot be kept, they are held out in this sitting only.
pub fn keep(held: &[HeldOut], player: Option<PlayerId>, instrument: &str, places: &Places) {
    if let Err(failure) = UserSettings::change(places, |stored| stored.hold_out(player, instrument, held)) {
        warn(format!("it holds for this sitting only: {failure}"));
    }
}

/// Says of each held-out key until when it is held out and when it is asked next, and which patterns fit in no other key.
pub fn tell(meant: &Meant, learner: &LearnerModel) -> Result<(), Failure> {
    let Meant { plan, who, patterns, .. } = meant;
    plan.held_out.iter().try_for_each(|it| {
        let next = match learner.held_out_for(plan, it.key) {
            0 => "today".to_owned(),
            days => format!("not before {}", report::date(plan.day.saturating_add(days))),
        };
        let (key, until) = (who.major_key(it.key), report::date(it.until));
        say(format!("{key} is held out of practice until {until}, and asked once a week: {next}."))
    })?;
    let waiting = patterns.iter().filter(|pattern| plan.keys_of(&pattern.id).is_empty());
    waiting.map(|pattern| &pattern.name).try_for_each(|name| {
        say(format!("\"{name}\" fits your range only in keys that are held out of practice, and waits for them."))
    })
}
