//! The program under a shell with job control. Control-z gives the terminal back to the shell, and `fg` lets the program go on.

use crate::stage::Stage;

#[test]
fn control_z_gives_the_shell_its_terminal_and_fg_draws_the_room_again() {
    let sitting = "set -m; \"$0\" demo --seed 5 --tempo 200; echo the shell has its terminal; read line; fg";
    let arguments = ["-c", sitting, env!("CARGO_BIN_EXE_earfirst")];
    let mut stage = Stage::with("bash", "suspended", &arguments, (80, 24), &[]);
    stage.await_text("your turn");
    assert!(stage.screen.screen().alternate_screen());
    stage.press("\u{1a}");
    stage.await_text("the shell has its terminal");
    assert!(!stage.screen.screen().alternate_screen(), "the room still covers the terminal");
    stage.press("\r");
    stage.await_text("paused");
    assert!(stage.screen.screen().alternate_screen(), "{}", stage.text());
    stage.press(" ");
    stage.await_text("your turn");
    stage.press("q");
    stage.await_text("any key leaves");
    stage.press(" ");
    assert_eq!(stage.end(), 0);
}
