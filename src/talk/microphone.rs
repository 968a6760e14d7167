//! The microphone, or a MIDI instrument, outside a drill: hears one line or a held note, and tells in words what goes wrong. A line
//! typed meanwhile may come instead of a note.

use std::io::IsTerminal;

use crossbeam_channel::Receiver;

use crate::devices::MonotonicClock;
use crate::engine::{DeviceAudio, Hearing, HeldNote, Listener, ListeningHooks, MidiEar, ear_settings};
use crate::files::UserSettings;
use crate::learn::{LineNote, played};
use crate::midi::LineChoice;
use crate::music::{Concert, Instrument, Reading};
use crate::room::Echo;
use crate::talk::chosen_devices::{MidiChoice, microphone, midi, tuned};
use crate::talk::failure::Failure;
use crate::talk::keys_told;
use crate::talk::output::{part, say, warn};
use crate::talk::player::Who;
use crate::tui::{self, Interrupts};
use crate::units::Hertz;
use crate::words::Page;
use crate::words::numbers::capital;

/// The advice where no note comes from a MIDI instrument.
pub const MIDI_SILENT: &str = "Is it the right port, and the right channel? earfirst devices lists the ports; midi.channel stands in your settings.";

/// An open microphone or MIDI instrument. Control-c ends the listening, and so does the system where it wishes to end the program.
pub struct Microphone {
    listener: Box<dyn Hearing>,
    /// Which channel and which keys of a MIDI instrument count; `None` at a microphone.
    keys: Option<LineChoice>,
    /// The page on which keys have their names.
    page: Page,
    interrupts: Interrupts,
}

/// What came first: a typed line, a held note, the loss of the microphone, or the end.
pub enum NoteOrWords {
    /// A line was typed; its text.
    Typed(String),
    /// A note was held for a second; its pitch.
    Held(Concert),
    /// The microphone or the MIDI instrument was lost.
    Lost(Failure),
    /// The player pressed control-c, the system wishes to end the program, or no more lines can be typed.
    Ended,
}

impl Microphone {
    /// Opens the input for an instrument: the one named as `input`, else the one that the settings name, a MIDI instrument or a
    /// microphone. `instead` tells the player what else can be done where the input does not open.
    pub fn open(
        input: Option<&str>,
        instrument: &Instrument,
        a4: Hertz,
        stored: &UserSettings,
        instead: &str,
    ) -> Result<Self, Failure> {
        let midi = midi(input, stored).map(|midi| MidiChoice { line: tuned(midi.line, instrument), ..midi });
        let keys = midi.as_ref().map(|midi| midi.line);
        let listener = match midi {
            Some(midi) => MidiEar::open(midi.name.as_deref(), MonotonicClock::begin(), midi.line)
                .map(|ear| Box::new(ear) as Box<dyn Hearing>),
            None => DeviceAudio::open(&microphone(input, stored)).map(|audio| {
                let settings = ear_settings(audio.input_rate(), a4, Some(instrument));
                Box::new(Listener::new(settings, Echo::new(settings.rate), audio)) as Box<dyn Hearing>
            }),
        };
        let listener = listener
            .map_err(|failure| Failure::device(failure, format!("earfirst devices lists what is there; {instead}.")))?;
        let interrupts = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
        let names = stored.note_names().unwrap_or_default();
        let page = Page::new(instrument.clone(), Reading { names, ..Reading::default() });
        Ok(Self { listener, keys, page, interrupts })
    }

    /// Opens the input for a player's instrument and tuning. Where it does not open, a recording or a MIDI file is proposed.
    pub fn of(input: Option<&str>, who: &Who, stored: &UserSettings) -> Result<Self, Failure> {
        let instead = "a recording or a MIDI file can be named instead";
        let opened = Self::open(input, &who.page.instrument, who.a4, stored, instead)?;
        Ok(Self { page: who.page.clone(), ..opened })
    }

    /// Warns that `--a4` changes nothing, where it was typed (`a4`) and the notes come from a MIDI instrument.
    pub fn unheeded(&self, a4: bool) {
        if a4 && self.keys.is_some() {
            warn("--a4 changes nothing: a key says itself which note it is");
        }
    }

    /// Hears one line, until two seconds of silence after it, or control-c; fails where no note comes within two minutes, or the sound
    /// fails.
    pub fn line(&mut self) -> Result<Vec<LineNote>, Failure> {
        let on_screen = std::io::stdout().is_terminal();
        say("Play your line once. Two seconds of silence end it.")?;
        let stopped = || self.interrupts.raised();
        let heard = self.listener.hear_line(
            &mut ListeningHooks { stopped: &stopped, trouble: &mut say_trouble },
            &mut |begun| {
                if on_screen {
                    part(format!("\rheard {begun} "));
                }
            },
        );
        if on_screen {
            say("")?;
        }
        let line = played(&heard.notes);
        if let Some(keys) = self.keys {
            let told = keys_told::beside(keys, &heard.beside, &self.page);
            told.into_iter().try_for_each(|told| say(format!("  {}.", capital(&told))))?;
        }
        match heard.trouble {
            Some(trouble) => Err(trouble.into()),
            None if line.is_empty() => {
                let mend = if self.keys.is_some() { MIDI_SILENT } else { "earfirst hear checks the microphone." };
                Err(Failure::device("no note was heard", mend))
            }
            None => Ok(line),
        }
    }

    /// Waits for a note that is held for a second, or for a line from `typed`, whichever comes first.
    pub fn note_or_words(&mut self, typed: &Receiver<String>) -> NoteOrWords {
        let (mut came, mut held) = (NoteOrWords::Ended, HeldNote::default());
        let stopped = || self.interrupts.raised();
        let mut beside = ListeningHooks { stopped: &stopped, trouble: &mut say_trouble };
        let trouble = self.listener.hear_until(&mut beside, &mut |now, notes| {
            if let Some(note) = held.hear(notes, now) {
                came = NoteOrWords::Held(note);
                return true;
            }
            match typed.try_recv() {
                Ok(line) => came = NoteOrWords::Typed(line),
                Err(error) => return error.is_disconnected(),
            }
            true
        });
        match (came, trouble) {
            (NoteOrWords::Ended, Some(trouble)) => NoteOrWords::Lost(trouble.into()),
            (came, _) => came,
        }
    }

    /// Waits for a note held for a second, another than `before`; `None` when asked to end. Fails where none comes within 30 seconds.
    pub fn long_note(&mut self, before: Option<Concert>) -> Result<Option<Concert>, Failure> {
        let stopped = || self.interrupts.raised();
        let mut beside = ListeningHooks { stopped: &stopped, trouble: &mut say_trouble };
        let (found, trouble) = self.listener.hear_held_note(&mut beside, before);
        match trouble {
            _ if found.is_some() || self.stopped() => Ok(found),
            Some(trouble) => Err(trouble.into()),
            None => Err(Failure::device("no held note was heard", "Type the two notes.")),
        }
    }

    /// Whether control-c was pressed, or the system wishes to end the program.
    pub fn stopped(&self) -> bool {
        self.interrupts.raised()
    }
}

/// Tells the player of a fault for which the listening waits, such as a muted microphone.
fn say_trouble(trouble: crate::words::SoundFault) {
    let _ = say(format!("  {}", Failure::from(trouble)));
}
