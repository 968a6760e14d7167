//! The program on a real (pseudo-)terminal.

use std::num::NonZero;

use portable_pty::PtySize;

use crate::stage::Stage;

#[test]
fn the_drill_runs_on_a_terminal_and_gives_it_back() {
    let mut stage = Stage::begin("runs", &["demo", "--seed", "5", "--tempo", "200"], 80, 24, &[]);
    stage.await_text("listen");
    stage.await_text("your turn");
    stage.await_text("heard");
    stage.await_text("asked at quarter");
    stage.press("?");
    stage.await_text("Nothing needs to be pressed");
    stage.press("?");
    stage.await_text("listen");
    stage.press("q");
    stage.await_text("any key leaves");
    stage.await_text("before this sitting and now");
    stage.await_text("earfirst review");
    stage.press("x");
    stage.await_text("review it with: earfirst review");
    assert_eq!(stage.end(), 0);
}

#[test]
fn a_pause_is_asked_for_with_space_and_left_with_space() {
    let mut stage = Stage::begin("pause", &["demo", "--seed", "5", "--tempo", "200"], 80, 24, &[]);
    stage.await_text("listen");
    stage.press(" ");
    stage.await_text("paused");
    stage.await_text("space goes on");
    stage.press(" ");
    stage.await_text("your turn");
    stage.press("q");
    stage.await_text("any key leaves");
    stage.press(" ");
    assert_eq!(stage.end(), 0);
}

#[test]
fn being_told_to_end_finishes_the_record_and_gives_the_terminal_back() {
    told_to_end("-TERM");
}

#[test]
fn a_terminal_that_hangs_up_ends_the_drill_and_the_record_is_finished() {
    told_to_end("-HUP");
}

fn told_to_end(signal: &str) {
    let mut stage = Stage::begin(&format!("told{signal}"), &["demo", "--seed", "5", "--tempo", "200"], 80, 24, &[]);
    stage.await_text("your turn");
    let process = stage.child.process_id().unwrap().to_string();
    assert!(std::process::Command::new("kill").args([signal, &process]).status().unwrap().success());
    stage.await_text("kept in");
    let kept: Vec<_> =
        std::fs::read_dir(stage.data.join("sessions")).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert!(kept.iter().any(|path| path.extension().is_some_and(|end| end == "zip")), "{kept:?}");
    assert_eq!(stage.end(), 0);
}

#[test]
fn a_narrow_window_and_no_colour_still_show_the_turn() {
    let mut stage = Stage::begin("narrow", &["demo", "--seed", "5", "--tempo", "200"], 60, 20, &[("NO_COLOR", "1")]);
    stage.await_text("your turn");
    let screen = stage.screen.screen();
    for row in 0..20 {
        for column in 0..60 {
            let cell = screen.cell(row, column).unwrap();
            assert_eq!(cell.fgcolor(), vt100::Color::Default, "a coloured cell at {row}, {column}");
        }
    }
    stage.master.resize(PtySize { rows: 10, cols: 40, pixel_width: 0, pixel_height: 0 }).unwrap();
    stage.screen.screen_mut().set_size(NonZero::new(10).unwrap(), NonZero::new(40).unwrap());
    stage.await_text("at least 60");
    stage.press("q");
    stage.press("q");
    stage.press("q");
    stage.await_text("kept in");
    assert_eq!(stage.end(), 0);
}

#[test]
fn without_a_terminal_the_same_drill_is_told_in_lines() {
    let data = std::env::temp_dir().join(format!("earfirst-lines-{}", std::process::id()));
    let told = std::process::Command::new(env!("CARGO_BIN_EXE_earfirst"))
        .args(["demo", "--fast", "--seed", "7", "--answers", "4"])
        .env("EARFIRST_DATA", &data)
        .output()
        .unwrap();
    let text = String::from_utf8(told.stdout).unwrap();
    assert!(told.status.success(), "{text}");
    assert!(!text.contains('\u{1b}'), "no cursor movement");
    assert!(text.matches("listen · ").count() >= 4 && text.contains("\nnext ") && text.contains("kept in "), "{text}");
    let _ = std::fs::remove_dir_all(&data);
}

#[test]
fn a_learnt_line_is_kept_before_anything_is_typed_and_changed_by_what_is() {
    let folder = std::env::temp_dir().join(format!("earfirst-learn-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let take = folder.join("take.wav").display().to_string();
    let sound = ["patterns", "sound", "surround-the-third", "--key", "C", "--instrument", "flute", "--wav", &take];
    assert!(
        std::process::Command::new(env!("CARGO_BIN_EXE_earfirst"))
            .args(sound)
            .env("EARFIRST_DATA", &folder)
            .output()
            .unwrap()
            .status
            .success()
    );
    let arguments = ["patterns", "learn", &take, "--instrument", "flute"];
    let mut stage = Stage::begin("learn", &arguments, 80, 48, &[]);
    let own = stage.data.join("patterns/own.toml");
    let kept = move || std::fs::read_to_string(&own).unwrap_or_default();
    // Which degree is surrounded nobody can hear: the root is asked for, with the first note to be had by Enter alone.
    stage.await_text("as on your page [F, the first note]:");
    stage.press("H\r");
    stage.await_text("no key is called");
    stage.press("C\r");
    stage.await_text("kept as my-line-1");
    stage.await_text("an empty line ends");
    assert!(kept().contains("notes = \"5 3 4\""), "{}", kept());
    stage.press("2=2\r");
    stage.await_text("notes = 4 2 3");
    stage.press("7=2\r");
    stage.await_text("there is no note 7");
    stage.press("name my turn\r");
    stage.await_text("kept as my-turn");
    stage.press("family half steps\r");
    stage.await_text("half steps: as told");
    stage.press("\r");
    stage.await_text("earfirst drill my-turn");
    let text = kept();
    assert!(text.matches("[[pattern]]").count() == 1 && text.contains("id = \"my-turn\""), "{text}");
    assert_eq!(stage.end(), 0);
    let _ = std::fs::remove_dir_all(&folder);
}

#[test]
fn a_copy_of_a_sitting_beside_it_does_not_count_twice() {
    let data = std::env::temp_dir().join(format!("earfirst-twice-{}", std::process::id()));
    let run = |arguments: &[&str]| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_earfirst"));
        let told = command.args(arguments).env("EARFIRST_DATA", &data).output().unwrap();
        (String::from_utf8(told.stdout).unwrap(), String::from_utf8(told.stderr).unwrap())
    };
    run(&["demo", "--fast", "--seed", "7", "--answers", "3"]);
    let sessions = data.join("sessions");
    let alone = run(&["review", &sessions.display().to_string()]).0;
    let kept = std::fs::read_dir(&sessions).unwrap().next().unwrap().unwrap().path();
    let whole = std::fs::read(&kept).unwrap();
    std::fs::write(sessions.join("copy.zip"), &whole).unwrap();
    std::fs::write(sessions.join("cut.zip"), &whole[..whole.len() / 3]).unwrap();
    let (text, said) = run(&["review", &sessions.display().to_string()]);
    assert_eq!(text, alone);
    assert_eq!(said.matches("there twice").count(), 2, "{said}");
    let _ = std::fs::remove_dir_all(&data);
}

#[test]
fn the_first_run_asks_again_what_it_does_not_understand() {
    let mut stage = Stage::begin("first", &["drill"], 80, 48, &[]);
    stage.await_text("Which instrument?");
    stage.press("tenor-sax\r");
    stage.await_text("headphones or to a loudspeaker?");
    stage.press("telephone\r");
    stage.await_text("One of these, please: headphones, loudspeaker.");
    stage.press("loud\r");
    stage.await_text("Lowest and highest note");
    stage.press("C7 C9\r");
    stage.await_text("That is no range of the tenor saxophone");
    stage.press("\r");
    stage.await_text("for a child none");
    stage.press("non\r");
    stage.await_text("Your name or a pseudonym");
    stage.press("Anna\r");
    stage.await_text("the first cue is soft");
    // With a sound card the drill begins now, without one the program says so.
    stage.await_either(&["getting ready", "listen", "earfirst devices lists"]);
    let kept = std::fs::read_to_string(stage.data.join("settings.toml")).unwrap();
    assert!(kept.contains("[[player]]") && kept.contains("name = \"Anna\""), "{kept}");
    assert!(kept.contains("keep_sound = \"none\"") && kept.contains("headphones = false"), "{kept}");
    stage.child.kill().unwrap();
}

#[test]
fn whoever_leaves_the_questions_has_answered_none_of_them() {
    for answered in 0..5 {
        let mut stage = Stage::begin("left", &["drill"], 80, 48, &[]);
        let asked = ["[trumpet]", "[headphones]", "[G3 G5]", "[all]", "[none]"];
        for (before, question) in asked.iter().enumerate().take(answered + 1) {
            stage.await_text(question);
            if before < answered {
                stage.press("\r");
            }
        }
        // Control-d: there is no more to be read.
        stage.press("\u{4}");
        stage.await_text("no answer was kept");
        assert!(!stage.data.join("settings.toml").exists());
        assert_eq!(stage.end(), 2);
    }
}
