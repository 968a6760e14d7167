use crate::music::{Concert, ConcertKey, Letter, Level, Mode, PitchName, Range, Spelled, WrittenKey};
use crate::pattern::NoFit;
use crate::talk::failure::Failure;
use crate::tui::Appearance;
use crate::units::{Hertz, Tempo};
use crate::words::Page;

/// A key that is read though the list of the twelve keys does not name it, for an example.
const C_SHARP: PitchName = PitchName { letter: Letter::C, alter: 1 };

/// Who plays, worked out from what was typed and what the settings hold.
#[derive(Debug, Clone)]
pub struct Who {
    /// The player's page: the instrument, and how the player reads.
    pub page: Page,
    /// Comfortable sounding range.
    pub range: Range,
    /// How far the player has come, which decides the bands of intonation. The player's own range does not change it.
    pub level: Level,
    /// The level whose usual compass the range is; `None` where it is the player's own.
    pub compass: Option<Level>,
    /// Reference pitch.
    pub a4: Hertz,
}

impl Who {
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

    /// Reads several keys, or all twelve.
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

    /// Why a line cannot be had in a key: its notes, those of the range, and the range that would take it in.
    pub fn no_fit(&self, key: ConcertKey, refusal: NoFit) -> Failure {
        let key = self.page.key(key, Mode::Major);
        let [line, range] = [refusal.nearest, refusal.range].map(|of| self.low_to_high(of));
        Failure::usage(
            format!("in {key} the line goes from {line}: no octave of it lies inside your range, {range}"),
            match self.taking_in([refusal.nearest]) {
                Some(flag) => format!("{flag} takes it in; or choose another key."),
                None => "Choose another key, or a shorter pattern: no range of this instrument takes it in.".to_owned(),
            },
        )
    }

    /// The lowest and the highest note of a range on the page: "D4 to C6".
    pub fn low_to_high(&self, range: Range) -> String {
        format!("{} to {}", self.page.falling(range.low), self.page.falling(range.high))
    }

    /// The argument for a range that takes in these lines too; `None` where the instrument has no such range.
    pub fn taking_in(&self, lines: impl IntoIterator<Item = Range>) -> Option<String> {
        let wider = |range: Range, line: Range| Range { low: range.low.min(line.low), high: range.high.max(line.high) };
        let range = lines.into_iter().fold(self.range, wider);
        let name = |pitch| self.page.falling(pitch);
        let instrument = &self.page.instrument;
        instrument.reaches(range).then(|| format!("--range \"{} {}\"", name(range.low), name(range.high)))
    }

    /// How things are shown to this player.
    pub fn appearance(&self) -> Appearance {
        let colour = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
        let today = Some(crate::files::today().day);
        Appearance { page: self.page.clone(), range: Some(self.low_to_high(self.range)), today, colour }
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

/// A typed tempo, refused where it is not between 20 and 400.
pub fn tempo(typed: Option<f64>) -> Result<Option<Tempo>, Failure> {
    match typed {
        Some(quarter) if !(20.0..=400.0).contains(&quarter) => Err(Failure::usage(
            format!("quarter = {quarter} is out of reach"),
            "Give 20 to 400 quarter notes a minute.",
        )),
        other => Ok(other.map(Tempo)),
    }
}
