//! The record of a trade: each phrase with its answer and verdict, or what was played freely, chorus by chorus.

use crate::chart::ChordChart;
use crate::coach::{Goals, OutOfRange};
use crate::cue::Cue;
use crate::engine::{Finished, SittingEnd};
use crate::files::{self, KeepSound, Places, SessionFolder, UserSettings};
use crate::lesson::Lesson;
use crate::notes::EAR_VERSION;
use crate::session::{
    AnswerRecord, Began, ChorusRecord, Ended, Event, Judgement, LessonMark, NamedPlayer, PauseCause, TradeMark,
};
use crate::talk::failure::Failure;
use crate::talk::record_words::review;
use crate::talk::trade_screen::PlannedTrade;
use crate::talk::{lessons, sitting_screen, who};
use crate::trade::{FreeChorus, JudgedExchange};
use crate::units::{SampleRate, Seconds};
use crate::verdict::TimeOrigin;
use crate::words::traded;

/// Largest number of bytes of a form's text in the record.
const FORM_TEXT: usize = 2000;

/// Whose trade it is.
#[derive(Debug, Clone, Default)]
pub struct TradePlayer {
    /// Who plays; `None` for nobody in particular.
    pub player: Option<NamedPlayer>,
    /// The lesson to which the chart belongs.
    pub lesson: Option<LessonMark>,
}

impl TradePlayer {
    /// The player that is meant, whom the settings know; nobody where they know none.
    pub fn of(typed: Option<&str>, lesson: Option<&Lesson>, stored: &UserSettings) -> Result<Self, Failure> {
        Ok(Self { player: who::known_already(typed, stored)?, lesson: lesson.map(lessons::mark) })
    }

    /// Whoever plays now: no player where `nobody` is set, else the one that is known, else a new one, who is made known.
    pub fn plays(mut self, nobody: bool, places: &Places) -> Self {
        let new = || who::keep(NamedPlayer::new(who::drawn(), ""), places);
        self.player = if nobody { None } else { self.player.or_else(new) };
        self
    }
}

/// What answers in a trade.
#[derive(Debug, Clone, Copy)]
pub struct TradeSource {
    /// Rate of the source's sound.
    pub rate: SampleRate,
    /// The delay that is taken off, where it is known.
    pub delay: Option<Seconds>,
    /// Whether it is the simulated player.
    pub simulated: bool,
    /// Whether it is a MIDI instrument.
    pub by_midi: bool,
}

/// A trade as it is recorded: a live folder, a chorus at a time. No sound is kept, so that the thread that hears may write: some
/// kilobytes while the next phrase sounds.
pub struct TradeRecord {
    folder: SessionFolder,
    ended: Ended,
    /// Number of phrases so far. A chorus that comes again is asked anew, under numbers of its own.
    asked: u32,
}

impl TradeRecord {
    /// Begins the record.
    pub fn begin(
        planned: &PlannedTrade,
        whose: &TradePlayer,
        source: TradeSource,
        stored: &UserSettings,
        places: &Places,
    ) -> Self {
        let (today, who) = (files::today(), &planned.who);
        let began = Began {
            started: today.started,
            day: today.day,
            player: whose.player.clone(),
            instrument: who.page.instrument.id.clone(),
            a4: who.a4,
            seed: planned.seed,
            patterns: Vec::new(),
            keys: Vec::new(),
            out_of_range: OutOfRange::default(),
            goals: stored.goals(Goals::USUAL),
            rate: source.rate,
            delay: source.delay,
            simulated: source.simulated,
            by_midi: source.by_midi,
            keeps_sound: false,
            one_by_one: false,
            reading: who.page.reading,
            level: who.level,
            ear: EAR_VERSION,
            lesson: whose.lesson.clone(),
            second_task: false,
            trade: Some(TradeMark {
                chart: planned.chart.clone(),
                tempo: planned.plan.tempo,
                bars: planned.plan.bars,
                choruses: u32::try_from(
                    planned.plan.rounds.iter().filter(|it| !it.exchanges.is_empty() || it.free.is_some()).count(),
                )
                .unwrap_or(u32::MAX),
                free: planned.free_form().map(|form| form_text(&form)),
            }),
        };
        let ended = Ended { at: Seconds(0.0), sounding: Seconds(0.0), dropped: 0 };
        Self { folder: SessionFolder::begin(places, &began, KeepSound::None), ended, asked: 0 }
    }

    /// Records a chorus, or what there is of it where it was broken off.
    pub fn enter(&mut self, answers: &[JudgedExchange], planned: &PlannedTrade) {
        let numbered = answers.iter().zip(self.asked + 1..);
        let events: Vec<Event> = numbered.flat_map(|(answer, number)| events(answer, number, planned)).collect();
        self.asked += answers.len() as u32;
        self.ended.at = events.iter().fold(self.ended.at, |last, event| last.max(event.at()));
        let heard = answers.iter().flat_map(|answer| &answer.heard);
        self.ended.sounding = heard.fold(self.ended.sounding, |sum, note| sum + note.length().max(Seconds(0.0)));
        self.folder.record_all(&events);
    }

    /// Records that the band stopped, because nothing was played.
    pub fn pause(&mut self, at: Seconds) {
        self.ended.at = self.ended.at.max(at);
        self.folder.record(&Event::Paused { at, cause: PauseCause::Silence });
    }

    /// Records that the band begins again.
    pub fn go_on(&mut self, at: Seconds) {
        self.ended.at = self.ended.at.max(at);
        self.folder.record(&Event::Resumed { at });
    }

    /// Records a free chorus in which something was played.
    pub fn enter_free(&mut self, planned: &PlannedTrade, round: usize, chorus: &FreeChorus) {
        let Some(mut chorus) = planned.chorus(round, chorus).filter(|chorus| !chorus.heard.is_empty()) else { return };
        if let Some(sought) = &planned.sought {
            chorus.drilled = planned.drilled.came_out(&chorus.heard, planned.plan.tempo, &sought.library);
        }
        self.ended.at = self.ended.at.max(chorus.at);
        self.ended.sounding =
            chorus.heard.iter().fold(self.ended.sounding, |sum, note| sum + note.length().max(Seconds(0.0)));
        self.folder.record(&Event::FreeChorus(chorus));
    }

    /// Makes one file of it, where a chorus came to its end, and tells where that is.
    pub fn end(mut self, dropped: u64) -> Result<(), Failure> {
        self.ended.dropped = dropped;
        self.folder.record(&Event::Ended(self.ended));
        let finished = match self.folder.finish(&review) {
            Ok(Some(path)) => Finished::Stored(path, self.folder.lost()),
            Ok(None) => Finished::Nothing,
            Err(failure) => Finished::InMemory(Box::new(self.folder), failure),
        };
        sitting_screen::farewell(SittingEnd::Finished(finished))
    }
}

/// A form as the record holds it: nothing where its text is longer than the record takes, since a part of it would be another form.
fn form_text(form: &ChordChart) -> String {
    Some(form.to_string()).filter(|text| text.len() <= FORM_TEXT).unwrap_or_default()
}

impl PlannedTrade {
    /// The form of free choruses in letters, in the key of the first one; `None` where phrases are traded.
    pub fn free_form(&self) -> Option<ChordChart> {
        let first = self.plan.rounds.iter().find(|round| round.free.is_some())?;
        Some(self.form.in_key(first.key.0, false))
    }

    /// A free chorus as it is recorded.
    pub fn chorus(&self, round: usize, chorus: &FreeChorus) -> Option<ChorusRecord> {
        let round = self.plan.rounds.get(round)?;
        let FreeChorus { heard, begins, ends, until } = chorus.clone();
        Some(ChorusRecord {
            at: until,
            chorus: round.free.as_ref()?.number,
            key: round.key,
            begins,
            ends,
            heard,
            drilled: Vec::new(),
        })
    }
}

/// A phrase that sounded, what was heard in its bars, and what was said of that; nothing was, where the player broke off.
fn events(answer: &JudgedExchange, number: u32, planned: &PlannedTrade) -> Vec<Event> {
    let exchange = &answer.exchange;
    let (cue, clock) = (Cue { number, ..exchange.cue.clone() }, answer.asked.clock);
    let (TimeOrigin::InTempo { beat_zero: begun, .. } | TimeOrigin::Free { cue_end: begun }) = clock;
    let at = begun - cue.tempo.lasting(exchange.answered - exchange.sounded);
    let over = begun + cue.tempo.lasting(exchange.ends - exchange.answered);
    let latest = answer.heard.iter().fold(begun, |last, note| last.max(note.onset).max(note.release));
    let over = if answer.over { over } else { over.min(latest) };
    let heard = AnswerRecord { at: over, cue: number, clock, heard: answer.heard.clone(), sound: None };
    let (verdict, sentence) = (answer.verdict.clone(), traded::short(answer, &planned.who.page));
    let judged =
        Judgement { at: over, cue: number, verdict, sentence, step: None, varied: answer.varied.map(|it| it.taken) };
    let said = answer.over.then_some(Event::Judged(judged));
    [Event::Cued { at, cue, reason: planned.reasons.of(exchange) }, Event::Answered(heard)]
        .into_iter()
        .chain(said)
        .collect()
}
