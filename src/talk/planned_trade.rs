//! A trade that was asked for: planned, sounded, and played with a player at the devices or with the simulated player.

use std::path::Path;

use crate::backing::BandWish;
use crate::chart::{NamedChart, Numeral};
use crate::coach::{Goals, LearnerModel, Rng};
use crate::cue::CueSound;
use crate::engine::{self, Listener, Rig, SimulatedAudio};
use crate::files::{self, KeepSound, Places, UserSettings};
use crate::music::ConcertKey;
use crate::phrase::{NoPhrase, PhraseMaker, WantedPiece};
use crate::room::Echo;
use crate::sound::Clip;
use crate::talk::chosen_devices::{midi, too_few_keys, tuned, unbent};
use crate::talk::drilled::DrilledPatterns;
use crate::talk::failure::Failure;
use crate::talk::free_views::Sought;
use crate::talk::library::library;
use crate::talk::output::{say, say_later, warn};
use crate::talk::phrase_stock::{StockWish, stock};
use crate::talk::player::Who;
use crate::talk::record_words;
use crate::talk::rig::{self, OpenPair};
use crate::talk::trade_reasons::TradeReasons;
use crate::talk::trade_record::{TradePlayer, TradeRecord, TradeSource};
use crate::talk::trade_score;
use crate::talk::trade_screen::{PlannedTrade, TradeShown};
use crate::trade::{self, Trade, TradeMoment, TradeWay, TradeWish};
use crate::units::{SampleRate, Seconds};
use crate::words::numbers::counted;
use crate::words::traded;
use crate::words::wrap::wrapped;

/// Columns of a usual terminal.
const COLUMNS: usize = 80;
/// Longest trade, in minutes: a trade is made whole before it sounds, so its memory has a limit.
const MOST_MINUTES: f64 = 6.0;
/// How much a pattern that holds and was never used weighs beside the share in which a weak join broke.
const NEVER_USED: f64 = 0.5;

/// A trade as it was asked for.
pub struct TradeAsked {
    /// Who plays.
    pub who: Who,
    /// The form.
    pub form: NamedChart,
    /// The form by its id, or its chords as they were typed.
    pub chart: String,
    /// The keys of one chorus after another.
    pub keys: Vec<ConcertKey>,
    /// Whether nobody chose these keys, so that weak ones may come first.
    pub open_key: bool,
    /// Number of bars that are sounded, and then answered.
    pub bars: u32,
    /// Whether the choruses are free: nothing is asked, and `bars` and `on_every` are not used.
    pub free: bool,
    /// Whether the simulated player plays.
    pub simulated: bool,
    /// What the player does with the phrases.
    pub way: TradeWay,
    /// The kind of chord on each of which one pattern is asked; `None` for joined phrases.
    pub on_every: Option<Numeral>,
    /// Number of choruses: how often the form is gone through.
    pub choruses: u32,
    /// Tempo and band.
    pub wish: BandWish,
    /// The patterns that are joined, where some are named; in free choruses those that are looked for.
    pub patterns: Vec<String>,
    /// Where none is named: the highest level of the library's patterns, if one is given.
    pub up_to: Option<u8>,
    /// The seed of phrases and band.
    pub seed: u64,
}

/// Where a trade is played, and how it is shown.
pub struct TradeStage<'t> {
    /// Whether lines are printed instead of a screen.
    pub plain: bool,
    /// Whether a simulated player answers: `None` if not, else whether it answers without waiting for real time.
    pub simulated: Option<bool>,
    /// Input as typed.
    pub input: Option<&'t str>,
    /// Output as typed.
    pub output: Option<&'t str>,
    /// Where the score is written at the end, if anywhere.
    pub musicxml: Option<&'t Path>,
    /// Which sound is kept, where that was typed.
    pub keep: Option<KeepSound>,
    /// Whose trade the record says it is.
    pub whose: TradePlayer,
}

/// A kind of chord, as a Roman numeral.
pub fn kind(typed: &str) -> Result<Numeral, Failure> {
    Numeral::parse(typed.trim()).map_err(|wrong| Failure::usage(wrong, "Name it as V, II, IIm7 or bVII7."))
}

impl TradeAsked {
    /// Plans which phrases are traded over which bars.
    pub fn plan(self, learner: &LearnerModel, goals: &Goals) -> Result<PlannedTrade, Failure> {
        let mut rng = Rng::new(self.seed);
        let mut draw = || rng.uniform();
        let used = learner.in_use();
        let keys = if self.open_key { used.keys_in_turn(&self.keys) } else { self.keys.clone() };
        let wish = TradeWish {
            form: &self.form,
            keys: &keys,
            bars: self.bars,
            way: self.way,
            on_every: self.on_every.as_ref(),
            choruses: self.choruses,
            tempo: self.wish.tempo,
            swing: self.wish.swing,
            range: self.who.range,
            rests: self.who.page.instrument.tires(),
        };
        let sought = self.free.then(|| Sought::named(&self.patterns)).transpose()?;
        let named = StockWish { named: &self.patterns, up_to: self.up_to };
        // A person who plays freely joins nothing, so no patterns are needed.
        let joined = (!self.free || self.simulated).then(|| stock(&named, &library()?, learner, goals)).transpose()?;
        let weak = used.weak_joins().into_iter().map(|(join, broke)| (WantedPiece::Join(join), broke.share()));
        let unused = used.never_used().map(|(pattern, _)| (WantedPiece::Pattern(pattern.clone()), NEVER_USED));
        let weak = weak.chain(unused);
        let (mut maker, made_of) = joined
            .map_or_else(Default::default, |(stock, made_of)| (Some(PhraseMaker::new(stock).wanting(weak)), made_of));
        let plan = match &mut maker {
            Some(maker) if !self.free => Trade::plan(&wish, maker, &mut draw).map_err(|none| refused(&none))?,
            maker => {
                let mut plan = Trade::free(&wish);
                maker.iter_mut().for_each(|maker| plan.improvise(&wish, maker, &mut draw));
                plan
            }
        };
        let minutes = plan.ends().0 / plan.tempo.0;
        if minutes > MOST_MINUTES {
            let what = format!("that lasts {minutes:.0} minutes");
            return Err(Failure::usage(what, format!("Ask for fewer --choruses: {MOST_MINUTES} minutes at most.")));
        }
        let drilled = sought.as_ref().map(|sought| DrilledPatterns::of(&sought.library, learner, goals));
        let drilled = drilled.unwrap_or_default();
        let Self { who, form, chart, wish, seed, open_key, .. } = self;
        let reasons = TradeReasons::new(used, open_key, files::today().day);
        Ok(PlannedTrade { who, form, chart, plan, wish, seed, made_of, reasons, sought, drilled })
    }
}

/// Why no phrase could be joined, and how to mend it.
fn refused(none: &NoPhrase) -> Failure {
    let mend = match none {
        NoPhrase::Silent => "Write chords into the chart: \"| Dm7 | G7 | Cmaj7 | % |\".",
        NoPhrase::NoPattern { .. } => {
            "Name patterns for these chords with --patterns, or take --up-to 3 of the library."
        }
        NoPhrase::OutOfRange { .. } => "Widen --range, or take shorter patterns: earfirst patterns list --longest 5.",
        NoPhrase::NoSuchChord { .. } => "earfirst charts show NAME tells its chords as Roman numerals.",
        NoPhrase::NoRoom { .. } => "Take shorter patterns, more --bars or a wider --range.",
        NoPhrase::NoSeam => {
            "Name more patterns with --patterns, ask for more --bars or a wider --range, or take --up-to 3 of the library."
        }
    };
    Failure::usage(none, mend)
}

impl PlannedTrade {
    /// Says form, phrases, tempo and seed.
    pub fn tell(&self) -> Result<(), Failure> {
        let what = match self.free_rounds() {
            0 => format!("{} made of {}", counted(self.plan.exchanges().count(), "phrase"), self.made_of),
            choruses => format!("{}, nothing judged", counted(choruses, "free chorus")),
        };
        let (name, tempo, seed) = (&self.form.name, self.plan.tempo.0, self.seed);
        // Blanks that do not break keep a number with its word.
        let told = format!("{name} · {what} · quarter\u{a0}=\u{a0}{tempo:.0} · seed\u{a0}{seed}");
        let lines = wrapped(&told, COLUMNS, "", "  ").into_iter();
        lines.map(|line| line.replace('\u{a0}', " ")).try_for_each(say)?;
        let first = self.plan.rounds.first().and_then(|round| self.reasons.of_key(round.key, &self.who.page));
        first.filter(|_| !self.plan.is_free()).map_or(Ok(()), say)
    }

    /// Number of free choruses.
    fn free_rounds(&self) -> usize {
        self.plan.rounds.iter().filter(|round| round.free.is_some()).count()
    }

    /// Says every phrase in notes, and why it was made, where that is known.
    pub fn show(&self) -> Result<(), Failure> {
        let page = &self.who.page;
        let phrases = self.plan.exchanges().flat_map(|exchange| {
            let why = self.reasons.of_join(exchange, page);
            traded::shown(exchange, page).into_iter().chain(why.into_iter().flat_map(|why| traded::because(&why)))
        });
        phrases.into_iter().try_for_each(say)
    }

    /// How long the trade lasts.
    pub fn length(&self) -> Seconds {
        self.plan.tempo.lasting(self.plan.ends())
    }

    /// The whole sound of the trade.
    pub fn sound(&self, rate: SampleRate) -> CueSound {
        self.sound_of(&self.plan, rate)
    }

    /// The sound of a trade over the same form, with the same band.
    fn sound_of(&self, plan: &Trade, rate: SampleRate) -> CueSound {
        let mut rng = Rng::new(self.seed);
        let made = trade::sound(plan, &BandWish { rate, ..self.wish }, move || rng.uniform());
        made.unwrap_or_else(|| CueSound {
            clip: Clip::silence(rate, Seconds(0.1)).into(),
            end: Seconds(0.1),
            beat_zero: None,
            beats: Vec::new(),
            clicks: Vec::new(),
            notes: Vec::new(),
        })
    }

    /// Plays the trade, and keeps a record of it.
    pub fn play(&self, stage: &TradeStage<'_>, stored: &UserSettings, places: &Places) -> Result<(), Failure> {
        record_words::finish_what_was_left(places);
        let record = |source: TradeSource| {
            let keep = source.played_by().keeps(stage.keep, stored);
            let keep = if self.plan.is_free() { KeepSound::None } else { keep };
            TradeRecord::begin(self, &stage.whose, source, keep, stored, places)
        };
        let instrument = &self.who.page.instrument;
        if let Some(fast) = stage.simulated {
            let (player, rate) = (engine::simulated_player(instrument, self.seed), SampleRate::DEVICE);
            let audio = SimulatedAudio::new(player, rate, self.who.a4, self.seed, fast);
            let ear = engine::ear_settings(rate, self.who.a4, Some(instrument));
            let mut rig = Listener::new(ear, Echo::new(rate), audio).keeping_no_sound().keeping_input();
            let source = TradeSource { rate, delay: Some(Seconds(0.0)), simulated: true, by_midi: false };
            return self.played(stage, &mut rig, source, record(source));
        }
        let none = |why| Failure::device(why, "earfirst devices lists what is there; --simulated needs no device.");
        let midi = midi(stage.input, stored);
        match &midi {
            // It is said before the sound libraries are kept quiet.
            Some(midi) => {
                let told = [unbent(midi.line.bend, instrument), too_few_keys(midi.line, &self.who)];
                told.into_iter().flatten().for_each(warn);
            }
            None if stored.headphones() => {}
            None => {
                say("The band is taken out of what your microphone hears: play louder than it, or wear headphones.")?
            }
        }
        let _quiet = engine::quiet();
        if let Some(mut midi) = midi {
            midi.line = tuned(midi.line, instrument);
            let (mut rig, _) = rig::keys(&midi, stage.output, stored, self.who.a4).map_err(none)?;
            let (rate, delay) = (SampleRate::DEVICE, Some(midi.delay));
            let source = TradeSource { rate, delay, simulated: false, by_midi: true };
            return self.played(stage, &mut *rig, source, record(source));
        }
        let OpenPair { audio, rate, delay, .. } = rig::pair(stage.input, stage.output, stored).map_err(none)?;
        say_later()?;
        let ear = engine::ear_settings(rate, self.who.a4, Some(instrument));
        let mut rig = Listener::new(ear, Echo::new(rate), audio).keeping_no_sound().keeping_input();
        let source = TradeSource { rate, delay, simulated: false, by_midi: false };
        self.played(stage, &mut rig, source, record(source))
    }

    fn played(
        &self,
        stage: &TradeStage<'_>,
        rig: &mut dyn Rig,
        source: TradeSource,
        mut record: TradeRecord,
    ) -> Result<(), Failure> {
        let mut shown = TradeShown::begin(self, source.delay, !source.by_midi, stage.plain)?;
        let made = |plan: &Trade, rate| self.sound_of(plan, rate);
        let intonation = self.who.page.instrument.intonation;
        let mut played = Vec::new();
        let ended = engine::trade(rig, &self.plan, &made, (source.delay, intonation), &mut |moment| {
            match &moment {
                Some(TradeMoment::Judged(round, answers) | TradeMoment::BrokenOff(round, answers)) => {
                    record.enter(*round, answers, self);
                    played.push((*round, answers.clone()));
                }
                Some(TradeMoment::LeadIn(round, place)) => record.run(*round, *place),
                Some(TradeMoment::Played(round, chorus)) => record.enter_free(self, *round, chorus),
                Some(TradeMoment::Silent(_, at)) => record.pause(*at),
                Some(TradeMoment::Again(at)) => record.go_on(*at),
                _ => {}
            }
            if let Some(TradeMoment::Sound(stretch)) = moment {
                record.hear(stretch);
                return true;
            }
            shown.goes_on(moment)
        });
        let shown = shown.end();
        let kept = record.end(rig.dropped());
        shown.and(kept)?;
        if let Some(to) = stage.musicxml.filter(|_| !played.is_empty()) {
            trade_score::of_played(to, self, &played)?;
        }
        Ok(ended?)
    }
}
