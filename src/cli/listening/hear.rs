//! The sound check: level, noise, the note that is heard and how far it lies from its pitch, and what to change.

use std::io::IsTerminal;
use std::thread;
use std::time::Duration;

use crate::cli::args::Hear;
use crate::engine::{DeviceAudio, Listener, ear_settings, listen_to_recording};
use crate::files::{Places, Recording, UserSettings};
use crate::room::Echo;
use crate::talk::chosen_devices::{microphone, midi};
use crate::talk::failure::Failure;
use crate::talk::heard::{self, InputCheck};
use crate::talk::midi_check;
use crate::talk::output::{part, say};
use crate::talk::player::Who;
use crate::tui;
use crate::units::Seconds;
use crate::words::sound_check::{self, HeardThrough};

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
        let mut check = InputCheck::new(recording.rate, who.a4);
        let ear = ear_settings(recording.rate, who.a4, Some(&who.page.instrument));
        let last = listen_to_recording(ear, &recording, &mut |block| check.hear(block))?;
        let heard = check.heard(&last, HeardThrough::Recording { missing: recording.missing });
        return heard::say_heard(&heard, &who, typed.json, begins_on);
    }
    if let Some(midi) = midi(typed.input.as_deref(), &settings) {
        if let Some(steer) = typed.teach {
            return midi_check::teach(&midi, &who, steer.into(), &places);
        }
        let heard = midi_check::listen(&midi, &who, typed.seconds, typed.json)?;
        if !typed.json {
            return midi_check::told(&heard, &who);
        }
        let (pitches, velocities) = (heard.pitches.map(|(low, high)| [low.0, high.0]), heard.velocities);
        return say(serde_json::json!({
            "notes": heard.notes, "midi_range": pitches, "velocity_range": velocities,
            "jitter_ms": heard.jitter.map(Seconds::ms),
        }));
    }
    if typed.teach.is_some() {
        let mend = "Name one: --input midi; earfirst devices lists them.";
        return Err(Failure::usage("keys and pedals are taught at a MIDI instrument", mend));
    }
    let opened = DeviceAudio::open(&microphone(typed.input.as_deref(), &settings));
    let audio = opened.map_err(|failure| Failure::device(failure, "earfirst devices lists what is there."))?;
    let ear = ear_settings(audio.input_rate(), who.a4, Some(&who.page.instrument));
    let mut check = InputCheck::new(ear.rate, who.a4);
    let mut listener = Listener::new(ear, Echo::new(ear.rate), audio);
    live(typed, &who, &mut listener, &mut check)?;
    heard::say_heard(&check.heard(listener.finish(), HeardThrough::Microphone), &who, typed.json, begins_on)
}

/// Listens until asked to end, with a line of text that is written anew on a terminal.
fn live(typed: &Hear, who: &Who, listener: &mut Listener<DeviceAudio>, check: &mut InputCheck) -> Result<(), Failure> {
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let on_screen = std::io::stdout().is_terminal() && !typed.json;
    if on_screen {
        say("Play and be silent by turns; an opinion comes after ten seconds. Control-c ends.")?;
    }
    let (mut shown, mut judged) = (Seconds(0.0), false);
    while !asked.raised() && typed.seconds.is_none_or(|most| check.listened().0 < most) {
        while let Some(block) = listener.hear() {
            check.hear(block);
        }
        let listened = check.listened();
        if on_screen && (listened - shown).0 >= LINE.0 {
            shown = listened;
            part(format!("\r{:78}", check.line(who)));
        }
        if on_screen && !judged && listened.0 >= OPINION.0 {
            judged = true;
            say("")?;
            for opinion in sound_check::opinions(&check.check, check.notes.len(), HeardThrough::Microphone) {
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
