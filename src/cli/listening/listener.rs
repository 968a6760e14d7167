//! Listening on the microphone outside a drill: one line, then silence; or one long note.

use std::io::IsTerminal;
use std::thread;
use std::time::Duration;

use crossbeam_channel::Receiver;

use crate::cli::args::Drill;
use crate::cli::failure::Failure;
use crate::cli::listening::notes::ear_settings;
use crate::cli::listening::trouble;
use crate::cli::output::{part, say};
use crate::cli::practice::drill;
use crate::devices::{DeviceChoice, DeviceRequest, Devices, Side};
use crate::engine::{self, Stretch};
use crate::files::UserSettings;
use crate::learn::{LineNote, played};
use crate::music::{Concert, Instrument};
use crate::notes::{AnswerEnd, EarSettings, HeardNote, NoteEvent, Silence};
use crate::room::Echo;
use crate::tui::{self, Interrupts};
use crate::units::{Hertz, SampleRate, Seconds, Tempo};
use crate::words::SoundFault;

/// So long a first note is waited for.
const WAITED: Seconds = Seconds(120.0);
/// Two beats of this end a line: two seconds of silence.
const SILENCE: Tempo = Tempo(60.0);
/// A note held so long is an answer.
const HELD: Seconds = Seconds(1.0);
/// And so long it is waited for where nothing else would do.
const HELD_WITHIN: Seconds = Seconds(30.0);
const PAUSE: Duration = Duration::from_millis(10);

/// A microphone, and who plays into it.
pub struct Listener {
    devices: Devices,
    settings: EarSettings,
    interrupts: Interrupts,
}

/// What came first.
pub enum Answer {
    /// A line was typed.
    Typed(String),
    /// A note was held.
    Held(Concert),
    /// The microphone was lost.
    Lost(Failure),
    /// Nothing will come any more.
    Ended,
}

impl Listener {
    /// Opens the input.
    pub fn open(
        input: Option<&str>,
        instrument: &Instrument,
        a4: Hertz,
        settings: &UserSettings,
    ) -> Result<Self, Failure> {
        let named = Drill { input: input.map(str::to_owned), ..Drill::default() };
        let wanted = DeviceRequest { output: DeviceChoice::Nothing, ..drill::wanted(&named, settings) };
        let devices = drill::open(&wanted).map_err(|failure| {
            Failure::device(failure, "earfirst devices lists what is there; a recording can be named instead.")
        })?;
        let rate = devices.about(Side::Input).map_or(SampleRate::DEVICE, |about| about.rate);
        let interrupts = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
        Ok(Self { devices, settings: ear_settings(rate, a4, Some(instrument)), interrupts })
    }

    /// One line, until two seconds of silence or control-c.
    pub fn line(&mut self) -> Result<Vec<LineNote>, Failure> {
        let on_screen = std::io::stdout().is_terminal();
        say("Play your line once. Two seconds of silence end it.")?;
        let mut notes: Vec<HeardNote> = Vec::new();
        let mut end = AnswerEnd::new(Seconds(0.0), SILENCE);
        let mut begun = 0;
        let wrong = self.hear(&mut |now, told| {
            for said in told {
                end.hear(said);
                match said {
                    NoteEvent::On(_) => begun += 1,
                    NoteEvent::Off(note) => notes.push(*note),
                    NoteEvent::Revised(_) => {}
                }
            }
            if on_screen && !told.is_empty() {
                part(format!("\rheard {begun} "));
            }
            match end.at(now) {
                Silence::Ended(_) => true,
                Silence::Waiting | Silence::Never => now > WAITED,
                Silence::Sounding => false,
            }
        });
        if on_screen {
            say("")?;
        }
        let line = played(&notes);
        match wrong {
            Some(wrong) => Err(trouble::told(wrong)),
            None if line.is_empty() => {
                Err(Failure::device("no note was heard", "earfirst hear checks the microphone."))
            }
            None => Ok(line),
        }
    }

    /// A note held for a second, or a line typed, whichever comes first.
    pub fn note_or_words(&mut self, typed: &Receiver<String>) -> Answer {
        let mut answer = Answer::Ended;
        let mut holding = Holding::default();
        let wrong = self.hear(&mut |now, told| {
            if let Some(note) = holding.hear(told, now) {
                answer = Answer::Held(note);
                return true;
            }
            match typed.try_recv() {
                Ok(line) => answer = Answer::Typed(line),
                Err(error) => return error.is_disconnected(),
            }
            true
        });
        match (answer, wrong) {
            (Answer::Ended, Some(wrong)) => Answer::Lost(trouble::told(wrong)),
            (answer, _) => answer,
        }
    }

    /// A note held for a second, another than `before`; `None` when asked to end.
    pub fn held(&mut self, before: Option<Concert>) -> Result<Option<Concert>, Failure> {
        let mut holding = Holding::default();
        let mut found = None;
        let wrong = self.hear(&mut |now, told| {
            found = holding.hear(told, now).filter(|note| Some(*note) != before);
            found.is_some() || now > HELD_WITHIN
        });
        match wrong {
            _ if found.is_some() || self.stopped() => Ok(found),
            Some(wrong) => Err(trouble::told(wrong)),
            None => Err(Failure::device("no held note was heard", "Type the two notes.")),
        }
    }

    /// Hears anew until `enough` says so, control-c, or nothing comes any more; gives what is wrong then. Instants count from the
    /// first sample.
    fn hear(&mut self, enough: &mut dyn FnMut(Seconds, &[NoteEvent]) -> bool) -> Option<SoundFault> {
        let (mut block, mut told, mut wrong) = (Vec::new(), Vec::new(), None);
        // What came before nobody asked for.
        while self.devices.read(&mut block).is_some() {}
        let mut listener = engine::Listener::new(self.settings, Echo::new(self.settings.rate));
        let mut began = None;
        loop {
            told.clear();
            while let Some(heard) = self.devices.read(&mut block) {
                self.settings.rate = heard.rate;
                let at = heard.at - *began.get_or_insert(heard.at);
                // What was lost before the first sample is nobody's.
                let gap = if at.0 > 0.0 { heard.gap } else { Seconds(0.0) };
                told.extend_from_slice(listener.hear(Stretch { at, rate: heard.rate, gap }, &block, &mut |_| {}));
            }
            let stopped = self.interrupts.raised();
            if stopped {
                told.extend_from_slice(listener.finish());
            }
            let before = std::mem::replace(&mut wrong, trouble::stopping(&mut self.devices));
            // It may be muted, or shut until somebody plays: time goes on, so it is told and waited for.
            let waits = wrong.is_none_or(|trouble| trouble == SoundFault::Zeros);
            if let Some(wrong) = wrong.filter(|_| waits && wrong != before) {
                let _ = say(format!("  {}", trouble::told(wrong)));
            }
            if enough(listener.now(), &told) || stopped || !waits {
                return wrong;
            }
            thread::sleep(PAUSE);
        }
    }

    /// Control-c was pressed.
    pub fn stopped(&self) -> bool {
        self.interrupts.raised()
    }
}

/// The note that sounds, until it has been held long enough to be meant.
#[derive(Debug, Default)]
struct Holding {
    sounding: Option<HeardNote>,
}

impl Holding {
    fn hear(&mut self, told: &[NoteEvent], now: Seconds) -> Option<Concert> {
        for said in told {
            self.sounding = match said {
                NoteEvent::On(note) | NoteEvent::Revised(note) => Some(*note),
                NoteEvent::Off(_) => None,
            };
        }
        self.sounding.filter(|note| now - note.onset >= HELD).map(|note| Concert(note.pitch.nearest()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Decibels, Midi};

    fn note(onset: f64, pitch: f64) -> HeardNote {
        HeardNote {
            number: 0,
            onset: Seconds(onset),
            release: Seconds(onset),
            pitch: Midi(pitch),
            spread: None,
            loudness: Decibels(-20.0),
            confidence: 0.9,
            announced: Seconds(onset + 0.03),
            announced_pitch: Midi(pitch),
        }
    }

    #[test]
    fn only_a_note_that_is_held_is_an_answer() {
        let mut holding = Holding::default();
        assert_eq!(holding.hear(&[NoteEvent::On(note(0.0, 57.0))], Seconds(0.4)), None, "a passing note");
        assert_eq!(holding.hear(&[NoteEvent::Off(note(0.0, 57.0))], Seconds(1.2)), None, "it is over");
        assert_eq!(holding.hear(&[NoteEvent::On(note(1.3, 54.1))], Seconds(2.2)), None);
        assert_eq!(holding.hear(&[NoteEvent::Revised(note(1.3, 53.9))], Seconds(2.4)), Some(Concert(54)));
    }
}
