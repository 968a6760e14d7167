//! How a MIDI instrument is listened to.

use serde::{Deserialize, Serialize};

use crate::midi;
use crate::music::{NoteNames, Spelled};

/// The note of a chord that counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum NoteOfChord {
    /// The highest: usual.
    Highest,
    /// The lowest.
    Lowest,
}

/// A key or a pedal that asks for something, by its number: in the file `"key 21"` or `"pedal 67"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum KeyOrPedal {
    /// A key, by its note number.
    Key(u8),
    /// A pedal or button, by the number of its controller.
    Pedal(u8),
}

/// Longest `delay_ms`: no headphones by radio are so late.
const LONGEST_MS: i64 = 1000;

impl TryFrom<String> for KeyOrPedal {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        let number = |word: &str| word.trim().parse::<u8>().ok().filter(|number| *number < 128);
        match text.split_once(' ').map(|(kind, word)| (kind, number(word))) {
            Some(("pedal", Some(number))) => match midi::plays_or_sets(number) {
                Some(does) => Err(format!(
                    "\"pedal {number}\" {does}, and asks for nothing; name another, such as \"pedal 67\" (the soft pedal), or press one \
                     with earfirst hear --input midi --teach pause"
                )),
                None => Ok(Self::Pedal(number)),
            },
            Some(("key", Some(number))) => Ok(Self::Key(number)),
            _ => Err(format!(
                "\"{text}\" is neither a key nor a pedal by its MIDI number, such as \"key 21\" (the lowest A of a piano) or \"pedal 67\" (the \
                 soft pedal); earfirst hear --input midi --teach pause takes the one that you press"
            )),
        }
    }
}

impl From<KeyOrPedal> for String {
    fn from(meant: KeyOrPedal) -> Self {
        match meant {
            KeyOrPedal::Key(number) => format!("key {number}"),
            KeyOrPedal::Pedal(number) => format!("pedal {number}"),
        }
    }
}

/// The settings of a MIDI instrument. A name that is not one of these fields is an error: a misspelt `channel` would otherwise mean
/// all channels.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct MidiSettings {
    /// The only channel that is listened to, 1 to 16; all where it is unset.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub channel: Option<i64>,
    /// The lowest and the highest key that are listened to, as the player's page writes them, such as "C3-C8"; all where it is unset.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub keys: Option<String>,
    /// The note of a chord that counts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chord: Option<NoteOfChord>,
    /// Whether the player tunes by pitch bend, so that intonation is judged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bend: Option<bool>,
    /// Whether breath or channel pressure says how loud a note is, in place of its velocity.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub breath: Option<bool>,
    /// Whether the program sounds what is played, for an instrument that is silent itself.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sound: Option<bool>,
    /// Delay of the cues that the system does not know of, as of headphones by radio, 0 to 1000 milliseconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delay_ms: Option<i64>,
    /// Key or pedal that asks for a pause.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pause: Option<KeyOrPedal>,
    /// Key or pedal that asks for the cue again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub again: Option<KeyOrPedal>,
    /// Key or pedal that says that the answer was misheard.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub misheard: Option<KeyOrPedal>,
}

impl MidiSettings {
    /// Whether nothing is set.
    pub(super) fn is_usual(&self) -> bool {
        *self == Self::default()
    }

    /// The lowest and the highest key that are listened to, each by its name in English on the player's page.
    #[must_use]
    pub fn ends(&self, names: NoteNames) -> Option<[String; 2]> {
        let words = words(self.keys.as_deref()?);
        <[&str; 2]>::try_from(words).ok().map(|ends| ends.map(|end| names.in_english(end)))
    }

    /// Checks the values, notes being named in this language; the error says which is outside its bounds, or which press asks for two
    /// things.
    pub(super) fn check(&self, names: NoteNames) -> Result<(), String> {
        self.check_keys(names)?;
        for (key, value, low, high) in [("channel", self.channel, 1, 16), ("delay_ms", self.delay_ms, 0, LONGEST_MS)] {
            if let Some(value) = value.filter(|value| !(low..=high).contains(value)) {
                return Err(format!("midi.{key} = {value} is not {low} to {high}"));
            }
        }
        let taught = [("pause", self.pause), ("again", self.again), ("misheard", self.misheard)];
        for (n, (key, meant)) in taught.iter().enumerate() {
            let Some(meant) = *meant else { continue };
            if let Some((other, _)) = taught[..n].iter().find(|(_, other)| *other == Some(meant)) {
                let meant = String::from(meant);
                return Err(format!("midi.{key} is \"{meant}\", as midi.{other} is: one press cannot ask for both"));
            }
        }
        Ok(())
    }

    fn check_keys(&self, names: NoteNames) -> Result<(), String> {
        let Some(text) = &self.keys else { return Ok(()) };
        let ends = self.ends(names).and_then(|[low, high]| Some([low.parse().ok()?, high.parse().ok()?]));
        match ends.map(|ends: [Spelled; 2]| ends.map(Spelled::written)) {
            None => {
                Err(format!("midi.keys = \"{text}\" is no lowest and highest key, such as \"C3-C8\" (C4 is middle C)"))
            }
            Some([low, high]) if low > high => {
                Err(format!("midi.keys = \"{text}\" goes down: the lowest key comes first"))
            }
            Some(_) => Ok(()),
        }
    }
}

/// The words of a range of keys: a hyphen parts them too, unless a number follows it, as in C-1.
fn words(text: &str) -> Vec<&str> {
    let parts = |word: &'_ str| {
        let parting = word.match_indices('-').find(|(at, _)| word[at + 1..].starts_with(char::is_alphabetic));
        parting.map_or(word.len(), |(at, _)| at)
    };
    let words = text.split([' ', ',']).flat_map(|word| {
        let (first, rest) = word.split_at(parts(word));
        [first, rest]
    });
    words.map(|word| word.trim_matches('-')).filter(|word| !word.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_set_of_an_instrument_is_kept_and_what_is_wrong_is_named() {
        let read = |text: &str| toml::from_str::<MidiSettings>(text);
        let (chord, pause) = (Some(NoteOfChord::Lowest), Some(KeyOrPedal::Key(21)));
        let (bend, again) = (Some(true), Some(KeyOrPedal::Pedal(67)));
        let (channel, delay_ms) = (Some(2), Some(180));
        let set = MidiSettings { channel, chord, bend, delay_ms, pause, again, ..MidiSettings::default() };
        let text =
            "channel = 2\nchord = \"lowest\"\nbend = true\ndelay_ms = 180\npause = \"key 21\"\nagain = \"pedal 67\"";
        assert_eq!(read(text).unwrap(), set);
        assert_eq!(read(&toml::to_string(&set).unwrap()).unwrap(), set);
        let check = |text: &str| read(text).unwrap().check(NoteNames::English);
        assert_eq!(check("channel = 17").unwrap_err(), "midi.channel = 17 is not 1 to 16");
        assert!(check("delay_ms = -1").is_err() && check("delay_ms = 1000").is_ok());
        let twice = check("misheard = \"pedal 67\"\npause = \"pedal 67\"").unwrap_err();
        assert!(twice.contains("midi.misheard is \"pedal 67\", as midi.pause is"), "{twice}");
        assert!(read("chanel = 2").is_err() && read("chord = \"middle\"").is_err());
    }

    #[test]
    fn the_keys_that_are_listened_to_are_named_as_notes_in_the_players_own_language() {
        let ends = |text: &str, names| {
            let read: MidiSettings = toml::from_str(&format!("keys = \"{text}\"")).unwrap();
            read.check(names).map(|()| read.ends(names).unwrap().join(" "))
        };
        let english = NoteNames::English;
        for text in ["C3-C8", "C3 C8", "c3, c8", "C3 - C8"] {
            assert_eq!(ends(text, english).unwrap().to_uppercase(), "C3 C8", "{text}");
        }
        assert_eq!(ends("C-1-Bb4", english).unwrap(), "C-1 Bb4");
        assert_eq!(ends("H2-Es6", NoteNames::German).unwrap(), "B2 Eb6");
        assert_eq!(ends("Do3-Sol5", NoteNames::Solfege).unwrap(), "C3 G5");
        for text in ["", "C3", "C-C8", "H3-C8", "C3-C4-C5", "48-108"] {
            let said = ends(text, english).unwrap_err();
            assert!(
                said.starts_with(&format!("midi.keys = \"{text}\" is no lowest and highest key, such as")),
                "{said}"
            );
        }
        assert_eq!(ends("C8-C3", english).unwrap_err(), "midi.keys = \"C8-C3\" goes down: the lowest key comes first");
    }

    #[test]
    fn what_is_played_cannot_be_set_to_steer_and_what_to_name_instead_is_said() {
        let wrong = |text: &str| toml::from_str::<MidiSettings>(text).unwrap_err().to_string();
        // Numbers: MIDI 1.0 Detailed Specification, from memory.
        for (number, does) in
            [(1, "modulation"), (7, "volume"), (11, "expression"), (64, "sustain pedal"), (123, "mode")]
        {
            let said = wrong(&format!("pause = \"pedal {number}\""));
            assert!(said.contains(&format!("\"pedal {number}\"")) && said.contains(does), "{said}");
            assert!(said.contains("asks for nothing") && said.contains("--teach"), "{said}");
        }
        assert!(wrong("pause = \"wheel 1\"").contains("neither a key nor a pedal"));
        assert!(wrong("again = \"key 128\"").contains("neither a key nor a pedal"));
    }
}
