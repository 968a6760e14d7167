//! The microphone, or a MIDI instrument, outside a drill: one line, a held note, or a line typed meanwhile, in words.

use std::io::IsTerminal;

use crossbeam_channel::Receiver;

use crate::devices::MonotonicClock;
use crate::engine::{DeviceAudio, Hearing, HeldNote, Listener, ListeningHooks, MidiEar, ear_settings};
use crate::files::UserSettings;
use crate::learn::{LineNote, played};
use crate::midi::LineChoice;
use crate::music::{Concert, Instrument};
use crate::room::Echo;
use crate::talk::chosen_devices::{MidiChoice, microphone, midi, tuned};
use crate::talk::failure::Failure;
use crate::talk::notation_files::several_keys;
use crate::talk::output::{part, say, warn};
use crate::talk::player::Who;
use crate::tui::{self, Interrupts};
use crate::units::Hertz;
use crate::words::numbers::capital;

/// What helps where a MIDI instrument says nothing.
pub const MIDI_SILENT: &str = "Is it the right port, and the right channel? earfirst devices lists the ports; midi.channel stands in your settings.";

/// A microphone or a MIDI instrument with a player at it, and control-c.
pub struct Microphone {
    listener: Box<dyn Hearing>,
    /// What of a MIDI instrument is listened to; `None` at a microphone.
    keys: Option<LineChoice>,
    interrupts: Interrupts,
}

/// What came first: a line that was typed, a note that was held, or an end.
pub enum NoteOrWords {
    /// A line was typed.
    Typed(String),
    /// A note was held.
    Held(Concert),
    /// The microphone was lost.
    Lost(Failure),
    /// No note and no line will come any more.
    Ended,
}

impl Microphone {
    /// Opens the input for an instrument; `instead` says what else can be done where it does not open.
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
        Ok(Self { listener, keys, interrupts })
    }

    /// Opens the input for a player.
    pub fn of(input: Option<&str>, who: &Who, stored: &UserSettings) -> Result<Self, Failure> {
        Self::open(input, &who.page.instrument, who.a4, stored, "a recording or a MIDI file can be named instead")
    }

    /// Says of an option that was typed that it changes nothing here, where that is so.
    pub fn unheeded(&self, a4: bool) {
        if a4 && self.keys.is_some() {
            warn("--a4 changes nothing: a key says itself which note it is");
        }
    }

    /// Hears one line, until two seconds of silence or control-c.
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
        if let Some(keys) = self.keys.filter(|_| heard.several) {
            say(format!("  {}.", capital(several_keys(keys))))?;
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

    /// Waits for a note held for a second or a line typed, whichever comes first.
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

    /// Waits for a note held for a second, another than `before`; `None` when asked to end.
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

    /// Whether control-c was pressed.
    pub fn stopped(&self) -> bool {
        self.interrupts.raised()
    }
}

/// Says what the sound waits for, such as a muted microphone.
fn say_trouble(trouble: crate::words::SoundFault) {
    let _ = say(format!("  {}", Failure::from(trouble)));
}
