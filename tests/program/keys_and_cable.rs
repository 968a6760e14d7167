//! A pianist at a MIDI keyboard, drilled through the shipped ear for cables. The port is a stand-in behind the trait that the real
//! one is read through, so these run on machines without MIDI too; what a system does to a real port they do not show.
//!
//! Messages: MIDI 1.0 Detailed Specification, from memory. How hands play (legato by holding over, chords struck within 30 ms,
//! the melody on top): common practice.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::rc::Rc;
use std::sync::Arc;

use crossbeam_channel::bounded;
use earfirst::outside::coach::{LearnerModel, Rng};
use earfirst::outside::cue::{Cue, CueSound, Form};
use earfirst::outside::devices::{MidiError, PortEvent};
use earfirst::outside::drill::{Command, Drill, Face};
use earfirst::outside::engine::{
    AudioSource, CueOutput, DrillLoop, KeySource, MidiEar, MidiPlayer, Out, PlacedCue, judge_again,
};
use earfirst::outside::midi::{LineChoice, MessageReader};
use earfirst::outside::music::{ConcertKey, instrument};
use earfirst::outside::notes::EarSettings;
use earfirst::outside::session::{Session, write_line};
use earfirst::outside::sound::{Clip, SoundBlock};
use earfirst::outside::units::{A440, Hertz, SampleRate, Seconds};
use earfirst::outside::words::SoundFault;

use crate::desk::Desk;
use crate::rehearsal::settings;

/// A step of time while nothing comes.
const STEP: Seconds = Seconds(0.002);
/// A free answer begins so long after its cue.
const REFLEX: Seconds = Seconds(0.5);

/// What the pianist and the cable do besides playing right.
#[derive(Default, Clone, Copy)]
struct Troubles {
    /// The cable is out for so long within every third answer, between two notes.
    unplugged: Option<Seconds>,
    /// Everything is said twice, 4 ms apart.
    local_echo: bool,
    /// A chord lies under the first note of each answer, and the pedal is pressed.
    chords: bool,
    /// The system's MIDI gives up within every third answer, and the player with it.
    breaks: bool,
    /// Every note is bent, ten cents down, the third of each answer fifteen up.
    bent: bool,
    /// Every fifth message arrives so much later.
    late: Seconds,
}

/// What happens at the keyboard, and when it arrives.
struct Piano {
    now: Seconds,
    troubles: Troubles,
    coming: VecDeque<(Seconds, PortEvent)>,
    placed: Option<PlacedCue>,
    cues: u32,
    unplugged: u32,
}

#[derive(Clone)]
struct Stand(Rc<RefCell<Piano>>);

impl Piano {
    /// Bytes that leave the keyboard at an instant; the driver stamps them by a clock of its own, and they arrive late by up to
    /// eight milliseconds.
    fn say(&mut self, at: Seconds, bytes: [u8; 3]) {
        // Every plugging in begins the driver's clock anew.
        let stamp_us = ((at.0 + 3.0 + f64::from(self.unplugged)) * 1e6) as u64;
        let drawn = stamp_us.wrapping_mul(6_364_136_223_846_793_005) >> 40;
        let late = Seconds(0.0005 + 0.0075 * (drawn % 100) as f64 / 100.0);
        let late = if drawn.is_multiple_of(5) { late + self.troubles.late } else { late };
        let copies: u32 = if self.troubles.local_echo { 2 } else { 1 };
        for copy in 0..copies {
            let behind = Seconds(0.004 * f64::from(copy));
            let (stamp_us, arrived) = (stamp_us + u64::from(copy) * 4000, at + late + behind);
            let mut tell = |message| self.coming.push_back((arrived, PortEvent::Said { message, stamp_us, arrived }));
            MessageReader::default().read(&bytes, &mut tell);
        }
    }

    fn press(&mut self, key: u8, from: Seconds, until: Seconds) {
        self.say(from, [0x90, key, 80]);
        self.say(until, [0x90, key, 0]);
    }

    fn answer(&mut self, cue: &Cue, begins: Seconds) {
        self.cues += 1;
        let at = |place| begins + cue.tempo.lasting(place);
        if self.troubles.chords {
            let first = cue.line.notes[0].pitch.0 as u8;
            self.say(begins - Seconds(0.1), [0xB0, 64, 127]);
            for (key, ms) in [(first - 4, 8.0), (first - 9, 25.0)] {
                self.press(key, begins + Seconds(ms / 1000.0), begins + Seconds(0.9));
            }
        }
        for (n, note) in cue.line.notes.iter().enumerate() {
            let from = at(note.at);
            if n == 3
                && self.cues.is_multiple_of(3)
                && let Some(length) = self.troubles.unplugged
            {
                // The key before is held, and is never told to have come up.
                let out = from - Seconds(0.03) - length;
                self.coming.retain(|(arrives, _)| *arrives < out);
                self.coming.push_back((out, PortEvent::Closed));
                self.coming.push_back((out + length, PortEvent::Opened("Piano".to_owned())));
                self.unplugged += 1;
            }
            if n == 2 && self.troubles.breaks && self.cues.is_multiple_of(3) {
                let broke = MidiError::Broke("no queue is left".to_owned());
                let what = [PortEvent::Closed, PortEvent::Failed(broke), PortEvent::Opened("Piano".to_owned())];
                self.coming.retain(|(arrives, _)| *arrives < from);
                self.coming.extend(what.map(|event| (from, event)));
                self.unplugged += 1;
                break;
            }
            if self.troubles.bent {
                let cents = if n == 2 { 15.0 } else { -10.0 };
                let bend = (8192.0 + cents / 200.0 * 8192.0) as u16;
                self.say(from - Seconds(0.001), [0xE0, (bend & 127) as u8, (bend >> 7) as u8]);
            }
            // Fingers hold over into the next note.
            self.press(note.pitch.0 as u8, from, from + cue.tempo.lasting(note.length) * 1.08);
        }
        self.coming.make_contiguous().sort_by(|a, b| a.0.0.total_cmp(&b.0.0));
    }
}

impl KeySource for Stand {
    fn next_event(&mut self) -> Option<PortEvent> {
        let mut piano = self.0.borrow_mut();
        let now = piano.now;
        piano.coming.pop_front_if(|(arrives, _)| *arrives <= now).map(|(_, event)| event)
    }

    fn now(&self) -> Seconds {
        self.0.borrow().now
    }

    fn wait(&mut self) {
        let mut piano = self.0.borrow_mut();
        piano.now = piano.now + STEP;
    }
}

impl AudioSource for Stand {
    fn read(&mut self, _into: &mut Vec<f32>) -> Option<SoundBlock> {
        None
    }
    fn wait(&mut self) {}
    fn trouble(&mut self) -> Option<SoundFault> {
        None
    }
    fn faltered(&mut self) -> bool {
        false
    }
    fn dropped(&mut self) -> u64 {
        0
    }
}

impl CueOutput for Stand {
    fn output_rate(&mut self) -> Option<SampleRate> {
        Some(SampleRate::CD)
    }
    fn play(&mut self, cue: &Cue, sound: &CueSound) -> bool {
        let mut piano = self.0.borrow_mut();
        let from = piano.now + Seconds(0.05);
        piano.placed = Some(PlacedCue { cue: cue.number, from, faster: 1.0 });
        piano.answer(cue, from + sound.beat_zero.unwrap_or(sound.end + REFLEX));
        true
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        self.0.borrow_mut().placed.take()
    }
    fn hush(&mut self) {}
    fn play_back(&mut self, _clips: &[Arc<Clip>]) {}
}

/// What came of a sitting.
struct Sitting {
    session: Session,
    lines: Vec<String>,
    unplugged: u32,
    pauses: u32,
    /// What was said to be wrong, one after the other.
    wrong: Vec<SoundFault>,
}

fn sitting(form: Form, answers: u32, troubles: Troubles) -> Sitting {
    sitting_with(LineChoice::default(), form, answers, troubles)
}

fn sitting_with(choice: LineChoice, form: Form, answers: u32, troubles: Troubles) -> Sitting {
    let mut settings = settings("five-note-row-up-and-down", form, &ConcertKey::FIFTHS);
    settings.began.by_midi = true;
    let drill = Drill::new(settings, LearnerModel::new(), Rng::new(5));
    let coming = VecDeque::new();
    let piano = Piano { now: Seconds(1.0), troubles, coming, placed: None, cues: 0, unplugged: 0 };
    let piano = Stand(Rc::new(RefCell::new(piano)));
    let (tell, commands) = bounded(4);
    let (mut events, mut pauses, mut lines, mut wrong) = (Vec::new(), 0, Vec::new(), Vec::new());
    let mut out = |out: Out| match out {
        Out::Show(snapshot) => {
            if snapshot.answers >= answers {
                let _ = tell.try_send(Command::End);
            }
            wrong.extend(snapshot.trouble.filter(|now| wrong.last() != Some(now)));
            pauses += u32::from(matches!(snapshot.face, Face::Paused { .. }) && snapshot.trouble.is_some());
        }
        Out::Keep(event, sound) => {
            assert!(sound.is_none(), "there is no sound to keep");
            lines.push(write_line(&event));
            events.push(*event);
        }
        Out::Draft(_) => {}
    };
    let mut rig = MidiPlayer::new(MidiEar::new(piano.clone(), choice), piano.clone());
    DrillLoop::new(drill, &mut rig, &commands, A440, &mut out).run();
    let unplugged = piano.0.borrow().unplugged;
    Sitting { session: Session::from_events(&events).unwrap(), lines, unplugged, pauses, wrong }
}

/// Every answer is whole, and nothing is said of its intonation.
fn all_right(sitting: &Sitting, answers: usize) {
    let verdicts: Vec<_> =
        sitting.session.trials.iter().filter_map(|trial| Some(&trial.judgement.as_ref()?.verdict)).collect();
    assert_eq!(verdicts.len(), answers);
    for verdict in verdicts {
        assert!(verdict.whole() && verdict.right == verdict.of && verdict.stood.is_empty(), "{verdict:?}");
        assert!(verdict.centre.is_none() && verdict.expected.iter().all(|note| note.cents.is_none()), "{verdict:?}");
    }
}

#[test]
fn a_pianist_drills_sixty_answers_without_a_microphone() {
    let sitting = sitting(Form::Pattern, 60, Troubles::default());
    all_right(&sitting, 60);
    let late = |trial: &earfirst::outside::session::Trial| trial.judgement.as_ref()?.verdict.late;
    let worst = sitting.session.trials.iter().filter_map(late).map(|late| late.0.abs()).fold(0.0, f64::max);
    println!("in tempo, worst median of early and late: {:.2} ms", worst * 1e3);
    assert!(worst < 0.003, "{worst}");
}

#[test]
fn the_reflex_of_a_pianist_is_measured_to_three_milliseconds() {
    let sitting = sitting(Form::FirstNote, 24, Troubles::default());
    all_right(&sitting, 24);
    let reflex = |trial: &earfirst::outside::session::Trial| trial.judgement.as_ref()?.verdict.reflex;
    let times: Vec<f64> = sitting.session.trials.iter().filter_map(reflex).map(|reflex| reflex.time.0).collect();
    assert_eq!(times.len(), 24);
    // Nothing is known of a driver's clock before its second message: the first answer may be off by one message's delay.
    let worst = times[1..].iter().map(|time| (time - REFLEX.0).abs()).fold(0.0, f64::max);
    println!("reflex: worst {:.2} ms off, the first {:.2} ms", worst * 1e3, (times[0] - REFLEX.0) * 1e3);
    assert!(worst < 0.003 && (times[0] - REFLEX.0).abs() < 0.009, "{times:?}");
}

#[test]
fn chords_under_the_line_a_held_pedal_and_a_local_echo_change_nothing() {
    let troubles = Troubles { local_echo: true, chords: true, ..Troubles::default() };
    all_right(&sitting(Form::Pattern, 12, troubles), 12);
}

#[test]
fn a_cable_that_is_pulled_within_twenty_answers_and_is_back_for_the_next_note_loses_nothing() {
    let troubles = Troubles { unplugged: Some(Seconds(0.12)), ..Troubles::default() };
    let sitting = sitting(Form::Pattern, 60, troubles);
    assert_eq!((sitting.unplugged, sitting.pauses), (20, 0));
    all_right(&sitting, 60);
}

#[test]
fn where_the_systems_midi_gives_up_it_is_said_and_the_cue_comes_again() {
    let sitting = sitting(Form::Pattern, 12, Troubles { breaks: true, ..Troubles::default() });
    assert!(sitting.unplugged >= 4 && sitting.pauses >= sitting.unplugged, "{} {}", sitting.unplugged, sitting.pauses);
    assert!(sitting.wrong.iter().all(|wrong| *wrong == SoundFault::MidiFailed), "{:?}", sitting.wrong);
    all_right(&sitting, 12);
}

#[test]
fn a_cable_that_is_late_now_and_then_is_said_and_the_times_stay_right() {
    let late = Seconds(0.013);
    let sitting = sitting(Form::Pattern, 12, Troubles { late, ..Troubles::default() });
    all_right(&sitting, 12);
    let ms = |wrong: &SoundFault| if let SoundFault::Uneven(ms) = wrong { *ms } else { 0 };
    assert!(
        sitting.pauses == 0 && sitting.wrong.iter().all(|wrong| (11..=22).contains(&ms(wrong))),
        "{:?}",
        sitting.wrong
    );
    assert!(sitting.wrong.iter().any(|wrong| ms(wrong) >= 16), "{:?}", sitting.wrong);
    let said = sitting.wrong[0].sentence(None);
    assert!(said.starts_with("MIDI arrives unevenly (") && said.len() < 80, "{said}");
}

#[test]
fn a_controller_that_is_tuned_by_its_bend_is_judged_for_intonation_and_the_record_keeps_it() {
    let troubles = Troubles { bent: true, ..Troubles::default() };
    let choice = LineChoice { bend: true, ..LineChoice::default() };
    let sitting = sitting_with(choice, Form::Pattern, 12, troubles);
    for trial in &sitting.session.trials {
        let Some(judgement) = &trial.judgement else { continue };
        let verdict = &judgement.verdict;
        assert!(verdict.whole() && (verdict.centre.unwrap().0 + 10.0).abs() < 0.5, "{verdict:?}");
        for (n, note) in verdict.expected.iter().enumerate() {
            let cents = note.cents.unwrap().0;
            assert!((cents - if n == 2 { 25.0 } else { 0.0 }).abs() < 0.5, "{n}: {cents}");
        }
    }
    assert_eq!(sitting.session.trials.iter().filter(|trial| trial.judgement.is_some()).count(), 12);
    let desk = Desk::new("bent");
    std::fs::create_dir_all(desk.0.join("kept")).unwrap();
    desk.file("kept/session.jsonl", (sitting.lines.join("\n") + "\n").as_bytes());
    let said = desk.done("review kept --again");
    assert!(said.contains("judged again: 12 answers, and 12 sentences made again: nothing differs"), "{said}");
}

#[test]
fn a_sitting_by_cable_is_kept_as_notes_reads_back_and_is_judged_again_the_same() {
    let sitting = sitting(Form::FirstNote, 12, Troubles::default());
    assert!(sitting.lines[0].contains("\"by_midi\":true"), "{}", sitting.lines[0]);
    let trumpet = instrument("trumpet").unwrap();
    let ear = EarSettings { rate: SampleRate::DEVICE, lowest: Hertz(100.0), highest: Hertz(1000.0), a4: A440 };
    let again = judge_again(&sitting.session, &mut |_| None, trumpet, &ear);
    assert_eq!((again.judged, again.soundless, again.differ.len()), (12, 0, 0));

    let desk = Desk::new("by-cable");
    std::fs::create_dir_all(desk.0.join("kept")).unwrap();
    desk.file("kept/session.jsonl", (sitting.lines.join("\n") + "\n").as_bytes());
    let said = desk.done("review kept --again");
    assert!(said.contains("judged again: 12 answers, and 12 sentences made again: nothing differs"), "{said}");
    desk.done("review kept --wav 1 answer.wav");
    let heard = desk.done("notes answer.wav --instrument trumpet");
    let asked = sitting.session.trials[0].cue.line.notes.len();
    assert_eq!(heard.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())).count(), asked, "{heard}");
}

#[test]
fn a_midi_file_is_read_as_notes_and_graded_as_a_recording_is() {
    let desk = Desk::new("played-midi");
    desk.done("patterns export five-note-row-up-and-down --keys Eb --instrument piano --midi row.mid");
    let notes = desk.done("notes row.mid");
    assert_eq!(notes.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())).count(), 9, "{notes}");
    let said = desk.done("grade row.mid --pattern five-note-row-up-and-down --key Eb --instrument piano --tempo 72");
    assert!(said.contains("All nine right"), "{said}");
    let (code, said) = desk.run("grade row.mid --pattern five-note-row-up-and-down --key D --instrument piano");
    assert!(code == 1 && !said.contains("All nine right"), "{said}");
    let (code, said) = desk.run("notes row.mid --frames");
    assert!(code == 2 && said.contains("row.mid is a MIDI file"), "{said}");
}
