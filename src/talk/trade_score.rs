//! A trade as a score: the player's line and the band's chords.

use std::path::Path;

use crate::chart::Chorus;
use crate::exchange::{self, NoScore, ScoreHead, ScoredAnswer, ScoredChorus};
use crate::files::write_named;
use crate::music::instrument;
use crate::notes::HeardNote;
use crate::session::Session;
use crate::talk::failure::{Failure, clean};
use crate::talk::named_charts;
use crate::talk::output::say;
use crate::talk::recorded_trade::{RecordedRun, RecordedTrade};
use crate::talk::trade_screen::PlannedTrade;
use crate::trade::{Exchange, JudgedExchange, TradeRound, TradeWay};
use crate::units::Seconds;
use crate::verdict::{TimeOrigin, Verdict};
use crate::words::numbers::{counted, numbered};
use crate::words::{Page, traded};

/// Writes the score of a trade that was just played: the choruses by their place in the plan, each with its answers.
pub fn of_played(to: &Path, planned: &PlannedTrade, played: &[(usize, Vec<JudgedExchange>)]) -> Result<(), Failure> {
    let plan = &planned.plan;
    let (title, page) = (title(&planned.chart), &planned.who.page);
    let mut choruses = Vec::new();
    for (place, answers) in played {
        if let (Some(round), Some(form)) = (plan.rounds.get(*place), plan.forms.get(*place)) {
            let answers = answers.iter().filter_map(|judged| scored(round, judged, page)).collect();
            choruses.push(ScoredChorus { number: place + 1, key: round.key, minor: round.minor, form, answers });
        }
    }
    write(to, &ScoreHead { title: &title, tempo: plan.tempo, swing: planned.wish.swing, page }, &choruses)
}

/// The name of a form that is known by its id, or the chords that were typed.
fn title(chart: &str) -> String {
    let named = Some(chart).filter(|chart| !chart.contains('|')).and_then(|chart| named_charts::chart(chart).ok());
    named.map_or_else(|| chart.to_owned(), |form| form.name)
}

/// An answer beside its exchange in the plan: a chorus that came again has other beats.
fn scored<'a>(round: &'a TradeRound, judged: &'a JudgedExchange, page: &Page) -> Option<ScoredAnswer<'a>> {
    let exchange = round.exchanges.iter().find(|it| it.cue.number == judged.exchange.cue.number)?;
    let begins = begins(judged.asked.clock, judged.asked.delay);
    let verdict = judged.over.then_some(&judged.verdict);
    Some(one(round, exchange, (&judged.heard, verdict, begins), page))
}

/// An exchange of a chorus with what was heard, what was said of it, and when its bars began.
fn one<'a>(
    round: &TradeRound,
    exchange: &'a Exchange,
    (heard, verdict, begins): (&'a [HeardNote], Option<&'a Verdict>, Seconds),
    page: &Page,
) -> ScoredAnswer<'a> {
    ScoredAnswer {
        cue: &exchange.cue,
        phrase: &exchange.phrase.line,
        bars: traded::bars(exchange, page),
        beats: [exchange.sounded, exchange.answered, exchange.ends].map(|beat| beat - round.begins),
        to_vary: exchange.way == TradeWay::Vary,
        heard,
        verdict,
        begins,
    }
}

/// When the bars of an answer began, in the time of its notes.
fn begins(clock: TimeOrigin, delay: Option<Seconds>) -> Seconds {
    let (TimeOrigin::InTempo { beat_zero: begun, .. } | TimeOrigin::Free { cue_end: begun }) = clock;
    begun + delay.unwrap_or(Seconds(0.0))
}

/// Writes the score of the trade among some sittings; where they are several, of the latest.
pub fn of_sittings(to: &Path, sessions: &[Session]) -> Result<(), Failure> {
    let traded = sessions.iter().filter(|session| !session.traded.is_empty());
    let Some(session) = traded.max_by(|one, other| one.began.started.cmp(&other.began.started)) else {
        let mend = "Name the file of a trade: earfirst trade blues records one. (Free choruses: earfirst analyse.)";
        return Err(Failure::usage("no traded phrases are in these records", mend));
    };
    let (Some(trade), Ok(instrument)) = (RecordedTrade::of(session), instrument(&session.began.instrument)) else {
        let mend = "Trade once more: records have the form since this version.";
        return Err(Failure::usage("this record does not tell where in the form its phrases lie", mend));
    };
    let runs = trade.runs();
    let page = Page::new(instrument.clone(), session.began.reading);
    let choruses: Vec<ScoredChorus<'_>> = runs.iter().flat_map(|run| of_run(&trade, run, session, &page)).collect();
    let form = trade.form();
    let title = title(&form.name);
    write(to, &ScoreHead { title: &title, tempo: form.tempo, swing: form.swing, page: &page }, &choruses)
}

/// The choruses of a run in which phrases were answered.
fn of_run<'a>(
    trade: &RecordedTrade<'a>,
    run: &'a RecordedRun<'a>,
    session: &'a Session,
    page: &Page,
) -> Vec<ScoredChorus<'a>> {
    let chorus = |place: usize| -> Option<ScoredChorus<'a>> {
        let (round, form): (&TradeRound, &Chorus) = (run.plan.rounds.get(place)?, run.plan.forms.get(place)?);
        let answers = round.exchanges.iter().filter_map(|exchange| {
            let trial = trade.trial(exchange.cue.number)?;
            let answer = trial.answer.as_ref()?;
            let verdict = trial.judgement.as_ref().map(|judgement| &judgement.verdict);
            let begins = begins(answer.clock, session.began.delay);
            Some(one(round, exchange, (&answer.heard, verdict, begins), page))
        });
        let (key, minor) = (round.key, round.minor);
        Some(ScoredChorus { number: place + 1, key, minor, form, answers: answers.collect() })
    };
    let places = run.choruses.iter().filter_map(|chorus| (chorus.chorus as usize).checked_sub(1));
    places.filter_map(chorus).collect()
}

fn write(to: &Path, head: &ScoreHead<'_>, choruses: &[ScoredChorus<'_>]) -> Result<(), Failure> {
    let staves = exchange::traded_score(head, choruses).map_err(|why| {
        let mend = match why {
            NoScore::Meter(_) => "The words of the trade are in earfirst review.",
            NoScore::Rhythm => "Trade once more, and answer.",
        };
        Failure::usage(why, mend)
    })?;
    write_named(to, &exchange::score_to_musicxml(&staves))?;
    let phrases = choruses.iter().map(|chorus| chorus.answers.len()).sum();
    let heard = choruses.iter().flat_map(|chorus| &chorus.answers).map(|answer| answer.heard.len()).sum();
    let (choruses, phrases) = (numbered(choruses.len(), "chorus"), counted(phrases, "phrase"));
    let notes = numbered(heard, "note");
    say(format!("{}: {choruses}, {phrases}, {notes} as played", clean(&to.display().to_string())))
}
