//! The record of a trade: each phrase with its answer and verdict, or what was played freely, chorus by chorus.

use crate::chart::ChordChart;
use crate::coach::{Goals, OutOfRange};
use crate::cue::Cue;
use crate::engine::{Finished, SittingEnd, TradeKeeping};
use crate::files::{self, KeepSound, Places, SessionFolder, UserSettings};
use crate::lesson::Lesson;
use crate::notes::EAR_VERSION;
use crate::session::{
    AnswerRecord, BandMark, BandRecord, Began, ChorusRecord, Ended, Event, Judgement, LessonMark, NamedPlayer,
    PauseCause, RecordedPhrase, TradeMark,
};
use crate::sound::{InputStretch, Placement};
use crate::talk::failure::Failure;
use crate::talk::form_text::form_text;
use crate::talk::record_words::review;
use crate::talk::sitting::PlayedBy;
use crate::talk::trade_screen::PlannedTrade;
use crate::talk::{lessons, sitting_screen, who};
use crate::trade::{FreeChorus, JudgedExchange, SOUND_VERSION, TradeWay};
use crate::units::{SampleRate, Seconds};
use crate::verdict::TimeOrigin;
use crate::words::traded;

/// Whose trade it is.
#[derive(Debug, Clone, Default)]
pub struct TradePlayer {
    /// Who plays; `None` for nobody in particular.
    pub player: Option<NamedPlayer>,
    /// Whether the settings do not hold this player yet.
    pub new: bool,
    /// The lesson to which the chart belongs.
    pub lesson: Option<LessonMark>,
}

impl TradePlayer {
    /// The player that is meant. Where the trade is played, in these `places`, a name that no player has yet is a new player's, as in a drill;
    /// where it is only shown or written, that is an error.
    pub fn of(
        typed: Option<&str>,
        lesson: Option<&Lesson>,
        stored: &mut UserSettings,
        places: Option<&Places>,
    ) -> Result<Self, Failure> {
        let lesson = lesson.map(lessons::mark);
        let new = who::known(typed, stored)?.is_none();
        let player = match (typed, places) {
            (Some(name), Some(places)) if !name.trim().is_empty() => Some(who::meant(typed, stored, places)?),
            _ => who::known_already(typed, stored)?,
        };
        Ok(Self { player, new, lesson })
    }

    /// Whoever plays now: no player where `nobody` is set, else the one that is meant, else a new one; who is new is made known.
    pub fn plays(mut self, nobody: bool, places: &Places) -> Self {
        let player = self.player.take().or_else(|| Some(NamedPlayer::new(who::drawn(), "")));
        let player = player.filter(|_| !nobody);
        self.player = if self.new { player.and_then(|player| who::keep(player, places)) } else { player };
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

impl TradeSource {
    /// Who answers.
    pub fn played_by(self) -> PlayedBy {
        match (self.simulated, self.by_midi) {
            (true, _) => PlayedBy::Simulated,
            (_, true) => PlayedBy::ByMidi(self.delay.unwrap_or(Seconds(0.0))),
            _ => PlayedBy::Player,
        }
    }
}

/// A trade as it is recorded: a live folder, a chorus at a time.
pub struct TradeRecord {
    keeping: TradeKeeping,
    /// The chorus with which the band began last, and where its lead-in lies.
    run: (usize, Placement),
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
        keep: KeepSound,
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
            keeps_sound: keep != KeepSound::None,
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
                band: planned.band_mark(),
            }),
        };
        let ended = Ended { at: Seconds(0.0), sounding: Seconds(0.0), dropped: 0 };
        let keeping = TradeKeeping::begin(SessionFolder::begin(places, &began, keep));
        Self { keeping, run: (0, Placement::at(Seconds(0.0))), ended, asked: 0 }
    }

    /// Records a chorus, or what there is of it where it was broken off.
    pub fn enter(&mut self, round: usize, answers: &[JudgedExchange], planned: &PlannedTrade) {
        let numbered = || answers.iter().zip(self.asked + 1..);
        let mut events: Vec<Event> = numbered().flat_map(|(answer, number)| events(answer, number, planned)).collect();
        let phrases = numbered().map(|(answer, cue)| phrase(answer, cue)).collect();
        let at = events.iter().fold(self.ended.at, |last, event| last.max(event.at()));
        events.extend(planned.band_record(round, self.run, (at, phrases)).map(Event::Band));
        self.asked += answers.len() as u32;
        self.ended.at = events.iter().fold(self.ended.at, |last, event| last.max(event.at()));
        let heard = answers.iter().flat_map(|answer| &answer.heard);
        self.ended.sounding = heard.fold(self.ended.sounding, |sum, note| sum + note.length().max(Seconds(0.0)));
        let whole = answers.iter().all(|answer| answer.over && answer.whole());
        self.keeping.record(events, whole);
    }

    /// The band begins with this chorus; where its lead-in lies.
    pub fn run(&mut self, round: usize, place: Placement) {
        self.run = (round, place);
        self.keeping.run();
    }

    /// Keeps what the microphone heard.
    pub fn hear(&self, stretch: InputStretch) {
        self.keeping.hear(stretch);
    }

    /// Records that the band stopped, because nothing was played.
    pub fn pause(&mut self, at: Seconds) {
        self.ended.at = self.ended.at.max(at);
        self.keeping.record(vec![Event::Paused { at, cause: PauseCause::Silence }], true);
    }

    /// Records that the band begins again.
    pub fn go_on(&mut self, at: Seconds) {
        self.ended.at = self.ended.at.max(at);
        self.keeping.record(vec![Event::Resumed { at }], true);
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
        self.keeping.record(vec![Event::FreeChorus(chorus)], true);
    }

    /// Makes one file of it, where a chorus came to its end, and tells where that is.
    pub fn end(mut self, dropped: u64) -> Result<(), Failure> {
        self.ended.dropped = dropped;
        self.keeping.record(vec![Event::Ended(self.ended)], true);
        let Some(mut folder) = self.keeping.end() else { return Ok(()) };
        let finished = match folder.finish(&review) {
            Ok(Some(path)) => Finished::Stored(path, folder.lost()),
            Ok(None) => Finished::Nothing,
            Err(failure) => Finished::InMemory(Box::new(folder), failure),
        };
        sitting_screen::farewell(SittingEnd::Finished(finished))
    }
}

impl PlannedTrade {
    /// The form of free choruses in letters, in the key of the first one; `None` where phrases are traded.
    pub fn free_form(&self) -> Option<ChordChart> {
        let first = self.plan.rounds.iter().find(|round| round.free.is_some())?;
        Some(self.form.in_key(first.key.0, false))
    }

    /// What the band plays under phrases, for the record; `None` in free choruses, and where the text of the form is longer than the record
    /// takes.
    fn band_mark(&self) -> Option<BandMark> {
        let (plan, wish) = (&self.plan, &self.wish);
        let first = plan.rounds.first().filter(|_| !plan.is_free())?;
        let form = form_text(&self.form.chart.in_key(self.form.chart.tonality(first.key.0, false).tonic));
        (!form.is_empty()).then(|| BandMark {
            form,
            keys: plan.rounds.iter().map(|round| round.key).collect(),
            way: plan.exchanges().next().map_or(TradeWay::Answer, |exchange| exchange.way),
            swing: wish.swing,
            bass: wish.bass,
            chords: wish.chords,
            pulse: wish.pulse,
            level: wish.level,
            sounds: SOUND_VERSION,
        })
    }

    /// A chorus as the band played it, after the chorus `from` began with its lead-in at a place.
    fn band_record(
        &self,
        round: usize,
        (from, place): (usize, Placement),
        (at, phrases): (Seconds, Vec<RecordedPhrase>),
    ) -> Option<BandRecord> {
        let plan = self.plan.again_from(from);
        let played = plan.rounds.get(round)?;
        let [begins, ends] = [played.begins, played.ends].map(|beat| place.instant(plan.tempo.lasting(beat)));
        let [chorus, from] = [round, from].map(|place| u32::try_from(place + 1).unwrap_or(u32::MAX));
        let (lead_in, faster) = (place.from, place.faster);
        Some(BandRecord { at, chorus, from, lead_in, faster, begins, ends, phrases, sound: None })
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

/// A phrase as the record holds it for the band.
fn phrase(answer: &JudgedExchange, cue: u32) -> RecordedPhrase {
    let exchange = &answer.exchange;
    RecordedPhrase { cue, first_bar: exchange.first_bar, line: exchange.phrase.line.clone() }
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
