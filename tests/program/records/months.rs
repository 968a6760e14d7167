//! Months of practice, simulated in a second. The coach asks, a simulated student plays, the judge judges, and the records are made as a
//! drill writes them. Every note counts as heard exactly as it was played.

use earfirst::outside::coach::{HeldOut, LearnerModel, Rng, SittingPlan, Spared};
use earfirst::outside::cue::{Cue, Form, Timing};
use earfirst::outside::drill::Settings;
use earfirst::outside::music::{ConcertKey, WrittenKey};
use earfirst::outside::notes::HeardNote;
use earfirst::outside::pattern;
use earfirst::outside::session::{AnswerRecord, Began, Ended, Event, Judgement, NamedPlayer, PauseCause, outcome};
use earfirst::outside::simulated::{AnswerClock, Profile, SimulatedPlayer, Skill, Timbre};
use earfirst::outside::units::{Cents, Seconds};
use earfirst::outside::verdict::{Expectation, TimeOrigin, UsualTuning, judge, step};
use earfirst::outside::words::reader::Reader;
use earfirst::outside::words::{self, Page};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::grading::made::note;
use crate::rehearsal::settings;

/// About how long one cue and its answer take, in seconds.
const TURN: f64 = 9.07;
/// How long a cue lasts, in seconds.
const CUE: f64 = 1.0;

/// How a player fares over the months.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Course {
    /// The player learns by every answer, and forgets a little overnight.
    Improves,
    /// The player has the skills of the first day on every day.
    StandsStill,
}

/// A player who practises, with the coach and what the coach knows.
pub struct Student {
    course: Course,
    player: SimulatedPlayer,
    beliefs: LearnerModel,
    rng: Rng,
    last: Option<i32>,
    seed: u64,
    whose: Option<NamedPlayer>,
    /// Whether every second sitting is answered in tempo.
    in_tempo: bool,
    /// Keys held out of practice.
    held_out: Vec<HeldOut>,
    sat: u32,
}

impl Student {
    pub fn new(course: Course, seed: u64, whose: Option<NamedPlayer>) -> Self {
        let player = player(seed, seed);
        Self {
            course,
            player,
            beliefs: LearnerModel::new(),
            rng: Rng::new(seed),
            last: None,
            seed,
            whose,
            in_tempo: false,
            held_out: Vec::new(),
            sat: 0,
        }
    }

    /// The same player, who answers every second sitting in tempo.
    pub fn also_in_tempo(self) -> Self {
        Self { in_tempo: true, ..self }
    }

    /// The same player, with `key` held out of practice until a day: it is asked once a week.
    pub fn without(self, key: ConcertKey, until: i32) -> Self {
        Self { held_out: vec![HeldOut { key, until }], ..self }
    }

    /// What the coach has learnt while it asked.
    pub fn beliefs(&self) -> &LearnerModel {
        &self.beliefs
    }

    /// One sitting of the pattern with `cues` cues, after the nights since the last sitting have passed.
    pub fn sitting(&mut self, pattern: &str, day: i32, minute: u32, cues: u32) -> Vec<Event> {
        let nights = self.last.replace(day).map_or(0, |last| day - last);
        match self.course {
            Course::StandsStill => self.player = player(self.seed, self.seed + 1000 + day.unsigned_abs() as u64),
            Course::Improves => self.player.rest(f64::from(nights)),
        }
        self.sat += 1;
        let form = if self.in_tempo && self.sat.is_multiple_of(2) { Form::Pattern } else { Form::FirstNote };
        let mut settings = settings(pattern, form, &ConcertKey::FIFTHS);
        (settings.plan.day, settings.began.day) = (day, day);
        settings.plan.hold_out(&self.held_out);
        settings.began.keys = settings.plan.keys.clone();
        settings.began.started = started(day, minute);
        settings.began.player = self.whose.clone();
        let mut events = vec![Event::Began(settings.began.clone())];
        let sitting = SittingPlan::new(None, Spared::USUAL);
        let mut sounding = 0.0;
        for number in 1..=cues {
            let at = Seconds(TURN * f64::from(number));
            let plan = sitting.plan(at, &settings.plan);
            let choice = self.beliefs.choose(&plan, &mut self.rng).unwrap();
            let made = &settings.patterns[0];
            let line = pattern::realise(made, choice.key, None, settings.range, choice.register).unwrap();
            let cue = Cue {
                number,
                form: settings.form,
                timing: settings.timing,
                ..Cue::new(made, choice.key, choice.register, choice.tempo, line)
            };
            events.push(Event::Cued { at, cue: cue.clone(), reason: choice.reason });
            let (answer, judgement) = self.answer(&cue, at, &settings);
            sounding += answer.heard.iter().map(|note| (note.release - note.onset).0).sum::<f64>();
            let heard = answer.heard.clone();
            events.push(Event::Answered(answer));
            if let Some(judgement) = judgement {
                outcome(&cue, &choice.reason, &judgement, &heard, day).iter().for_each(|it| self.beliefs.learn(it));
                events.push(Event::Judged(judgement));
            }
        }
        let end = Seconds(TURN * f64::from(cues + 1));
        events.push(Event::Paused { at: end, cause: PauseCause::Rest });
        events.push(Event::Resumed { at: end + Seconds(30.25) });
        events.push(Event::Ended(Ended { at: end + Seconds(31.0), sounding: Seconds(sounding), dropped: 0 }));
        events
    }

    fn answer(&mut self, cue: &Cue, at: Seconds, settings: &Settings) -> (AnswerRecord, Option<Judgement>) {
        let cue_end = at + Seconds(CUE);
        // A bar of four is counted in.
        let bar = (cue.timing == Timing::InTempo).then(|| Seconds(4.0 * 60.0 / cue.tempo.0));
        let performance = self.player.perform(cue, AnswerClock { cue_end: Seconds(0.0), beat_zero: bar });
        let heard: Vec<HeardNote> =
            performance.notes().map(|(from, length, pitch)| note(pitch.0, cue_end.0 + from.0, length.0)).collect();
        let heard = (1u32..).zip(heard).map(|(n, note)| HeardNote { number: cue.number * 64 + n, ..note });
        let heard: Vec<HeardNote> = heard.collect();
        let free = TimeOrigin::Free { cue_end };
        let clock = bar.map_or(free, |bar| TimeOrigin::InTempo { cue_end, beat_zero: cue_end + bar });
        let (line, tempo) = (cue.line.clone(), cue.tempo);
        let (delay, intonation) = (Some(Seconds(0.0)), settings.instrument.intonation);
        let asked = Expectation { line, tempo, clock, delay, intonation, usual: UsualTuning::Unknown };
        let over = at + Seconds(TURN - 1.0);
        let judgement = (!heard.is_empty()).then(|| {
            let verdict = judge(&asked, &heard);
            let page = Page::new(settings.instrument.clone(), settings.began.reading);
            let reader = Reader::of(&page, cue, true);
            let sentence = words::verdict::sentence(&verdict, &asked, &heard, &reader, &[]);
            let step = step(&verdict, &asked, &heard);
            Judgement { at: over, cue: cue.number, verdict, sentence, step, varied: None }
        });
        (AnswerRecord { at: over, cue: cue.number, clock, heard, sound: None }, judgement)
    }
}

/// A trumpeter who is best in written C; the same `who` has the same skills.
fn player(who: u64, seed: u64) -> SimulatedPlayer {
    let trumpet = earfirst::outside::music::instrument("trumpet").unwrap();
    let profile = Profile {
        timbre: Timbre::of(trumpet.sounding),
        range: trumpet.advanced,
        skill: Skill::uneven(trumpet.concert_key(WrittenKey::C), ChaCha8Rng::seed_from_u64(who)),
        offset: Cents(4.0),
        faulty: 0.15,
    };
    SimulatedPlayer::new(ChaCha8Rng::seed_from_u64(seed), profile)
}

/// The instant `minute` minutes after ten o'clock, as a header has it; `day` counts from 1 January 1970.
fn started(day: i32, minute: u32) -> String {
    let date = jiff::civil::date(1970, 1, 1).saturating_add(jiff::Span::new().days(i64::from(day)));
    format!("{date}T{:02}:{:02}:00+01:00", 10 + minute / 60, minute % 60)
}

/// The header of a sitting.
pub fn header(events: &[Event]) -> &Began {
    match &events[0] {
        Event::Began(began) => began,
        other => panic!("no header: {other:?}"),
    }
}
