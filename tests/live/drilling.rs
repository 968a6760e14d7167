//! A whole drill on the virtual sound card. The program, as it ships, plays its cues to the loudspeaker; a player's answers go into the
//! microphone; the tests read what the program says and keeps.

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use earfirst::outside::cue::{Cue, Rendering, sound};
use earfirst::outside::devices::{DeviceChoice, DeviceRequest, Devices};
use earfirst::outside::files::read_sessions;
use earfirst::outside::music::{WrittenKey, instrument};
use earfirst::outside::notes::{Ear, EarSettings, NoteEvent, hear_clip};
use earfirst::outside::pattern::{Library, PatternId, Register, realise};
use earfirst::outside::room::Side;
use earfirst::outside::session::{Pause, PauseCause};
use earfirst::outside::sound::Clip;
use earfirst::outside::units::{A440, Hertz, SampleRate, Seconds, Tempo};

use crate::sound_card::{Card, on_a_virtual_card, wait_for};
use crate::stage::Stage;

pub const PATTERN: &str = "five-note-row-up-and-down";
const PATIENCE: Duration = Duration::from_secs(60);

/// The program at work, and the lines that it prints.
pub struct Drill {
    child: Child,
    lines: Receiver<String>,
    told: Vec<String>,
    data: std::path::PathBuf,
}

impl Drill {
    fn begin(name: &str) -> Self {
        let drill = [
            "drill",
            PATTERN,
            "--plain",
            "--cue",
            "first-note",
            "--instrument",
            "trumpet",
            "--keys",
            "C",
            "--keep-sound",
            "all",
        ];
        Self::run(name, &[&drill[..], &["--tempo", "120", "--seed", "5"]].concat())
    }

    pub fn run(name: &str, arguments: &[&str]) -> Self {
        let data = std::env::temp_dir().join(format!("earfirst-live-{}-{name}", std::process::id()));
        let _ = std::fs::remove_dir_all(&data);
        Self::run_in(data, arguments, &[])
    }

    /// The program with its data in this folder and with these variables of the environment.
    pub fn run_in(data: std::path::PathBuf, arguments: &[&str], variables: &[(&str, String)]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_earfirst"))
            .args(arguments)
            .env("EARFIRST_DATA", &data)
            .envs(variables.iter().map(|(name, value)| (name, value)))
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .unwrap();
        let out = BufReader::new(child.stdout.take().unwrap());
        let (tell, lines) = channel();
        std::thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                if tell.send(line).is_err() {
                    return;
                }
            }
        });
        Self { child, lines, told: Vec::new(), data }
    }

    /// The next line, if one comes in time.
    pub fn next_line(&mut self, limit: Duration) -> Option<String> {
        self.lines.recv_timeout(limit).ok()
    }

    /// Whether it has ended.
    pub fn ended(&mut self) -> bool {
        self.child.try_wait().unwrap().is_some()
    }

    /// Where its sitting lies.
    pub fn sessions(&self) -> std::path::PathBuf {
        self.data.join("sessions")
    }

    /// Its process id.
    pub fn process(&self) -> u32 {
        self.child.id()
    }

    /// The next line that holds `wanted`.
    fn await_line(&mut self, wanted: &str) -> String {
        let until = Instant::now() + PATIENCE;
        loop {
            match self.lines.recv_timeout(until.saturating_duration_since(Instant::now())) {
                Ok(line) => {
                    self.told.push(line.clone());
                    if line.contains(wanted) {
                        return line;
                    }
                }
                Err(_) => panic!("\"{wanted}\" was never told; told so far:\n{}", self.told.join("\n")),
            }
        }
    }

    /// Asks the program to end, waits until it has, and gives its folder.
    pub fn end(mut self) -> std::path::PathBuf {
        let process = self.child.id().to_string();
        assert!(Command::new("kill").args(["-TERM", &process]).status().unwrap().success());
        self.await_line("kept in");
        let child = &mut self.child;
        wait_for(PATIENCE, "the program to end", || child.try_wait().unwrap().is_some());
        self.data.clone()
    }
}

impl Drop for Drill {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A faultless answer in written C, in the middle register, as samples at 48 kHz.
pub fn answer(tempo: f64) -> Vec<f32> {
    let pattern = Library::builtin().get(&PatternId(PATTERN.to_owned())).unwrap();
    let trumpet = instrument("trumpet").unwrap();
    let key = trumpet.concert_key(WrittenKey::parse("C").unwrap());
    let line = realise(pattern, key, None, trumpet.developing, Register::Middle).unwrap();
    let cue = Cue::new(pattern, key, Register::Middle, Tempo(tempo), line);
    sound(&cue, &Rendering::new(SampleRate::DEVICE)).clip.samples.clone()
}

/// Soft noise, as in a still room: a real microphone never gives exact zeros.
pub fn stillness(seconds: usize) -> Vec<f32> {
    let mut state = 1_u32;
    let mut draw = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 8) as f32 / (1 << 24) as f32 - 0.5
    };
    (0..48_000 * seconds).map(|_| 0.002 * draw()).collect()
}

#[test]
fn a_whole_drill_hears_answers_says_what_was_right_and_keeps_the_record() {
    on_a_virtual_card(
        "drilling::a_whole_drill_hears_answers_says_what_was_right_and_keeps_the_record",
        |card: &Card| {
            let _room = card.play_into_microphone("stillness", &stillness(120));
            let recording = card.record_loudspeaker("cues");
            let mut drill = Drill::begin("whole");
            drill.await_line("listen · C");
            drill.await_line("your turn");
            let _first = card.play_into_microphone("first", &answer(120.0));
            drill.await_line("All nine right");
            drill.await_line("your turn");
            let _second = card.play_into_microphone("second", &answer(120.0));
            drill.await_line("All nine right");
            let heard = recording.end();
            let data = drill.end();
            let found = read_sessions(&[data.join("sessions")]);
            assert_eq!((found.sessions.len(), found.failures.len()), (1, 0));
            let session = found.sessions[0].session().unwrap();
            let judged: Vec<_> = session.trials.iter().filter_map(|turn| turn.judgement.as_ref()).collect();
            let whole = judged.iter().filter(|judged| judged.verdict.whole()).count();
            assert!(whole >= 2, "both answers are in the record: {judged:?}");
            let reflexes: Vec<f64> = session
                .trials
                .iter()
                .filter_map(|turn| turn.judgement.as_ref()?.verdict.reflex)
                .map(|reflex| reflex.time.0)
                .collect();
            assert!(reflexes.iter().all(|reflex| (0.0..3.0).contains(reflex)), "{reflexes:?}");
            // The cues as they came out of the loudspeaker: the prompt tone of written C, to the cent.
            let wanted = session.trials[0].cue.line.notes[0].pitch.midi();
            let settings =
                EarSettings { rate: SampleRate::DEVICE, lowest: Hertz(80.0), highest: Hertz(1500.0), a4: A440 };
            let sounded = hear_clip(&settings, &Clip { rate: SampleRate::DEVICE, samples: heard });
            assert!(!sounded.is_empty(), "no cue came out of the loudspeaker");
            let off = sounded[0].pitch.cents_above(wanted).0;
            assert!(off.abs() <= 1.0, "the first cue is {off} cents off");
            let _ = std::fs::remove_dir_all(&data);
        },
    );
}

#[test]
fn a_drill_whose_devices_are_unplugged_goes_on_by_itself_when_they_are_back() {
    on_a_virtual_card(
        "drilling::a_drill_whose_devices_are_unplugged_goes_on_by_itself_when_they_are_back",
        |card: &Card| {
            let _room = card.play_into_microphone("stillness", &stillness(120));
            let arguments = [
                "drill",
                PATTERN,
                "--cue",
                "first-note",
                "--instrument",
                "trumpet",
                "--keys",
                "C",
                "--keep-sound",
                "all",
            ];
            let arguments = [&arguments[..], &["--tempo", "120", "--seed", "5"]].concat();
            let mut stage = Stage::begin("unplugged", &arguments, 80, 24, &[]);
            stage.await_text("your turn");
            let first = card.play_into_microphone("first", &answer(120.0));
            stage.await_text("All nine right");
            drop(first);
            stage.await_text("your turn");
            let before = card.playing();
            let half = card.play_into_microphone("half an answer", &answer(120.0));
            wait_for(PATIENCE, "the answer to sound", || card.playing() > before);
            card.unplug();
            stage.await_text("has stopped");
            drop(half);
            card.plug();
            let _again = card.play_into_microphone("stillness again", &stillness(120));
            stage.await_text("listen");
            stage.await_text("your turn");
            let _answer = card.play_into_microphone("answer", &answer(120.0));
            stage.await_text("All nine right");
            stage.press("q");
            stage.await_text("earfirst review");
            let found = read_sessions(&[stage.data.join("sessions")]);
            assert_eq!((found.sessions.len(), found.failures.len()), (1, 0));
            let session = found.sessions[0].session().unwrap();
            let device = |pause: &&Pause| pause.cause == PauseCause::Device;
            let pause = session.pauses.iter().rfind(device).expect("a pause for the device");
            let back = pause.until.expect("the drill went on");
            let judged: Vec<_> = session.trials.iter().filter_map(|turn| turn.judgement.as_ref()).collect();
            let whole = |when: &dyn Fn(Seconds) -> bool| judged.iter().any(|j| when(j.at) && j.verdict.whole());
            assert!(whole(&|at| at < pause.from), "what was played before is in the record: {judged:?}");
            assert!(whole(&|at| at > back), "what was played afterwards is in the record: {judged:?}");
            let halved = session.trials.iter().rposition(|turn| turn.at < pause.from).unwrap();
            assert!(session.trials[halved].judgement.is_none(), "half an answer is not judged");
            let again = &session.trials[halved + 1].cue;
            assert!(again.repeat && again.line == session.trials[halved].cue.line, "its cue comes again: {again:?}");
            stage.press("x");
            assert_eq!(stage.end(), 0);
        },
    );
}

#[test]
fn a_line_played_once_into_the_microphone_is_learnt_and_kept() {
    on_a_virtual_card("drilling::a_line_played_once_into_the_microphone_is_learnt_and_kept", |card: &Card| {
        let _room = card.play_into_microphone("stillness", &stillness(120));
        let arguments = ["patterns", "learn", "--instrument", "trumpet", "--name", "heard-live"];
        let mut learn = Drill::run("learn", &arguments);
        learn.await_line("Play your line once");
        let _line = card.play_into_microphone("line", &answer(120.0));
        learn.await_line("in eighths at quarter = 120");
        learn.await_line("root      C: as in");
        learn.await_line("1    2    3    4    5    4    3    2    1");
        learn.await_line("kept as heard-live");
        let child = &mut learn.child;
        wait_for(PATIENCE, "the program to end", || child.try_wait().unwrap().is_some());
        let kept = std::fs::read_to_string(learn.data.join("patterns/own.toml")).unwrap();
        assert!(kept.contains("notes = \"1 2 3 4 5 4 3 2 1\""), "{kept}");
        let _ = std::fs::remove_dir_all(&learn.data);
    });
}

#[test]
fn what_is_heard_live_is_what_the_same_samples_give_offline() {
    on_a_virtual_card("drilling::what_is_heard_live_is_what_the_same_samples_give_offline", |card: &Card| {
        let wanted = DeviceRequest { input: DeviceChoice::Default, output: DeviceChoice::Nothing, period: None };
        let mut devices = Devices::open(&wanted);
        devices.wait(PATIENCE).unwrap();
        let rate = devices.about(Side::Input).unwrap().rate;
        let settings = EarSettings { rate, lowest: Hertz(80.0), highest: Hertz(1500.0), a4: A440 };
        let (mut ear, mut live, mut lengths) = (Ear::new(&settings), Vec::new(), BTreeSet::new());
        let (mut block, mut clip) = (Vec::new(), Clip { rate, samples: Vec::new() });
        let _line = card.play_into_microphone("line", &answer(120.0));
        let mut hear = |ear: &mut Ear, block: &[f32]| {
            ear.hear(block, &mut |_| {}, &mut |told| {
                live.extend(matches!(told, NoteEvent::Off(_)).then(|| *told.note()))
            });
            live.len()
        };
        wait_for(PATIENCE, "nine notes", || {
            let mut heard = 0;
            while let Some(stretch) = devices.read(&mut block) {
                // A hole is filled for the live ear and in the clip alike.
                let gap = vec![0.0; rate.samples(stretch.gap)];
                for part in [&gap, &block] {
                    clip.samples.extend_from_slice(part);
                    heard = hear(&mut ear, part);
                    lengths.insert(part.len());
                }
            }
            heard >= 9
        });
        let offline = hear_clip(&settings, &clip);
        assert_eq!(live[..], offline[..live.len()], "in blocks of {lengths:?}");
    });
}
