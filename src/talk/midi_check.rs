//! What comes from a MIDI instrument, how evenly it arrives, and which of its keys and pedals ask for something.

use std::io::IsTerminal;

use crate::devices::{MidiPort, MonotonicClock};
use crate::engine::{Hearing, KeySource, ListeningHooks, MidiEar};
use crate::files::{KeyOrPedal, Places, UserSettings};
use crate::midi::{KeysBeside, Steer, SteeringKey};
use crate::music::Concert;
use crate::notes::{HeardNote, NoteEvent};
use crate::report::{self, KeysHeard};
use crate::talk::chosen_devices::{MidiChoice, tuned};
use crate::talk::failure::Failure;
use crate::talk::keys_told;
use crate::talk::microphone::MIDI_SILENT;
use crate::talk::output::{part, say, warned};
use crate::talk::player::Who;
use crate::tui;
use crate::units::{Midi, Seconds};
use crate::words::numbers::{capital, numbered};

/// The port of an instrument, opened.
fn open(midi: &MidiChoice, who: &Who) -> Result<MidiEar<MidiPort>, Failure> {
    let line = tuned(midi.line, &who.page.instrument);
    MidiEar::open(midi.name.as_deref(), MonotonicClock::begin(), line)
        .map_err(|failure| Failure::device(failure, "earfirst devices lists what is there."))
}

/// What came from an instrument: the line, and what was played beside it.
pub type CameOverCable = (KeysHeard, KeysBeside);

/// Listens to the line until control-c, or for at most `most` seconds; on a terminal, unless `quietly`, each note is shown.
pub fn listen(midi: &MidiChoice, who: &Who, most: Option<f64>, quietly: bool) -> Result<CameOverCable, Failure> {
    let mut ear = open(midi, who)?;
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let on_screen = std::io::stdout().is_terminal() && !quietly;
    if on_screen {
        say("Play some notes, one after the other. Control-c ends.")?;
    }
    let (mut heard, mut from): (Vec<HeardNote>, Option<Seconds>) = (Vec::new(), None);
    let mut beside = ListeningHooks { stopped: &|| asked.raised(), trouble: &mut |_| {} };
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
    let (line, beside) = (KeysHeard::of(&heard, ear.jitter(), ear.unstamped()), ear.beside());
    let channels = beside.channels.numbers().collect();
    let (several, brushed, outside) = (beside.hidden > 0, beside.brushed.count(), beside.outside);
    Ok((KeysHeard { several, brushed, outside, channels, ..line }, beside))
}

/// Waits for a key or a pedal to be pressed, and keeps it for the command that it is to give. A key that a cue could ask for is
/// refused; a controller that plays or sets something, such as the sustain pedal, is passed over.
pub fn teach(midi: &MidiChoice, who: &Who, steer: Steer, places: &Places) -> Result<(), Failure> {
    let mut ear = open(midi, who)?;
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    say(format!(
        "Press the pedal, or a key outside your range, that shall mean \"{}\" (no sustain pedal, wheel, or volume pedal). Control-c ends.",
        word(steer)
    ))?;
    match pressed(&mut ear, who, &|| asked.raised())? {
        Some(pressed) => say(keep(steer, pressed, who, places)?),
        None => Ok(()),
    }
}

/// The first press that may steer; `None` where the player asks to stop before.
fn pressed<K: KeySource>(
    ear: &mut MidiEar<K>,
    who: &Who,
    stopped: &dyn Fn() -> bool,
) -> Result<Option<SteeringKey>, Failure> {
    loop {
        match ear.hear_pressed(stopped)? {
            Some(SteeringKey::Key(key)) if who.range.contains(Concert(i32::from(key))) => {
                let name = who.page.heard(Midi(f64::from(key)));
                say(format!("  {name} lies in your range, and may be asked: press one outside it."))?;
            }
            pressed => return Ok(pressed),
        }
    }
}

/// Keeps the key or pedal for one command and removes it from the others; gives the sentence that says so.
fn keep(steer: Steer, pressed: SteeringKey, who: &Who, places: &Places) -> Result<String, Failure> {
    let (kept, name) = match pressed {
        SteeringKey::Key(key) => (KeyOrPedal::Key(key), format!("the key {}", who.page.heard(Midi(f64::from(key))))),
        SteeringKey::Pedal(number) => (KeyOrPedal::Pedal(number), format!("pedal {number}")),
    };
    let now = UserSettings::change(places, |now| {
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
    if ![now.midi.pause, now.midi.again, now.midi.misheard].contains(&Some(kept)) {
        let what = format!("{name} lies in the range of the instrument in your settings, and is played");
        return Err(Failure::usage(what, "Teach a pedal, or a key outside that range."));
    }
    Ok(format!("From now on {name} means \"{}\"; [midi] in your settings holds it.", word(steer)))
}

const fn word(steer: Steer) -> &'static str {
    match steer {
        Steer::Pause => "pause",
        Steer::Again => "again",
        Steer::Misheard => "misheard",
    }
}

/// Says what came, for a player or for machines.
pub fn say_came((heard, beside): &CameOverCable, midi: &MidiChoice, who: &Who, json: bool) -> Result<(), Failure> {
    let told = keys_told::beside(midi.line, beside, &who.page);
    if json {
        let remarks: Vec<String> = warned().into_iter().chain(told).collect();
        return say(report::with_remarks(report::keys_heard_json(heard), &remarks));
    }
    let (Some((low, high)), Some((soft, loud))) = (heard.pitches, heard.velocities) else {
        told.iter().try_for_each(|told| say(capital(told) + "."))?;
        return Err(Failure::device("no note came", MIDI_SILENT));
    };
    let (count, low, high) = (numbered(heard.notes, "note"), who.page.heard(low), who.page.heard(high));
    say(format!("{count}, {low} to {high}, velocity {soft} to {loud}."))?;
    told.iter().try_for_each(|told| say(capital(told) + "."))?;
    say(evenness(heard.jitter, heard.unstamped))
}

/// The sentence on how evenly messages arrived.
fn evenness(jitter: Option<Seconds>, unstamped: bool) -> String {
    match jitter {
        _ if unstamped => {
            "Its driver gives no times: a note counts from when it arrived, and how evenly that was cannot be told."
                .to_owned()
        }
        Some(jitter) => {
            let ms = jitter.ms();
            format!(
                "In the last 20 seconds they arrived unevenly by {ms:.0} ms at most, which is taken out of every time."
            )
        }
        None => "How evenly they arrive is told where eight messages or more came within 20 seconds (a note is two)."
            .to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::Cell;
    use std::collections::VecDeque;

    use crate::devices::PortEvent;
    use crate::engine::NoteSource;
    use crate::midi::{ChannelMessage, KeyMessage, LineChoice};
    use crate::music::{self, Level, Reading};
    use crate::room::SoundFault;
    use crate::units::A440;
    use crate::words::Page;

    /// A keyboard whose messages are planned: each with its time stamp and its arrival, in seconds.
    struct Keyboard {
        coming: VecDeque<(KeyMessage, f64, f64)>,
        now: Cell<f64>,
    }

    impl KeySource for Keyboard {
        fn next_event(&mut self) -> Option<PortEvent> {
            let due = self.coming.pop_front_if(|(_, _, arrives)| *arrives <= self.now.get());
            due.map(|(what, stamp, arrives)| PortEvent::Said {
                message: ChannelMessage { channel: 1, what },
                stamp_us: (stamp * 1e6) as u64,
                arrived: Seconds(arrives),
            })
        }
        fn now(&self) -> Seconds {
            self.now.set(self.now.get() + 0.02);
            Seconds(self.now.get())
        }
        fn wait(&mut self) {}
    }

    fn ear(coming: impl IntoIterator<Item = (KeyMessage, f64, f64)>) -> MidiEar<Keyboard> {
        choosing(LineChoice::default(), coming)
    }

    fn choosing(choice: LineChoice, coming: impl IntoIterator<Item = (KeyMessage, f64, f64)>) -> MidiEar<Keyboard> {
        let keyboard = Keyboard { coming: coming.into_iter().collect(), now: Cell::new(0.0) };
        MidiEar::new(keyboard, choice)
    }

    fn pianist() -> Who {
        let piano = music::instrument("piano").unwrap().clone();
        let (level, range) = (Level::Working, piano.range(Level::Working));
        Who { page: Page::new(piano, Reading::default()), range, level, compass: None, a4: A440 }
    }

    // Messages: MIDI 1.0 Detailed Specification, from memory.
    #[test]
    fn what_is_taught_is_the_first_press_that_may_steer_and_it_is_kept_for_one_thing() {
        use KeyMessage::{Control, Down, Up};
        let who = pianist();
        let mut keys = ear([
            (Down { key: 60, velocity: 80 }, 0.1, 0.1),
            (Up { key: 60 }, 0.2, 0.2),
            (Control { number: 64, value: 127 }, 0.3, 0.3),
            (Control { number: 67, value: 127 }, 0.4, 0.4),
        ]);
        let taught = pressed(&mut keys, &who, &|| false).unwrap();
        assert_eq!(taught, Some(SteeringKey::Pedal(67)), "no key of the range, and not the sustain pedal");
        assert_eq!(pressed(&mut keys, &who, &|| true).unwrap(), None);

        let folder = std::env::temp_dir().join(format!("earfirst-taught-{}", std::process::id()));
        let places = Places::at(&folder);
        let said = keep(Steer::Pause, SteeringKey::Pedal(67), &who, &places).unwrap();
        assert_eq!(said, "From now on pedal 67 means \"pause\"; [midi] in your settings holds it.");
        keep(Steer::Misheard, SteeringKey::Key(21), &who, &places).unwrap();
        keep(Steer::Again, SteeringKey::Pedal(67), &who, &places).unwrap();
        let midi = UserSettings::load(&places).unwrap().midi;
        let _ = std::fs::remove_dir_all(&folder);
        let kept = [midi.pause, midi.again, midi.misheard];
        assert_eq!(kept, [None, Some(KeyOrPedal::Pedal(67)), Some(KeyOrPedal::Key(21))]);
    }

    #[test]
    fn keys_on_a_channel_that_is_not_listened_to_are_told_in_a_drill_for_ten_seconds() {
        let keys = || (0..9u8).map(|n| (KeyMessage::Down { key: 60 + n, velocity: 80 }, 0.3, 0.3 + 0.3 * f64::from(n)));
        let mut heard = ear(keys());
        let mut unheard = choosing(LineChoice { channel: Some(2), ..LineChoice::default() }, keys());
        for (keys, fault) in [(&mut heard, None), (&mut unheard, Some(SoundFault::OtherChannel(1, 2)))] {
            while keys.reached() < Seconds(4.0) {
                keys.gather(&mut Vec::new());
            }
            assert_eq!(keys.trouble(), fault);
            assert_eq!(keys.wrong(), None, "nothing stops");
            while keys.reached() < Seconds(11.0) {
                keys.gather(&mut Vec::new());
            }
            assert_eq!(keys.trouble(), None);
        }
        assert_eq!(unheard.beside().channels.numbers().collect::<Vec<_>>(), [1]);
    }

    #[test]
    fn a_key_that_is_held_while_others_are_played_under_it_is_told_in_a_drill_once() {
        let down = |key, at: f64| (KeyMessage::Down { key, velocity: 80 }, at, at);
        let up = |key, at: f64| (KeyMessage::Up { key }, at, at);
        let row = (0..4u8).flat_map(|n| {
            let at = 0.6 + 0.3 * f64::from(n);
            [down(65 - n, at), up(65 - n, at + 0.25)]
        });
        let mut keys = ear(std::iter::once(down(67, 0.3)).chain(row));
        while keys.reached() < Seconds(2.0) {
            keys.gather(&mut Vec::new());
        }
        assert_eq!(keys.trouble(), Some(SoundFault::KeyHeld));
        assert!(SoundFault::KeyHeld.sentence(None).len() < 80 && !SoundFault::KeyHeld.stops());
        while keys.reached() < Seconds(13.0) {
            keys.gather(&mut Vec::new());
        }
        assert_eq!(keys.trouble(), None);
    }

    #[test]
    fn how_unevenly_notes_arrive_is_told_in_milliseconds_once_there_are_enough() {
        let told = |notes: u8| {
            // Every third message arrives seven milliseconds late.
            let late = |n: u8| if n % 3 == 2 { 0.007 } else { 0.0 };
            let down = |n: u8| {
                (KeyMessage::Down { key: 60 + n, velocity: 80 }, 0.3 * f64::from(n), 0.3 * f64::from(n) + late(n))
            };
            let mut keys = ear((0..notes).map(down));
            while keys.reached() < Seconds(6.0) {
                keys.gather(&mut Vec::new());
            }
            evenness(keys.jitter(), keys.unstamped())
        };
        let uneven = "In the last 20 seconds they arrived unevenly by 7 ms at most, which is taken out of every time.";
        assert_eq!(told(12), uneven);
        assert!(told(5).contains("eight messages or more came within 20 seconds"), "{}", told(5));
        let mut keys =
            ear((0..12u8).map(|n| (KeyMessage::Down { key: 60 + n, velocity: 80 }, 0.0, 0.3 * f64::from(n))));
        while keys.reached() < Seconds(6.0) {
            keys.gather(&mut Vec::new());
        }
        assert!(evenness(keys.jitter(), keys.unstamped()).starts_with("Its driver gives no times: "));
    }
}
