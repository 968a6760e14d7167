//! What a sitting may ask, read from what was typed; the defaults are those of `coach`, `cue` and `pattern`.

use crate::cli::args::Scope;
use crate::coach::{self, Goals, Plan};
use crate::cue::{Form, Timing};
use crate::files::UserSettings;
use crate::pattern::{Library, Pattern, Register};
use crate::talk::asked::Meant;
use crate::talk::failure::Failure;
use crate::talk::library::pattern;
use crate::talk::player::{Who, tempo};
use crate::units::Tempo;

impl Meant {
    /// Works out what a sitting may ask; `day` is today, in days since 1970-01-01.
    pub fn of(typed: &Scope, settings: &UserSettings, library: &Library, day: i32) -> Result<Self, Failure> {
        let who = Who::of(&typed.player, settings)?;
        let mut patterns: Vec<Pattern> = Vec::new();
        for name in &typed.patterns {
            let found = pattern(library, name)?;
            if patterns.iter().all(|known| known.id != found.id) {
                patterns.push(found);
            }
        }
        if patterns.is_empty() {
            patterns = library.for_a_first_sitting();
        }
        let form = typed.cue.map_or(Form::Pattern, Form::from);
        let (first_tempo, goals) = tempi(typed, settings)?;
        let keys = who.keys(typed.player.keys.as_deref())?;
        let ids = patterns.iter().map(|pattern| pattern.id.clone()).collect();
        let mut plan = Plan::new(ids, keys, goals, day);
        plan.first_tempo = first_tempo;
        plan.registers = match typed.register {
            Some(third) => vec![third.into()],
            None => Register::ALL.to_vec(),
        };
        if let Some(known) = &typed.known {
            plan.begin_with(who.keys(Some(known))?).map_err(|other| {
                Failure::usage(
                    format!("{} is known, but not among the keys that are asked", who.major_key(other)),
                    "Name it in --keys too, or leave --keys out.",
                )
            })?;
        }
        plan.leave_out(&patterns, who.range).map_err(|nowhere| {
            Failure::usage(
                format!("{} fits your range in no key that may be asked", nowhere.name),
                "Widen --range, or choose a shorter pattern: earfirst patterns list --longest 5.",
            )
        })?;
        Ok(Self { who, patterns, plan, form, timing: Timing::usual(form), warnings: Vec::new() })
    }
}

/// The tempo at which a key is asked for the first time, and the goals.
fn tempi(typed: &Scope, settings: &UserSettings) -> Result<(Tempo, Goals), Failure> {
    let (first, goal) = (tempo(typed.tempo)?, tempo(typed.goal)?);
    if let Some(slow) = [first, goal].into_iter().flatten().find(|tempo| tempo.0 < coach::SLOWEST.0) {
        return Err(Failure::usage(
            format!("a drill asks nothing slower than quarter = {:.0}, and {} was given", coach::SLOWEST.0, slow.0),
            "Give a quicker one; in the drill, s asks the same again slower.",
        ));
    }
    if let (Some(Tempo(first)), Some(Tempo(goal))) = (first, goal)
        && first > goal
    {
        return Err(Failure::usage(
            format!("quarter = {first} to begin with is beyond the goal, {goal}"),
            "Begin slower, or raise --goal.",
        ));
    }
    let goals = settings.goals(Goals::USUAL).from_tempo(goal, first);
    Ok((first.unwrap_or(Plan::FIRST_TEMPO), goals))
}
