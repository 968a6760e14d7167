//! A microphone that is dead or gone while no drill runs: the player is told the same words and the same next step as in a drill.

use crate::drilling::stillness;
use crate::sound_card::{Card, on_a_virtual_card, too_busy};
use crate::stage::Stage;

const DEAD: [&str; 2] = ["the microphone gives nothing at all", "unmute it, or allow this terminal to use it"];
/// How often the sweeps are played at most, on a machine that has other things to do.
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

/// Sends a process a signal, if it is there.
fn signal(process: u32, name: &str) {
    let _ = std::process::Command::new("kill")
        .args([name, &process.to_string()])
        .stderr(std::process::Stdio::null())
        .status();
}

#[test]
fn a_machine_that_is_too_busy_to_measure_a_delay_is_told_as_busy_and_not_as_unplugged() {
    let name = "troubled::a_machine_that_is_too_busy_to_measure_a_delay_is_told_as_busy_and_not_as_unplugged";
    on_a_virtual_card(name, |card: &Card| {
        let _room = card.play_into_microphone("stillness", &stillness(180));
        let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_earfirst"))
            .arg("calibrate")
            .env("EARFIRST_DATA", card.file("data"))
            .stdout(std::process::Stdio::null())
            .stderr(std::process::Stdio::piped())
            .spawn()
            .expect("it runs");
        // The process stands still for most of each second, as on a machine with too much to do.
        let begun = std::time::Instant::now();
        while child.try_wait().expect("its state").is_none() {
            assert!(begun.elapsed() < std::time::Duration::from_secs(170), "it never ended");
            for (name, milliseconds) in [("-STOP", 700), ("-CONT", 300)] {
                signal(child.id(), name);
                std::thread::sleep(std::time::Duration::from_millis(milliseconds));
            }
        }
        let told = child.wait_with_output().expect("its words");
        let said = String::from_utf8_lossy(&told.stderr);
        assert!(told.status.code() == Some(3) && said.contains("too busy") && !said.contains("plug"), "{said}");
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
            let holes = ["sweeps came back", "the delay wanders", "too busy"];
            (!holes.iter().any(|words| said.contains(words))).then_some(said)
        });
        let Some(said) = measured else { return too_busy() };
        assert!(monitor.iter().all(|words| said.contains(words)), "{said}");
    });
}
