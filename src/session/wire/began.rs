use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::coach::{Goals, OutOfRange};
use crate::music::{NoteNames, Reading, ReflexUnit};
use crate::pattern::PatternId;
use crate::session::read::{DRILLS, TRADES};
use crate::session::wire::WireError;
use crate::session::wire::band::WireBandMark;
use crate::session::wire::bounds::{self, REFERENCE, SECONDS, TEMPO};
use crate::session::wire::words::{WireLevel, WireNames, WireReflexUnit};
use crate::session::{BandMark, Began, FORMAT, LessonMark, NamedPlayer, PlayerId, TradeMark};
use crate::units::{Hertz, SampleRate, Seconds, Tempo};

/// Who played.
#[derive(Serialize, Deserialize)]
struct WirePlayer {
    id: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    name: String,
}

impl From<&NamedPlayer> for WirePlayer {
    fn from(player: &NamedPlayer) -> Self {
        Self { id: player.id.to_string(), name: bounds::put_text(&player.name) }
    }
}

impl TryFrom<WirePlayer> for NamedPlayer {
    type Error = WireError;
    fn try_from(wire: WirePlayer) -> Result<Self, WireError> {
        let id = PlayerId::from_hex(&wire.id);
        let id = id.ok_or_else(|| WireError("a player's id that is not 32 hexadecimal digits".to_owned()))?;
        Ok(Self { id, name: bounds::take_text(wire.name)? })
    }
}

/// The header.
#[derive(Serialize, Deserialize)]
pub(super) struct WireBegan {
    format: u32,
    program: String,
    started: String,
    day: i32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    player: Option<WirePlayer>,
    instrument: String,
    a4_hz: f64,
    /// Written as a text of digits, since many readers of JSON hold no whole number above 2^53 exactly.
    seed: String,
    patterns: Vec<String>,
    concert_keys: Vec<String>,
    /// For each pattern, the concert keys in which it does not fit.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    unfit: BTreeMap<String, Vec<String>>,
    goal_quarter_per_minute: f64,
    goal_reflex_s: f64,
    sound_rate_hz: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    delay_s: Option<f64>,
    simulated: bool,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    by_midi: bool,
    keeps_sound: bool,
    #[serde(default)]
    one_by_one: bool,
    #[serde(default)]
    reads_g_flat: bool,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    reads_concert: bool,
    /// Left out where note names are English.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    note_names: Option<WireNames>,
    /// Left out where reflex times are shown in seconds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    reflex_unit: Option<WireReflexUnit>,
    #[serde(default, skip_serializing_if = "WireLevel::is_usual")]
    level: WireLevel,
    /// Version of the ear; left out in records of the first ear.
    #[serde(default = "first_ear")]
    ear: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    lesson: Option<WireLesson>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    trade: Option<WireTrade>,
    /// Left out where no taps sound beside the answers, as in all records before format 3.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    second_task: bool,
}

/// The chart that was traded or freely played over.
#[derive(Serialize, Deserialize)]
struct WireTrade {
    chart: String,
    quarter_per_minute: f64,
    bars: u32,
    choruses: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    free: Option<String>,
    /// Left out of free choruses, and of records from before the band was recorded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    band: Option<WireBandMark>,
}

impl From<&TradeMark> for WireTrade {
    fn from(trade: &TradeMark) -> Self {
        let TradeMark { chart, tempo, bars, choruses, free, band } = trade;
        let (quarter_per_minute, free) = (TEMPO.put(tempo.0), free.as_deref().map(bounds::put_text));
        let (chart, band) = (bounds::put_text(chart), band.as_ref().map(WireBandMark::from));
        Self { chart, quarter_per_minute, bars: *bars, choruses: *choruses, free, band }
    }
}

impl TryFrom<WireTrade> for TradeMark {
    type Error = WireError;
    fn try_from(wire: WireTrade) -> Result<Self, WireError> {
        let WireTrade { chart, quarter_per_minute, bars, choruses, free, band } = wire;
        let tempo = Tempo(TEMPO.take(quarter_per_minute)?);
        let free = free.map(bounds::take_text).transpose()?;
        let band = band.map(BandMark::try_from).transpose()?;
        Ok(Self { chart: bounds::take_text(chart)?, tempo, bars, choruses, free, band })
    }
}

/// The ear of a record that names none.
const fn first_ear() -> u32 {
    1
}

/// The lesson that was practised.
#[derive(Serialize, Deserialize)]
struct WireLesson {
    name: String,
    sha256: String,
    days: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    by: Option<String>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    trial: bool,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    charts: Vec<String>,
}

impl From<&LessonMark> for WireLesson {
    fn from(lesson: &LessonMark) -> Self {
        let LessonMark { name, sha256, days, by, trial, charts } = lesson;
        let by = by.as_deref().map(bounds::put_text);
        let charts = charts.iter().take(bounds::CHARTS).map(|chart| bounds::put_text(chart)).collect();
        Self { name: bounds::put_text(name), sha256: bounds::put_text(sha256), days: *days, by, trial: *trial, charts }
    }
}

impl TryFrom<WireLesson> for LessonMark {
    type Error = WireError;
    fn try_from(wire: WireLesson) -> Result<Self, WireError> {
        let WireLesson { name, sha256, days, by, trial, charts } = wire;
        let by = by.map(bounds::take_text).transpose()?;
        let charts = bounds::list(charts, bounds::CHARTS)?.into_iter().map(bounds::take_text);
        let charts = charts.collect::<Result<_, _>>()?;
        Ok(Self { name: bounds::take_text(name)?, sha256: bounds::take_text(sha256)?, days, by, trial, charts })
    }
}

/// The keys in which each pattern does not fit.
fn out_of_range(wire: BTreeMap<String, Vec<String>>) -> Result<OutOfRange, WireError> {
    let mut pairs = Vec::new();
    for (pattern, keys) in bounds::list(wire.into_iter().collect(), bounds::PATTERNS)? {
        let pattern = PatternId(bounds::take_text(pattern)?);
        for name in bounds::list(keys, 12)? {
            pairs.push((pattern.clone(), bounds::key(&name)?));
        }
    }
    Ok(pairs.into_iter().collect())
}

impl From<&Began> for WireBegan {
    fn from(began: &Began) -> Self {
        Self {
            // Each kind of sitting is written in the oldest format that knows it, so that older programs read on.
            format: match &began.trade {
                Some(TradeMark { free: Some(_), .. }) => FORMAT,
                Some(_) => TRADES,
                None => {
                    if began.second_task {
                        TRADES
                    } else {
                        DRILLS
                    }
                }
            },
            program: concat!("earfirst ", env!("CARGO_PKG_VERSION")).to_owned(),
            started: bounds::put_text(&began.started),
            day: began.day.clamp(-bounds::DAYS, bounds::DAYS),
            player: began.player.as_ref().map(WirePlayer::from),
            instrument: bounds::put_text(&began.instrument),
            a4_hz: REFERENCE.put(began.a4.0),
            seed: began.seed.to_string(),
            patterns: began.patterns.iter().take(bounds::PATTERNS).map(|id| bounds::put_text(&id.0)).collect(),
            concert_keys: bounds::names(began.keys.iter().take(12)),
            unfit: (began.out_of_range.iter().take(bounds::PATTERNS))
                .map(|(pattern, keys)| (bounds::put_text(&pattern.0), bounds::names(keys)))
                .collect(),
            goal_quarter_per_minute: TEMPO.put(began.goals.tempo.0),
            goal_reflex_s: SECONDS.put(began.goals.reflex.0),
            sound_rate_hz: began.rate.hz(),
            delay_s: SECONDS.put_some(began.delay.map(|d| d.0)),
            simulated: began.simulated,
            by_midi: began.by_midi,
            keeps_sound: began.keeps_sound,
            one_by_one: began.one_by_one,
            reads_g_flat: began.reading.g_flat,
            reads_concert: began.reading.concert,
            note_names: Some(began.reading.names).filter(|it| *it != NoteNames::default()).map(Into::into),
            reflex_unit: Some(began.reading.reflex).filter(|it| *it != ReflexUnit::default()).map(Into::into),
            level: began.level.into(),
            ear: began.ear,
            lesson: began.lesson.as_ref().map(WireLesson::from),
            trade: began.trade.as_ref().map(WireTrade::from),
            second_task: began.second_task,
        }
    }
}

impl TryFrom<WireBegan> for Began {
    type Error = WireError;
    fn try_from(wire: WireBegan) -> Result<Self, WireError> {
        if wire.format == 0 || wire.format > FORMAT {
            let (theirs, ours) = (wire.format, FORMAT);
            return Err(WireError(format!("format {theirs}; this earfirst reads up to {ours}: a newer one is needed")));
        }
        let patterns = bounds::list(wire.patterns, bounds::PATTERNS)?;
        let keys = bounds::list(wire.concert_keys, 12)?;
        Ok(Self {
            started: bounds::take_time(wire.started)?,
            day: bounds::whole(wire.day, bounds::DAYS)?,
            player: wire.player.map(NamedPlayer::try_from).transpose()?,
            instrument: bounds::take_text(wire.instrument)?,
            a4: Hertz(REFERENCE.take(wire.a4_hz)?),
            seed: wire.seed.parse().map_err(|_| WireError("the seed is not a whole number".to_owned()))?,
            patterns: patterns
                .into_iter()
                .map(|id| Ok(PatternId(bounds::take_text(id)?)))
                .collect::<Result<_, WireError>>()?,
            keys: keys.iter().map(|name| bounds::key(name)).collect::<Result<_, _>>()?,
            out_of_range: out_of_range(wire.unfit)?,
            goals: Goals {
                tempo: Tempo(TEMPO.take(wire.goal_quarter_per_minute)?),
                reflex: Seconds(SECONDS.take(wire.goal_reflex_s)?),
            },
            rate: SampleRate::new(wire.sound_rate_hz).ok_or_else(|| WireError("a rate of 0 Hz".to_owned()))?,
            delay: SECONDS.take_some(wire.delay_s)?.map(Seconds),
            simulated: wire.simulated,
            by_midi: wire.by_midi,
            keeps_sound: wire.keeps_sound,
            one_by_one: wire.one_by_one,
            reading: Reading {
                concert: wire.reads_concert,
                g_flat: wire.reads_g_flat,
                names: wire.note_names.map(Into::into).unwrap_or_default(),
                reflex: wire.reflex_unit.map(Into::into).unwrap_or_default(),
            },
            level: wire.level.into(),
            ear: wire.ear,
            lesson: wire.lesson.map(LessonMark::try_from).transpose()?,
            trade: wire.trade.map(TradeMark::try_from).transpose()?,
            second_task: wire.second_task,
        })
    }
}
