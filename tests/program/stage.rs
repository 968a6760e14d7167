//! The program on a pseudo-terminal, watched through a terminal emulator. A test never waits for a time, only until something appears.

use std::collections::BTreeSet;
use std::io::{Read, Write};
use std::num::NonZero;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

/// The longest wait before a test fails, long enough for a busy machine with two cores.
const PATIENCE: Duration = Duration::from_secs(90);

/// The program on its terminal.
pub struct Stage {
    pub child: Box<dyn Child + Send + Sync>,
    pub master: Box<dyn MasterPty + Send>,
    keys: Box<dyn Write + Send>,
    bytes: Receiver<Vec<u8>>,
    pub screen: vt100::Parser,
    /// Every row that was ever on the screen, without blanks at its ends.
    pub rows: BTreeSet<String>,
    pub data: std::path::PathBuf,
    /// The modes of the terminal before the program began, such as reading by lines and echo.
    before: String,
}

impl Stage {
    pub fn begin(name: &str, arguments: &[&str], columns: u16, rows: u16, environment: &[(&str, &str)]) -> Self {
        Self::with(env!("CARGO_BIN_EXE_earfirst"), name, arguments, (columns, rows), environment)
    }

    /// The same with another program.
    pub fn with(
        program: &str,
        name: &str,
        arguments: &[&str],
        (columns, rows): (u16, u16),
        environment: &[(&str, &str)],
    ) -> Self {
        let data = std::env::temp_dir().join(format!("earfirst-terminal-{}-{name}", std::process::id()));
        let _ = std::fs::remove_dir_all(&data);
        let pair =
            native_pty_system().openpty(PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 }).unwrap();
        let before = typing(&*pair.master);
        let mut command = CommandBuilder::new(program);
        command.args(arguments);
        command.env("EARFIRST_DATA", &data);
        command.env("TERM", "xterm-256color");
        for (key, value) in environment {
            command.env(key, value);
        }
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().unwrap();
        let (tell, bytes) = channel();
        std::thread::spawn(move || {
            // Small, so that no picture is passed over.
            let mut buffer = [0; 256];
            while let Ok(count @ 1..) = reader.read(&mut buffer) {
                if tell.send(buffer[..count].to_vec()).is_err() {
                    return;
                }
            }
        });
        let keys = pair.master.take_writer().unwrap();
        let screen = vt100::Parser::new(NonZero::new(rows).unwrap(), NonZero::new(columns).unwrap(), 0);
        Self { child, master: pair.master, keys, bytes, screen, rows: BTreeSet::new(), data, before }
    }

    pub fn text(&self) -> String {
        self.screen.screen().contents()
    }

    fn take(&mut self, bytes: &[u8]) {
        self.screen.process(bytes);
        self.rows.extend(self.text().lines().map(|row| row.trim().to_owned()));
    }

    /// Waits until the screen shows what is wanted.
    pub fn await_text(&mut self, wanted: &str) {
        self.await_either(&[wanted]);
    }

    /// Waits until the screen shows one of several texts, and hands that one back.
    pub fn await_either<'a>(&mut self, wanted: &[&'a str]) -> &'a str {
        let until = Instant::now() + PATIENCE;
        loop {
            let text = self.text();
            if let Some(found) = wanted.iter().find(|wanted| text.contains(**wanted)) {
                return found;
            }
            match self.bytes.recv_timeout(until.saturating_duration_since(Instant::now())) {
                Ok(bytes) => self.take(&bytes),
                Err(_) => panic!("{wanted:?} never came; the screen:\n{text}"),
            }
        }
    }

    pub fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    /// Whether the terminal passes each key on as it is pressed.
    pub fn takes_keys(&self) -> bool {
        typing(&*self.master) != self.before
    }

    /// Waits for the program to end, and hands back its exit code.
    pub fn end(mut self) -> u32 {
        let until = Instant::now() + PATIENCE;
        let code = loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                break status.exit_code();
            }
            assert!(Instant::now() < until, "the program did not end; the screen:\n{}", self.text());
            if let Ok(bytes) = self.bytes.recv_timeout(Duration::from_millis(100)) {
                self.take(&bytes);
            }
        };
        while let Ok(bytes) = self.bytes.recv_timeout(Duration::from_secs(2)) {
            self.take(&bytes);
        }
        assert!(!self.screen.screen().alternate_screen(), "the terminal was not given back");
        assert!(!self.screen.screen().hide_cursor(), "the cursor was not given back");
        assert!(!self.takes_keys(), "what is typed is not taken as before");
        let _ = std::fs::remove_dir_all(&self.data);
        code
    }
}

/// The modes in which a terminal takes what is typed.
fn typing(terminal: &dyn MasterPty) -> String {
    format!("{:?}", terminal.get_termios().unwrap())
}

impl Drop for Stage {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
