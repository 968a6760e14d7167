use crate::cli::args::Player;
use crate::files::UserSettings;
use crate::music::{self, Level, NoteNames, Range, Reading};
use crate::talk::failure::Failure;
use crate::talk::misspelt;
use crate::talk::player::Who;
use crate::units::Hertz;
use crate::words::Page;

impl Who {
    /// Works out who plays, from what was typed and from the settings.
    pub fn of(typed: &Player, settings: &UserSettings) -> Result<Self, Failure> {
        misspelt::tell(settings);
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
        // A stored range belongs to the stored instrument, and gives way to a compass that is typed.
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
}

/// Reads a range such as "G3 C6", in the pitch of the page, as a sounding range.
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
