//! What a player is told whose microphone is none, where no drill is running: in its words, with the same next step.

use crate::sound_card::{Card, on_a_virtual_card, too_busy};
use crate::stage::Stage;

const DEAD: [&str; 2] = ["the microphone gives nothing at all", "unmute it, or allow this terminal to use it"];
/// So often the sweeps are played, on a machine that has other things to do.
const TRIES: usize = 4;
const LOST: [&str; 2] = ["the microphone or loudspeaker has stopped", "plug it in"];

fn told(stage: &mut Stage, words: [&str; 2]) {
    words.into_iter().for_each(|words| stage.await_text(words));
}

#[test]
fn a_range_cannot_be_played_into_a_dead_or_lost_microphone_and_the_questions_can_be_left() {
    let name = "troubled::a_range_cannot_be_played_into_a_dead_or_lost_microphone_and_the_questions_can_be_left";
    on_a_virtual_card(name, |card: &Card| {
        for (signal, name) in [("-TERM", "term"), ("-HUP", "hup"), ("-INT", "int"), ("", "typed")] {
            let mut stage = Stage::begin(name, &["drill"], 80, 48, &[]);
            stage.await_text("Which instrument?");
            stage.press("\r");
            stage.await_text("headphones or to");
            stage.press("\r");
            stage.await_text("Lowest and highest");
            stage.press("play\r");
            told(&mut stage, DEAD);
            card.unplug();
            told(&mut stage, LOST);
            // The same question once more.
            stage.await_text("plug it in, or close what keeps the machine busy\nLowest and highest");
            let process = stage.child.process_id().expect("it runs").to_string();
            match signal {
                "" => stage.press("\u{3}"),
                signal => {
                    assert!(
                        std::process::Command::new("kill").args([signal, &process]).status().expect("kill").success()
                    );
                }
            }
            assert!(!stage.data.join("settings.toml").exists());
            assert_ne!(stage.end(), 0);
            card.plug();
        }
    });
}

#[test]
fn a_line_cannot_be_learnt_from_a_dead_or_lost_microphone() {
    on_a_virtual_card("troubled::a_line_cannot_be_learnt_from_a_dead_or_lost_microphone", |card: &Card| {
        let mut stage = Stage::begin("line", &["patterns", "learn", "--instrument", "trumpet"], 80, 48, &[]);
        stage.await_text("Play your line once");
        told(&mut stage, DEAD);
        card.unplug();
        told(&mut stage, LOST);
        assert_eq!(stage.end(), 3);
    });
}

/// What `earfirst calibrate` says, and whether it kept anything.
fn calibrated(card: &Card) -> (Option<i32>, String, bool) {
    let data = card.file("data");
    let told = std::process::Command::new(env!("CARGO_BIN_EXE_earfirst"))
        .arg("calibrate")
        .env("EARFIRST_DATA", &data)
        .output()
        .expect("it runs");
    let said = [told.stdout, told.stderr].map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).concat();
    (told.status.code(), said, data.join("settings.toml").exists())
}

#[test]
fn no_delay_is_measured_through_the_loudspeaker_itself_or_a_dead_microphone() {
    let name = "troubled::no_delay_is_measured_through_the_loudspeaker_itself_or_a_dead_microphone";
    on_a_virtual_card(name, |card: &Card| {
        let (code, said, kept) = calibrated(card);
        assert!(code == Some(3) && DEAD.iter().all(|words| said.contains(words)) && !kept, "{said}");
        card.loop_on_one_clock();
        let monitor = ["this input is the loudspeaker itself, not a microphone", "earfirst devices lists them"];
        // Where the machine is busy the sweeps come back with holes: not measured, and nothing kept either.
        let measured = (0..TRIES).find_map(|_| {
            let (code, said, kept) = calibrated(card);
            assert!(code == Some(3) && !kept, "{said}");
            (!said.contains("sweeps came back") && !said.contains("the delay wanders")).then_some(said)
        });
        let Some(said) = measured else { return too_busy() };
        assert!(monitor.iter().all(|words| said.contains(words)), "{said}");
    });
}
