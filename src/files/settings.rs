use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::coach::Goals;
use crate::cue;
use crate::files::places::{read_text, write_private};
use crate::files::settings_day::DaySettings;
use crate::files::settings_devices::{Calibration, CueLevel};
use crate::files::settings_errors::{in_plain_words, one_of, with_line};
use crate::files::settings_held_out::{self, HeldOutKey};
use crate::files::settings_midi::MidiSettings;
use crate::files::settings_players::{self, KnownPlayer};
use crate::files::settings_rests::{RestSettings, inside};
use crate::files::settings_words::{Names, PlayerLevel, ReflexIn};
use crate::files::{FileError, FileErrorKind, Places};
use crate::music::{Concert, Level, NoteNames, Range, ReflexUnit};
use crate::units::{Decibels, Hertz, Seconds, Tempo};

/// The answers whose sound is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum KeepSound {
    /// The sound of all answers.
    #[default]
    All,
    /// The sound of answers that were not whole: from them there is something to learn.
    Some,
    /// No sound.
    None,
}

impl KeepSound {
    /// Whether the sound of an answer is kept, where `whole` says whether the answer was whole.
    #[must_use]
    pub fn keeps(self, whole: bool) -> bool {
        match self {
            Self::All => true,
            Self::Some => !whole,
            Self::None => false,
        }
    }
}

/// The player's settings, as they stand in the file; what is left out has its usual value.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct UserSettings {
    /// Id of the instrument.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// Lowest and highest sounding note number that may be asked; where unset, those of the usual compass.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range_midi: Option<[i32; 2]>,
    /// The level whose usual compass is taken where no range is set; `level` where this is unset.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub compass: Option<PlayerLevel>,
    /// How far the player has come, student unless this says otherwise. It chooses the bands of intonation, and the compass where
    /// neither `compass` nor `range_midi` is set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub level: Option<PlayerLevel>,
    /// Whether cues go to headphones; they do where this is unset.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub headphones: Option<bool>,
    /// Input device by identifier, name or part of a name; `midi` or `midi:` with a name for a MIDI instrument.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub input: Option<String>,
    /// Output device by identifier, name or part of a name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub output: Option<String>,
    /// Reference pitch, 415 to 466 Hz.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub a4_hz: Option<f64>,
    /// Whether the key of six accidentals is written Gb; otherwise it is F#.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub g_flat: Option<bool>,
    /// The language of note names, English unless this says otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note_names: Option<Names>,
    /// The unit of reflex times, seconds unless this says otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reflex_unit: Option<ReflexIn>,
    /// The answers whose sound is kept; unset until the player was asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub keep_sound: Option<KeepSound>,
    /// Whether cues sound an octave up: for a low instrument on a small loudspeaker.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cue_octave_up: Option<bool>,
    /// Tempo at which a pattern should come out whole, 20 to 400 quarters a minute.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub goal_quarter_per_minute: Option<f64>,
    /// Goal for the reflex time of a free answer, 0.12 to 30 seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub goal_reflex_s: Option<f64>,
    /// How lips, voice and hands are spared.
    #[serde(skip_serializing_if = "RestSettings::is_usual")]
    pub rests: RestSettings,
    /// The plan of the day.
    #[serde(skip_serializing_if = "DaySettings::is_usual")]
    pub day: DaySettings,
    /// How a MIDI instrument is listened to.
    #[serde(skip_serializing_if = "MidiSettings::is_usual")]
    pub midi: MidiSettings,
    /// Who plays on this machine; the first is meant where nobody is named.
    #[serde(rename = "player", skip_serializing_if = "Vec::is_empty")]
    pub players: Vec<KnownPlayer>,
    /// Keys that a player holds out of practice.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub held_out: Vec<HeldOutKey>,
    /// What `calibrate` measured, one for each pair of devices and buffer size.
    #[serde(rename = "calibration", skip_serializing_if = "Vec::is_empty")]
    pub calibrations: Vec<Calibration>,
    /// How loud the cues were: one for each output device, and one more for headphones at it.
    #[serde(rename = "cue_level", skip_serializing_if = "Vec::is_empty")]
    pub cue_levels: Vec<CueLevel>,
    /// Keys and tables at the top of the file that this program does not know, kept as they are.
    #[serde(flatten)]
    pub rest: toml::Table,
}

/// Most bytes of a settings file; a larger one is refused.
const LIMIT: u64 = 1 << 20;
/// What was tried, for an error.
const DOING: &str = "read the settings in";

impl UserSettings {
    /// The settings file; the usual values where there is none.
    ///
    /// # Errors
    /// A file that cannot be read, is no TOML, or has a value outside its bounds: the message names the key, and the line where it
    /// is known.
    pub fn load(places: &Places) -> Result<Self, FileError> {
        match read_text(places.settings(), DOING, LIMIT) {
            Err(failure) if failure.kind == FileErrorKind::Missing => Ok(Self::default()),
            Err(failure) => Err(failure),
            Ok(text) => Self::parse(&text, places.settings()),
        }
    }

    fn parse(text: &str, path: &Path) -> Result<Self, FileError> {
        let settings: Self = toml::from_str(text).map_err(|error| {
            let before = error.span().map_or("", |span| text.get(..span.start).unwrap_or_default());
            let line = before.matches('\n').count() + 1;
            let why = format!("line {line}: {}", in_plain_words(error.message()));
            FileError::unreadable(DOING, path, why, "mend that line, or delete it")
        })?;
        let wrong = |why| FileError::unreadable(DOING, path, with_line(text, why), "mend that value, or delete it");
        settings.check().map_err(wrong)?;
        Ok(settings)
    }

    fn check(&self) -> Result<(), String> {
        inside("a4_hz", self.a4_hz, 415.0, 466.0)?;
        inside("goal_quarter_per_minute", self.goal_quarter_per_minute, 20.0, 400.0)?;
        inside("goal_reflex_s", self.goal_reflex_s, 0.12, 30.0)?;
        self.rests.check().and_then(|()| self.day.check())?;
        self.midi.check(self.note_names().unwrap_or_default())?;
        self.check_steering()?;
        settings_players::check(&self.players)?;
        settings_held_out::check(&self.held_out)?;
        for (n, calibration) in self.calibrations.iter().enumerate() {
            inside(&one_of("calibration", n, "remainder_s"), Some(calibration.remainder_s), -2.0, 2.0)?;
            inside(&one_of("calibration", n, "spread_s"), Some(calibration.spread_s), 0.0, 2.0)?;
            inside(&one_of("calibration", n, "ahead_s"), calibration.ahead_s, 0.0, 3.0)?;
        }
        for (n, level) in self.cue_levels.iter().enumerate() {
            inside(&one_of("cue_level", n, "peak_db"), Some(level.peak_db), cue::FIRST.0, cue::FULL.0)?;
        }
        match self.range_midi {
            Some([low, high]) if low < 0 || high > 127 || low > high => {
                Err(format!("range_midi = [{low}, {high}] is not a lowest and a highest note of 0 to 127"))
            }
            _ => Ok(()),
        }
    }

    /// Writes the file whole: it is always either the old one or the new one.
    ///
    /// # Errors
    /// When the place cannot be written.
    pub fn save(&self, places: &Places) -> Result<(), FileError> {
        let text = toml::to_string_pretty(self)
            .map_err(|error| FileError::unreadable("write", places.settings(), error.to_string(), "report this"))?;
        write_private(places.settings(), text.as_bytes())
    }

    /// The range the player set.
    #[must_use]
    pub fn range(&self) -> Option<Range> {
        self.range_midi.map(|[low, high]| Range::new(Concert(low), Concert(high)))
    }
    /// The level whose compass is taken where no range is set.
    #[must_use]
    pub fn compass(&self) -> Option<Level> {
        self.compass.map(Level::from)
    }
    /// How far the player has come, where that is set.
    #[must_use]
    pub fn level(&self) -> Option<Level> {
        self.level.map(Level::from)
    }
    /// The language of note names, where it is set.
    #[must_use]
    pub fn note_names(&self) -> Option<NoteNames> {
        self.note_names.map(NoteNames::from)
    }
    /// The unit of reflex times, seconds unless set.
    #[must_use]
    pub fn reflex_unit(&self) -> ReflexUnit {
        self.reflex_unit.map_or(ReflexUnit::Seconds, ReflexUnit::from)
    }
    /// The reference pitch, 440 Hz unless set (ISO 16:1975).
    #[must_use]
    pub fn a4(&self) -> Hertz {
        Hertz(self.a4_hz.unwrap_or(440.0))
    }
    /// The goals, with `usual` for what is not set.
    #[must_use]
    pub fn goals(&self, usual: Goals) -> Goals {
        Goals {
            tempo: self.goal_quarter_per_minute.map_or(usual.tempo, Tempo),
            reflex: self.goal_reflex_s.map_or(usual.reflex, Seconds),
        }
    }
    /// What was measured for this pair of devices and buffer size.
    #[must_use]
    pub fn calibration(&self, input: &str, output: &str, buffer_frames: u32) -> Option<&Calibration> {
        let mut all = self.calibrations.iter();
        all.find(|c| c.input == input && c.output == output && c.buffer_frames == buffer_frames)
    }
    /// Whether the cues go to headphones, true where nothing is set: what is loud enough from a loudspeaker is too loud in
    /// headphones.
    #[must_use]
    pub fn headphones(&self) -> bool {
        self.headphones.unwrap_or(true)
    }
    /// How loud the cues were that the player answered on this output, in headphones or from a loudspeaker as now set.
    #[must_use]
    pub fn cue_level(&self, output: &str) -> Option<Decibels> {
        let mut all = self.cue_levels.iter();
        let here = |level: &&CueLevel| level.output == output && level.headphones == self.headphones();
        all.find(here).map(|level| Decibels(level.peak_db))
    }
    /// Keeps the level of the cues that the player answered, in place of an earlier one for the same output, with or without
    /// headphones as now.
    pub fn answered_at(&mut self, output: &str, level: Decibels) {
        let headphones = self.headphones();
        let here = |known: &&mut CueLevel| known.output == output && known.headphones == headphones;
        match self.cue_levels.iter_mut().find(here) {
            Some(known) => known.peak_db = level.0,
            None => {
                let rest = toml::Table::new();
                self.cue_levels.push(CueLevel { output: output.to_owned(), headphones, peak_db: level.0, rest });
            }
        }
    }
    /// Keeps a measurement in place of an earlier one of the same devices and buffer size. What a later program wrote of the earlier
    /// one goes with it.
    pub fn calibrate(&mut self, new: Calibration) {
        let same =
            |c: &Calibration| (&c.input, &c.output, c.buffer_frames) == (&new.input, &new.output, new.buffer_frames);
        self.calibrations.retain(|calibration| !same(calibration));
        self.calibrations.push(new);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coach::Spared;

    const TEXT: &str = "instrument = \"alto-sax\"\na4_hz = 442.0\nkeep_sound = \"some\"\nlamp = \"red\"\n\n\
        [[calibration]]\ninput = \"Mic\"\noutput = \"Phones\"\nbuffer_frames = 480\nremainder_s = 0.0113\nspread_s = 0.0004\n";

    #[test]
    fn settings_come_back_with_what_a_later_program_wrote() {
        let mut settings = UserSettings::parse(TEXT, Path::new("settings.toml")).unwrap();
        assert_eq!(settings.a4(), Hertz(442.0));
        assert_eq!(settings.calibration("Mic", "Phones", 480).unwrap().remainder_s, 0.0113);
        assert_eq!(settings.calibration("Mic", "Phones", 256), None);
        settings.g_flat = Some(true);
        settings.answered_at("Phones", Decibels(-30.0));
        settings.answered_at("Phones", Decibels(-24.0));
        assert_eq!((settings.cue_level("Phones"), settings.cue_level("Box")), (Some(Decibels(-24.0)), None));
        let unplugged = UserSettings { headphones: Some(false), ..settings.clone() };
        assert_eq!(unplugged.cue_level("Phones"), None, "a loudspeaker at the same output is another thing");
        let text = toml::to_string_pretty(&settings).unwrap();
        assert!(text.contains("lamp = \"red\""), "{text}");
        assert_eq!(UserSettings::parse(&text, Path::new("settings.toml")).unwrap(), settings);
    }

    #[test]
    fn a_wrong_setting_is_named_with_its_line_and_the_way_out() {
        for (line, part) in [
            ("a4_hz = 300.0", "a4_hz = 300 is not 415 to 466"),
            ("\nkeep_sound = \"most\"", "line 2"),
            ("range_midi = [70, 50]", "range_midi"),
            ("a4_hz = nan", "a4_hz"),
            ("compass = \"virtuoso\"", "line 1"),
            ("instrument = ", "line 1"),
            ("instrument = trumpet", "line 1: a word stands in quotes"),
            ("[rests]\nsounding_share = 1.5", "rests.sounding_share = 1.5 is not 0.1 to 1"),
            ("[rests]\nfirst_minutes = -1", "rests.first_minutes = -1 is not 0 to 120"),
            ("[rests]\nbetween_minutes = 2", "rests.between_minutes = 2 is not 10 to 120, nor 0"),
            ("[rests]\nlow_minutes = nan", "rests.low_minutes"),
            ("[rests]\nfirst_minute = 10", "line 2: first_minute is no setting here; there are `sounding_share`"),
            ("cue_octave_up = 12", "line 1: 12 stands where true or false belongs"),
            ("\n[midi]\nchannel = 300", "line 3: midi.channel = 300 is not 1 to 16"),
            ("midi = true", "line 1: midi is a table: write [midi] on a line of its own"),
            ("[midi]\nchannel = \"two\"", "line 2: \"two\" stands where a whole number belongs"),
            ("[midi]\nbend = true\ndelay_ms = 60000", "line 3: midi.delay_ms = 60000 is not 0 to 1000"),
            ("[midi]\nkeys = \"C8-C3\"", "line 2: midi.keys = \"C8-C3\" goes down"),
            ("[midi]\npause = \"key 21\"\nagain = \"key 21\"", "line 3: midi.again is \"key 21\", as midi.pause is"),
            ("[midi]\npause = \"pedal 2\"", "line 2: \"pedal 2\" carries breath"),
            ("[midi]\nmisheard = \"pedal 128\"", "line 2: \"pedal 128\" is neither a key nor a pedal"),
            (
                "[[cue_level]]\noutput = \"Phones\"\nheadphones = true\npeak_db = 3",
                "line 4: cue_level.peak_db = 3 is not -30 to -12",
            ),
            // The second of two: the line of the first would send the player to what is right.
            (
                "[[player]]\nid = \"0123456789abcdef0123456789abcdef\"\n[[player]]\nid = \"anna\"",
                "line 4: player.id = \"anna\"",
            ),
            (
                "[[player]]\nid = \"0123456789abcdef0123456789abcdef\"\n[[player]]\nname = \"x\"\n\
                 id = \"0123456789abcdef0123456789abcdef\"",
                "line 5: player.id = \"0123456789abcdef0123456789abcdef\" is another player's",
            ),
            (
                "[[held_out]]\nconcert_key = \"Ab\"\nuntil = \"2026-12-27\"\ninstrument = \"flute\"\n\
                 [[held_out]]\nuntil = \"soon\"\ninstrument = \"flute\"\nconcert_key = \"Eb\"",
                "line 6: held_out.until = \"soon\"",
            ),
        ] {
            let text = UserSettings::parse(line, Path::new("settings.toml")).unwrap_err().to_string();
            assert!(text.contains(part) && text.contains("mend that"), "{text}");
        }
    }

    #[test]
    fn a_teachers_rests_are_kept_and_what_is_not_set_stays_usual() {
        let read = |text: &str| UserSettings::parse(text, Path::new("settings.toml")).unwrap();
        assert_eq!(read("").rests.spared(), Spared::USUAL);
        assert_eq!(read("").rests.share(Some(0.5)), Some(0.5));
        let set = read("cue_octave_up = true\n[rests]\nsounding_share = 0.4\nfirst_minutes = 8\nbetween_minutes = 0");
        let spared = Spared { first: Some(Seconds(480.0)), between: None, ..Spared::USUAL };
        assert_eq!(set.rests.spared(), spared);
        assert_eq!((set.rests.share(Some(0.5)), set.rests.share(None)), (Some(0.4), Some(0.4)));
        assert_eq!(read("[rests]\nsounding_share = 1").rests.share(Some(0.5)), None, "nobody is held back");
        assert_eq!(read(&toml::to_string_pretty(&set).unwrap()), set);
    }

    #[test]
    fn a_new_measurement_replaces_the_old_one_of_the_same_devices() {
        let mut settings = UserSettings::parse(TEXT, Path::new("settings.toml")).unwrap();
        let new = Calibration { remainder_s: 0.02, ..settings.calibrations[0].clone() };
        settings.calibrate(new.clone());
        assert_eq!(settings.calibrations, [new]);
    }
}
