//! A panic in any thread gives the terminal back.
//!
//! Nothing can make the program itself panic, so this test program runs on the terminal instead, with the program's screen.

use std::thread;

use crossbeam_channel::{bounded, unbounded};
use earfirst::outside::drill::ToScreen;
use earfirst::outside::music::instrument;
use earfirst::outside::tui::{self, Appearance, Screen};

use crate::stage::Stage;

/// The environment variable that names the thread which is to panic; without it the ignored test below does nothing.
const THREAD: &str = "EARFIRST_TEST_PANICS_IN";

#[test]
fn a_panic_in_a_thread_behind_the_screen_gives_the_terminal_back() {
    let stage = panicked("hearing");
    assert_eq!(stage.end(), 0, "the screen is left as if the sitting were over");
}

#[test]
fn a_panic_in_the_thread_that_draws_gives_the_terminal_back() {
    let stage = panicked("screen");
    assert_ne!(stage.end(), 0);
}

/// The terminal after the panic of a thread, once its message is there.
fn panicked(thread: &str) -> Stage {
    let this = std::env::current_exe().unwrap();
    let arguments = ["--exact", "panics::on_a_terminal_of_its_own", "--ignored", "--nocapture"];
    let name = format!("panics-{thread}");
    let mut stage = Stage::with(this.to_str().unwrap(), &name, &arguments, (80, 24), &[(THREAD, thread)]);
    stage.await_text("getting ready");
    assert!(stage.takes_keys() && stage.screen.screen().alternate_screen(), "the screen is up");
    stage.press("q");
    stage.await_text("a string broke");
    assert!(!stage.screen.screen().alternate_screen(), "the message can be read");
    stage
}

#[test]
#[ignore = "run by the tests above, on a terminal of its own"]
fn on_a_terminal_of_its_own() {
    let Ok(panics) = std::env::var(THREAD) else { return };
    let trumpet = instrument("trumpet").unwrap().clone();
    let look = Appearance {
        page: earfirst::outside::words::Page::new(trumpet, earfirst::outside::music::Reading::default()),
        range: None,
        today: None,
        colour: true,
    };
    let mut screen = Screen::open().unwrap();
    let (tell, shown) = unbounded::<ToScreen>();
    let (commands, pressed) = bounded(1);
    let behind = panics == "hearing";
    // As long as this thread holds its end the screen stands; it ends with the first key.
    let hearing = thread::spawn(move || {
        let _held = tell;
        pressed.recv().unwrap();
        assert!(!behind, "a string broke");
    });
    tui::run(&mut screen, look, &shown, &commands).unwrap();
    assert!(behind, "a string broke");
    drop(screen);
    assert!(hearing.join().is_err());
}
