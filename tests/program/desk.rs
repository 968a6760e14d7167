//! A folder in which tests run commands as a player types them.

use std::path::PathBuf;
use std::process::Command;

use earfirst::outside::pattern::{self, Pattern};

/// A folder for one test, which is removed afterwards.
pub struct Desk(pub PathBuf);

impl Desk {
    /// An empty desk.
    pub fn new(name: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("earfirst-learning-{}-{name}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        Self(folder)
    }
    /// Writes a file on the desk, and hands back its name.
    pub fn file(&self, name: &str, bytes: &[u8]) -> String {
        std::fs::write(self.0.join(name), bytes).unwrap();
        name.to_owned()
    }
    /// Runs a command; hands back its exit code and all that it printed.
    pub fn run(&self, line: &str) -> (i32, String) {
        let told = Command::new(env!("CARGO_BIN_EXE_earfirst"))
            .args(line.split(' '))
            .current_dir(&self.0)
            .env("EARFIRST_DATA", self.0.join("data"))
            .output()
            .unwrap();
        let said = [told.stdout, told.stderr].map(|bytes| String::from_utf8(bytes).unwrap()).concat();
        (told.status.code().unwrap_or(-1), said)
    }
    /// Runs a command that has to succeed; hands back all that it printed.
    pub fn done(&self, line: &str) -> String {
        let (code, said) = self.run(line);
        assert_eq!(code, 0, "{line}\n{said}");
        said
    }
    /// The patterns of a file on the desk, which may have no trouble.
    pub fn kept(&self, file: &str) -> Vec<Pattern> {
        let text = std::fs::read_to_string(self.0.join(file)).unwrap();
        let (patterns, troubles) = pattern::read(&text, file);
        assert_eq!(troubles, []);
        patterns
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
