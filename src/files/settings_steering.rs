//! Keys that were taught to ask for something, and the range in which keys are played.

use crate::files::UserSettings;
use crate::files::settings_midi::KeyOrPedal;
use crate::music::{self, Concert, Range};

impl UserSettings {
    /// Refuses a key that asks for something and lies in the range of the instrument in the settings, where it may be asked.
    pub(super) fn check_steering(&self) -> Result<(), String> {
        let Some((range, (word, key))) = self.asked_range().zip(self.taught_in_range().first().copied()) else {
            return Ok(());
        };
        Err(format!(
            "midi.{word} = \"key {key}\" lies in your range, keys {} to {} (60 is middle C), and may be asked; name a key outside it, or a \
             pedal such as \"pedal 67\", or leave the line out and press one (earfirst hear --input midi --teach {word})",
            range.low.0, range.high.0
        ))
    }

    /// Forgets what the keys ask for that lie in the range by now: they are played.
    pub(super) fn play_keys_in_range(&mut self) {
        for (word, _) in self.taught_in_range() {
            let place = match word {
                "pause" => &mut self.midi.pause,
                "again" => &mut self.midi.again,
                _ => &mut self.midi.misheard,
            };
            *place = None;
        }
    }

    /// The keys that ask for something and lie in the range, each with what it asks for.
    fn taught_in_range(&self) -> Vec<(&'static str, u8)> {
        let Some(range) = self.asked_range() else { return Vec::new() };
        let taught = [("pause", self.midi.pause), ("again", self.midi.again), ("misheard", self.midi.misheard)];
        let key = |(word, meant)| match meant {
            Some(KeyOrPedal::Key(key)) if range.contains(Concert(i32::from(key))) => Some((word, key)),
            _ => None,
        };
        taught.into_iter().filter_map(key).collect()
    }

    /// The range in which the instrument in the settings is asked; `None` where no instrument stands there.
    fn asked_range(&self) -> Option<Range> {
        let instrument = music::instrument(self.instrument.as_deref()?).ok()?;
        let usual = self.compass().or(self.level()).unwrap_or_default();
        Some(self.range().unwrap_or_else(|| instrument.range(usual)))
    }
}

#[cfg(test)]
mod tests {
    use crate::files::{Places, UserSettings};

    fn refused(text: &str) -> Option<String> {
        toml::from_str::<UserSettings>(text).unwrap().check_steering().err()
    }

    #[test]
    fn a_key_in_the_range_cannot_steer_and_one_outside_it_can() {
        let said = refused("instrument = \"piano\"\n[midi]\npause = \"key 60\"").unwrap();
        assert!(
            said.starts_with("midi.pause = \"key 60\" lies in your range, keys 36 to 84 (60 is middle C)"),
            "{said}"
        );
        assert!(said.contains("--teach pause"), "{said}");
        for outside in [
            "instrument = \"piano\"\n[midi]\npause = \"key 21\"\nagain = \"pedal 67\"",
            "instrument = \"piano\"\nrange_midi = [72, 96]\n[midi]\npause = \"key 60\"",
            "[midi]\npause = \"key 60\"",
        ] {
            assert_eq!(refused(outside), None, "{outside}");
        }
    }

    #[test]
    fn a_range_that_comes_to_hold_a_taught_key_takes_it_back_among_the_notes_and_the_settings_are_read_again() {
        let folder = std::env::temp_dir().join(format!("earfirst-steering-{}", std::process::id()));
        let places = Places::at(&folder);
        UserSettings::change(&places, |now| {
            *now = toml::from_str("instrument = \"piano\"\nrange_midi = [72, 96]\n[midi]\npause = \"key 60\"").unwrap();
        })
        .unwrap();
        UserSettings::change(&places, |now| now.range_midi = Some([48, 96])).unwrap();
        let kept = UserSettings::load(&places);
        let _ = std::fs::remove_dir_all(&folder);
        assert_eq!(kept.unwrap().midi.pause, None);
    }
}
