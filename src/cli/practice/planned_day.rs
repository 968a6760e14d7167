//! The plan of a day, worked out from the record, the minutes there are and what was left over.

use crate::cli::args::Scope;
use crate::cli::args::charts::{BandParts, BassChoice, PulseChoice};
use crate::cli::args::today::TodayTyped;
use crate::cli::args::trade::TradeTyped;
use crate::cli::practice::trade_planned;
use crate::cli::resolve::FIRST_PATTERNS;
use crate::coach::{DayPlan, DayWish, LearnerModel, OutOfRange, Plan};
use crate::files::{self, Places, UserSettings};
use crate::music::Mode;
use crate::pattern::{Library, Pattern, PatternId};
use crate::report;
use crate::session::PlayerId;
use crate::talk::asked::Meant;
use crate::talk::failure::Failure;
use crate::talk::library::library;
use crate::talk::player::Who;
use crate::talk::{chosen_devices, held_out, sitting, who};
use crate::units::Seconds;
use crate::words;
use crate::words::numbers::numbered;

/// A shorter day than this is no plan, and nobody practises longer, in minutes.
const SHORTEST: f64 = 5.0;
const LONGEST: f64 = 180.0;
/// The share of a day in which phrases are traded, and where they were left over; never more than a trade may last.
const SHARE: f64 = 0.25;
const SHARE_LEFT: f64 = 0.35;
const MOST: Seconds = Seconds(330.0);
/// Between the drill and the trade: devices open anew.
const BETWEEN: Seconds = Seconds(4.0);
/// A new pattern fits the range in so many keys at least.
const FITS: usize = 6;

/// A day that is planned.
pub(super) struct PlannedDay {
    /// The plan.
    pub plan: DayPlan,
    /// What is new in it.
    pub new: Option<PatternId>,
    /// The trade at its end, and how long it lasts.
    pub phrases: Option<TradeTyped>,
    /// How long the trade lasts.
    pub traded: Seconds,
    /// Whose day it is.
    pub player: Option<PlayerId>,
    /// Which day.
    pub day: i32,
    /// The plan in lines.
    pub told: Vec<String>,
}

/// Works it out.
pub(super) fn planned_day(
    typed: &TodayTyped,
    minutes: f64,
    stored: &UserSettings,
    places: &Places,
) -> Result<PlannedDay, Failure> {
    if !(SHORTEST..=LONGEST).contains(&minutes) {
        let mend =
            format!("Give {SHORTEST:.0} to {LONGEST:.0}; a shorter sitting is a drill: earfirst drill --minutes 3.");
        return Err(Failure::usage(format!("a day of {minutes} minutes cannot be planned"), mend));
    }
    let (library, day) = (library()?, files::today().day);
    let scope = Scope { player: typed.player.clone(), ..Scope::default() };
    let Meant { who, mut plan, .. } = Meant::of(&scope, stored, &library, day)?;
    let player = who::known_already(typed.player_name.as_deref(), stored)?.map(|player| player.id);
    let held = held_out::held_out(None, stored, player, &who, day)?;
    held_out::hold_out(&mut plan, &held)?;
    let instrument = &who.page.instrument.id;
    let learner =
        if typed.simulated { LearnerModel::new() } else { sitting::learner(instrument, player, stored, places) };
    let left = stored.left_over(player);
    let share = if left.is_some_and(|left| left.phrases) { SHARE_LEFT } else { SHARE };
    let (choruses, traded) = choruses(typed, (60.0 * minutes * share).min(MOST.0), stored, places);
    let wish = DayWish {
        length: Seconds(60.0 * minutes),
        phrases: if choruses > 0 { traded + BETWEEN } else { Seconds(0.0) },
        plan: &plan,
        first: &FIRST_PATTERNS.map(|id| PatternId(id.to_owned())),
        offered: offered(&library, &learner, &plan, &who, left.and_then(|left| left.new.as_deref())),
        spared: stored.rests.spared(),
    };
    let of_day = learner.day_plan(&wish);
    let told = told(&of_day, minutes, left, &library, &who);
    let new = of_day.new_thing().cloned();
    let phrases = (choruses > 0).then(|| phrases(typed, choruses));
    Ok(PlannedDay { plan: of_day, new, phrases, traded, player, day, told })
}

/// How many choruses last so long at most, and how long they last; none where not even one fits, where no phrase can be joined, or where
/// the band would be heard as the player.
fn choruses(typed: &TodayTyped, most: f64, stored: &UserSettings, places: &Places) -> (u32, Seconds) {
    let none = (0, Seconds(0.0));
    let heard = stored.headphones() && chosen_devices::midi(None, stored).is_none();
    if !typed.simulated && !heard {
        return none;
    }
    let length = |choruses| {
        let easy = TradeTyped { up_to: Some(2), ..phrases(typed, choruses) };
        trade_planned::length(&easy, stored, places)
    };
    let (Ok(one), Ok(two)) = (length(1), length(2)) else { return none };
    let more = ((most - one.0) / (two - one).0.max(1.0)).floor();
    if more < 0.0 { none } else { (1 + more as u32, one + (two - one) * more) }
}

/// The next pattern that nobody has answered: the one that was left over, else the easiest that fits the range.
fn offered(library: &Library, learner: &LearnerModel, plan: &Plan, who: &Who, left: Option<&str>) -> Option<PatternId> {
    let answered: Vec<&PatternId> = learner.answered().collect();
    let mut others: Vec<&Pattern> = library.patterns().iter().filter(|it| !answered.contains(&&it.id)).collect();
    others.sort_by_key(|pattern| (Some(pattern.id.0.as_str()) != left, pattern.level));
    let fits = |pattern: &&&Pattern| {
        let out = OutOfRange::of([**pattern], &plan.keys, who.range);
        plan.keys.iter().filter(|key| !out.contains(&pattern.id, **key)).count() >= FITS.min(plan.keys.len())
    };
    others.iter().find(fits).map(|pattern| pattern.id.clone())
}

fn told(plan: &DayPlan, minutes: f64, left: Option<&files::LeftOver>, library: &Library, who: &Who) -> Vec<String> {
    let named = |id: &PatternId| {
        library.get(id).map_or_else(|| (id.0.clone(), Mode::Major), |pattern| (pattern.name.clone(), pattern.mode()))
    };
    let mut told = vec![format!("Today, {}:", numbered(minutes.round() as usize, "minute"))];
    told.extend(words::day::lines(plan, &who.page, &named));
    if let Some(left) = left {
        let new = left.new.as_ref().map(|id| named(&PatternId(id.clone())).0);
        let what: Vec<String> = new.into_iter().chain(left.phrases.then(|| "joined phrases".to_owned())).collect();
        let date = report::day_of(&left.date).map_or_else(|| left.date.clone(), report::date);
        told.push(format!("Left over from {date}: {}.", words::numbers::list(&what)));
    }
    told
}

/// The trade at the end of a day.
fn phrases(typed: &TodayTyped, choruses: u32) -> TradeTyped {
    TradeTyped {
        chart: "ii-v-i-round-fourths".to_owned(),
        bars: 4,
        patterns: Vec::new(),
        up_to: None,
        on_every: None,
        key: None,
        tempo: None,
        choruses,
        moves: None,
        parts: BandParts {
            bass: BassChoice::Walking,
            no_chords: false,
            pulse: PulseChoice::Brush,
            even: false,
            level: None,
        },
        seed: typed.seed,
        show: false,
        wav: None,
        simulated: typed.simulated,
        fast: typed.fast,
        plain: typed.plain,
        player: typed.player.clone(),
        input: None,
        output: None,
    }
}
