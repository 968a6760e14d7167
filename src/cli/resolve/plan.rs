use crate::cli::args::{CueForm, Practice, Scope};
use crate::coach::{self, Goals, OutOfRange, Plan};
use crate::cue::{Form, Timing};
use crate::files::UserSettings;
use crate::music::Range;
use crate::pattern::{Library, Pattern, PatternId, Register};
use crate::talk::asked::Meant;
use crate::talk::failure::Failure;
use crate::talk::library::pattern;
use crate::talk::player::{Who, tempo};
use crate::units::{Seconds, Tempo};

/// Patterns for a first sitting: one of each family, short.
const FIRST_PATTERNS: [&str; 3] = ["five-note-row-up-and-down", "major-triad-up", "four-half-steps-up"];
/// Tempo of what was never asked before.
const FIRST_TEMPO: Tempo = Tempo(72.0);
/// Goals until the player sets their own.
pub const GOALS: Goals = Goals { tempo: Tempo(144.0), reflex: Seconds(0.8) };

impl Meant {
    /// Works it out. `day` is today.
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
            patterns =
                FIRST_PATTERNS.iter().filter_map(|id| library.get(&PatternId((*id).to_owned()))).cloned().collect();
        }
        if patterns.is_empty() {
            patterns.extend(library.patterns().first().cloned());
        }
        let form = match typed.cue {
            None | Some(CueForm::Pattern) => Form::Pattern,
            Some(CueForm::FirstNote) => Form::FirstNote,
            Some(CueForm::Chord) => Form::Chord,
            Some(CueForm::Name) => Form::NameOnly,
        };
        let timing = if form == Form::Pattern { Timing::InTempo } else { Timing::Free };
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
            // The plan's order says which keys come first; one more joins when the others hold.
            let mut keys = who.keys(Some(known))?;
            if let Some(other) = keys.iter().find(|key| !plan.keys.contains(key)) {
                return Err(Failure::usage(
                    format!("{} is known, but not among the keys that are asked", who.major_key(*other)),
                    "Name it in --keys too, or leave --keys out.",
                ));
            }
            keys.extend(plan.keys.iter().copied().filter(|key| !keys.contains(key)).collect::<Vec<_>>());
            plan.keys = keys;
            plan.one_by_one = true;
        }
        leave_out(&mut plan, &patterns, who.range)?;
        Ok(Self { who, patterns, plan, form, timing, warnings: Vec::new() })
    }

    /// The same in rounds without a stop, where these are asked for: every answer is in tempo.
    pub fn in_rounds(mut self, typed: &Practice) -> Result<Self, Failure> {
        if typed.round.is_none() {
            return Ok(self);
        }
        let mut meters = self.patterns.iter().map(Pattern::meter);
        let first = meters.next();
        if meters.any(|meter| Some(meter) != first) {
            let what = "these patterns have different meters, and a round has one click";
            return Err(Failure::usage(what, "Name patterns of one meter: earfirst patterns show NAME tells it."));
        }
        self.timing = Timing::InTempo;
        Ok(self)
    }

    /// The same with keys that are told late, where that is asked for: by their chord, where nothing else is.
    pub fn told_late(mut self, typed: &Practice) -> Result<Self, Failure> {
        for beats in &typed.warning_beats {
            if !self.warnings.contains(beats) {
                self.warnings.push(*beats);
            }
        }
        match typed.scope.cue {
            _ if self.warnings.is_empty() => return Ok(self),
            Some(CueForm::Pattern) => {
                let what = "a whole pattern takes longer than the few beats in which a key is told late";
                return Err(Failure::usage(what, "Give --cue chord, first-note or name with --warning-beats."));
            }
            None => self.form = Form::Chord,
            Some(_) => {}
        }
        self.timing = Timing::InTempo;
        Ok(self)
    }
}

/// The tempo of what was never asked before, and the goals. Whoever begins faster than the usual goal is given that tempo for
/// a goal.
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
    let usual = settings.goals(GOALS);
    let begun = first.filter(|first| first.0 > usual.tempo.0);
    let goals = Goals { tempo: goal.or(begun).unwrap_or(usual.tempo), ..usual };
    Ok((first.unwrap_or(FIRST_TEMPO), goals))
}

/// Leaves out of a plan what does not fit into the range: single patterns in single keys.
fn leave_out(plan: &mut Plan, patterns: &[Pattern], range: Range) -> Result<(), Failure> {
    plan.out_of_range = OutOfRange::of(patterns, &plan.keys, range);
    if let Some(nowhere) = patterns.iter().find(|pattern| plan.keys_of(&pattern.id).is_empty()) {
        return Err(Failure::usage(
            format!("{} fits your range in no key that may be asked", nowhere.name),
            "Widen --range, or choose a shorter pattern: earfirst patterns list --longest 5.",
        ));
    }
    let Plan { keys, patterns, out_of_range, .. } = plan;
    keys.retain(|key| patterns.iter().any(|pattern| !out_of_range.contains(pattern, *key)));
    Ok(())
}
