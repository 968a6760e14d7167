//! What the program said against what was truly played: the simulated player's sound goes through the same echo, ear, drill and
//! judge as a microphone's, over three hundred answers in twelve keys.

use std::collections::BTreeMap;

use earfirst::coach::{Beliefs, Dice, Spared};
use earfirst::cue::{Cue, Form};
use earfirst::drill::{Drill, RestRules};
use earfirst::engine::{Hearing, Stage, unattended};
use earfirst::music::ConcertKey;
use earfirst::notes::EarSettings;
use earfirst::room::Echo;
use earfirst::session::Event;
use earfirst::simulated::{Fault, PlayedAs, Player, Profile, Skill, Timbre, Truth};
use earfirst::units::{A440, Cents, Decibels, Hertz, SampleRate, Seconds};
use earfirst::verdict::{Asked, Finding, NoteLabel, Verdict, findings};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::rehearsal::settings;

const RATE: SampleRate = SampleRate::CD;
const ALL: [ConcertKey; 12] = ConcertKey::FIFTHS;

/// One cue: what was asked, what was played, what was said of it and found in it.
struct Turn {
    truth: Truth,
    verdict: Option<Verdict>,
    asked: Option<Asked>,
    found: Vec<Finding>,
}

/// One sitting of `answers` answers.
fn sitting(form: Form, timbre: Timbre, seed: u64, answers: u32) -> Vec<Turn> {
    let mut wanted = settings("five-note-row-up-and-down", form, &ALL);
    wanted.rests =
        RestRules { share: None, spared: Spared { first: None, between: None, ..Spared::USUAL }, ..wanted.rests };
    wanted.plan.goals.tempo.0 = 126.0;
    let intonation = wanted.instrument.intonation;
    let profile = Profile {
        timbre,
        range: wanted.instrument.advanced,
        skill: Skill::around(ALL[10], 0.8),
        offset: Cents(5.0),
        faulty: 0.3,
    };
    let player = Player::new(ChaCha8Rng::seed_from_u64(seed), profile);
    let mut stage = Stage::new(player, RATE, A440, seed, true);
    let ear = EarSettings { rate: RATE, lowest: Hertz(110.0), highest: Hertz(1500.0), a4: A440 };
    wanted.level = Some(Decibels(-12.0));
    let hearing = Hearing::new(ear, Echo::new(RATE), Drill::new(wanted, Beliefs::new(), Dice::new(seed)));
    let (mut cues, mut asked, mut said) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
    unattended(hearing, &mut stage, A440, answers, &mut |event| match event {
        Event::Cued { cue, .. } => drop(cues.insert(cue.number, cue)),
        Event::Answered(answer) => {
            let Cue { line, tempo, .. } = cues[&answer.cue].clone();
            asked.insert(answer.cue, Asked { line, tempo, clock: answer.clock, delay: Seconds(0.0), intonation });
        }
        Event::Judged(judgement) => drop(said.insert(judgement.cue, judgement.verdict)),
        _ => {}
    });
    let turn = |(cue, truth): &(u32, Truth)| {
        let (verdict, asked) = (said.get(cue).cloned(), asked.get(cue).cloned());
        let found = verdict.iter().zip(&asked).flat_map(|(verdict, asked)| findings(verdict, asked)).collect();
        Turn { truth: truth.clone(), verdict, asked, found }
    };
    stage.truths().iter().map(turn).collect()
}

#[derive(Default)]
struct Count {
    planted: u32,
    said: u32,
    both: u32,
}

impl Count {
    fn add(&mut self, planted: bool, said: bool) {
        self.planted += u32::from(planted);
        self.said += u32::from(said);
        self.both += u32::from(planted && said);
    }
}

/// Whether hurry, tuning and a jumped cue were found as they were played.
fn count_findings(turn: &Turn, kinds: &mut BTreeMap<&str, Count>) {
    let Some(asked) = &turn.asked else { return };
    let planted = |fault: Fault| turn.truth.faults.contains(&fault);
    let said = |is: &dyn Fn(&Finding) -> bool| turn.found.iter().any(is);
    let hurried = |it: &Finding| matches!(it, Finding::Pace(pace) if *pace > asked.tempo);
    kinds.entry("rushed").or_default().add(planted(Fault::Rushed), said(&hurried));
    let out_of_tune = |it: &Finding| matches!(it, Finding::OutOfTune(..));
    kinds.entry("out of tune").or_default().add(planted(Fault::OutOfTune), said(&out_of_tune));
    let jumped = |it: &Finding| matches!(it, Finding::Jumped(_));
    kinds.entry("jumped").or_default().add(planted(Fault::Jumped), said(&jumped));
}

fn agrees(played: PlayedAs, label: NoteLabel) -> bool {
    match (played, label) {
        (PlayedAs::Right, NoteLabel::Right | NoteLabel::Merged) | (PlayedAs::Missed, NoteLabel::Missed) => true,
        (PlayedAs::Wrong(by), NoteLabel::Wrong(said)) | (PlayedAs::Octave(by), NoteLabel::Octave(said)) => by == said,
        _ => false,
    }
}

#[test]
fn what_was_said_is_what_was_played_over_three_hundred_answers_in_twelve_keys() {
    let mut all = sitting(Form::FirstNote, Timbre::Brass, 11, 100);
    all.extend(sitting(Form::Pattern, Timbre::Reed, 12, 100));
    all.extend(sitting(Form::FirstNote, Timbre::Flute, 13, 100));
    assert!(all.len() >= 300, "{} answers", all.len());
    let (mut notes, mut agreed) = (0, 0);
    let mut kinds: BTreeMap<&str, Count> = BTreeMap::new();
    for turn in &all {
        let Turn { truth, verdict, .. } = turn;
        let nothing = truth.faults.contains(&Fault::Nothing);
        kinds.entry("nothing").or_default().add(nothing, verdict.is_none());
        let Some(verdict) = verdict else { continue };
        kinds.entry("something else").or_default().add(!truth.related && !nothing, !verdict.related);
        if !truth.related || !verdict.related {
            continue;
        }
        count_findings(turn, &mut kinds);
        let octave = |by: i32| by != 0 && by % 12 == 0;
        kinds.entry("whole octave").or_default().add(octave(truth.shift.0), octave(verdict.shift.0));
        kinds.entry("wrong key").or_default().add(truth.shift.0 % 12 != 0, !verdict.in_key());
        kinds.entry("restart").or_default().add(truth.attempts > 1, verdict.attempts > 1);
        kinds.entry("extra note").or_default().add(truth.extra > 0, verdict.extra > 0);
        for (played, said) in truth.notes.iter().zip(&verdict.expected) {
            notes += 1;
            agreed += u32::from(agrees(played.played_as, said.label));
            let wrong = matches!(played.played_as, PlayedAs::Wrong(_));
            kinds.entry("wrong note").or_default().add(wrong, matches!(said.label, NoteLabel::Wrong(_)));
            let octave = matches!(played.played_as, PlayedAs::Octave(_));
            kinds.entry("octave note").or_default().add(octave, matches!(said.label, NoteLabel::Octave(_)));
            kinds
                .entry("missed note")
                .or_default()
                .add(played.played_as == PlayedAs::Missed, said.label == NoteLabel::Missed);
        }
    }
    let share = f64::from(agreed) / f64::from(notes);
    println!("labels agree in {share:.4} of {notes} notes");
    for (kind, count) in &kinds {
        println!("{kind}: planted {}, said {}, both {}", count.planted, count.said, count.both);
    }
    assert!(share >= 0.97, "labels agree in {share:.4}");
    for (kind, count) in &kinds {
        assert!(count.planted > 0, "no {kind} was played");
        let (precision, recall) = (ratio(count.both, count.said), ratio(count.both, count.planted));
        assert!(precision >= 0.9 && recall >= 0.9, "{kind}: precision {precision:.3}, recall {recall:.3}");
    }
}

fn ratio(part: u32, whole: u32) -> f64 {
    if whole == 0 { 0.0 } else { f64::from(part) / f64::from(whole) }
}
