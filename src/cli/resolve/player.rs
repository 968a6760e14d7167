use crate::cli::args::Player;
use crate::cli::failure::Failure;
use crate::files::UserSettings;
use crate::music::{
    self, Concert, ConcertKey, Letter, Level, Mode, NoteNames, PitchName, Range, Reading, Spelled, WrittenKey,
};
use crate::tui::Appearance;
use crate::units::Hertz;
use crate::words::Page;

/// A key that is the neighbour of one with a name of its own.
const C_SHARP: PitchName = PitchName { letter: Letter::C, alter: 1 };

/// Who plays, worked out from what was typed and what the settings hold.
#[derive(Debug, Clone)]
pub struct Who {
    /// The player's page: the instrument, and how the player reads.
    pub page: Page,
    /// Comfortable sounding range.
    pub range: Range,
    /// How far the player has come: whose bands of intonation hold. An own range does not change it.
    pub level: Level,
    /// Whose usual compass that is; `None` for the player's own.
    pub compass: Option<Level>,
    /// Reference pitch.
    pub a4: Hertz,
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
        let reading = Reading {
            concert: typed.concert,
            g_flat: typed.g_flat || settings.g_flat.unwrap_or(false),
            names: typed.note_names.map(NoteNames::from).or(settings.note_names()).unwrap_or_default(),
            reflex: settings.reflex_unit(),
        };
        let page = Page::new(instrument, reading);
        let instrument = &page.instrument;
        // A stored range is that of the stored instrument, and gives way to a compass that is typed.
        let stored = settings.range().filter(|_| settings.instrument.as_deref() == Some(&instrument.id));
        let stored = stored.filter(|_| typed.compass.is_none());
        let own = typed.range.as_deref().map(|text| range(text, &page)).transpose()?.or(stored);
        let usual = typed.compass.map(Level::from).or(settings.compass()).or(settings.level()).unwrap_or_default();
        let compass = own.is_none().then_some(usual);
        let range = own.unwrap_or_else(|| instrument.range(usual));
        let level = settings.level().unwrap_or(usual);
        let page = Page::new(instrument.at(level), reading);
        Ok(Self { page, range, level, compass, a4 })
    }

    /// A written key (a sounding one with `--concert`) as it sounds.
    pub fn key(&self, text: &str) -> Result<ConcertKey, Failure> {
        self.page.read_key(text).ok_or_else(|| {
            let keys =
                ConcertKey::FIFTHS.map(|key| self.page.key(self.page.sounding_key(WrittenKey(key.0)), Mode::Major));
            Failure::usage(
                format!("no key is called \"{text}\""),
                format!("Keys are {} (and their neighbours, such as {}).", keys.join(" "), self.page.name(C_SHARP)),
            )
        })
    }

    /// Several keys, or all twelve.
    pub fn keys(&self, text: Option<&str>) -> Result<Vec<ConcertKey>, Failure> {
        let Some(text) = text.filter(|text| !text.eq_ignore_ascii_case("all")) else {
            // The coach takes the first for the easiest where nothing is known: few accidentals on the page (common practice).
            let mut keys = ConcertKey::FIFTHS.to_vec();
            let accidentals = |key: &ConcertKey| {
                let place = self.page.place(*key);
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
    pub fn appearance(&self) -> Appearance {
        let colour = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
        let today = Some(crate::files::today().day);
        Appearance { page: self.page.clone(), today, colour }
    }

    /// A note of this player's page (a sounding one with `--concert`) as it sounds.
    pub fn note(&self, text: &str) -> Result<Concert, Failure> {
        let examples = ["C4", "F#4", "Bb3"].map(|note| self.example(note));
        let mend = format!("Notes are written like {} (middle C), {} or {}.", examples[0], examples[1], examples[2]);
        self.page.read_note(text).map_err(|wrong| Failure::usage(wrong, mend))
    }

    /// An English note in the player's language.
    fn example(&self, english: &str) -> String {
        english.parse().map_or_else(|_| english.to_owned(), |note: Spelled| self.page.with_octave(note))
    }

    /// Name of a sounding key on this player's page, as a major key.
    pub fn major_key(&self, key: ConcertKey) -> String {
        self.page.key(key, Mode::Major)
    }
}

/// "G3 C6", written (or sounding), as a sounding range.
fn range(text: &str, page: &Page) -> Result<Range, Failure> {
    let mend = "Give lowest and highest note, such as --range \"G3 C6\"; C4 is middle C.";
    let words: Vec<&str> = text.split([' ', '-', ',']).filter(|word| !word.is_empty()).collect();
    let [low, high] = words[..] else {
        return Err(Failure::usage(format!("\"{text}\" is no range"), mend));
    };
    let pitch = |word: &str| page.read_note(word).map_err(|wrong| Failure::usage(wrong, mend));
    let ends = [pitch(low)?, pitch(high)?];
    if ends[0] > ends[1] {
        return Err(Failure::usage(format!("the range goes down, from {low} to {high}"), mend));
    }
    let own = Range::new(ends[0], ends[1]);
    if !page.instrument.reaches(own) {
        return Err(Failure::usage(format!("{low} to {high} is no range of the {}", page.instrument.name), mend));
    }
    Ok(own)
}
