//! What comes from a MIDI instrument, how evenly it arrives, and which of its keys and pedals ask for something.

use std::io::IsTerminal;

use crate::devices::{MidiPort, MonotonicClock};
use crate::engine::{Beside, Hearing, MidiEar};
use crate::files::{KeyOrPedal, Places, UserSettings};
use crate::midi::{Presser, Steer};
use crate::music::Concert;
use crate::notes::{HeardNote, NoteEvent};
use crate::report::{self, KeysHeard};
use crate::talk::chosen_devices::MidiChoice;
use crate::talk::failure::Failure;
use crate::talk::output::{part, say};
use crate::talk::player::Who;
use crate::tui;
use crate::units::{Midi, Seconds};
use crate::words::numbers::numbered;

/// The port of an instrument, opened.
fn open(midi: &MidiChoice) -> Result<MidiEar<MidiPort>, Failure> {
    MidiEar::open(midi.name.as_deref(), MonotonicClock::begin(), midi.line)
        .map_err(|failure| Failure::device(failure, "earfirst devices lists what is there."))
}

/// Shows each note of the line, until control-c or for so many seconds.
pub fn listen(midi: &MidiChoice, who: &Who, most: Option<f64>, quietly: bool) -> Result<KeysHeard, Failure> {
    let mut ear = open(midi)?;
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let on_screen = std::io::stdout().is_terminal() && !quietly;
    if on_screen {
        say("Play some notes, one after the other. Control-c ends.")?;
    }
    let (mut heard, mut from): (Vec<HeardNote>, Option<Seconds>) = (Vec::new(), None);
    let mut beside = Beside { stopped: &|| asked.raised(), trouble: &mut |_| {} };
    let wrong = ear.hear_until(&mut beside, &mut |now, events| {
        let before = heard.len();
        heard.extend(events.iter().filter(|event| matches!(event, NoteEvent::On(_))).map(|event| *event.note()));
        if let Some(note) = heard.last().filter(|_| on_screen && heard.len() > before) {
            part(format!("\r{:40}", format!("{}   velocity {}", who.page.heard(note.pitch), report::velocity(note))));
        }
        most.is_some_and(|most| (now - *from.get_or_insert(now)).0 >= most)
    });
    if let Some(wrong) = wrong {
        return Err(wrong.into());
    }
    if on_screen {
        say("")?;
    }
    Ok(KeysHeard::of(&heard, ear.jitter()))
}

/// Waits for a key or a pedal to be pressed, and keeps it for what it is to ask for. A key that a cue could ask for is refused; the
/// sustain pedal is not looked at.
pub fn teach(midi: &MidiChoice, who: &Who, steer: Steer, places: &Places) -> Result<(), Failure> {
    let mut ear = open(midi)?;
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let means = word(steer);
    say(format!("Press the pedal, or a key outside your range, that shall mean \"{means}\". Control-c ends."))?;
    let pressed = loop {
        match ear.hear_pressed(&|| asked.raised())? {
            Some(Presser::Key(key)) if who.range.contains(Concert(i32::from(key))) => {
                let name = who.page.heard(Midi(f64::from(key)));
                say(format!("  {name} lies in your range, and may be asked: press one outside it."))?;
            }
            Some(pressed) => break pressed,
            None => return Ok(()),
        }
    };
    let (kept, name) = match pressed {
        Presser::Key(key) => (KeyOrPedal::Key(key), format!("the key {}", who.page.heard(Midi(f64::from(key))))),
        Presser::Pedal(number) => (KeyOrPedal::Pedal(number), format!("pedal {number}")),
    };
    UserSettings::change(places, |now| {
        for place in [&mut now.midi.pause, &mut now.midi.again, &mut now.midi.misheard] {
            *place = place.filter(|other| *other != kept);
        }
        let place = match steer {
            Steer::Pause => &mut now.midi.pause,
            Steer::Again => &mut now.midi.again,
            Steer::Misheard => &mut now.midi.misheard,
        };
        *place = Some(kept);
    })?;
    say(format!("From now on {name} means \"{means}\"; [midi] in your settings holds it."))
}

const fn word(steer: Steer) -> &'static str {
    match steer {
        Steer::Pause => "pause",
        Steer::Again => "again",
        Steer::Misheard => "misheard",
    }
}

/// Says what came, for a player or for machines.
pub fn say_came(heard: &KeysHeard, who: &Who, json: bool) -> Result<(), Failure> {
    if json {
        return say(report::keys_heard_json(heard));
    }
    let (Some((low, high)), Some((soft, loud))) = (heard.pitches, heard.velocities) else {
        let mend = "Is it the right port, and the right channel? earfirst devices lists the ports.";
        return Err(Failure::device("no note came", mend));
    };
    let (count, low, high) = (numbered(heard.notes, "note"), who.page.heard(low), who.page.heard(high));
    say(format!("{count}, {low} to {high}, velocity {soft} to {loud}."))?;
    say(match heard.jitter {
        Some(jitter) => {
            format!("They arrive unevenly by {:.0} ms at most, which is taken out of every time.", jitter.ms())
        }
        None => "How evenly they arrive is told after eight messages or more.".to_owned(),
    })
}
