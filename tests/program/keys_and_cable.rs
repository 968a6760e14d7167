//! Sittings of a pianist at a MIDI keyboard, through the program's own reader of MIDI. A stand-in for the port (`pianist.rs`) lets them
//! run on machines without MIDI.

use earfirst::outside::chart::Forms;
use earfirst::outside::coach::Rng;
use earfirst::outside::cue::Form;
use earfirst::outside::engine::judge_again;
use earfirst::outside::midi::{LineChoice, Steering, SteeringKey};
use earfirst::outside::music::{ConcertKey, Level, PitchClass, instrument};
use earfirst::outside::notes::EarSettings;
use earfirst::outside::pattern::{Library, PatternQuery};
use earfirst::outside::phrase::{PhraseMaker, Stock};
use earfirst::outside::room::SoundFault;
use earfirst::outside::session::{PauseCause, Session, read};
use earfirst::outside::trade::{Trade, TradeWay, TradeWish};
use earfirst::outside::units::{A440, Hertz, SampleRate, Seconds, Tempo};

use crate::desk::Desk;
use crate::midi_files::first_json;
use crate::pianist::{REFLEX, Sitting, Troubles, sitting, sitting_with, traded};

/// Checks that every answer is whole and that nothing is said of its intonation.
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
    // A cable that is out within every third answer opens the port anew, and so does the driver's clock.
    let unplugged = Troubles { unplugged: Some(Seconds(0.12)), ..Troubles::default() };
    for troubles in [Troubles::default(), unplugged] {
        let sitting = sitting(Form::FirstNote, 24, troubles);
        all_right(&sitting, 24);
        let off = off(&sitting);
        let worst = off.iter().map(|off| off.abs()).fold(0.0, f64::max);
        println!("reflex: worst {:.2} ms off, the first {:.2} ms", worst * 1e3, off[0] * 1e3);
        assert!(worst < 0.003, "{off:?}");
    }
    // Where a driver does not count from the opening of the port, its clock is not known before its second message. The very first
    // answer may therefore be off by the delay of one message.
    let off = off(&sitting(Form::FirstNote, 24, Troubles { counts_from: Seconds(3.0), ..Troubles::default() }));
    let worst = off[1..].iter().map(|off| off.abs()).fold(0.0, f64::max);
    assert!(worst < 0.003 && off[0].abs() < 0.009, "{off:?}");
}

/// How much longer than they truly were the reflex times of a sitting are, in seconds.
fn off(sitting: &Sitting) -> Vec<f64> {
    let reflex = |trial: &earfirst::outside::session::Trial| trial.judgement.as_ref()?.verdict.reflex;
    let off: Vec<f64> =
        sitting.session.trials.iter().filter_map(reflex).map(|reflex| reflex.time.0 - REFLEX.0).collect();
    assert_eq!(off.len(), 24);
    off
}

#[test]
fn chords_under_the_line_a_held_pedal_and_a_local_echo_change_nothing() {
    let troubles = Troubles { local_echo: true, chords: true, ..Troubles::default() };
    all_right(&sitting(Form::Pattern, 12, troubles), 12);
}

#[test]
fn the_left_hand_of_a_pianist_who_plays_legato_is_no_part_of_the_line() {
    let troubles = Troubles { two_hands: true, ..Troubles::default() };
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
fn where_the_cues_have_holes_nobody_at_keys_is_told_of_a_microphone() {
    let sitting = sitting(Form::Pattern, 6, Troubles { holes: true, ..Troubles::default() });
    assert_eq!(sitting.wrong, [SoundFault::CueXruns], "what is opened anew is the loudspeaker alone");
    assert!(sitting.pauses > 0);
    for fault in [SoundFault::CueXruns, SoundFault::lost(true)] {
        assert!(!fault.sentence(None).contains("microphone") && fault.sentence(None).contains("loudspeaker"));
    }
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
fn a_silent_keyboard_sounds_softly_key_by_key_where_that_was_chosen_and_not_where_it_was_not() {
    let heard = sitting(Form::Pattern, 6, Troubles { silent: true, ..Troubles::default() });
    all_right(&heard, 6);
    let down: Vec<u8> = heard.sounded.iter().filter(|sound| sound.2.is_some()).filter_map(|sound| sound.1).collect();
    let played = |trial: &earfirst::outside::session::Trial| Some(trial.answer.as_ref()?.heard.clone());
    let played: Vec<f64> = heard.session.trials.iter().filter_map(played).flatten().map(|note| note.pitch.0).collect();
    assert_eq!(down.iter().map(|&key| f64::from(key)).collect::<Vec<_>>(), played, "each key once, in its turn");
    let let_go = heard.sounded.iter().filter(|sound| sound.2.is_none()).count();
    assert!(let_go + 1 >= down.len(), "{let_go} of {}", down.len());
    let onsets: Vec<Seconds> = heard
        .session
        .trials
        .iter()
        .filter_map(|t| t.answer.as_ref())
        .flat_map(|a| a.heard.iter().map(|n| n.onset))
        .collect();
    let late = heard.sounded.iter().filter(|sound| sound.2.is_some()).zip(onsets).map(|(sound, onset)| sound.0 - onset);
    let latest = late.reduce(Seconds::max).unwrap();
    println!("a key is handed to the loudspeaker {:.1} ms after it went down at most", latest.ms());
    assert!(latest.0 < 0.013, "8 ms of the cable, and two looks: {latest:?}");
    assert!(sitting(Form::Pattern, 2, Troubles::default()).sounded.is_empty());
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
    let said = desk.done("review kept");
    assert!(said.contains("MIDI notes, ") && !said.contains("no sound"), "{said}");
    assert!(desk.done("review kept --json").contains("\"by_midi\":true"));
    let said = desk.done("review kept --html page.html");
    assert!(!said.contains("whom you trust"), "nobody's sound is in it: {said}");
    let page = std::fs::read_to_string(desk.0.join("page.html")).unwrap();
    let (sounds, made) = (page.matches("data:audio/flac;base64,").count(), page.matches("made from its notes").count());
    assert!((1..=6).contains(&sounds) && sounds == made && page.len() < 4 << 20, "{sounds} {made} {}", page.len());
    desk.done("review kept --wav 1 answer.wav");
    let heard = desk.done("notes answer.wav --instrument trumpet");
    let asked = sitting.session.trials[0].cue.line.notes.len();
    assert_eq!(heard.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())).count(), asked, "{heard}");
}

/// The lines of a record as a program of the first format wrote them: without the fields that came later.
fn of_the_first_format(lines: &[String]) -> String {
    const LATER: [&str; 14] = [
        "unfit",
        "player",
        "ear",
        "level",
        "reads_concert",
        "note_names",
        "reflex_unit",
        "second_task",
        "mode",
        "chromatic",
        "meter",
        "over_fifths",
        "step",
        "by_ear",
    ];
    fn older(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Object(fields) => {
                LATER.iter().for_each(|field| drop(fields.remove(*field)));
                fields.values_mut().for_each(older);
            }
            serde_json::Value::Array(many) => many.iter_mut().for_each(older),
            _ => {}
        }
    }
    let line = |line: &String| {
        let mut value: serde_json::Value = serde_json::from_str(line).unwrap();
        older(&mut value);
        if let Some(format) = value.get_mut("format") {
            *format = 1.into();
        }
        format!("{value}\n")
    };
    lines.iter().map(line).collect()
}

#[test]
fn an_old_record_with_midi_answers_is_read_with_every_note_and_judged_the_same() {
    let sitting = sitting(Form::Pattern, 6, Troubles::default());
    let old = of_the_first_format(&sitting.lines);
    assert!(old.contains("\"by_midi\":true") && !old.contains("\"step\"") && old != sitting.lines.join("\n"), "{old}");
    let (events, damage) = read(old.as_bytes());
    assert_eq!(damage, None);
    let session = Session::from_events(&events).unwrap();
    let heard = |session: &Session| -> Vec<_> {
        session.trials.iter().filter_map(|trial| Some(trial.answer.as_ref()?.heard.clone())).collect()
    };
    assert_eq!((heard(&session).len(), heard(&session)), (6, heard(&sitting.session)));
    let desk = Desk::new("by-cable-old");
    std::fs::create_dir_all(desk.0.join("kept")).unwrap();
    desk.file("kept/session.jsonl", old.as_bytes());
    let said = desk.done("review kept --again");
    assert!(said.contains("judged again: 6 answers") && said.contains("nothing differs"), "{said}");
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

#[test]
fn before_a_drill_on_keys_it_is_said_what_does_not_hold_there() {
    let desk = Desk::new("keys-warned");
    std::fs::create_dir_all(desk.0.join("data")).unwrap();
    // Taught while the range was narrower; the lowest key of the piano still lies outside it.
    let settings = "range_midi = [48, 84]\n[midi]\npause = \"key 60\"\nagain = \"key 21\"\nmisheard = \"pedal 67\"\n";
    desk.file("data/settings.toml", settings.as_bytes());
    let drill =
        "drill five-note-row-up-and-down --instrument piano --input midi:nobody-has-this --plain --keep-sound all";
    let (code, said) = desk.run(drill);
    assert!(
        code == 3 && said.contains("C4 lies in your range: it is played") && said.contains("--teach pause"),
        "{said}"
    );
    assert!(!said.contains("--teach again") && !said.contains("--teach misheard"), "{said}");
    assert!(said.contains("--keep-sound keeps nothing"), "{said}");
}

#[test]
fn a_trade_is_answered_on_a_midi_instrument_too() {
    let desk = Desk::new("keys-traded");
    let (code, said) = desk.run("trade blues --instrument piano --input midi:nobody-has-this");
    assert!(code == 3 && !said.contains("microphone called") && !said.contains("With headphones"), "{said}");
    std::fs::create_dir_all(desk.0.join("data")).unwrap();
    desk.file("data/settings.toml", b"input = \"midi:nobody-has-this\"\n");
    let (code, kept) = desk.run("trade blues --instrument piano --seed 1");
    assert!(code == 3 && !kept.contains("With headphones"), "{kept}");
    // The failure speaks of the MIDI instrument, even where it is the loudspeaker that this machine lacks.
    assert!(kept.contains("MIDI instrument"), "{kept}");
}

#[test]
fn without_a_system_for_midi_the_list_for_machines_says_why_none_is_in_it() {
    if !std::path::Path::new("/dev/snd/seq").exists() {
        let (code, said) = Desk::new("keys-listed").run("devices --json");
        let remarks = first_json(&said)["remarks"].to_string();
        assert!(code == 0 && remarks.contains("no MIDI instrument can be listed: "), "{said}");
    }
}

#[test]
fn a_pianist_trades_fours_without_a_microphone() {
    let wish = TradeWish {
        form: Forms::builtin().find("blues").unwrap(),
        keys: &[ConcertKey(PitchClass::new(0))],
        bars: 4,
        way: TradeWay::Answer,
        on_every: None,
        choruses: 2,
        tempo: Tempo(140.0),
        swing: false,
        range: instrument("piano").unwrap().range(Level::Working),
        rests: false,
    };
    let stock = Stock::of(Library::builtin().select(&PatternQuery::default()));
    let mut rng = Rng::new(3);
    let plan = Trade::plan(&wish, &mut PhraseMaker::new(stock), &mut || rng.uniform()).unwrap();
    let answers = traded(&plan);
    assert_eq!(answers.len(), 6);
    for (whole, late) in answers {
        assert!(whole && late.is_some_and(|late| late.0.abs() < 0.003), "{late:?}");
    }
}

#[test]
fn a_taught_key_pauses_and_goes_on_a_pedal_asks_again_and_another_says_that_it_was_misheard() {
    let (pause, again, misheard) = (SteeringKey::Key(21), SteeringKey::Pedal(67), SteeringKey::Pedal(66));
    let steering = Steering { pause: Some(pause), again: Some(again), misheard: Some(misheard) };
    let choice = LineChoice { steering, ..LineChoice::default() };
    let sitting = sitting_with(choice, Form::Pattern, 8, Troubles { steers: true, ..Troubles::default() });
    // Eight that count, and the one that was misheard.
    all_right(&sitting, 9);
    let pauses: Vec<_> = sitting.session.pauses.iter().map(|pause| (pause.cause, pause.until.is_some())).collect();
    assert_eq!(pauses, [(PauseCause::Asked, true)]);
    let trials = &sitting.session.trials;
    let unanswered: Vec<usize> = (0..trials.len()).filter(|&n| trials[n].answer.is_none()).collect();
    assert_eq!(unanswered[..2], [1, 3], "the cue of the pause, and the one that is asked again: {unanswered:?}");
    let contested: Vec<usize> = (0..trials.len()).filter(|&n| trials[n].contested).collect();
    assert_eq!(contested, [5], "the sixth");
    // Where they were not taught, nothing of it happens.
    let played =
        sitting_with(LineChoice::default(), Form::Pattern, 3, Troubles { steers: true, ..Troubles::default() });
    assert!(played.session.pauses.iter().all(|pause| pause.cause != PauseCause::Asked));
}
