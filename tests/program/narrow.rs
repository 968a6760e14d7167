//! Screens in the smallest window that the program takes, 60 columns by 20 rows, and in the usual one, 80 by 24. Nothing important is
//! cut off.

use std::path::PathBuf;

use earfirst::outside::cue::Form;
use earfirst::outside::drill::{Face, Snapshot, ToScreen};
use earfirst::outside::music::{ConcertKey, NoteNames, Reading, instrument};
use earfirst::outside::room::SoundFault;
use earfirst::outside::session::PauseCause;
use earfirst::outside::tui::{Appearance, Model, PressedKey, ScreenEvent, draw};
use earfirst::outside::units::Seconds;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use crate::rehearsal::{Rehearsal, faithful, settings};

/// The usual size of a terminal, and the smallest that the program allows.
const WINDOWS: [(u16, u16); 2] = [(80, 24), (60, 20)];

fn screen() -> Model {
    screen_of(Reading::default())
}

fn screen_of(reading: Reading) -> Model {
    let instrument = instrument("trumpet").unwrap().clone();
    Model::new(Appearance {
        page: earfirst::outside::words::Page::new(instrument, reading),
        range: None,
        today: None,
        colour: false,
    })
}

/// A snapshot of a sitting in which something was played, and one of its end.
fn sitting() -> (Snapshot, Snapshot) {
    let mut short = settings("five-note-row-up-and-down", Form::FirstNote, &ConcertKey::FIFTHS);
    short.planned = Some(Seconds(240.0));
    let mut room = Rehearsal::new(short, faithful(0.4));
    room.run_until(|room| matches!(room.face(), Face::YourTurn { .. }) && room.cues.len() > 3);
    let turn = room.snapshot().clone();
    room.run(600.0);
    (turn, room.snapshot().clone())
}

/// The rows of a window, without blanks at their ends.
fn rows(model: &Model, (width, height): (u16, u16)) -> Vec<String> {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| draw(frame, model)).unwrap();
    let cells = terminal.backend().buffer().content.chunks(usize::from(width));
    cells.map(|row| row.iter().map(ratatui::buffer::Cell::symbol).collect::<String>().trim().to_owned()).collect()
}

#[test]
fn the_end_shows_twelve_keys_in_one_row_and_where_the_record_lies() {
    let mut model = screen();
    model.update(ScreenEvent::Shown(ToScreen::Snapshot(Box::new(sitting().1))));
    let record = "/home/anna/.local/share/earfirst/sessions/2026-11-26-0941-trumpet.zip";
    model.update(ScreenEvent::Shown(ToScreen::Kept(PathBuf::from(record))));
    for window in WINDOWS {
        let rows = rows(&model, window);
        let keys = rows.iter().find(|row| row.starts_with("key")).unwrap();
        assert_eq!(keys.split_whitespace().count(), 13, "{keys}");
        assert!(rows.concat().replace(' ', "").contains(&format!("earfirstreview{record}")), "{rows:#?}");
        assert!(rows.iter().any(|row| row.starts_with("Best tempo held")), "{rows:#?}");
        assert_eq!(rows.last().unwrap(), "any key leaves");
    }
}

#[test]
fn in_every_language_twelve_keys_stand_apart_while_playing_and_at_the_end() {
    let (turn, over) = sitting();
    for names in NoteNames::ALL {
        for g_flat in [false, true] {
            let reading = Reading { names, g_flat, ..Reading::default() };
            for snapshot in [&turn, &over] {
                let mut model = screen_of(reading);
                model.update(ScreenEvent::Shown(ToScreen::Snapshot(Box::new(snapshot.clone()))));
                for window in WINDOWS {
                    let rows = rows(&model, window);
                    let keys = rows.iter().find(|row| row.starts_with("key ")).unwrap();
                    // The sign of a key that is asked or that holds keeps it apart from the next.
                    let names_of = keys.replace(['<', '='], " ");
                    assert_eq!(names_of.split_whitespace().count(), 13, "{names:?}: {keys}");
                }
            }
        }
    }
}

#[test]
fn a_disk_that_refuses_is_told_whole_and_the_keys_stay_at_the_foot() {
    let (turn, over) = sitting();
    let notice = "the record cannot be written: the disk is full; free some space, or choose another folder with \
                  EARFIRST_DATA; it is held in memory, up to 60 minutes of sound";
    for (snapshot, foot) in [(turn, "space pause"), (over, "any key leaves")] {
        let mut model = screen();
        model.update(ScreenEvent::Shown(ToScreen::Snapshot(Box::new(snapshot))));
        model.update(ScreenEvent::Shown(ToScreen::Notice(notice.to_owned())));
        for window in WINDOWS {
            let rows = rows(&model, window);
            assert!(rows.join(" ").contains(notice), "{rows:#?}");
            assert!(rows.last().unwrap().starts_with(foot), "{rows:#?}");
        }
    }
}

#[test]
fn a_dead_microphone_is_told_once_and_the_keys_stay_at_the_foot() {
    let mut snapshot = sitting().0;
    snapshot.face = Face::Paused { cause: PauseCause::Device, until: None };
    snapshot.trouble = Some(SoundFault::Zeros);
    let mut model = screen();
    model.update(ScreenEvent::Shown(ToScreen::Snapshot(Box::new(snapshot))));
    for window in WINDOWS {
        let rows = rows(&model, window);
        assert_eq!(rows.join(" ").matches("gives nothing at all").count(), 1, "{rows:#?}");
        assert!(rows.last().unwrap().contains("q end"), "{rows:#?}");
    }
}

#[test]
fn the_page_of_keys_loses_no_word() {
    let mut model = screen();
    model.update(ScreenEvent::Shown(ToScreen::Snapshot(Box::new(sitting().0))));
    model.update(ScreenEvent::Key(PressedKey::Help));
    for window in WINDOWS {
        let page = rows(&model, window).join(" ");
        for wanted in [
            "it waits until you hold any note for a second.",
            "space, page-down   pause; on a verdict: hold it",
            "m, held: page-up   you misheard me: it does not count",
            "o                  on a verdict or a pause: the cue, then what came out",
            "q                  end the sitting; all is kept",
            "Stop when something hurts, goes numb or rings; ask a teacher or a clinician.",
        ] {
            assert!(page.contains(wanted), "{wanted}: {page}");
        }
    }
}
