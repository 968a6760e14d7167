//! The sound check: level, noise, the note that is heard and how far it lies from its pitch, and what to change.

use std::io::IsTerminal;
use std::thread;
use std::time::Duration;

use crate::cli::args::{Drill, Hear};
use crate::cli::failure::Failure;
use crate::cli::listening::hear_lines;
use crate::cli::listening::hear_lines::{Heard, Source};
use crate::cli::listening::notes::{ear_settings, play};
use crate::cli::output::{part, say};
use crate::cli::practice::drill;
use crate::cli::resolve::Who;
use crate::devices::{DeviceChoice, DeviceRequest, Devices, Side};
use crate::engine::{Listener, Stretch};
use crate::files::{Places, Recording, UserSettings};
use crate::notes::{Frame, HeardNote, NoteEvent};
use crate::report::HeldToneTracker;
use crate::room::{Echo, SoundCheck};
use crate::tui;
use crate::units::{Hertz, SampleRate, Seconds};
use crate::words::numbers::signed;

/// So long is listened to before an opinion is given.
const OPINION: Seconds = Seconds(10.0);
/// One line of the live state, so often.
const LINE: Seconds = Seconds(0.2);

/// The sound check.
pub fn run(typed: &Hear) -> Result<(), Failure> {
    let places = Places::usual()?;
    let settings = UserSettings::load(&places)?;
    let who = Who::of(&typed.player, &settings)?;
    let begins_on = typed.begins_on.as_deref().map(|note| who.note(note)).transpose()?;
    if let Some(file) = &typed.file {
        // What is missing of it is told with what was heard.
        let recording = Recording::open(file)?;
        let mut check = Listening::new(&who, recording.rate);
        let mut at = Seconds(0.0);
        play(&recording, &mut |block| {
            check.hear(Stretch { at, rate: recording.rate, gap: Seconds(0.0) }, block);
            at = at + recording.rate.seconds(block.len());
        })?;
        let heard = check.heard(Source::Recording { missing: recording.missing });
        return hear_lines::told(&heard, &who, typed, begins_on);
    }
    let named = Drill { input: typed.input.clone(), ..Drill::default() };
    let wanted = DeviceRequest { output: DeviceChoice::Nothing, ..drill::wanted(&named, &settings) };
    let opened = drill::open(&wanted);
    let mut devices = opened.map_err(|failure| Failure::device(failure, "earfirst devices lists what is there."))?;
    let rate = devices.about(Side::Input).map_or(SampleRate::DEVICE, |about| about.rate);
    let mut check = Listening::new(&who, rate);
    live(typed, &who, &mut devices, &mut check)?;
    hear_lines::told(&check.heard(Source::Microphone), &who, typed, begins_on)
}

/// Listens until asked to end, with a line of text that is written anew on a terminal.
fn live(typed: &Hear, who: &Who, devices: &mut Devices, check: &mut Listening) -> Result<(), Failure> {
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let on_screen = std::io::stdout().is_terminal() && !typed.json;
    if on_screen {
        say("Play and be silent by turns; an opinion comes after ten seconds. Control-c ends.")?;
    }
    let mut block = Vec::new();
    let (mut shown, mut judged) = (Seconds(0.0), false);
    while !asked.raised() && typed.seconds.is_none_or(|most| check.listened().0 < most) {
        while let Some(heard) = devices.read(&mut block) {
            check.hear(Stretch { at: heard.at, rate: heard.rate, gap: heard.gap }, &block);
        }
        let listened = check.listened();
        if on_screen && (listened - shown).0 >= LINE.0 {
            shown = listened;
            part(format!("\r{:78}", check.line(who)));
        }
        if on_screen && !judged && listened.0 >= OPINION.0 {
            judged = true;
            say("")?;
            for opinion in hear_lines::opinions(&check.check, check.notes.len(), Source::Microphone) {
                say(opinion)?;
            }
        }
        thread::sleep(Duration::from_millis(10));
    }
    if on_screen {
        say("")?;
    }
    Ok(())
}

/// Ear and sound check side by side.
struct Listening {
    listener: Listener,
    check: SoundCheck,
    notes: Vec<HeardNote>,
    holding: HeldToneTracker,
    now: Option<HeardNote>,
    a4: Hertz,
}

impl Listening {
    fn new(who: &Who, rate: SampleRate) -> Self {
        let settings = ear_settings(rate, who.a4, Some(&who.page.instrument));
        Self {
            listener: Listener::new(settings, Echo::new(rate)),
            check: SoundCheck::new(rate),
            notes: Vec::new(),
            holding: HeldToneTracker::default(),
            now: None,
            a4: who.a4,
        }
    }

    fn hear(&mut self, stretch: Stretch, block: &[f32]) {
        self.check.hear(block);
        let mut frames = Vec::new();
        let said = self.listener.hear(stretch, block, &mut |frame| frames.push(*frame)).to_vec();
        self.take(&frames, &said);
    }

    fn take(&mut self, frames: &[Frame], said: &[NoteEvent]) {
        frames.iter().for_each(|frame| self.holding.frame(frame, self.a4));
        for told in said {
            self.holding.note(told);
            self.now = match told {
                NoteEvent::On(note) | NoteEvent::Revised(note) => Some(*note),
                NoteEvent::Off(note) => {
                    self.notes.push(*note);
                    None
                }
            };
        }
    }

    fn listened(&self) -> Seconds {
        self.check.listened()
    }

    /// One line: level, floor, and the note that sounds, with its distance as a signed number.
    fn line(&self, who: &Who) -> String {
        let levels = self.check.levels();
        let note = self.now.map_or("-".to_owned(), |note| {
            let name = who.page.heard(note.pitch);
            format!("{name} {} cents", signed(note.pitch.cents_off()))
        });
        format!("level {:4.0} dB   noise {:4.0} dB   {note}", levels.now.0, levels.floor.0)
    }

    /// The end: what was heard.
    fn heard(mut self, source: Source) -> Heard {
        let said = self.listener.finish().to_vec();
        self.take(&[], &said);
        Heard { check: self.check, notes: self.notes, held: self.holding.held().to_vec(), source }
    }
}
