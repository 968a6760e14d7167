use std::collections::{BTreeMap, BTreeSet};

use crate::coach::{AnswerEvidence, Choice, LearnerModel, Plan, Reason, Rule};
use crate::cue::Cue;
use crate::notes::HeardNote;
use crate::session::{Began, Event, Judgement, Session};
use crate::verdict::{self, TempoStep};

/// What the coach learns from one judgement, in the drill and in [`crate::session::replay`] alike; `None` where nothing may be
/// learnt. Nothing is learnt from an answer to a key that was told late, to a cue beside a second task, to a cue that the player
/// asked to hear again, or to one that took a line apart; nor from an answer that was something else altogether or never came (no
/// note heard), which is neither right nor wrong. A cue that sounds again because nothing came is learnt from, since its first
/// sounding was not. A judgement of the first format, which has no step, moves the tempo by the rule of that format. `heard` are
/// the notes the verdict was made of.
#[must_use]
pub fn outcome(
    cue: &Cue,
    reason: &Reason,
    judgement: &Judgement,
    heard: &[HeardNote],
    day: i32,
) -> Option<AnswerEvidence> {
    let Judgement { at, verdict, step, .. } = judgement;
    if reason.uncounted() || cue.probes() || !verdict.related || verdict.played.is_empty() {
        return None;
    }
    let of_its_day = || (if verdict.enough_in_format_1 { TempoStep::Up } else { TempoStep::Down }, Rule::UpDown);
    let (step, rule) = step.map_or_else(of_its_day, |step| (step, Rule::UpStayDown));
    Some(AnswerEvidence {
        pattern: cue.pattern.clone(),
        key: cue.key,
        register: cue.register,
        form: cue.form,
        timing: cue.timing,
        tempo: cue.tempo,
        kept_tempo: verdict::kept_tempo(&cue.line, cue.tempo, verdict, heard),
        right: verdict.right_in_key(),
        of: verdict.of,
        step,
        rule,
        reflex: verdict.reflex.filter(|reflex| reflex.counted).map(|reflex| reflex.time),
        day,
        at: *at,
    })
}

/// What the coach believes after one or several sittings, given in the order of time and each beginning with its header: bit for
/// bit the learner model that the drill had. Events before the first header are passed over.
#[must_use]
pub fn replay(events: &[Event]) -> LearnerModel {
    let mut learner = LearnerModel::new();
    for sitting in events.chunk_by(|_, next| !matches!(next, Event::Began(_))) {
        replay_into(&mut learner, sitting);
    }
    learner
}

/// Enters one more sitting, as the drill entered it: every cue, but for those whose key was told late or that stood beside a second task,
/// and every answer once, at the place of its first judgement with the content of its latest. An answer that the player contested is passed
/// over; of a trade only what is in use is entered.
pub fn replay_into(learner: &mut LearnerModel, events: &[Event]) {
    let Some((Event::Began(began), rest)) = events.split_first() else { return };
    if began.trade.is_some() {
        return replay_trade(learner, began, rest);
    }
    let plan = plan(began);
    let latest: BTreeMap<u32, &Judgement> = rest
        .iter()
        .filter_map(|event| if let Event::Judged(judgement) = event { Some((judgement.cue, judgement)) } else { None })
        .collect();
    let contested: BTreeSet<u32> = rest
        .iter()
        .filter_map(|event| if let Event::Contested { cue, .. } = event { Some(*cue) } else { None })
        .collect();
    let answers = rest.iter().filter_map(|event| if let Event::Answered(answer) = event { Some(answer) } else { None });
    let heard: BTreeMap<u32, &[HeardNote]> = answers.map(|answer| (answer.cue, answer.heard.as_slice())).collect();
    let mut cues: BTreeMap<u32, (&Cue, Reason)> = BTreeMap::new();
    let mut entered: BTreeSet<u32> = BTreeSet::new();
    for event in rest {
        match event {
            Event::Cued { cue, reason, .. } => {
                cues.insert(cue.number, (cue, *reason));
                // A key that is told late is no choice of the coach, nor one beside a second task.
                if !cue.probes() {
                    learner.asked(&plan, &choice(cue, *reason), cue.repeat);
                }
            }
            Event::Judged(Judgement { cue: number, .. }) if !contested.contains(number) && entered.insert(*number) => {
                if let (Some((cue, reason)), Some(last)) = (cues.get(number), latest.get(number)) {
                    let heard = heard.get(number).copied().unwrap_or_default();
                    let outcome = outcome(cue, reason, last, heard, began.day);
                    outcome.iter().for_each(|outcome| learner.learn(outcome));
                }
            }
            _ => {}
        }
    }
}

/// Enters a trade: its phrases teach nothing of the keys of a pattern in the drill, only what is in use.
fn replay_trade(learner: &mut LearnerModel, began: &Began, events: &[Event]) {
    let began_with = std::iter::once(Event::Began(began.clone())).chain(events.iter().cloned());
    let Some(session) = Session::of(began_with) else { return };
    for (trial, judgement) in session.phrases() {
        learner.learn_in_use(&trial.cue, &judgement.verdict, began.day);
    }
    session.choruses.iter().for_each(|chorus| learner.learn_free(&chorus.drilled));
}

/// The plan of a sitting, as far as entering its cues needs it: what the record does not hold of a plan (keys held out, registers, first
/// tempo, phase, whether patterns are met) matters only when a cue is chosen.
fn plan(began: &Began) -> Plan {
    let mut plan = Plan::new(began.patterns.clone(), began.keys.clone(), began.goals, began.day);
    plan.one_by_one = began.one_by_one;
    plan.out_of_range = began.out_of_range.clone();
    plan
}

fn choice(cue: &Cue, reason: Reason) -> Choice {
    Choice { pattern: cue.pattern.clone(), key: cue.key, register: cue.register, tempo: cue.tempo, reason }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coach::{ApartStage, Goals, OutOfRange, Rng};
    use crate::cue::{Form, Timing};
    use crate::music::{Concert, ConcertKey, HalfSteps};
    use crate::pattern::{ExpectedNote, Line, PatternId};
    use crate::session::read;
    use crate::session::write_line;
    use crate::units::{A440, Beats, SampleRate, Seconds, Tempo};
    use crate::verdict::{NoteLabel, NoteVerdict, PlayedLabel, Reflex, Verdict};

    /// From the second sitting on, the first pattern is too wide for three keys.
    fn out_of_range(day: i32) -> OutOfRange {
        let out = ConcertKey::FIFTHS[4..7].iter().filter(|_| day > 20_782);
        out.map(|key| (PatternId("one".to_owned()), *key)).collect()
    }

    fn began(day: i32) -> Began {
        Began {
            started: "2026-11-25T18:30:00+01:00".to_owned(),
            day,
            player: None,
            instrument: "flute".to_owned(),
            a4: A440,
            seed: 7,
            patterns: vec![PatternId("one".to_owned()), PatternId("two".to_owned())],
            keys: ConcertKey::FIFTHS.to_vec(),
            out_of_range: out_of_range(day),
            goals: Goals { tempo: Tempo(132.0), reflex: Seconds(0.7) },
            rate: SampleRate::DEVICE,
            delay: None,
            simulated: true,
            by_midi: false,
            keeps_sound: false,
            one_by_one: day % 2 == 0,
            reading: crate::music::Reading::default(),
            level: crate::music::Level::Student,
            ear: 2,
            lesson: None,
            trade: None,
            second_task: false,
        }
    }

    fn cue(number: u32, choice: &Choice) -> Cue {
        let note = ExpectedNote { pitch: Concert(60), at: Beats(0.0), length: Beats(1.0), named: None };
        Cue {
            number,
            pattern: choice.pattern.clone(),
            title: String::new(),
            key: choice.key,
            spelling: crate::music::Spelling::default(),
            register: choice.register,
            form: Form::Chord,
            timing: if number.is_multiple_of(3) { Timing::InTempo } else { Timing::Free },
            tempo: choice.tempo,
            meter: crate::pattern::Meter::FourFour,
            line: Line { notes: vec![note], length: Beats(1.0) },
            chord: Vec::new(),
            click: false,
            repeat: false,
            warning: None,
            round: None,
            by_ear: false,
            second_task: None,
            joined: Vec::new(),
        }
    }

    fn verdict(right: bool, reflex_s: f64) -> Verdict {
        let label = if right { NoteLabel::Right } else { NoteLabel::Wrong(HalfSteps(1)) };
        Verdict {
            related: true,
            shift: HalfSteps(0),
            attempts: 1,
            expected: vec![NoteVerdict { label, heard: Some(0), cents: None, off_pulse: None }],
            played: vec![PlayedLabel::Note],
            right: u32::from(right),
            of: 1,
            extra: 0,
            enough_in_format_1: right,
            reflex: Some(Reflex { time: Seconds(reflex_s), jumped: false, counted: right }),
            late: None,
            pace: None,
            evenness: None,
            swing: None,
            rhythm: Vec::new(),
            stood: Vec::new(),
            twice: Vec::new(),
            untimed: None,
            begun: None,
            scatter: None,
            astray: None,
            centre: None,
            spread: None,
        }
    }

    /// A sitting as the drill holds it: choose, record, judge, learn. Every tenth answer never comes; every seventh is judged
    /// wrongly first and put right before anything is learnt from it; every ninth is contested. The judgements of the first day
    /// have no step, as in format 1.
    fn sitting(learner: &mut LearnerModel, day: i32) -> Vec<Event> {
        let began = began(day);
        let mut rng = Rng::new(began.seed);
        let plan = plan(&began);
        let mut events = vec![Event::Began(began)];
        for number in 1..=60u32 {
            let choice = learner.choose(&plan, &mut rng).unwrap();
            let cue = cue(number, &choice);
            let at = Seconds(f64::from(number) * 7.1);
            events.push(Event::Cued { at, cue: cue.clone(), reason: choice.reason });
            if number.is_multiple_of(10) {
                continue;
            }
            let judged = verdict(number % 4 != 1, 0.3 + f64::from(number % 13) / 7.0);
            let step = [TempoStep::Stay, TempoStep::Down, TempoStep::Up, TempoStep::Up][number as usize % 4];
            let step = Some(step).filter(|_| day > 20_782);
            let mut judgement =
                Judgement { at, cue: number, verdict: judged, sentence: String::new(), step, varied: None };
            if number.is_multiple_of(7) {
                let first = Judgement { verdict: verdict(false, 3.0), ..judgement.clone() };
                events.push(Event::Judged(first));
                judgement.at = at + Seconds(0.4);
            }
            let contested = number.is_multiple_of(9);
            if let Some(outcome) = outcome(&cue, &choice.reason, &judgement, &[], day).filter(|_| !contested) {
                learner.learn(&outcome);
            }
            events.push(Event::Judged(judgement));
            if contested {
                events.push(Event::Contested { at: at + Seconds(1.0), cue: number });
            }
        }
        events
    }

    #[test]
    fn sittings_read_from_their_files_give_the_beliefs_the_drill_held() {
        let (mut held, mut replayed) = (LearnerModel::new(), LearnerModel::new());
        let mut all = Vec::new();
        for day in [20_782, 20_783, 20_790] {
            let events = sitting(&mut held, day);
            let file: String = events.iter().map(write_line).collect();
            let (back, damage) = read(file.as_bytes());
            assert_eq!(damage, None);
            replay_into(&mut replayed, &back);
            assert_eq!(replayed, held, "day {day}");
            all.extend(back);
            assert_eq!(replay(&all), held, "day {day}");
            let (plan, seed) = (plan(&began(day)), 11);
            assert_eq!(
                replayed.clone().choose(&plan, &mut Rng::new(seed)),
                held.clone().choose(&plan, &mut Rng::new(seed))
            );
        }
        assert_ne!(held, LearnerModel::new());
    }

    #[test]
    fn an_answer_that_never_came_teaches_nothing() {
        let mut silent = verdict(false, 1.0);
        silent.played.clear();
        let choice = Choice {
            pattern: PatternId("one".to_owned()),
            key: ConcertKey::FIFTHS[0],
            register: crate::pattern::Register::Middle,
            tempo: Tempo(60.0),
            reason: Reason::Even,
        };
        let cue = cue(1, &choice);
        let judged = |verdict: &Verdict| Judgement {
            at: Seconds(1.0),
            cue: 1,
            verdict: verdict.clone(),
            sentence: String::new(),
            step: Some(TempoStep::Up),
            varied: None,
        };
        let learnt = |reason: Reason, verdict: &Verdict| outcome(&cue, &reason, &judged(verdict), &[], 1);
        assert_eq!(learnt(Reason::Even, &silent), None);
        assert_eq!(learnt(Reason::Again { slower: false }, &verdict(true, 1.0)), None);
        assert_eq!(learnt(Reason::Apart { stage: ApartStage::Seam }, &verdict(true, 1.0)), None);
        assert!(learnt(Reason::Even, &verdict(true, 1.0)).is_some());
    }
}
