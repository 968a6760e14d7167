//! A private sound server with a virtual loudspeaker and microphone, one for each test that wants sound.
//!
//! The sound libraries take their settings from the environment of the process, so the body of such a test runs in a process
//! of its own: the test starts the server, starts this very binary again for itself alone with the server's settings, and
//! passes if that does. Where there is no server to be had it says "skipped"; under `CI=true` that is a failure.

use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Mutex, PoisonError};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Set in the process that runs the body.
const INSIDE: &str = "EARFIRST_TEST_INSIDE";

/// Tests with sound measure time: one at a time.
static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());

/// Runs `body` with a virtual sound card. `name` is the test's own full name.
pub fn on_a_virtual_card(name: &str, body: impl FnOnce(&Card)) {
    if std::env::var_os(INSIDE).is_some() {
        let folder = std::env::var_os("VIRTUAL_MIC_DIR").expect("the outer process names the folder");
        body(&Card { folder: folder.into() });
        return;
    }
    let _alone = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    if !there("pulseaudio") || !there("pactl") {
        assert!(std::env::var("CI").as_deref() != Ok("true"), "no sound server to be had, and CI allows no skipping");
        println!("{name}: skipped, there is no sound server to be had");
        return;
    }
    let server = Server::start(name);
    let inside = urgent(&std::env::current_exe().expect("this binary"))
        .args([name, "--exact", "--nocapture", "--test-threads=1"])
        .envs(server.settings.iter().map(|(key, value)| (key, value)))
        .env(INSIDE, "1")
        .output()
        .expect("this binary runs again");
    let said = String::from_utf8_lossy(&inside.stdout);
    print!("{said}");
    eprint!("{}", String::from_utf8_lossy(&inside.stderr));
    assert!(inside.status.success(), "{name} failed on the virtual sound card");
    assert!(said.contains("1 passed"), "no test is called {name}");
}

/// Ends a test that measures time where the sound faltered again and again: the test then measures and checks nothing. With
/// `EARFIRST_LONGER=1`, which wants a machine that does nothing else, that is a failure.
pub fn too_busy() {
    assert!(std::env::var("EARFIRST_LONGER").as_deref() != Ok("1"), "the machine is too busy to measure time");
    println!("not measured, the machine is too busy");
}

fn there(program: &str) -> bool {
    Command::new(program).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok()
}

/// The command that runs a program with priority, so that other work on the machine does not make the sound falter. Where the system
/// does not allow that, `nice` runs the program all the same.
fn urgent(program: &Path) -> Command {
    let mut command = Command::new("nice");
    command.args(["-n", "-15"]).arg(program);
    command
}

fn script(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/virtual-mic").join(name)
}

/// A running server; ended when dropped.
struct Server {
    folder: PathBuf,
    settings: Vec<(String, String)>,
}

impl Server {
    fn start(name: &str) -> Self {
        let short: u32 = name.bytes().fold(7, |sum, byte| sum.wrapping_mul(31).wrapping_add(byte.into()));
        let folder = std::env::temp_dir().join(format!("earfirst-{}-{short:08x}", std::process::id()));
        let settings = start(&folder);
        Self { folder, settings }
    }
}

/// Starts a server and gives the variables that its clients need, as the script prints them: `export NAME='value'`.
fn start(folder: &Path) -> Vec<(String, String)> {
    let started = urgent(&script("start")).arg(folder).output().expect("the start script");
    assert!(started.status.success(), "{}", String::from_utf8_lossy(&started.stderr));
    String::from_utf8(started.stdout)
        .expect("text")
        .lines()
        .filter_map(|line| line.strip_prefix("export ")?.split_once('='))
        .map(|(key, value)| (key.to_owned(), value.trim_matches('\'').to_owned()))
        .collect()
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = Command::new(script("stop")).arg(&self.folder).status();
    }
}

/// The virtual card, from inside.
pub struct Card {
    folder: PathBuf,
}

impl Card {
    /// A file name in the server's folder.
    pub fn file(&self, name: &str) -> PathBuf {
        let folder = self.folder.join("home");
        std::fs::create_dir_all(&folder).expect("the server's folder");
        folder.join(name)
    }

    /// Asks the server something and gives its answer.
    pub fn pactl(&self, words: &[&str]) -> String {
        let told = Command::new("pactl").args(words).output().expect("pactl");
        assert!(told.status.success(), "pactl {words:?}: {}", String::from_utf8_lossy(&told.stderr));
        String::from_utf8_lossy(&told.stdout).trim().to_owned()
    }

    /// The program hears what it plays, on one clock. To be called before any device is opened.
    pub fn loop_on_one_clock(&self) {
        let names =
            ["load-module", "module-remap-source", "source_name=echo-mic", "master=speaker.monitor", "channels=1"];
        self.pactl(&names);
        self.pactl(&["set-default-source", "echo-mic"]);
    }

    /// The program hears what it plays through a second clock and a resampler.
    pub fn loop_on_two_clocks(&self) {
        self.pactl(&["load-module", "module-loopback", "source=speaker.monitor", "sink=mic-feed", "latency_msec=20"]);
    }

    /// Takes loudspeaker and microphone away; every stream of theirs dies.
    pub fn unplug(&self) {
        self.pactl(&["unload-module", "module-remap-source"]);
        self.pactl(&["unload-module", "module-null-sink"]);
    }

    /// Takes the microphone away: the server moves its streams to what is left, the loudspeaker's monitor.
    pub fn unplug_microphone(&self) {
        self.pactl(&["unload-module", "module-remap-source"]);
    }

    /// Plugs a microphone in, under this name, and makes it the system's own.
    pub fn plug_microphone(&self, name: &str) {
        let named = format!("source_name={name}");
        self.pactl(&["load-module", "module-remap-source", &named, "master=mic-feed.monitor", "channels=1"]);
        self.pactl(&["set-default-source", name]);
    }

    /// Brings loudspeaker and microphone back as they were.
    pub fn plug(&self) {
        let null = ["load-module", "module-null-sink", "norewinds=1", "rate=48000"];
        self.pactl(&[&null[..], &["sink_name=speaker", "channels=2"]].concat());
        self.pactl(&[&null[..], &["sink_name=mic-feed", "channels=1"]].concat());
        let remap = ["load-module", "module-remap-source", "source_name=mic", "master=mic-feed.monitor", "channels=1"];
        self.pactl(&remap);
        self.pactl(&["set-default-sink", "speaker"]);
        self.pactl(&["set-default-source", "mic"]);
    }

    /// Kills the server as if it had crashed.
    pub fn crash(&self) {
        let known = std::fs::read_to_string(self.folder.join("server.pid")).expect("the server's process id");
        let id = known.split_whitespace().next().expect("a process id");
        assert!(Command::new("kill").args(["-KILL", id]).status().expect("kill").success());
        let gone = Path::new("/proc").join(id).join("cwd");
        wait_for(Duration::from_secs(5), "the server to be gone", || std::fs::read_link(&gone).is_err());
    }

    /// Starts the server again in the same place.
    pub fn restart(&self) {
        start(&self.folder);
    }

    /// Plugs in another loudspeaker, under this name.
    pub fn plug_loudspeaker(&self, name: &str) {
        let named = format!("sink_name={name}");
        self.pactl(&["load-module", "module-null-sink", "norewinds=1", "rate=48000", &named, "channels=2"]);
    }

    /// Plays samples at 48 kHz into the microphone, beside whatever else sounds there.
    pub fn play_into_microphone(&self, name: &str, samples: &[f32]) -> Running {
        self.play_on("mic-feed", name, samples)
    }

    /// Plays samples at 48 kHz on a loudspeaker, beside whatever else sounds there.
    pub fn play_on(&self, loudspeaker: &str, name: &str, samples: &[f32]) -> Running {
        let path = self.file(name);
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: 48_000,
            bits_per_sample: 32,
            sample_format: hound::SampleFormat::Float,
        };
        let mut wav = hound::WavWriter::create(&path, spec).expect("a file for the player");
        for sample in samples {
            wav.write_sample(*sample).expect("a sample");
        }
        wav.finalize().expect("a whole file");
        Running::start(Command::new("paplay").arg(format!("--device={loudspeaker}")).arg(path))
    }

    /// How many clips sound now, the program's own among them.
    pub fn playing(&self) -> usize {
        self.pactl(&["list", "short", "sink-inputs"]).lines().count()
    }

    /// Records the loudspeaker from now on, into a file of this name.
    pub fn record_loudspeaker(&self, name: &str) -> Recording {
        self.record_into("speaker", name)
    }

    /// Records this loudspeaker from now on.
    pub fn record(&self, loudspeaker: &str) -> Recording {
        self.record_into(loudspeaker, &format!("{loudspeaker}.wav"))
    }

    fn record_into(&self, loudspeaker: &str, name: &str) -> Recording {
        let path = self.file(name);
        let before = self.pactl(&["list", "short", "source-outputs"]).lines().count();
        let running = Running::start(
            Command::new("parecord")
                .args(["--file-format=wav", "--format=s16le", "--rate=48000", "--channels=1", "--latency-msec=50"])
                .arg(format!("--device={loudspeaker}.monitor"))
                .arg(&path),
        );
        wait_for(Duration::from_secs(5), "the recorder to listen", || {
            self.pactl(&["list", "short", "source-outputs"]).lines().count() > before
        });
        Recording { running, path }
    }
}

/// A helper process, ended when dropped.
pub struct Running(Child);

impl Running {
    fn start(command: &mut Command) -> Self {
        Self(command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("a helper program"))
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// A recording that is running.
pub struct Recording {
    running: Running,
    path: PathBuf,
}

impl Recording {
    /// Ends the recording and gives what was recorded, at 48 kHz.
    pub fn end(mut self) -> Vec<f32> {
        // Only this signal lets the recorder complete the file's header.
        let id = self.running.0.id().to_string();
        assert!(Command::new("kill").args(["-TERM", &id]).status().expect("kill").success());
        let _ = self.running.0.wait();
        let wav = hound::WavReader::open(&self.path).expect("a recording");
        wav.into_samples::<i16>().map(|sample| f32::from(sample.expect("a sample")) / 32_768.0).collect()
    }
}

/// Looks again and again until `there` is, and fails after `limit`.
pub fn wait_for(limit: Duration, what: &str, mut there: impl FnMut() -> bool) {
    let until = Instant::now() + limit;
    while !there() {
        assert!(Instant::now() < until, "waited {limit:?} for {what}");
        sleep(Duration::from_millis(5));
    }
}
