//! Any second task, any number that was given, any turn that was sung or fingered, any free chorus, any part of a phrase and any reason
//! for which one comes back.

use arbtest::arbitrary::{Result, Unstructured};
use earfirst::outside::backing::{BassLine, TimeKeeping};
use earfirst::outside::coach::{CameOut, Reason, SparedTurn};
use earfirst::outside::cue::{JoinedPart, SecondTask, SoftTap, TapSound};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::pattern::{PatternId, Seam};
use earfirst::outside::session::{
    BandMark, BandRecord, ChorusRecord, CountedTaps, Event, RecordedPhrase, RecordedSound, SparedRecord,
};
use earfirst::outside::trade::TradeWay;
use earfirst::outside::units::{Beats, Decibels, Seconds};
use earfirst::outside::verdict::VariedAs;

use crate::records::made::{any_note, number, seconds, three_notes};

pub(super) fn second_task(u: &mut Unstructured) -> Result<SecondTask> {
    let sound = |u: &mut Unstructured| u.choose(&[TapSound::Wood, TapSound::Brush]).copied();
    let tap = |u: &mut Unstructured| Ok(SoftTap { at: Beats(number(u, 16.0)?), sound: sound(u)? });
    Ok(SecondTask { block: u.arbitrary()?, counted: some(u, sound)?, taps: many(u, tap)? })
}

/// Draws an event that stands beside cues, answers and verdicts.
pub(super) fn event(u: &mut Unstructured) -> Result<Event> {
    Ok(match u.int_in_range(0..=3)? {
        3 => Event::Band(band(u)?),
        0 => Event::Spared(spared(u)?),
        1 => Event::FreeChorus(free_chorus(u)?),
        _ => Event::Counted(counted(u)?),
    })
}

fn counted(u: &mut Unstructured) -> Result<CountedTaps> {
    let said = some(u, |u| u.arbitrary())?;
    Ok(CountedTaps { at: seconds(u)?, block: u.arbitrary()?, sounded: u.arbitrary()?, said })
}

fn spared(u: &mut Unstructured) -> Result<SparedRecord> {
    let turn = *u.choose(&[SparedTurn::Sing, SparedTurn::Finger])?;
    let (pattern, key) = (PatternId("one".to_owned()), *u.choose(&ConcertKey::FIFTHS)?);
    Ok(SparedRecord { at: seconds(u)?, turn, pattern, key, left: u.arbitrary()? })
}

fn free_chorus(u: &mut Unstructured) -> Result<ChorusRecord> {
    let (at, begins) = (seconds(u)?, seconds(u)?);
    let ends = begins + Seconds(1.0 + number(u, 400.0)?.abs());
    let key = *u.choose(&ConcertKey::FIFTHS)?;
    Ok(ChorusRecord {
        at,
        chorus: u.arbitrary()?,
        key,
        begins,
        ends,
        heard: many(u, any_note)?,
        drilled: many(u, came_out)?,
    })
}

fn band(u: &mut Unstructured) -> Result<BandRecord> {
    let begins = seconds(u)?;
    let ends = begins + Seconds(1.0 + number(u, 400.0)?.abs());
    Ok(BandRecord {
        at: seconds(u)?,
        chorus: u.arbitrary()?,
        from: u.arbitrary()?,
        lead_in: seconds(u)?,
        faster: 1.0 + 1e-4 * number(u, 1.0)?,
        begins,
        ends,
        phrases: many(u, phrase)?,
        sound: some(u, heard_sound)?,
    })
}

fn phrase(u: &mut Unstructured) -> Result<RecordedPhrase> {
    Ok(RecordedPhrase { cue: u.arbitrary()?, first_bar: u.arbitrary()?, line: three_notes(60) })
}

fn heard_sound(u: &mut Unstructured) -> Result<RecordedSound> {
    let [first, count] = [u.int_in_range(0..=1 << 40)?, u.int_in_range(0..=1 << 40)?];
    Ok(RecordedSound { first, count, from: seconds(u)?, until: seconds(u)? })
}

/// What the band of a trade plays.
pub(super) fn band_mark(u: &mut Unstructured) -> Result<BandMark> {
    Ok(BandMark {
        form: "| Dm7 | G7 |".to_owned(),
        keys: many(u, |u| u.choose(&ConcertKey::FIFTHS).copied())?,
        way: *u.choose(&[TradeWay::Answer, TradeWay::Finish, TradeWay::Vary])?,
        swing: u.arbitrary()?,
        bass: some(u, |u| u.choose(&[BassLine::Walking, BassLine::RootAndFifth]).copied())?,
        chords: u.arbitrary()?,
        pulse: some(u, |u| u.choose(&[TimeKeeping::Brush, TimeKeeping::Click]).copied())?,
        level: Decibels(number(u, 100.0)?),
        sounds: u.arbitrary()?,
    })
}

fn came_out(u: &mut Unstructured) -> Result<CameOut> {
    let pattern = PatternId((*u.choose(&["arch", "run"])?).to_owned());
    let key = |u: &mut Unstructured| u.choose(&ConcertKey::FIFTHS).copied();
    let (title, since, held) = ("A title".to_owned(), u.int_in_range(-4000..=40_000)?, u.int_in_range(0..=12)?);
    Ok(CameOut { pattern, title, since, held, keys: many(u, key)?, broke: many(u, key)? })
}

pub(super) fn some<T>(u: &mut Unstructured, make: impl FnOnce(&mut Unstructured) -> Result<T>) -> Result<Option<T>> {
    if u.arbitrary()? { make(u).map(Some) } else { Ok(None) }
}

pub(super) fn many<T>(u: &mut Unstructured, make: impl Fn(&mut Unstructured) -> Result<T>) -> Result<Vec<T>> {
    (0..u.int_in_range(0..=5)?).map(|_| make(u)).collect()
}

/// A part of a phrase.
pub(super) fn part(u: &mut Unstructured) -> Result<JoinedPart> {
    let (first, longer) = (u.int_in_range(0..=40)?, u.int_in_range(0..=12)?);
    let seam = some(u, |u| u.choose(&[Seam::HalfStep, Seam::Step, Seam::Shared]).copied())?;
    let (pattern, key) = (PatternId("arch".to_owned()), *u.choose(&ConcertKey::FIFTHS)?);
    Ok(JoinedPart { pattern, title: "an arch".to_owned(), key, first, last: first + longer, seam })
}

/// A reason for which something that broke comes back.
pub(super) fn weak(u: &mut Unstructured) -> Result<Reason> {
    let (broke, tries, days) = (u.arbitrary()?, u.arbitrary()?, u.int_in_range(-3..=4000)?);
    if u.arbitrary()? {
        return Ok(Reason::NeverUsed { held: broke, choruses: tries });
    }
    let join = u.arbitrary()?;
    Ok(if join { Reason::WeakJoin { broke, tries, days } } else { Reason::WeakKey { broke, tries, days } })
}

pub(super) fn varied(u: &mut Unstructured) -> Result<VariedAs> {
    u.choose(&[VariedAs::Rhythm, VariedAs::Shape, VariedAs::Repeated, VariedAs::Neither]).copied()
}
