//! What comes from a MIDI instrument, how evenly it arrives, and which of its keys and pedals ask for something.

use std::io::IsTerminal;

use crate::devices::MonotonicClock;
use crate::engine::{Hearing, MidiEar};
use crate::files::{KeyOrPedal, Places, UserSettings};
use crate::midi::{Presser, Steer};
use crate::music::Concert;
use crate::notes::{HeardNote, NoteEvent};
use crate::talk::chosen_devices::MidiChoice;
use crate::talk::failure::Failure;
use crate::talk::output::{part, say};
use crate::talk::player::Who;
use crate::tui;
use crate::units::{Midi, Seconds};
use crate::words::numbers::numbered;

/// Between two looks at the port.
const PAUSE: std::time::Duration = std::time::Duration::from_millis(5);

/// What came from an instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct MidiHeard {
    /// How many notes.
    pub notes: usize,
    /// The lowest and the highest.
    pub pitches: Option<(Midi, Midi)>,
    /// The softest and the loudest velocity.
    pub velocities: Option<(u8, u8)>,
    /// How unevenly the messages arrived; `None` where too few came.
    pub jitter: Option<Seconds>,
}

/// Shows each note of the line, until control-c or for so many seconds.
pub fn listen(midi: &MidiChoice, who: &Who, most: Option<f64>, quietly: bool) -> Result<MidiHeard, Failure> {
    let mut ear = MidiEar::open(midi.name.as_deref(), MonotonicClock::begin(), midi.line)
        .map_err(|failure| Failure::device(failure, "earfirst devices lists what is there."))?;
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let on_screen = std::io::stdout().is_terminal() && !quietly;
    if on_screen {
        say("Play some notes, one after the other. Control-c ends.")?;
    }
    let (mut heard, mut said, from): (Vec<HeardNote>, Vec<NoteEvent>, _) = (Vec::new(), Vec::new(), ear.reached());
    loop {
        said.clear();
        ear.gather(&mut said);
        let begun = said.iter().filter_map(|event| if let NoteEvent::On(note) = event { Some(*note) } else { None });
        heard.extend(begun);
        if let Some(wrong) = ear.wrong() {
            return Err(wrong.into());
        }
        if on_screen && let Some(note) = heard.last().filter(|_| !said.is_empty()) {
            part(format!("\r{:40}", format!("{}   velocity {}", who.page.heard(note.pitch), velocity(note))));
        }
        if asked.raised() || most.is_some_and(|most| (ear.reached() - from).0 >= most) {
            break;
        }
        std::thread::sleep(PAUSE);
    }
    if on_screen {
        say("")?;
    }
    Ok(gathered(&heard, ear.jitter()))
}

/// Waits for a key or a pedal to be pressed, and keeps it for what it is to ask for. A key that a cue could ask for is refused; the
/// sustain pedal is not looked at.
pub fn teach(midi: &MidiChoice, who: &Who, steer: Steer, places: &Places) -> Result<(), Failure> {
    let mut ear = MidiEar::open(midi.name.as_deref(), MonotonicClock::begin(), midi.line)
        .map_err(|failure| Failure::device(failure, "earfirst devices lists what is there."))?;
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let means = word(steer);
    say(format!("Press the pedal, or a key outside your range, that shall mean \"{means}\". Control-c ends."))?;
    let pressed = loop {
        ear.gather(&mut Vec::new());
        if let Some(wrong) = ear.wrong() {
            return Err(wrong.into());
        }
        match ear.pressed() {
            Some(Presser::Key(key)) if who.range.contains(Concert(i32::from(key))) => {
                let name = who.page.heard(Midi(f64::from(key)));
                say(format!("  {name} lies in your range, and may be asked: press one outside it."))?;
            }
            Some(pressed) => break pressed,
            None if asked.raised() => return Ok(()),
            None => std::thread::sleep(PAUSE),
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

/// The velocity that a level was made from.
fn velocity(note: &HeardNote) -> u8 {
    (127.0 * 10f64.powf(note.loudness.0 / 40.0)).round() as u8
}

fn gathered(heard: &[HeardNote], jitter: Option<Seconds>) -> MidiHeard {
    let pitches = heard.iter().map(|note| note.pitch);
    let velocities = heard.iter().map(velocity);
    MidiHeard {
        notes: heard.len(),
        pitches: pitches.clone().reduce(Midi::min).zip(pitches.reduce(Midi::max)),
        velocities: velocities.clone().min().zip(velocities.max()),
        jitter,
    }
}

/// Says what came, for a player or for machines.
pub fn say_came(heard: &MidiHeard, who: &Who, json: bool) -> Result<(), Failure> {
    if json {
        let (pitches, velocities) = (heard.pitches.map(|(low, high)| [low.0, high.0]), heard.velocities);
        return say(serde_json::json!({
            "notes": heard.notes, "midi_range": pitches, "velocity_range": velocities,
            "jitter_ms": heard.jitter.map(Seconds::ms),
        }));
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
