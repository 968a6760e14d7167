//! One change of the settings at a time: two programs that write at once lose nothing of one another, unless one holds the lock for
//! longer than the other waits.

use std::fs::{File, TryLockError};
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use crate::files::places::{private_file, private_folders};
use crate::files::{FileError, Places, UserSettings};

/// How long another program that changes the settings is waited for. A change takes a moment; after this time ours is written all
/// the same.
const PATIENCE: Duration = Duration::from_secs(2);
/// Time between two tries for the lock.
const AGAIN: Duration = Duration::from_millis(5);

impl UserSettings {
    /// Reads the settings from the disk, changes them, writes them whole, and returns them; what was read before does not matter.
    /// Another earfirst waits meanwhile, up to two seconds. Where nothing is changed, nothing is written. A key that asks for something and
    /// lies in the player's range after the change is a note again.
    ///
    /// # Errors
    /// When they cannot be read or written.
    pub fn change(places: &Places, change: impl FnOnce(&mut Self)) -> Result<Self, FileError> {
        let _mine = turn(&places.settings_turn());
        let before = Self::load(places)?;
        let mut now = before.clone();
        change(&mut now);
        now.play_keys_in_range();
        if now != before {
            now.save(places)?;
        }
        Ok(now)
    }
}

/// The lock by which programs take turns; `None` where its file cannot be made, and then writing the settings reports why.
fn turn(path: &Path) -> Option<File> {
    private_folders(path.parent()?).ok()?;
    let file = private_file(path).ok()?;
    let began = Instant::now();
    while matches!(file.try_lock(), Err(TryLockError::WouldBlock)) && began.elapsed() < PATIENCE {
        thread::sleep(AGAIN);
    }
    Some(file)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::{NamedPlayer, PlayerId};

    #[test]
    fn players_who_become_known_at_the_same_moment_are_all_kept() {
        let folder = std::env::temp_dir().join(format!("earfirst-turns-{}", std::process::id()));
        let places = Places::at(&folder);
        thread::scope(|scope| {
            for byte in 0..12 {
                let places = &places;
                scope.spawn(move || {
                    let player = NamedPlayer::new(PlayerId::new([byte; 16]), "");
                    UserSettings::change(places, |settings| settings.add_player(&player)).unwrap();
                });
            }
        });
        assert_eq!(UserSettings::load(&places).unwrap().players.len(), 12);
        std::fs::remove_dir_all(folder).unwrap();
    }
}
