//! Compares what the program says with what was truly played, over three hundred answers in twelve keys. The sound of the simulated
//! player goes through the same echo, ear, drill and judge as the sound of a microphone.

use std::collections::BTreeMap;

use earfirst::outside::coach::{LearnerModel, Rng, Spared};
use earfirst::outside::cue::{Cue, Form};
use earfirst::outside::drill::{Drill, RestRules};
use earfirst::outside::engine::{Listener, SimulatedAudio, unattended};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::notes::EarSettings;
use earfirst::outside::room::Echo;
use earfirst::outside::session::Event;
use earfirst::outside::simulated::{PlayedAs, PlayingFault, Profile, SimulatedPlayer, Skill, Timbre, Truth};
use earfirst::outside::units::{A440, Cents, Decibels, Hertz, SampleRate, Seconds};
use earfirst::outside::verdict::{Expectation, Finding, NoteLabel, Verdict, findings};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::rehearsal::settings;

const RATE: SampleRate = SampleRate::CD;
const ALL: [ConcertKey; 12] = ConcertKey::FIFTHS;

/// The share of the answers in a well-known key, 0 to 1, in which something goes wrong.
const USUAL: f64 = 0.3;
const BAD_DAY: f64 = 0.9;

/// One cue: what was asked, what was played, what was said of the answer, and the findings.
struct Turn {
    truth: Truth,
    verdict: Option<Verdict>,
    asked: Option<Expectation>,
    found: Vec<Finding>,
}

/// One sitting of a hundred answers by a player in whom `faulty` of the answers in a well-known key go wrong.
fn sitting(form: Form, timbre: Timbre, seed: u64, faulty: f64) -> Vec<Turn> {
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
        faulty,
    };
    let player = SimulatedPlayer::new(ChaCha8Rng::seed_from_u64(seed), profile);
    let mut audio = SimulatedAudio::new(player, RATE, A440, seed, true);
    let ear = EarSettings { rate: RATE, lowest: Hertz(110.0), highest: Hertz(1500.0), a4: A440 };
    wanted.level = Some(Decibels(-12.0));
    let drill = Drill::new(wanted, LearnerModel::new(), Rng::new(seed));
    let mut listener = Listener::new(ear, Echo::new(RATE), &mut audio);
    let (mut cues, mut asked, mut said) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
    unattended(drill, &mut listener, A440, 100, &mut |event| match event {
        Event::Cued { cue, .. } => drop(cues.insert(cue.number, cue)),
        Event::Answered(answer) => {
            let Cue { line, tempo, .. } = cues[&answer.cue].clone();
            asked.insert(
                answer.cue,
                Expectation {
                    line,
                    tempo,
                    clock: answer.clock,
                    delay: Some(Seconds(0.0)),
                    intonation,
                    usual: earfirst::outside::verdict::UsualTuning::Unknown,
                },
            );
        }
        Event::Judged(judgement) => drop(said.insert(judgement.cue, judgement.verdict)),
        _ => {}
    });
    let turn = |(cue, truth): &(u32, Truth)| {
        let (verdict, asked) = (said.get(cue).cloned(), asked.get(cue).cloned());
        let found = verdict.iter().zip(&asked).flat_map(|(verdict, asked)| findings(verdict, asked)).collect();
        Turn { truth: truth.clone(), verdict, asked, found }
    };
    audio.truths().iter().map(turn).collect()
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

/// The place of the note before which the player truly stood still: the note that, at the pace of the answer, comes latest after the one
/// before it. `None` where the player did not stand still.
fn stood(truth: &Truth, asked: &Expectation) -> Option<usize> {
    let onsets = truth.notes.iter().zip(&asked.line.notes).enumerate();
    let onsets: Vec<(usize, f64)> = onsets
        .filter_map(|(place, (note, expected))| Some((place, (note.onset? - truth.pace.lasting(expected.at)).0)))
        .collect();
    let steps = onsets.windows(2).map(|pair| (pair[1].0, pair[1].1 - pair[0].1));
    steps
        .filter(|_| truth.faults.contains(&PlayingFault::Hesitation))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(place, _)| place)
}

/// Whether hurry, dragging, standing still, tuning and a jumped cue were found as they were played.
fn count_findings(turn: &Turn, kinds: &mut BTreeMap<&'static str, Count>) {
    let Some(asked) = &turn.asked else { return };
    let planted = |fault: PlayingFault| turn.truth.faults.contains(&fault);
    let said = |is: &dyn Fn(&Finding) -> bool| turn.found.iter().any(is);
    let hurried = |it: &Finding| matches!(it, Finding::Pace(pace) if *pace > asked.tempo);
    kinds.entry("rushed").or_default().add(planted(PlayingFault::Rushed), said(&hurried));
    let dragged = |it: &Finding| matches!(it, Finding::Pace(pace) if *pace < asked.tempo);
    kinds.entry("dragged").or_default().add(planted(PlayingFault::Dragged), said(&dragged));
    let places =
        turn.found.iter().filter_map(|it| if let Finding::Hesitations(stood) = it { Some(stood) } else { None });
    let told: Vec<usize> = places.flatten().map(|stood| stood.before).collect();
    let true_place = stood(&turn.truth, asked);
    let count = kinds.entry("stood still before the note").or_default();
    count.add(true_place.is_some(), true_place.is_some_and(|place| told.contains(&place)));
    told.iter().filter(|place| Some(**place) != true_place).for_each(|_| count.add(false, true));
    let out_of_tune = |it: &Finding| matches!(it, Finding::OutOfTune(..));
    kinds.entry("out of tune").or_default().add(planted(PlayingFault::OutOfTune), said(&out_of_tune));
    let jumped = |it: &Finding| matches!(it, Finding::Jumped(_));
    kinds.entry("jumped").or_default().add(planted(PlayingFault::Jumped), said(&jumped));
}

fn agrees(played: PlayedAs, label: NoteLabel) -> bool {
    match (played, label) {
        (PlayedAs::Right, NoteLabel::Right | NoteLabel::Merged) | (PlayedAs::Missed, NoteLabel::Missed) => true,
        (PlayedAs::Wrong(by), NoteLabel::Wrong(said)) | (PlayedAs::Octave(by), NoteLabel::Octave(said)) => by == said,
        _ => false,
    }
}

/// What was played and said over some sittings, kind by kind.
#[derive(Default)]
struct Tally {
    notes: u32,
    agreed: u32,
    kinds: BTreeMap<&'static str, Count>,
}

impl Tally {
    fn count(&mut self, kind: &'static str, planted: bool, said: bool) {
        self.kinds.entry(kind).or_default().add(planted, said);
    }

    fn turn(&mut self, turn: &Turn) {
        let Turn { truth, verdict, .. } = turn;
        let nothing = truth.faults.contains(&PlayingFault::Nothing);
        self.count("nothing", nothing, verdict.is_none());
        let Some(verdict) = verdict else { return };
        self.count("something else", !truth.related && !nothing, !verdict.related);
        if !truth.related || !verdict.related {
            return;
        }
        count_findings(turn, &mut self.kinds);
        let octave = |by: i32| by != 0 && by % 12 == 0;
        self.count("whole octave", octave(truth.shift.0), octave(verdict.shift.0));
        self.count("wrong key", truth.shift.0 % 12 != 0, !verdict.in_key());
        self.count("restart", truth.attempts > 1, verdict.attempts > 1);
        self.count("extra note", truth.extra > 0, verdict.extra > 0);
        for (played, said) in truth.notes.iter().zip(&verdict.expected) {
            self.notes += 1;
            self.agreed += u32::from(agrees(played.played_as, said.label));
            let wrong = matches!(played.played_as, PlayedAs::Wrong(_));
            self.count("wrong note", wrong, matches!(said.label, NoteLabel::Wrong(_)));
            let octave = matches!(played.played_as, PlayedAs::Octave(_));
            self.count("octave note", octave, matches!(said.label, NoteLabel::Octave(_)));
            let missed = played.played_as == PlayedAs::Missed;
            self.count("missed note", missed, said.label == NoteLabel::Missed);
        }
    }

    /// Checks that at least .97 of the labels agree, and of every kind of fault that at least .9 of those played are said, that at least
    /// .9 of those said were played, and that the fault was played at least `fewest` times.
    fn holds(&self, fewest: impl Fn(&str) -> u32) {
        let share = ratio(self.agreed, self.notes);
        println!("labels agree in {share:.4} of {} notes", self.notes);
        for (kind, count) in &self.kinds {
            println!("{kind}: planted {}, said {}, both {}", count.planted, count.said, count.both);
        }
        assert!(share >= 0.97, "labels agree in {share:.4}");
        for (kind, count) in &self.kinds {
            assert!(count.planted >= fewest(kind), "{kind} was played {} times", count.planted);
            let (precision, recall) = (ratio(count.both, count.said), ratio(count.both, count.planted));
            assert!(precision >= 0.9 && recall >= 0.9, "{kind}: precision {precision:.3}, recall {recall:.3}");
        }
    }
}

#[test]
fn what_was_said_is_what_was_played_over_three_hundred_answers_in_twelve_keys() {
    let mut all = sitting(Form::FirstNote, Timbre::Brass, 11, USUAL);
    all.extend(sitting(Form::Pattern, Timbre::Reed, 12, USUAL));
    all.extend(sitting(Form::FirstNote, Timbre::Flute, 13, USUAL));
    assert!(all.len() >= 300, "{} answers", all.len());
    let mut tally = Tally::default();
    all.iter().for_each(|turn| tally.turn(turn));
    tally.holds(|_| 1);
}

#[test]
fn so_it_is_on_a_bad_day_with_every_kind_of_fault_often_enough_to_tell() {
    let mut tally = Tally::default();
    for (seed, timbre, form) in [
        (14, Timbre::Brass, Form::Pattern),
        (15, Timbre::Reed, Form::FirstNote),
        (16, Timbre::Flute, Form::Pattern),
        (17, Timbre::Brass, Form::FirstNote),
        (18, Timbre::Reed, Form::FirstNote),
        (19, Timbre::Flute, Form::FirstNote),
    ] {
        sitting(form, timbre, seed, BAD_DAY).iter().for_each(|turn| tally.turn(turn));
    }
    // Notes that have next to nothing in common with the line are seldom found.
    tally.holds(|kind| if kind == "something else" { 10 } else { 20 });
}

fn ratio(part: u32, whole: u32) -> f64 {
    if whole == 0 { 0.0 } else { f64::from(part) / f64::from(whole) }
}
