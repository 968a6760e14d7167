use crate::cli::args::Player;
use crate::cli::failure::Failure;
use crate::files::UserSettings;
use crate::music::{self, Concert, ConcertKey, Instrument, Level, Range, Spelled, Written, WrittenKey};
use crate::tui::Look;
use crate::units::{Hertz, Midi};

/// Who plays, worked out from what was typed and what the settings hold.
#[derive(Debug, Clone)]
pub struct Who {
    /// The instrument.
    pub instrument: Instrument,
    /// Comfortable sounding range.
    pub range: Range,
    /// How far the player has come: whose bands of intonation hold. An own range does not change it.
    pub level: Level,
    /// Whose usual compass that is; `None` for the player's own.
    pub compass: Option<Level>,
    /// Reference pitch.
    pub a4: Hertz,
    /// Sounding pitch on screen and in arguments.
    pub concert: bool,
    /// Gb instead of F#.
    pub g_flat: bool,
}

impl Who {
    /// Works it out.
    pub fn of(typed: &Player, settings: &UserSettings) -> Result<Self, Failure> {
        let name = typed.instrument.as_deref().or(settings.instrument.as_deref()).unwrap_or("trumpet");
        let instrument = music::instrument(name)
            .map_err(|unknown| {
                Failure::usage(unknown, "Instruments are named like trumpet, alto-sax, guitar, tenor-voice.")
            })?
            .clone();
        let a4 = typed.a4.map_or(settings.a4(), Hertz);
        if !(415.0..=466.0).contains(&a4.0) {
            return Err(Failure::usage(format!("A4 = {} Hz is out of reach", a4.0), "Give 415 to 466."));
        }
        let concert = typed.concert;
        // A stored range is that of the stored instrument, and gives way to a compass that is typed.
        let stored = settings.range().filter(|_| settings.instrument.as_deref() == Some(&instrument.id));
        let stored = stored.filter(|_| typed.compass.is_none());
        let own = typed.range.as_deref().map(|text| range(text, &instrument, concert)).transpose()?.or(stored);
        let usual = typed.compass.map(Level::from).or(settings.compass()).or(settings.level()).unwrap_or_default();
        let compass = own.is_none().then_some(usual);
        let range = own.unwrap_or_else(|| instrument.range(usual));
        let level = settings.level().unwrap_or(usual);
        let instrument = instrument.at(level);
        let g_flat = typed.g_flat || settings.g_flat.unwrap_or(false);
        Ok(Self { instrument, range, level, compass, a4, concert, g_flat })
    }

    /// A written key (a sounding one with `--concert`) as it sounds.
    pub fn key(&self, text: &str) -> Result<ConcertKey, Failure> {
        let read = WrittenKey::parse(text).ok_or_else(|| {
            Failure::usage(
                format!("no key is called \"{text}\""),
                "Keys are C G D A E B F# Db Ab Eb Bb F (or Gb, C# ...).",
            )
        })?;
        Ok(if self.concert { ConcertKey(read.0) } else { self.instrument.concert_key(read) })
    }

    /// Several keys, or all twelve.
    pub fn keys(&self, text: Option<&str>) -> Result<Vec<ConcertKey>, Failure> {
        let Some(text) = text.filter(|text| !text.eq_ignore_ascii_case("all")) else {
            // The coach takes the first for the easiest where nothing is known: few accidentals on the page (common practice).
            let mut keys = ConcertKey::FIFTHS.to_vec();
            let accidentals = |key: &ConcertKey| {
                let place = ConcertKey(self.page_key(*key).0).place();
                place.min(12 - place)
            };
            keys.sort_by_key(accidentals);
            return Ok(keys);
        };
        let mut keys = Vec::new();
        for word in text.split([' ', ',']).filter(|word| !word.is_empty()) {
            let key = self.key(word)?;
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        if keys.is_empty() {
            return Err(Failure::usage("no key was named", "Name some, such as --keys \"C G D\", or all."));
        }
        Ok(keys)
    }

    /// How things are shown to this player.
    pub fn look(&self) -> Look {
        let colour = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
        let today = Some(crate::files::today().day);
        Look { instrument: self.instrument.clone(), concert: self.concert, g_flat: self.g_flat, today, colour }
    }

    /// Name of a heard pitch on this player's page, with its octave.
    pub fn note_name(&self, heard: Midi) -> String {
        let concert = Concert(heard.nearest());
        let written = if self.concert { Written(concert.0) } else { self.instrument.written(concert) };
        music::spell(written, WrittenKey::C, self.g_flat).to_string()
    }

    /// Name of a sounding pitch on this player's page, with its octave.
    pub fn name(&self, pitch: Concert) -> String {
        self.note_name(Midi(f64::from(pitch.0)))
    }

    /// A note of this player's page (a sounding one with `--concert`) as it sounds.
    pub fn note(&self, text: &str) -> Result<Concert, Failure> {
        let mend = "Notes are written like C4 (middle C), F#4 or Bb3.";
        let spelled: Spelled = text.parse().map_err(|wrong| Failure::usage(wrong, mend))?;
        let written = Written(spelled.midi());
        Ok(if self.concert { Concert(written.0) } else { self.instrument.concert(written) })
    }

    /// The key on this player's page.
    pub fn page_key(&self, key: ConcertKey) -> WrittenKey {
        if self.concert { WrittenKey(key.0) } else { self.instrument.written_key(key) }
    }

    /// Name of a sounding key on this player's page.
    pub fn key_name(&self, key: ConcertKey) -> &'static str {
        self.page_key(key).name(self.g_flat)
    }
}

/// "G3 C6", written (or sounding), as a sounding range.
fn range(text: &str, instrument: &Instrument, concert: bool) -> Result<Range, Failure> {
    let mend = "Give lowest and highest note, such as --range \"G3 C6\"; C4 is middle C.";
    let words: Vec<&str> = text.split([' ', '-', ',']).filter(|word| !word.is_empty()).collect();
    let [low, high] = words[..] else {
        return Err(Failure::usage(format!("\"{text}\" is no range"), mend));
    };
    let pitch = |word: &str| -> Result<Concert, Failure> {
        let spelled: Spelled = word.parse().map_err(|wrong| Failure::usage(wrong, mend))?;
        let written = Written(spelled.midi());
        Ok(if concert { Concert(written.0) } else { instrument.concert(written) })
    };
    let ends = [pitch(low)?, pitch(high)?];
    if ends[0] > ends[1] {
        return Err(Failure::usage(format!("the range goes down, from {low} to {high}"), mend));
    }
    let own = Range::new(ends[0], ends[1]);
    if !instrument.reaches(own) {
        return Err(Failure::usage(format!("{low} to {high} is no range of the {}", instrument.name), mend));
    }
    Ok(own)
}
