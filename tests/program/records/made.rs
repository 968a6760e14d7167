//! Sittings for the tests: a small one that can be read, and as many random ones as a test draws.

use arbtest::arbitrary::{Result, Unstructured};
use earfirst::outside::coach::{ApartStage, Goals, OutOfRange, Reason};
use earfirst::outside::cue::{Cue, Form, Timing};
use earfirst::outside::music::{
    Concert, ConcertKey, HalfSteps, Mode, NamedBy, NoteNames, Reading, ReflexUnit, Spelling,
};
use earfirst::outside::notes::HeardNote;
use earfirst::outside::pattern::{ExpectedNote, Line, Meter, PatternId, Register};
use earfirst::outside::session::{
    AnswerRecord, Began, Comment, Ended, Event, Judgement, NamedPlayer, PauseCause, PlayerId,
};
use earfirst::outside::units::{Beats, Cents, Decibels, Hertz, Midi, SampleRate, Seconds, Tempo};
use earfirst::outside::verdict::{
    Astray, Hesitation, NoteLabel, NoteVerdict, PlayedLabel, Reflex, RhythmNote, TempoStep, TimeOrigin, Untimed,
    Verdict,
};

use crate::asking;
use crate::records::beside::{self, many, some};

/// The header of the small sitting: a trumpet, on the evening of 25 November 2026.
pub fn began() -> Began {
    Began {
        started: "2026-11-25T18:30:00+01:00".to_owned(),
        day: 20_782,
        player: None,
        instrument: "trumpet".to_owned(),
        a4: Hertz(440.0),
        seed: u64::MAX,
        patterns: vec![PatternId("five-notes-up".to_owned())],
        keys: ConcertKey::FIFTHS.to_vec(),
        out_of_range: OutOfRange::default(),
        goals: Goals { tempo: Tempo(126.0), reflex: Seconds(0.8) },
        rate: SampleRate::DEVICE,
        delay: Some(Seconds(0.0213)),
        simulated: true,
        by_midi: false,
        keeps_sound: true,
        one_by_one: false,
        reading: Reading::default(),
        level: earfirst::outside::music::Level::Student,
        ear: 2,
        lesson: None,
        trade: None,
        second_task: false,
    }
}

/// The line 1 2 3 in eighths on `root`.
pub fn three_notes(root: i32) -> Line {
    let note = |n: usize, up: i32| ExpectedNote {
        pitch: Concert(root + up),
        at: Beats(n as f64 * 0.5),
        length: Beats(0.5),
        named: None,
    };
    Line { notes: vec![note(0, 0), note(1, 2), note(2, 4)], length: Beats(2.0) }
}

/// Cue `number` in the key that stands `number` places round the circle of fifths.
pub fn cue(number: u32) -> Cue {
    let key = ConcertKey::FIFTHS[number as usize % 12];
    Cue {
        number,
        pattern: PatternId("five-notes-up".to_owned()),
        title: "First three notes up".to_owned(),
        key,
        line: three_notes(58 + key.0.get()),
        chord: vec![Concert(58), Concert(62), Concert(65)],
        ..asking::cue(&[58], 96.0, Form::FirstNote, Timing::Free)
    }
}

/// The answer to [`cue`]`(number)`: all notes right, half a second after its end.
pub fn answer(number: u32) -> AnswerRecord {
    let end = f64::from(number) * 6.0 + 2.0;
    let heard = cue(number).line.notes.into_iter().enumerate().map(|(n, note)| {
        let onset = end + 0.5 + n as f64 * 0.3125;
        HeardNote {
            number: number * 3 + n as u32,
            onset: Seconds(onset),
            release: Seconds(onset + 0.29),
            pitch: Midi(note.pitch.midi().0 + 0.071),
            spread: Some(Cents(2.125)),
            loudness: Decibels(-18.5),
            confidence: 0.93,
            announced: Seconds(onset + 0.051),
            announced_pitch: note.pitch.midi(),
        }
    });
    AnswerRecord {
        at: Seconds(end + 2.0),
        cue: number,
        clock: TimeOrigin::Free { cue_end: Seconds(end) },
        heard: heard.collect(),
        sound: Some((u64::from(number - 1) * 480, 480)),
    }
}

/// The verdict on that answer.
pub fn judgement(number: u32) -> Judgement {
    let note = |n: usize| NoteVerdict {
        label: NoteLabel::Right,
        heard: Some(n),
        cents: Some(Cents(0.1 + 0.2)),
        off_pulse: Some(Seconds(-0.004)),
    };
    let verdict = Verdict {
        related: true,
        shift: HalfSteps(0),
        attempts: 1,
        expected: (0..3).map(note).collect(),
        played: vec![PlayedLabel::Note; 3],
        right: 3,
        of: 3,
        extra: 0,
        enough_in_format_1: true,
        reflex: Some(Reflex { time: Seconds(0.4787), jumped: false, counted: true }),
        late: None,
        pace: None,
        evenness: Some(1.5),
        swing: None,
        rhythm: Vec::new(),
        stood: Vec::new(),
        twice: Vec::new(),
        untimed: None,
        begun: None,
        scatter: None,
        astray: None,
        centre: Some(Cents(7.1)),
        spread: Some(Cents(0.0)),
    };
    Judgement {
        at: answer(number).at,
        cue: number,
        verdict,
        sentence: "All there, after half a second.".to_owned(),
        step: Some(TempoStep::Up),
        varied: None,
    }
}

/// The small sitting with `cues` cues, all answered.
pub fn sitting(cues: u32) -> Vec<Event> {
    let mut events = vec![Event::Began(began())];
    for number in 1..=cues {
        let reason = if number == 1 { Reason::Opening { days: None } } else { Reason::Guard { cues: 11 } };
        events.push(Event::Cued { at: Seconds(f64::from(number) * 6.0), cue: cue(number), reason });
        events.push(Event::Answered(answer(number)));
        events.push(Event::Judged(judgement(number)));
    }
    let last = Seconds(f64::from(cues) * 6.0 + 5.0);
    events.push(Event::Paused { at: last, cause: PauseCause::Silence });
    events.push(Event::Resumed { at: last + Seconds(30.0) });
    events.push(Event::Ended(Ended { at: last + Seconds(31.0), sounding: Seconds(2.61), dropped: 0 }));
    events
}

/// The bytes of a record with these events, a line for each.
pub fn file(events: &[Event]) -> Vec<u8> {
    events.iter().map(earfirst::outside::session::write_line).collect::<String>().into_bytes()
}

/// Draws a number from `-limit` to `limit`.
pub(super) fn number(u: &mut Unstructured, limit: f64) -> Result<f64> {
    Ok((f64::from(u.arbitrary::<u32>()?) / f64::from(u32::MAX) * 2.0 - 1.0) * limit / 3.0 * 3.0)
}

pub(super) fn seconds(u: &mut Unstructured) -> Result<Seconds> {
    Ok(Seconds(number(u, 7000.0)?))
}

fn text(u: &mut Unstructured) -> Result<String> {
    let signs = ["a", "Eb", " ", "\"", "\\", "é", "♭", "{", ",", "7"];
    Ok(many(u, |u| u.choose(&signs).copied())?.concat())
}

fn tempo(u: &mut Unstructured) -> Result<Tempo> {
    Ok(Tempo(number(u, 150.0)?.abs() + 30.0))
}

fn key(u: &mut Unstructured) -> Result<ConcertKey> {
    u.choose(&ConcertKey::FIFTHS).copied()
}

fn any_cue(u: &mut Unstructured) -> Result<Cue> {
    let note = |u: &mut Unstructured| {
        let pitch = Concert(u.int_in_range(21..=108)?);
        let named =
            |u: &mut Unstructured| Ok(NamedBy { letters: u.int_in_range(-30..=30)?, over: u.int_in_range(-15..=15)? });
        let named_by = some(u, named)?;
        Ok(ExpectedNote { pitch, at: Beats(number(u, 16.0)?), length: Beats(number(u, 4.0)?), named: named_by })
    };
    let mut notes = many(u, note)?;
    notes.push(note(u)?);
    Ok(Cue {
        number: u.arbitrary()?,
        pattern: PatternId(text(u)?),
        title: text(u)?,
        key: key(u)?,
        spelling: Spelling { mode: *u.choose(&Mode::ALL)?, chromatic: u.arbitrary()? },
        register: *u.choose(&[Register::Low, Register::Middle, Register::High])?,
        form: *u.choose(&Form::ALL)?,
        timing: *u.choose(&[Timing::InTempo, Timing::Free])?,
        tempo: tempo(u)?,
        meter: u.choose(&Meter::NAMES)?.1,
        line: Line { notes, length: Beats(number(u, 16.0)?) },
        chord: many(u, |u| Ok(Concert(u.int_in_range(21..=108)?)))?,
        click: u.arbitrary()?,
        repeat: u.arbitrary()?,
        warning: some(u, |u| u.int_in_range(0..=4))?,
        round: some(u, |u| u.arbitrary())?,
        by_ear: u.arbitrary()?,
        second_task: some(u, beside::second_task)?,
        joined: many(u, beside::part)?,
    })
}

fn any_reason(u: &mut Unstructured) -> Result<Reason> {
    Ok(match u.int_in_range(0..=16)? {
        0 => Reason::Meeting { left: u.arbitrary()? },
        1 => Reason::Opening { days: some(u, |u| u.int_in_range(-3..=4000))? },
        2 => Reason::Guard { cues: u.arbitrary()? },
        3 => Reason::Need {
            reflex: some(u, seconds)?,
            middle: some(u, seconds)?,
            tempo: tempo(u)?,
            goal: tempo(u)?,
            aim: some(u, seconds)?,
            passed: u.arbitrary()?,
            tries: u.arbitrary()?,
        },
        4 => Reason::Even,
        5 => Reason::Again { slower: u.arbitrary()? },
        6 => Reason::Seldom { cues: u.arbitrary()? },
        7 => Reason::Rested { cues: u.arbitrary()?, passed: u.arbitrary()? },
        8 => Reason::Joins { others: u.arbitrary()? },
        9 => Reason::OpeningHere { days: some(u, |u| u.int_in_range(-3..=4000))? },
        10 => Reason::Untried { cues: u.arbitrary()? },
        11 => Reason::Turn,
        12 => {
            let stages = [
                ApartStage::Slower,
                ApartStage::FirstHalf,
                ApartStage::SecondHalf,
                ApartStage::Seam,
                ApartStage::Whole,
            ];
            Reason::Apart { stage: *u.choose(&stages)? }
        }
        13 => Reason::HeldOut { days: some(u, |u| u.int_in_range(-3..=4000))?, until: u.int_in_range(-3..=40_000)? },
        14 | 15 => beside::weak(u)?,
        _ => Reason::Closing,
    })
}

pub(super) fn any_note(u: &mut Unstructured) -> Result<HeardNote> {
    Ok(HeardNote {
        number: u.arbitrary()?,
        onset: seconds(u)?,
        release: seconds(u)?,
        pitch: Midi(number(u, 128.0)?),
        spread: some(u, |u| Ok(Cents(number(u, 100.0)?)))?,
        loudness: Decibels(number(u, 200.0)?),
        confidence: number(u, 1.0)?.abs(),
        announced: seconds(u)?,
        announced_pitch: Midi(number(u, 128.0)?),
    })
}

fn any_verdict(u: &mut Unstructured) -> Result<Verdict> {
    let labels = [PlayedLabel::Note, PlayedLabel::Extra, PlayedLabel::Artefact, PlayedLabel::Earlier];
    let played = many(u, |u| u.choose(&labels).copied())?;
    let expected = many(u, |u| {
        let by = HalfSteps(u.int_in_range(-40..=40)?);
        let heard = if played.is_empty() { None } else { Some(u.choose_index(played.len())?) };
        let labels =
            [NoteLabel::Right, NoteLabel::Wrong(by), NoteLabel::Octave(by), NoteLabel::Missed, NoteLabel::Merged];
        let label = *u.choose(&labels)?;
        Ok(NoteVerdict { label, heard, cents: some(u, |u| Ok(Cents(number(u, 50.0)?)))?, off_pulse: some(u, seconds)? })
    })?;
    let stood = match expected.len() {
        0 => Vec::new(),
        notes => many(u, |u| Ok(Hesitation { before: u.choose_index(notes)?, by: seconds(u)? }))?,
    };
    let rhythm = match expected.len() {
        0 => Vec::new(),
        notes => many(u, |u| Ok(RhythmNote { note: u.choose_index(notes)?, at: Beats(number(u, 16.0)?) }))?,
    };
    let (twice, astray) = match expected.len() {
        0 => (Vec::new(), None),
        notes => (
            many(u, |u| u.choose_index(notes))?,
            some(u, |u| Ok(Astray { note: u.choose_index(notes)?, by: seconds(u)? }))?,
        ),
    };
    let reasons = [Untimed::Xrun, Untimed::NotCalibrated, Untimed::SecondAttempt, Untimed::NoneRight];
    let of = u.arbitrary()?;
    Ok(Verdict {
        related: u.arbitrary()?,
        shift: HalfSteps(u.int_in_range(-40..=40)?),
        attempts: u.arbitrary()?,
        expected,
        played,
        right: u.int_in_range(0..=of)?,
        of,
        extra: u.arbitrary()?,
        enough_in_format_1: u.arbitrary()?,
        reflex: some(u, |u| Ok(Reflex { time: seconds(u)?, jumped: u.arbitrary()?, counted: u.arbitrary()? }))?,
        late: some(u, seconds)?,
        pace: some(u, tempo)?,
        evenness: some(u, |u| number(u, 30.0))?,
        swing: some(u, |u| number(u, 4.0))?,
        rhythm,
        stood,
        twice,
        untimed: some(u, |u| u.choose(&reasons).copied())?,
        begun: some(u, seconds)?,
        scatter: some(u, seconds)?,
        astray,
        centre: some(u, |u| Ok(Cents(number(u, 50.0)?)))?,
        spread: some(u, |u| Ok(Cents(number(u, 50.0)?)))?,
    })
}

/// Draws an event that may stand after the header.
pub fn any_event(u: &mut Unstructured) -> Result<Event> {
    Ok(match u.int_in_range(0..=10)? {
        8..=10 => beside::event(u)?,
        7 => Event::Commented(Comment { written: began().started, cue: some(u, |u| u.arbitrary())?, text: text(u)? }),
        0 => Event::Cued { at: seconds(u)?, cue: any_cue(u)?, reason: any_reason(u)? },
        1 => {
            let clock = if u.arbitrary()? {
                TimeOrigin::Free { cue_end: seconds(u)? }
            } else {
                TimeOrigin::InTempo { cue_end: seconds(u)?, beat_zero: seconds(u)? }
            };
            let sound = some(u, |u| Ok((u64::from(u.arbitrary::<u32>()?), u64::from(u.arbitrary::<u32>()?))))?;
            Event::Answered(AnswerRecord {
                at: seconds(u)?,
                cue: u.arbitrary()?,
                clock,
                heard: many(u, any_note)?,
                sound,
            })
        }
        2 => Event::Judged(Judgement {
            at: seconds(u)?,
            cue: u.arbitrary()?,
            verdict: any_verdict(u)?,
            sentence: text(u)?,
            step: some(u, |u| u.choose(&[TempoStep::Up, TempoStep::Stay, TempoStep::Down]).copied())?,
            varied: some(u, beside::varied)?,
        }),
        3 => {
            let causes = [PauseCause::Asked, PauseCause::Silence, PauseCause::Rest, PauseCause::Device];
            Event::Paused { at: seconds(u)?, cause: *u.choose(&causes)? }
        }
        4 => Event::Resumed { at: seconds(u)? },
        5 => Event::Contested { at: seconds(u)?, cue: u.arbitrary()? },
        _ => Event::Ended(Ended { at: seconds(u)?, sounding: seconds(u)?, dropped: u.arbitrary()? }),
    })
}

/// Draws a sitting.
pub fn any_sitting(u: &mut Unstructured) -> Result<Vec<Event>> {
    let header = Began {
        day: u.int_in_range(-1..=40_000)?,
        player: some(u, |u| Ok(NamedPlayer { id: PlayerId::new(u.arbitrary()?), name: text(u)? }))?,
        instrument: text(u)?,
        a4: Hertz(440.0 + number(u, 26.0)?),
        seed: u.arbitrary()?,
        patterns: many(u, |u| Ok(PatternId(text(u)?)))?,
        keys: many(u, key)?,
        out_of_range: many(u, |u| Ok((PatternId(text(u)?), key(u)?)))?.into_iter().collect(),
        goals: Goals { tempo: tempo(u)?, reflex: seconds(u)? },
        rate: *u.choose(&[SampleRate::CD, SampleRate::DEVICE])?,
        delay: some(u, seconds)?,
        simulated: u.arbitrary()?,
        by_midi: u.arbitrary()?,
        keeps_sound: u.arbitrary()?,
        one_by_one: u.arbitrary()?,
        reading: Reading {
            concert: u.arbitrary()?,
            g_flat: u.arbitrary()?,
            names: *u.choose(&NoteNames::ALL)?,
            reflex: *u.choose(&ReflexUnit::ALL)?,
        },
        level: earfirst::outside::music::Level::Student,
        ear: 2,
        lesson: some(u, crate::records::class::any_lesson)?,
        ..began()
    };
    let mut events = vec![Event::Began(header)];
    events.extend(many(u, any_event)?);
    Ok(events)
}
