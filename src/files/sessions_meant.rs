//! Which of the sittings found are meant by a name, a path or a player.

use std::path::{Path, PathBuf};

use crate::files::sessions::SessionIndex;
use crate::files::settings::UserSettings;
use crate::session::PlayerId;

impl SessionIndex {
    /// The path of a sitting that is named by its path, by its file's name, or by that name without its end; a sitting of the
    /// folder `here` is found even where it cannot be read.
    #[must_use]
    pub fn called(&self, typed: &str, here: &Path) -> Option<PathBuf> {
        let broken = self.failures.iter().map(|failure| &failure.place).filter(|place| place.parent() == Some(here));
        let mut all = self.listed.iter().map(|listed| &listed.path).chain(broken);
        let whole = Path::new(typed).canonicalize().ok();
        let is = |path: &Path| {
            let called = [path.file_name(), path.file_stem()].into_iter().flatten().any(|name| name == typed);
            called || (whole.is_some() && path.canonicalize().ok() == whole)
        };
        all.find(|path| is(path)).cloned()
    }

    /// A sitting, and its copies under other names: what began in the same way at the same second is the same sitting.
    #[must_use]
    pub fn with_copies(&self, path: PathBuf) -> Vec<PathBuf> {
        let began = self.listed.iter().find(|listed| listed.path == path).map(|listed| &listed.began);
        let same = self.listed.iter().filter(|listed| Some(&listed.began) == began && listed.path != path);
        let copies: Vec<PathBuf> = same.map(|listed| listed.path.clone()).collect();
        std::iter::once(path).chain(copies).collect()
    }

    /// The sittings of a player. Demos that name nobody are nobody's.
    #[must_use]
    pub fn of_player(&self, player: PlayerId, settings: &UserSettings) -> Vec<PathBuf> {
        let mine = self.listed.iter().filter(|listed| {
            let named = listed.began.player.is_some() || !listed.began.simulated;
            named && settings.owns(Some(player), &listed.began)
        });
        mine.map(|listed| listed.path.clone()).collect()
    }
}
