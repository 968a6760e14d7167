//! A trade out of its record: its plan and its sound made once more.

use std::collections::BTreeMap;

use crate::backing::BandWish;
use crate::chart::{ChordChart, NamedChart};
use crate::coach::Rng;
use crate::cue::CueSound;
use crate::music::{Range, instrument};
use crate::session::{BandMark, BandRecord, Began, RecordedSound, Session, Trial};
use crate::sound::Placement;
use crate::trade::{self, PhraseAgain, SOUND_VERSION, Trade, TradeWish};
use crate::units::{SampleRate, Tempo};

/// A trade whose form and phrases are in its record.
pub struct RecordedTrade<'s> {
    session: &'s Session,
    began: &'s Began,
    mark: &'s BandMark,
    tempo: Tempo,
    bars: u32,
    form: NamedChart,
}

/// From one lead-in to where the band stopped.
pub struct RecordedRun<'s> {
    /// The plan from that lead-in on; choruses of which nothing is recorded have no phrases.
    pub plan: Trade,
    /// Where the first beat of the lead-in lies on the clock of what was heard.
    pub place: Placement,
    /// The choruses that are recorded.
    pub choruses: Vec<&'s BandRecord>,
}

impl<'s> RecordedTrade<'s> {
    /// The trade of a sitting; `None` for a drill, for free choruses, and where an older program recorded no form.
    pub fn of(session: &'s Session) -> Option<Self> {
        let began = &session.began;
        let trade = began.trade.as_ref()?;
        let mark = trade.band.as_ref().filter(|_| trade.free.is_none())?;
        let form = NamedChart {
            id: trade.chart.clone(),
            name: trade.chart.clone(),
            tempo: trade.tempo,
            swing: mark.swing,
            cycle: None,
            chart: ChordChart::parse(&mark.form).ok()?,
            source: String::new(),
        };
        Some(Self { session, began, mark, tempo: trade.tempo, bars: trade.bars, form })
    }

    /// The form, in the key of its first chorus.
    pub const fn form(&self) -> &NamedChart {
        &self.form
    }

    /// Whether band and phrases still sound as they did.
    pub const fn sounds_the_same(&self) -> bool {
        self.mark.sounds == SOUND_VERSION
    }

    /// The phrase that was asked under this number, with its answer.
    pub fn trial(&self, cue: u32) -> Option<&'s Trial> {
        self.session.traded.iter().find(|trial| trial.cue.number == cue)
    }

    /// What was played, from one lead-in after another.
    pub fn runs(&self) -> Vec<RecordedRun<'s>> {
        let begun = |one: &&BandRecord, other: &&BandRecord| (one.from, one.lead_in) == (other.from, other.lead_in);
        let choruses: Vec<&BandRecord> = self.session.band.iter().collect();
        choruses.chunk_by(begun).filter_map(|choruses| self.run(choruses)).collect()
    }

    fn run(&self, choruses: &[&'s BandRecord]) -> Option<RecordedRun<'s>> {
        let first = choruses.first()?;
        let from = first.from.checked_sub(1)? as usize;
        let mut phrases: BTreeMap<usize, Vec<PhraseAgain>> = BTreeMap::new();
        for chorus in choruses {
            let of_chorus = chorus.phrases.iter().filter_map(|phrase| {
                let cue = self.trial(phrase.cue)?.cue.clone();
                Some(PhraseAgain { cue, first_bar: phrase.first_bar, line: phrase.line.clone() })
            });
            phrases.entry(chorus.chorus.checked_sub(1)? as usize).or_default().extend(of_chorus);
        }
        let range = instrument(&self.began.instrument).ok()?.advanced;
        let plan = Trade::recorded(&self.wish(range), &self.mark.keys, &phrases);
        let place = Placement { from: first.lead_in, faster: first.faster };
        (from < plan.rounds.len()).then(|| RecordedRun {
            plan: plan.again_from(from),
            place,
            choruses: choruses.to_vec(),
        })
    }

    fn wish(&self, range: Range) -> TradeWish<'_> {
        TradeWish {
            form: &self.form,
            keys: &self.mark.keys,
            bars: self.bars,
            way: self.mark.way,
            on_every: None,
            choruses: u32::try_from(self.mark.keys.len()).unwrap_or(u32::MAX),
            tempo: self.tempo,
            swing: self.mark.swing,
            range,
            rests: false,
        }
    }

    /// The sound of a run at a rate: band and phrases.
    pub fn sound(&self, run: &RecordedRun<'_>, rate: SampleRate) -> Option<CueSound> {
        let BandMark { swing, bass, chords, pulse, level, .. } = *self.mark;
        let (tempo, a4) = (self.tempo, self.began.a4);
        let wish = BandWish { tempo, swing, bass, chords, pulse, choruses: None, level, a4, rate };
        let mut rng = Rng::new(self.began.seed);
        trade::sound(&run.plan, &wish, move || rng.uniform())
    }
}

impl RecordedRun<'_> {
    /// The sound that was kept of the run, from before its lead-in on, as far as it follows without a hole.
    pub fn kept(&self) -> Vec<RecordedSound> {
        let mut kept: Vec<RecordedSound> = Vec::new();
        for sound in self.choruses.iter().filter_map(|chorus| chorus.sound) {
            let follows = match kept.last() {
                Some(before) => before.first + before.count == sound.first,
                None => sound.from.0 < self.place.from.0,
            };
            if !follows {
                break;
            }
            kept.push(sound);
        }
        kept
    }
}
