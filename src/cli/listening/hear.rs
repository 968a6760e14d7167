//! The sound check: level, noise, the note that is heard and how far it lies from its pitch, and what to change.

use crate::cli::args::Hear;
use crate::engine::{DeviceAudio, Listener, ear_settings, listen_to_recording};
use crate::files::{Places, Recording, UserSettings};
use crate::room::Echo;
use crate::talk::chosen_devices::{microphone, midi};
use crate::talk::failure::Failure;
use crate::talk::heard::{self, InputCheck};
use crate::talk::midi_check;
use crate::talk::notation_files::no_notes;
use crate::talk::output::warn;
use crate::talk::player::Who;
use crate::words::sound_check::HeardThrough;

/// What to do where the file cannot be read.
const NAME_A_RECORDING: &str = "Name a recording, such as a .wav file.";

/// Runs the sound check.
pub fn run(typed: &Hear) -> Result<(), Failure> {
    let places = Places::usual()?;
    let settings = UserSettings::load(&places)?;
    let who = Who::of(&typed.player, &settings)?;
    let begins_on = typed.begins_on.as_deref().map(|note| who.note(note)).transpose()?;
    if let Some(file) = &typed.file {
        no_notes(file, NAME_A_RECORDING)?;
        // A missing end of the recording is reported with what was heard.
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
        for (typed, option) in [(begins_on.is_some(), "--begins-on"), (typed.player.a4.is_some(), "--a4")] {
            if typed {
                warn(format!("{option} changes nothing: a key says itself which note it is"));
            }
        }
        let heard = midi_check::listen(&midi, &who, typed.seconds, typed.json)?;
        return midi_check::say_came(&heard, &midi, &who, typed.json);
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
    heard::live(&who, &mut listener, &mut check, typed.seconds, typed.json)?;
    heard::say_heard(&check.heard(listener.finish(), HeardThrough::Microphone), &who, typed.json, begins_on)
}
