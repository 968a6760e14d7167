//! The names that a player reads: every name on every screen and in every sentence follows the player's settings.

use earfirst::outside::cue::{Cue, Form};
use earfirst::outside::drill::{Command, Face, Settings, Snapshot, ToScreen};
use earfirst::outside::music::{ConcertKey, NoteNames, PitchClass, Reading, ReflexUnit, instrument};
use earfirst::outside::report::{gather, recheck, review, to_html, to_text};
use earfirst::outside::session::Session;
use earfirst::outside::tui::{Appearance, Model, ScreenEvent, draw};
use earfirst::outside::words::Page;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use crate::desk::Desk;
use crate::rehearsal::{Player, Rehearsal, faithful, settings};

/// A player whose third note is a half step low in each answer.
fn third_low() -> Player {
    let mut whole = faithful(0.4);
    Box::new(move |cue: &Cue, end, beat| {
        let mut notes = whole(cue, end, beat);
        notes[2].2 -= 1.0;
        notes
    })
}

fn of(pattern: &str, sounding: i32, reading: Reading) -> Settings {
    let mut settings = settings(pattern, Form::FirstNote, &[ConcertKey(PitchClass::new(sounding))]);
    settings.began.reading = reading;
    settings
}

/// The first verdict that is final: its snapshot, its sentence, the screen, and the review and page of the sitting.
fn judged(settings: Settings, player: Player) -> (Snapshot, String, String, String) {
    let page = Page::new(instrument("trumpet").unwrap().clone(), settings.began.reading);
    let mut room = Rehearsal::new(settings, player);
    let stands = |shown: &Snapshot| matches!(shown.face, Face::Verdict { settled: true, .. }) && shown.next.is_some();
    room.run_until(|room| room.shown.iter().any(|(_, shown)| stands(shown)));
    let snapshot = room.shown.iter().map(|(_, shown)| shown).find(|shown| stands(shown)).unwrap().clone();
    let mut model = Model::new(Appearance { page, range: None, today: None, colour: false });
    model.update(ScreenEvent::Shown(ToScreen::Snapshot(Box::new(snapshot.clone()))));
    let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    terminal.draw(|frame| draw(frame, &model)).unwrap();
    let cells = terminal.backend().buffer().content.chunks(80);
    let screen = cells.map(|row| row.iter().map(ratatui::buffer::Cell::symbol).collect::<String>() + "\n").collect();
    let session = Session::of(room.events.clone()).unwrap();
    assert_eq!(recheck(&session), [], "the record gives every sentence again");
    let sentence = snapshot.judged.as_ref().unwrap().sentence.clone();
    let html = to_html(&gather(std::slice::from_ref(&session)));
    (snapshot, sentence, screen, to_text(&review(&[session])) + &html)
}

fn row(screen: &str, name: &str) -> String {
    let row = screen.lines().map(str::trim).find(|row| row.starts_with(name)).unwrap_or_default();
    row.split_whitespace().skip(1).collect::<Vec<_>>().join(" ")
}

const FIVE: &str = "five-note-row-up-and-down";

#[test]
fn whoever_reads_concert_pitch_reads_it_on_the_screen_in_the_sentence_and_in_the_review() {
    let concert = Reading { concert: true, ..Reading::default() };
    let (_, sentence, screen, review) = judged(of(FIVE, 5, concert), third_low());
    assert_eq!(row(&screen, "asked"), "F G A Bb C Bb A G F");
    assert!(sentence.starts_with("Eight of nine: the third note, A, was a half step low"), "{sentence}");
    assert!(review.contains("as it sounds") && review.contains("third note, A,"), "{review}");
    let (_, sentence, screen, _) = judged(of(FIVE, 5, Reading::default()), third_low());
    assert_eq!(row(&screen, "asked"), "G A B C D C B A G", "a trumpeter's own page");
    assert!(sentence.starts_with("Eight of nine: the third note, B, was"), "{sentence}");
}

#[test]
fn a_chromatic_run_is_read_without_double_sharps() {
    // Common practice: sharps going up, flats going down, and no B# or C## for C and D.
    let (_, _, screen, _) = judged(of("four-half-steps-up", 9, Reading::default()), faithful(0.4));
    assert_eq!(row(&screen, "asked"), "B C C# D", "B major on a trumpet's page");
    let (_, _, screen, _) = judged(of("four-half-steps-down", 3, Reading::default()), faithful(0.4));
    assert_eq!(row(&screen, "asked"), "F E Eb D", "F major");
}

#[test]
fn a_minor_key_is_c_sharp_wherever_it_is_named() {
    // Common practice: four sharps, where Db minor would have eight flats.
    let (snapshot, _, screen, review) = judged(of("minor-triad-up", 11, Reading::default()), faithful(0.4));
    assert_eq!(row(&screen, "asked"), "C# E G# C#");
    assert!(row(&screen, "key").contains("C#") && screen.contains("C#, ") && !screen.contains("Db"), "{screen}");
    let keys = review.split("Intonation").next().unwrap();
    assert!(snapshot.next.is_some() && keys.contains("C#") && !keys.contains("Db"), "{review}");
}

#[test]
fn german_do_re_mi_and_milliseconds_stand_wherever_a_name_or_a_reflex_time_does() {
    let german = Reading { names: NoteNames::German, ..Reading::default() };
    let (_, sentence, screen, _) = judged(of(FIVE, 5, german), third_low());
    assert_eq!(row(&screen, "asked"), "G A H C D C H A G");
    assert!(sentence.contains("the third note, H,"), "{sentence}");
    let french = Reading { names: NoteNames::Solfege, reflex: ReflexUnit::Milliseconds, ..Reading::default() };
    let (_, sentence, screen, review) = judged(of(FIVE, 5, french), faithful(0.4));
    assert_eq!(row(&screen, "asked"), "Sol La Si Do Re Do Si La Sol");
    assert!(sentence.contains("400 ms") && row(&screen, "reflex").starts_with("ms"), "{sentence}{screen}");
    assert!(review.contains("Sol ") && review.contains("in milliseconds"), "{review}");
    let html = review.split("<!DOCTYPE html>").nth(1).unwrap();
    assert!(html.contains("right note, in milliseconds") && html.contains(" ms."), "{html}");
    assert!(!html.contains(" s)") && !html.contains(" s."), "no time is left in seconds: {html}");
}

#[test]
fn names_are_typed_in_the_language_in_which_they_are_shown() {
    let desk = Desk::new("names");
    let shown = desk.done(&format!("patterns show {FIVE} --key H --note-names german --instrument piano"));
    assert!(shown.contains("H4 Cis5 Dis5") || shown.contains("H3 Cis4 Dis4"), "{shown}");
    let shown = desk.done(&format!("patterns show {FIVE} --key B --note-names german --instrument piano"));
    assert!(shown.contains("two flats"), "{shown}");
    let shown = desk.done(&format!("patterns show {FIVE} --key sib --note-names do-re-mi --instrument piano"));
    assert!(shown.contains("two flats") && shown.contains("Sib"), "{shown}");
}

#[test]
fn the_large_line_of_a_verdict_says_the_one_thing_that_matters() {
    for (player, said) in [(faithful(0.4), "all right"), (third_low(), "B was Bb")] {
        let (snapshot, _, screen, _) = judged(of(FIVE, 5, Reading::default()), player);
        assert_eq!(snapshot.judged.as_ref().unwrap().headline, said);
        for (width, height) in [(80, 24), (60, 20)] {
            let (small, _) = crate::screens::drawn(&snapshot, width, height, false);
            let tall =
                small.lines().filter(|line| line.contains(['█', '▀', '▄', '▌', '▐', '▛', '▜', '▙', '▟'])).count();
            assert!(tall >= 3, "readable from two metres:\n{small}");
            for word in ["asked", "played", "next "] {
                assert!(small.contains(word), "{word}:\n{small}");
            }
        }
        assert!(screen.contains("asked at quarter ="), "{screen}");
    }
}

#[test]
fn whoever_asks_for_another_key_leaves_the_one_that_sounds() {
    let mut room = Rehearsal::new(settings(FIVE, Form::FirstNote, &ConcertKey::FIFTHS), faithful(0.4));
    for cues in 1..=8 {
        room.run_until(|room| room.cues.len() >= cues);
        room.command(Command::Another);
    }
    let keys: Vec<ConcertKey> = room.cues.iter().map(|(_, cue, _)| cue.key).collect();
    assert!(keys.windows(2).all(|pair| pair[0] != pair[1]), "{keys:?}");
}
