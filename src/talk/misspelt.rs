//! Keys of the settings that are misspelt: named once, and kept as they are.

use std::sync::Once;

use crate::files::UserSettings;
use crate::talk::output::warn;

/// Whether the misspelt keys were named: several parts of one command read the settings.
static SAID: Once = Once::new();

/// Names the keys that nothing reads although nearly the same ones are read.
pub fn tell(settings: &UserSettings) {
    let misspelt = settings.misspelt();
    if misspelt.is_empty() {
        return;
    }
    SAID.call_once(|| {
        for (key, meant) in misspelt {
            warn(match meant.split_once(" in ") {
                Some((_, table)) => {
                    format!("\"{key}\" in your settings changes nothing where it stands: write it under {table}")
                }
                None => format!("\"{key}\" in your settings changes nothing: is \"{meant}\" meant?"),
            });
        }
    });
}
