//! The plan of a day: worked out from the record, the minutes of the day and what was left over, said in lines; and what comes after its
//! drill.

use std::slice;
use std::time::Instant;

use crate::backing::{BandWish, LEAD_IN, TEMPOS};
use crate::chart::NamedChart;
use crate::coach::{DayPlan, DayWish, LearnerModel, OutOfRange, Plan};
use crate::engine::{Finished, SittingEnd};
use crate::files::{self, LeftOver, Places, UserSettings};
use crate::music::{ConcertKey, Mode, WrittenKey};
use crate::pattern::{Library, Pattern, PatternId};
use crate::report;
use crate::session::{PlayerId, Session};
use crate::talk::asked::Meant;
use crate::talk::failure::Failure;
use crate::talk::library::library;
use crate::talk::output::{say, warn};
use crate::talk::phrase_stock::EASY;
use crate::talk::planned_trade::{TradeAsked, TradeStage};
use crate::talk::player::Who;
use crate::talk::trade_record::TradePlayer;
use crate::talk::trade_screen::PlannedTrade;
use crate::talk::{chosen_devices, held_out, named_charts, sitting, sitting_screen};
use crate::trade::TradeWay;
use crate::units::{Beats, SampleRate, Seconds};
use crate::words;
use crate::words::numbers::{list, numbered};

/// Shortest day that can be planned, in minutes; `LONGEST` is the longest.
const SHORTEST: f64 = 5.0;
const LONGEST: f64 = 180.0;
/// Share of a day in which phrases are traded. `SHARE_LEFT` is used where phrases were left over from the plan before, and `MOST`
/// is the longest trade in seconds.
const SHARE: f64 = 0.25;
const SHARE_LEFT: f64 = 0.35;
const MOST: f64 = 330.0;
/// Largest share of that time which a free chorus may take.
const FREE: f64 = 0.5;
/// Time between the drill and the trade, in which the devices open anew.
const BETWEEN: Seconds = Seconds(4.0);
/// Smallest number of keys in which a new pattern must fit the range; of fewer keys it must fit in all.
const FITS: usize = 6;
/// Share of its planned length below which a drill or trade counts as ended by hand; one that ends by itself lasts as long as planned.
const EARLY: f64 = 0.9;

/// A day as it was asked for.
pub struct DayAsked {
    /// Minutes of the day, rests included.
    pub minutes: f64,
    /// Who plays, in which keys, and the patterns of a first sitting.
    pub meant: Meant,
    /// The player whose day it is; `None` for nobody in particular.
    pub player: Option<PlayerId>,
    /// Whether a simulated player answers: `None` if not, else whether it answers without waiting for real time.
    pub simulated: Option<bool>,
    /// Whether lines are printed instead of a screen.
    pub plain: bool,
    /// The seed of phrases and band.
    pub seed: u64,
}

/// A day that is planned.
pub struct PlannedDay {
    /// The plan of its drill.
    pub plan: DayPlan,
    asked: DayAsked,
    learner: LearnerModel,
    /// Whether the drill ends with a round without a stop.
    pub round: bool,
    /// How many choruses are traded, and how long they last.
    traded: (u32, Seconds),
    /// The free chorus after them, where one is planned.
    free: Option<PlannedTrade>,
    left: Option<LeftOver>,
    /// Whether the band goes to headphones, beside a microphone.
    worn: bool,
}

impl PlannedDay {
    /// Works out the plan of a day.
    pub fn of(mut asked: DayAsked, stored: &UserSettings, places: &Places) -> Result<Self, Failure> {
        let minutes = asked.minutes;
        if !(SHORTEST..=LONGEST).contains(&minutes) {
            let mend = format!(
                "Give {SHORTEST:.0} to {LONGEST:.0}; a shorter sitting is a drill: earfirst drill --minutes 3."
            );
            return Err(Failure::usage(format!("a day of {minutes} minutes cannot be planned"), mend));
        }
        let Meant { who, plan, .. } = &mut asked.meant;
        held_out::hold_out(plan, &held_out::held_out(None, stored, asked.player, who, plan.day)?)?;
        let learner = match asked.simulated {
            Some(_) => LearnerModel::new(),
            None => sitting::learner(&who.page.instrument.id, asked.player, stored, places),
        };
        let left = stored.left_over(asked.player).cloned();
        let share = if left.as_ref().is_some_and(|left| left.phrases) { SHARE_LEFT } else { SHARE };
        let by_midi = asked.simulated.is_none() && chosen_devices::midi(None, stored).is_some();
        let heard_apart = asked.simulated.is_some() || stored.headphones() || by_midi;
        let most = (60.0 * minutes * share).min(MOST);
        let mut free = own_chorus(&asked, &learner, FREE * most - BETWEEN.0)?;
        let mut traded = choruses(&asked, most - free.as_ref().map_or(0.0, |free| (free.length() + BETWEEN).0));
        if traded.0 == 0 && free.take().is_some() {
            traded = choruses(&asked, most);
        }
        let new = left.as_ref().and_then(|left| left.new.as_deref());
        let Meant { who, plan, .. } = &asked.meant;
        let plan = learner.day_plan(&DayWish {
            length: Seconds(60.0 * minutes),
            // Of a round each next cue would lie in the microphone while the last note of an answer still sounds.
            round: heard_apart,
            phrases: if traded.0 > 0 { traded.1 + BETWEEN } else { traded.1 },
            free: free.as_ref().map(|free| (free.form.name.clone(), free.length() + BETWEEN)),
            plan,
            offered: offered(&library()?, &learner, plan, who, new),
            spared: stored.rests.spared(),
        });
        let worn = stored.headphones() && !by_midi;
        Ok(Self { plan, asked, learner, round: heard_apart, traded, free, left, worn })
    }

    /// Says the plan in lines, and what was left over from the plan before.
    pub fn tell(&self) -> Result<(), Failure> {
        let library = library()?;
        let named = |id: &PatternId| {
            library.get(id).map_or_else(|| (id.0.clone(), Mode::Major), |it| (it.name.clone(), it.mode()))
        };
        say(format!("Today, {}:", numbered(self.asked.minutes.round() as usize, "minute")))?;
        words::day::lines(&self.plan, &self.asked.meant.who.page, &named, self.worn).into_iter().try_for_each(say)?;
        let Some(left) = &self.left else { return Ok(()) };
        let new = left.new.as_ref().map(|id| named(&PatternId(id.clone())).0);
        let what: Vec<String> = new.into_iter().chain(left.phrases.then(|| "joined phrases".to_owned())).collect();
        let date = report::day_of(&left.date).map_or_else(|| left.date.clone(), report::date);
        say(format!("Left over from {date}: {}.", list(&what)))
    }

    /// Says where the drill is kept. Then phrases are traded and the free chorus is played, where the day has them and nothing before was
    /// ended by hand. What was left over is kept for the player's next plan; after a simulated player nothing is kept.
    pub fn goes_on(mut self, drill: SittingEnd, stored: &UserSettings, places: &Places) -> Result<(), Failure> {
        let (lasted, met) = self.done(&drill);
        sitting_screen::farewell(drill)?;
        let mut left = self.traded.0 > 0;
        let (simulated, player, day) = (self.asked.simulated, self.asked.player, self.asked.meant.plan.day);
        let new = self.plan.new_thing().filter(|_| !met).map(|pattern| pattern.0.clone());
        let mut traded = Ok(());
        let drilled = lasted.0 >= EARLY * self.plan.drilled.0;
        let (free, stage) = (self.free.take(), stage(&self.asked, stored));
        if left && drilled {
            say("\nNow joined phrases; q ends them.")?;
            let (begun, length) = (Instant::now(), self.traded.1.0);
            traded = self.trade(&stage, stored, places);
            left = traded.is_err() || begun.elapsed().as_secs_f64() < EARLY * length;
        }
        if simulated.is_none()
            && let Err(failure) = UserSettings::change(places, |stored| stored.leave_over(player, day, new, left))
        {
            warn(format!("what was left is not kept: {failure}"));
        }
        // Who ended the phrases by hand wants to stop.
        let Some(free) = free.filter(|_| drilled && traded.is_ok() && (simulated.is_some() || !left)) else {
            return traded;
        };
        say("\nNow a free chorus; q ends it.")?;
        free.tell()?;
        free.play(&stage, stored, places)
    }

    /// How long the drill lasted by its own record, and whether the day's new pattern was answered.
    fn done(&self, drill: &SittingEnd) -> (Seconds, bool) {
        let SittingEnd::Finished(Finished::Stored(path, _)) = drill else { return (Seconds(0.0), false) };
        let stored = files::read_sessions(slice::from_ref(path)).sessions.into_iter().next();
        let Some(session) = stored.and_then(|stored| Session::of(stored.events)) else { return (Seconds(0.0), false) };
        let new = self.plan.new_thing();
        (session.until, session.trials.iter().any(|trial| Some(&trial.cue.pattern) == new && trial.answered()))
    }

    /// Trades joined phrases: of patterns that were practised, else of the library's easy ones.
    fn trade(self, stage: &TradeStage<'_>, stored: &UserSettings, places: &Places) -> Result<(), Failure> {
        let Self { asked, mut learner, traded: (choruses, _), .. } = self;
        if asked.simulated.is_none() {
            learner = sitting::learner(&asked.meant.who.page.instrument.id, asked.player, stored, places);
        }
        let goals = &asked.meant.plan.goals;
        let planned = phrases(&asked, choruses, None)?
            .plan(&learner, goals)
            .or_else(|_| phrases(&asked, choruses, Some(EASY))?.plan(&learner, goals))?;
        planned.tell()?;
        planned.play(stage, stored, places)
    }
}

/// Where the end of a day is played, and by whom.
fn stage(asked: &DayAsked, stored: &UserSettings) -> TradeStage<'static> {
    let id = asked.player.map(|id| id.to_string());
    let player = asked.simulated.is_none().then(|| stored.players_called(id.as_deref()).pop()).flatten();
    let whose = TradePlayer { player, ..TradePlayer::default() };
    TradeStage {
        plain: asked.plain,
        simulated: asked.simulated,
        input: None,
        output: None,
        musicxml: None,
        keep: None,
        whose,
    }
}

/// A free chorus over one of the player's own charts, each day another one in turn; `None` where there is none that lasts at most so
/// many seconds.
fn own_chorus(asked: &DayAsked, learner: &LearnerModel, most: f64) -> Result<Option<PlannedTrade>, Failure> {
    if most <= 0.0 {
        return Ok(None);
    }
    let lasts =
        |form: &NamedChart| form.tempo.lasting(Beats(f64::from((LEAD_IN + form.bars()) * form.chart.meter()))).0;
    let mut fitting = named_charts::own()?;
    fitting.retain(|form| TEMPOS.contains(&form.tempo.0) && lasts(form) <= most);
    let turn = asked.meant.plan.day.rem_euclid(fitting.len().max(1) as i32) as usize;
    if turn >= fitting.len() {
        return Ok(None);
    }
    let (form, who) = (fitting.swap_remove(turn), &asked.meant.who);
    let (first, chart) = (who.page.home(&form), form.id.clone());
    let wish = BandWish { swing: form.swing, a4: who.a4, ..BandWish::new(form.tempo, SampleRate::CD) };
    let free = over(asked, (form, chart), vec![first], 1, wish);
    let free = TradeAsked { free: true, open_key: false, up_to: Some(EASY), ..free };
    free.plan(learner, &asked.meant.plan.goals).map(Some)
}

/// The trade at the end of a day.
fn phrases(asked: &DayAsked, choruses: u32, up_to: Option<u8>) -> Result<TradeAsked, Failure> {
    let (chart, who) = ("ii-v-i-round-fourths".to_owned(), asked.meant.who.clone());
    let form = named_charts::chart(&chart)?;
    let first = who.page.sounding_key(WrittenKey::C);
    let keys = form.cycle.map_or_else(|| vec![first], |cycle| cycle.keys(first, |_| 0).to_vec());
    let wish = BandWish { swing: form.swing, a4: who.a4, ..BandWish::new(form.tempo, SampleRate::CD) };
    Ok(TradeAsked { up_to, ..over(asked, (form, chart), keys, choruses, wish) })
}

/// A trade of fours over a form, by its id.
fn over(
    asked: &DayAsked,
    (form, chart): (NamedChart, String),
    keys: Vec<ConcertKey>,
    choruses: u32,
    wish: BandWish,
) -> TradeAsked {
    TradeAsked {
        who: asked.meant.who.clone(),
        form,
        chart,
        keys,
        open_key: true,
        bars: 4,
        free: false,
        simulated: asked.simulated.is_some(),
        way: TradeWay::Answer,
        on_every: None,
        choruses,
        wish,
        patterns: Vec::new(),
        up_to: None,
        seed: asked.seed,
    }
}

/// How many choruses fit into `most` seconds, and how long they last; none where not even one fits, or no phrase can be joined.
fn choruses(asked: &DayAsked, most: f64) -> (u32, Seconds) {
    let length = |choruses| {
        let planned = phrases(asked, choruses, Some(EASY))?.plan(&LearnerModel::new(), &asked.meant.plan.goals)?;
        Ok::<_, Failure>(planned.length())
    };
    let (Ok(one), Ok(two)) = (length(1), length(2)) else { return (0, Seconds(0.0)) };
    let more = ((most - one.0) / (two - one).0.max(1.0)).floor();
    if more < 0.0 { (0, Seconds(0.0)) } else { (1 + more as u32, one + (two - one) * more) }
}

/// The next pattern that the player has not answered: the one that was left over, else the easiest that fits the range.
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
