//! Devices that go away for a while, alone or together: the sound goes on when they are back, and the loudspeaker's monitor is
//! never taken for the microphone.

use std::time::{Duration, Instant};

use earfirst::outside::devices::{DeviceChoice, DeviceRequest, Devices, PlayId};
use earfirst::outside::room::SoundFault;
use earfirst::outside::sound::Clip;
use earfirst::outside::units::{SampleRate, Seconds};

use crate::drilling::{PATTERN, stillness};
use crate::sound_card::{Card, on_a_virtual_card, wait_for};
use crate::stage::Stage;

/// Longest time from the return of the devices until the sound goes on.
const WITHIN: Duration = Duration::from_secs(6);

#[derive(Debug, Clone, Copy)]
enum Gone {
    /// The microphone: the server moves its stream to the loudspeaker's monitor.
    Input,
    /// The loudspeaker is suspended.
    Output,
    Both,
    /// The microphone, and the server is told to leave the stream with the loudspeaker's monitor for good.
    Moved,
    /// The microphone; when it comes back, another one is the system's own.
    Replaced,
}

const ALL: [Gone; 5] = [Gone::Input, Gone::Output, Gone::Both, Gone::Moved, Gone::Replaced];

/// Takes the devices away for `seconds`. Returns how long after their return all was well again: the microphone was heard, a clip
/// sounded and no fault stopped the sound.
fn away(card: &Card, devices: &mut Devices, gone: Gone, seconds: f64) -> Duration {
    let _room = card.play_into_microphone("stillness", &stillness(seconds as usize + 30));
    let mut block = Vec::new();
    wait_for(20 * WITHIN, "the stillness of the room", || heard(devices, &mut block));
    match gone {
        Gone::Input | Gone::Replaced => card.unplug_microphone(),
        Gone::Moved => {
            card.unplug_microphone();
            let streams = card.pactl(&["list", "short", "source-outputs"]);
            for stream in streams.lines().filter(|line| line.contains("protocol-native")) {
                let number = stream.split_whitespace().next().expect("a number");
                card.pactl(&["move-source-output", number, "speaker.monitor"]);
            }
        }
        Gone::Output => drop(card.pactl(&["suspend-sink", "speaker", "1"])),
        Gone::Both => card.unplug(),
    }
    let until = Instant::now() + Duration::from_secs_f64(seconds);
    while Instant::now() < until {
        heard(devices, &mut block);
        std::thread::sleep(Duration::from_millis(10));
    }
    match gone {
        Gone::Input | Gone::Moved => card.plug_microphone("mic"),
        Gone::Replaced => card.plug_microphone("another-mic"),
        Gone::Output => drop(card.pactl(&["suspend-sink", "speaker", "0"])),
        Gone::Both => card.plug(),
    }
    let back = Instant::now();
    let _again = card.play_into_microphone("stillness again", &stillness(30));
    let mut playing: Option<(PlayId, Instant)> = None;
    wait_for(10 * WITHIN, "the sound to go on", || {
        let heard = heard(devices, &mut block);
        let stopped = devices.faults().into_iter().any(SoundFault::stops);
        if let Some((id, since)) = playing {
            if devices.sounding(id).is_some() && heard && !stopped {
                return true;
            }
            playing = playing.filter(|_| since.elapsed() < Duration::from_secs(1));
        } else if let Some(rate) = devices.output_rate() {
            let clip = Clip { rate, samples: vec![1e-3; rate.samples(Seconds(0.05))] };
            playing = devices.play(&clip.into()).map(|id| (id, Instant::now()));
        }
        false
    });
    let took = back.elapsed();
    let source = card.pactl(&["list", "short", "source-outputs"]);
    println!("{gone:?} for {seconds:.0} s: goes on {:.2} s after its return; {}", took.as_secs_f64(), source.trim());
    took
}

/// Whether the newest sound is more than exact zeros.
fn heard(devices: &mut Devices, block: &mut Vec<f32>) -> bool {
    let mut heard = false;
    while devices.read(block).is_some() {
        heard |= block.iter().any(|sample| *sample != 0.0);
    }
    heard
}

fn open() -> Devices {
    let mut devices =
        Devices::open(&DeviceRequest { input: DeviceChoice::Default, output: DeviceChoice::Default, period: None });
    devices.wait(Duration::from_secs(20)).expect("the virtual card opens");
    assert_eq!(devices.output_rate(), Some(SampleRate::DEVICE));
    devices
}

#[test]
fn what_was_away_for_some_seconds_is_heard_again_within_six_of_its_return() {
    on_a_virtual_card(
        "absent::what_was_away_for_some_seconds_is_heard_again_within_six_of_its_return",
        |card: &Card| {
            let mut devices = open();
            for (gone, seconds) in ALL.into_iter().zip([4.0, 2.0, 1.0, 5.0, 3.0]) {
                let took = away(card, &mut devices, gone, seconds);
                assert!(took < WITHIN, "{gone:?} for {seconds} s: {took:?}");
            }
        },
    );
}

#[test]
fn fifty_absences_of_one_to_sixty_seconds_all_end_within_six_of_the_return() {
    if std::env::var_os("EARFIRST_LONGER").is_none() {
        return println!("skipped: a quarter of an hour; EARFIRST_LONGER=1 runs it");
    }
    on_a_virtual_card(
        "absent::fifty_absences_of_one_to_sixty_seconds_all_end_within_six_of_the_return",
        |card: &Card| {
            let mut devices = open();
            let late: Vec<_> = (0..50)
                .map(|n| {
                    // The logarithms of the lengths are evenly spread, so that short absences are as many as long ones. The factor 17
                    // mixes their order.
                    let (gone, share) = (ALL[n % ALL.len()], (n * 17 % 50) as f64 / 49.0);
                    let seconds = 60.0_f64.powf(share);
                    (gone, seconds, away(card, &mut devices, gone, seconds))
                })
                .filter(|(_, _, took)| *took >= WITHIN)
                .collect();
            assert!(late.is_empty(), "{} of 50 came late: {late:?}", late.len());
        },
    );
}

#[test]
fn a_drill_whose_microphone_alone_was_away_says_so_and_goes_on_by_itself() {
    on_a_virtual_card(
        "absent::a_drill_whose_microphone_alone_was_away_says_so_and_goes_on_by_itself",
        |card: &Card| {
            let _room = card.play_into_microphone("stillness", &stillness(180));
            let arguments = ["drill", PATTERN, "--cue", "first-note", "--instrument", "trumpet", "--keys", "C"];
            let mut stage =
                Stage::begin("away", &[&arguments[..], &["--seed", "5", "--keep-sound", "all"]].concat(), 80, 24, &[]);
            stage.await_text("your turn");
            card.unplug_microphone();
            // Either the program tells first that it hears only its own cue, nothing at all, or a stream that has stopped; or it first
            // takes the silence for a player who does not answer, and the drill waits for a note.
            let waits = "play any note when ready";
            let told = stage.await_either(&["the loudspeaker itself", "gives nothing at all", "has stopped", waits]);
            card.plug_microphone("mic");
            let back = Instant::now();
            let tone = |n: usize| 0.2 * (n as f32 * std::f32::consts::TAU * 440.0 / 48_000.0).sin();
            let held: Vec<f32> = (0..96_000).map(tone).collect();
            let _note = (told == waits).then(|| card.play_into_microphone("note", &held));
            stage.await_text("listen");
            assert!(back.elapsed() < WITHIN, "{:?}", back.elapsed());
            stage.press("q");
            stage.await_text("any key leaves");
            stage.press("x");
            assert_eq!(stage.end(), 0);
        },
    );
}
