use crate::files::UserSettings;
use crate::music::slips;

/// The keys and tables of the settings, as they stand in the file.
const KNOWN: [&str; 22] = [
    "instrument",
    "range_midi",
    "compass",
    "level",
    "headphones",
    "input",
    "output",
    "a4_hz",
    "g_flat",
    "note_names",
    "reflex_unit",
    "keep_sound",
    "cue_octave_up",
    "goal_quarter_per_minute",
    "goal_reflex_s",
    "rests",
    "day",
    "midi",
    "player",
    "held_out",
    "calibration",
    "cue_level",
];
/// The keys of the table `[day]`.
const OF_THE_DAY: [&str; 3] = ["minutes", "lesson", "left"];
/// Keys that stand in a table, each with the table: at the top they change nothing, though a player may look for them there.
const IN_TABLES: [(&str, &str); 16] = [
    ("channel", "channel in [midi]"),
    ("keys", "keys in [midi]"),
    ("chord", "chord in [midi]"),
    ("bend", "bend in [midi]"),
    ("breath", "breath in [midi]"),
    ("sound", "sound in [midi]"),
    ("delay_ms", "delay_ms in [midi]"),
    ("pause", "pause in [midi]"),
    ("again", "again in [midi]"),
    ("misheard", "misheard in [midi]"),
    ("sounding_share", "sounding_share in [rests]"),
    ("first_minutes", "first_minutes in [rests]"),
    ("between_minutes", "between_minutes in [rests]"),
    ("low_minutes", "low_minutes in [rests]"),
    ("sing_and_finger", "sing_and_finger in [rests]"),
    ("minutes", "minutes in [day]"),
];
/// The most letters by which a misspelt key differs from the one that is meant; it is less in a short key, but at least one.
const MOST: usize = 2;
/// Number of letters that a known key has for each letter by which a misspelt one may differ.
const LETTERS: usize = 3;

impl UserSettings {
    /// The unknown keys, at the top and in `[day]`, that are nearly a known one (capitals make no difference) or that belong into a table,
    /// each with the known key that may be meant. Other unknown keys are a later program's.
    #[must_use]
    pub fn misspelt(&self) -> Vec<(&str, &'static str)> {
        let meant = |key: &str, all: &[&'static str]| {
            let near = all.iter().map(|known| (slips(key, known), *known));
            let most = |known: &str| MOST.min(known.len() / LETTERS).max(1);
            near.filter(|(count, known)| *count <= most(known)).min_by_key(|(count, _)| *count).map(|(_, known)| known)
        };
        let misplaced = |key: &str| IN_TABLES.iter().find(|(known, _)| *known == key).map(|(_, place)| *place);
        let of_top = |key: &str| misplaced(key).or_else(|| meant(key, &KNOWN));
        let top = self.rest.keys().filter_map(|key| Some((key.as_str(), of_top(key)?)));
        let day = self.day.rest.keys().filter_map(|key| Some((key.as_str(), meant(key, &OF_THE_DAY)?)));
        top.chain(day).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_that_is_nearly_one_of_the_settings_is_named_and_a_later_programs_is_not() {
        let of = |text: &str| toml::from_str::<UserSettings>(text).unwrap();
        let settings = of("inptu = \"midi\"\nlamp = \"red\"\nA4_Hz = 442\n[MIDI]\nbend = true\n");
        assert_eq!(settings.misspelt(), [("A4_Hz", "a4_hz"), ("MIDI", "midi"), ("inptu", "input")]);
        assert_eq!(of("[midy]\nbend = true").misspelt(), [("midy", "midi")]);
        assert_eq!(of("[midi]\nbend = true").misspelt(), []);
        assert_eq!(of("channel = 2").misspelt(), [("channel", "channel in [midi]")]);
        assert_eq!(of("[day]\nminuts = 20\nlamp = 1").misspelt(), [("minuts", "minutes")]);
    }

    #[test]
    fn every_key_that_may_be_meant_is_one() {
        for (key, place) in IN_TABLES {
            let table = place.rsplit(' ').next().unwrap();
            assert!(toml::from_str::<UserSettings>(&format!("{table}\n{key} = [[[]]]")).is_err(), "{key}");
        }
        for key in KNOWN {
            let wrong = toml::from_str::<UserSettings>(&format!("{key} = [[[]]]"));
            assert!(wrong.is_err(), "{key}");
        }
    }
}
