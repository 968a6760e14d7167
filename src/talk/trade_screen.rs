//! A trade as it is shown: on a screen, or on plain lines.

use std::io::{self, IsTerminal};

use crate::backing::BandWish;
use crate::chart::NamedChart;
use crate::music::Mode;
use crate::talk::drilled::DrilledPatterns;
use crate::talk::failure::Failure;
use crate::talk::free_choruses::FreeChoruses;
use crate::talk::free_views::Sought;
use crate::talk::output::{reaches, say};
use crate::talk::player::Who;
use crate::talk::trade_reasons::TradeReasons;
use crate::trade::{Exchange, JudgedExchange, Trade, TradeMoment, TradeRound, TradeWay};
use crate::tui::{self, Interrupts, TradeFace, TradeScreen};
use crate::units::Seconds;
use crate::words::numbers::{count, counted};
use crate::words::traded;
use crate::words::wrap::wrapped;

/// Largest number of columns of a printed sentence.
const COLUMNS: usize = 78;

/// What is said when the band has stopped.
const WAITS: &str =
    "Nothing was played through a whole chorus, so the band waits. Hold any note for a second, and it begins again.";

/// What is said before phrases that are to be varied.
const TO_VARY: &str =
    "Vary each phrase: keep its rhythm with other notes of the chords, or its shape from another degree.";

/// What is said where the band covers the player.
const COVERED: &str = "Your microphone hears the band nearly as loudly as you: some notes may be misheard. Play it softer (--level), \
                       or wear headphones.";

/// A trade that can begin.
pub struct PlannedTrade {
    /// Who plays.
    pub who: Who,
    /// The form.
    pub form: NamedChart,
    /// The form by its id, or its chords as they were typed.
    pub chart: String,
    /// Which phrases are asked over which bars.
    pub plan: Trade,
    /// How the band plays.
    pub wish: BandWish,
    /// The seed of phrases and band.
    pub seed: u64,
    /// What the phrases are made of, in words.
    pub made_of: String,
    /// Why phrases and keys come.
    pub reasons: TradeReasons,
    /// In free choruses: what is looked for in them.
    pub sought: Option<Sought>,
    /// In free choruses: what the player drills.
    pub drilled: DrilledPatterns,
}

/// What shows a trade that runs.
pub struct TradeShown<'p> {
    planned: &'p PlannedTrade,
    /// Control-c breaks plain lines off as `q` does a screen.
    asked: Interrupts,
    screen: Option<TradeScreen>,
    face: TradeFace,
    /// The lines that are printed once the screen is gone.
    afterwards: Vec<String>,
    /// The free choruses that were played.
    free: Option<FreeChoruses>,
    failed: Option<Failure>,
}

impl<'p> TradeShown<'p> {
    /// Opens the screen on a terminal, unless plain lines are asked for. `by_ear` says that the ear hears the player, not keys.
    pub fn begin(
        planned: &'p PlannedTrade,
        delay: Option<Seconds>,
        by_ear: bool,
        plain: bool,
    ) -> Result<Self, Failure> {
        let on_screen = !plain && io::stdout().is_terminal();
        let opened = on_screen.then(|| TradeScreen::open(planned.who.appearance())).transpose();
        let screen = opened.map_err(|error| Failure::device(error, "Try --plain."))?;
        let title = format!("{} · quarter = {:.0}", planned.form.name, planned.plan.tempo.0);
        let face = TradeFace { title, ..TradeFace::default() };
        let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
        let free = planned.free_form().map(|form| FreeChoruses::over(&planned.chart, form, delay, by_ear));
        Ok(Self { planned, asked, screen, face, afterwards: Vec::new(), free, failed: None })
    }

    /// Shows what has come; gives whether the player is still there and wants to go on.
    pub fn goes_on(&mut self, moment: Option<TradeMoment>) -> bool {
        let played = moment.as_ref().and_then(|moment| self.played(moment));
        let done = match (&moment, self.screen.is_some()) {
            (Some(moment), false) => {
                let played = played.map(|said| said.iter().flat_map(|line| wrapped(line, COLUMNS, "", "  ")).collect());
                played.or_else(|| lines(self.planned, moment)).map_or(Ok(true), printed)
            }
            (None, false) => Ok(!self.asked.raised()),
            (_, true) => {
                self.face.lines = played.unwrap_or_else(|| std::mem::take(&mut self.face.lines));
                self.draw(moment.as_ref()).map_err(|error| Failure::device(error, "Try --plain."))
            }
        };
        done.unwrap_or_else(|failure| {
            self.failed = Some(failure);
            false
        })
    }

    /// Gives the terminal back and tells what was answered.
    pub fn end(self) -> Result<(), Failure> {
        drop(self.screen);
        self.afterwards.into_iter().try_for_each(say)?;
        if let Some((free, sought)) = self.free.zip(self.planned.sought.as_ref()).filter(|(free, _)| !free.is_empty()) {
            say("")?;
            free.tell(None, sought, &self.planned.who)?;
        }
        self.failed.map_or(Ok(()), Err)
    }

    /// Takes in a free chorus that is over; gives what is said of it at once.
    fn played(&mut self, moment: &TradeMoment) -> Option<Vec<String>> {
        let (TradeMoment::Played(round, chorus), Some(free)) = (moment, &mut self.free) else { return None };
        let chorus = self.planned.chorus(*round, chorus).filter(|chorus| !chorus.heard.is_empty())?;
        Some(free.add(chorus, &self.planned.who))
    }

    fn draw(&mut self, moment: Option<&TradeMoment>) -> io::Result<bool> {
        if let Some(moment) = moment {
            self.enter(moment);
        }
        let Some(screen) = &mut self.screen else { return Ok(true) };
        screen.show(self.face.clone())?;
        Ok(!screen.asks_to_end()?)
    }

    /// Takes in what a moment changes on the screen.
    fn enter(&mut self, moment: &TradeMoment) {
        let planned = self.planned;
        match moment {
            TradeMoment::LeadIn(round, _) => {
                let first = named(planned, *round, 0).unwrap_or_default();
                let way = planned.plan.exchanges().next().map(|exchange| exchange.way);
                self.face.lines.extend((way == Some(TradeWay::Vary)).then(|| TO_VARY.to_owned()));
                (self.face.word, self.face.next) = ("two bars of lead-in", first);
            }
            TradeMoment::Chord(round, place) => self.chord(*round, *place),
            TradeMoment::Judged(_, answers) => {
                // Where the screen cannot hold them all, it holds what went wrong.
                let (right, wrong): (Vec<_>, Vec<_>) = answers.iter().partition(|answer| answer.whole());
                let told = wrong.into_iter().chain(right).map(|answer| traded::short(answer, &planned.who.page));
                self.face.lines = told.collect();
                self.afterwards.extend(lines(planned, moment).unwrap_or_default());
            }
            TradeMoment::Silent(round, _) => {
                self.face.place = title(planned, *round);
                (self.face.word, self.face.lines) = ("the band waits", vec![WAITS.to_owned()]);
                (self.face.now, self.face.next) = (String::new(), String::new());
            }
            TradeMoment::Again(_) => self.face.lines.clear(),
            TradeMoment::Covered => self.face.lines = vec![COVERED.to_owned()],
            TradeMoment::BrokenOff(..) | TradeMoment::End => {
                self.afterwards.extend(lines(planned, moment).unwrap_or_default())
            }
            TradeMoment::Sounds(round, place) => {
                let sounds = planned.plan.rounds.get(*round).and_then(|round| round.exchanges.get(*place));
                let of = sounds.map(|exchange| traded::to_finish(exchange, &planned.who.page)).unwrap_or_default();
                if !of.is_empty() {
                    self.face.lines = vec![of.iter().map(|line| line.trim()).collect::<Vec<_>>().join(" ")];
                }
            }
            TradeMoment::Answer(..)
            | TradeMoment::Rest(_)
            | TradeMoment::Free(_)
            | TradeMoment::Played(..)
            | TradeMoment::Sound(_) => {}
        }
    }

    /// Takes in that a chord begins.
    fn chord(&mut self, round: usize, place: usize) {
        let (planned, face) = (self.planned, &mut self.face);
        let plan = &planned.plan;
        let (Some(form), Some(asked)) = (plan.forms.get(round), plan.rounds.get(round)) else { return };
        let Some(change) = form.changes.get(place) else { return };
        let (bar, again) = plan.bar(form, change.at);
        let traded = asked.exchanges.iter().find(|it| (it.first_bar..it.first_bar + it.bars).contains(&bar));
        face.word = match (asked.free.is_some(), traded, again) {
            (true, ..) => "play",
            (_, Some(exchange), true) => exchange.way.word(),
            (_, Some(_), false) => "listen",
            (_, None, _) => "rest",
        };
        face.place = format!("{} · bar {} of {}", title(planned, round), bar + 1, plan.bars_of(form));
        face.now = named(planned, round, place).unwrap_or_default();
        let later = (place + 1..form.changes.len()).find_map(|later| {
            named(planned, round, later).filter(|chord| form.changes[later].chord != change.chord && !chord.is_empty())
        });
        face.next = later.or_else(|| named(planned, round + 1, 0)).unwrap_or_default();
    }
}

/// Prints lines; gives whether the output has a reader.
fn printed(lines: Vec<String>) -> Result<bool, Failure> {
    lines.into_iter().try_fold(true, |read, line| Ok(reaches(line)? && read))
}

/// The name on the page of a chord that the band plays.
fn named(planned: &PlannedTrade, round: usize, place: usize) -> Option<String> {
    let key = planned.plan.rounds.get(round)?;
    let change = planned.plan.forms.get(round)?.changes.get(place)?;
    let chord = change.place.as_ref().map(|place| traded::chord(place, key.key, mode(key), &planned.who.page));
    Some(chord.unwrap_or_else(|| "N.C.".to_owned()))
}

const fn mode(round: &TradeRound) -> Mode {
    if round.minor { Mode::Minor } else { Mode::Major }
}

/// The plain lines on a moment; `None` where it has none.
fn lines(planned: &PlannedTrade, moment: &TradeMoment) -> Option<Vec<String>> {
    let exchange = |round: usize, place: usize| planned.plan.rounds.get(round)?.exchanges.get(place);
    Some(match moment {
        TradeMoment::LeadIn(..) | TradeMoment::Chord(..) | TradeMoment::Played(..) | TradeMoment::Sound(_) => {
            return None;
        }
        TradeMoment::Free(round) => vec![format!("play    {}: what you like", title(planned, *round))],
        TradeMoment::Sounds(round, place) => {
            let sounds = exchange(*round, *place)?;
            let of = traded::to_finish(sounds, &planned.who.page);
            std::iter::once(due(planned, *round, sounds, "listen")).chain(of).collect()
        }
        TradeMoment::Answer(round, place) => {
            let answered = exchange(*round, *place)?;
            vec![due(planned, *round, answered, answered.way.word())]
        }
        TradeMoment::Rest(round) => vec![format!("{}: rest, the band plays on alone", title(planned, *round))],
        TradeMoment::Judged(round, answers) | TradeMoment::BrokenOff(round, answers) => {
            let page = &planned.who.page;
            let said = answers.iter().flat_map(|answer| {
                let why = planned.reasons.of_join(&answer.exchange, page);
                traded::answered(answer, page).into_iter().chain(why.into_iter().flat_map(|why| traded::because(&why)))
            });
            let title = format!("\n{}", title(planned, *round));
            std::iter::once(title).chain(said).chain(tally(answers)).chain([String::new()]).collect()
        }
        TradeMoment::Silent(..) => vec![WAITS.to_owned()],
        TradeMoment::Again(_) => vec!["The band begins again.".to_owned()],
        TradeMoment::Covered => vec![COVERED.to_owned()],
        TradeMoment::End => vec![format!("{} is over.", planned.form.name)],
    })
}

/// The name of a chorus: "chorus 2 in Eb".
fn title(planned: &PlannedTrade, round: usize) -> String {
    let Some(asked) = planned.plan.rounds.get(round) else { return String::new() };
    let key = planned.who.page.key(asked.key, mode(asked));
    match &asked.free {
        Some(free) => format!("chorus {} in {key}", free.number),
        None if planned.plan.is_free() => format!("between two choruses in {key}"),
        None => format!("chorus {} in {key}", round + 1),
    }
}

/// How many of the answers that are over were all right; `None` where none is over. Where one was right at the second attempt, which is not
/// all right, the line says what is counted.
fn tally(answers: &[JudgedExchange]) -> Option<String> {
    let over = answers.iter().filter(|answer| answer.over);
    let right = over.clone().filter(|answer| answer.whole()).count();
    let done = match answers.first()?.exchange.way {
        TradeWay::Vary => "varied",
        TradeWay::Answer | TradeWay::Finish if over.clone().any(|it| it.verdict.attempts > 1) => {
            "all right at the first attempt"
        }
        TradeWay::Answer | TradeWay::Finish => "all right",
    };
    let unplayed = over.clone().filter(|answer| answer.heard.is_empty()).count();
    let faulty = over.clone().filter(|answer| answer.out_of_time_or_tune()).count();
    let and = if faulty > 0 { format!(", {} of these out of time or tune", count(faulty)) } else { String::new() };
    let unplayed = if unplayed > 0 { format!(", {} not played", count(unplayed)) } else { String::new() };
    let and = and + &unplayed;
    match over.count() {
        0 => None,
        1 => Some(format!("  {} of one phrase {done}{and}", count(right))),
        all => Some(format!("  {} of {} {done}{and}", count(right), counted(all, "phrase"))),
    }
}

/// The line before a phrase: its bars with their chords on the page, and what to do, but never the notes.
fn due(planned: &PlannedTrade, round: usize, exchange: &Exchange, what: &str) -> String {
    let page = &planned.who.page;
    let chords = |bar: u32| {
        let form = planned.plan.forms.get(round)?;
        let inside = form.changes.iter().enumerate();
        let inside = inside.filter(|(_, change)| planned.plan.bar(form, change.at) == (bar, false));
        Some(inside.filter_map(|(place, _)| named(planned, round, place)).collect::<Vec<_>>().join(" "))
    };
    let bars: Vec<String> = (exchange.first_bar..exchange.first_bar + exchange.bars).filter_map(chords).collect();
    format!("{what:7} | {} |   {}", bars.join(" | "), traded::bars(exchange, page))
}
