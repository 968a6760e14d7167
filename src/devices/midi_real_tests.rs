//! The sequencer of the system itself, where this machine has one and lets this user have it: elsewhere the test says that it was
//! skipped, and the stand-ins beside it are all that is known. It was skipped wherever it ran so far.

use std::fs::File;
use std::time::{Duration, Instant};

use midir::os::unix::VirtualOutput;
use midir::{MidiOutput, MidiOutputConnection};

use super::midi_ports::{MidiPort, PortEvent, midi_instruments};
use super::midi_system::SEQUENCER;
use super::stream_counters::MonotonicClock;
use crate::midi::{ChannelMessage, KeyMessage};
use crate::units::Seconds;

/// How the keyboard of the test is called.
const KEYS: &str = "keys of a test";
/// Longest wait for anything.
const PATIENCE: Duration = Duration::from_secs(5);

/// A keyboard, plugged in until it is dropped; `None` where the system gives none.
fn plugged() -> Option<MidiOutputConnection> {
    MidiOutput::new(KEYS).ok()?.create_virtual("out").ok()
}

/// The next events, until one is as wished.
fn until(port: &mut MidiPort, wished: impl Fn(&PortEvent) -> bool) -> Vec<PortEvent> {
    let (begun, mut events) = (Instant::now(), Vec::new());
    while !events.last().is_some_and(&wished) {
        assert!(begun.elapsed() < PATIENCE, "nothing more came after {events:?}");
        match port.next_event() {
            Some(event) => events.push(event),
            None => std::thread::sleep(Duration::from_millis(1)),
        }
    }
    events
}

/// Middle C down and up, as the port tells it: how long after it went down that was told.
fn struck(port: &mut MidiPort, keys: &mut MidiOutputConnection) -> Seconds {
    let said = |what: KeyMessage| {
        let told = ChannelMessage { channel: 3, what };
        move |event: &PortEvent| matches!(event, PortEvent::Said { message, .. } if *message == told)
    };
    let sent = port.now();
    assert!(keys.send(&[0x92, 60, 80]).is_ok(), "a key goes down");
    let events = until(port, said(KeyMessage::Down { key: 60, velocity: 80 }));
    assert!(keys.send(&[0x82, 60, 64]).is_ok(), "and up");
    until(port, said(KeyMessage::Up { key: 60 }));
    let Some(PortEvent::Said { arrived, .. }) = events.last() else { return Seconds(0.0) };
    *arrived - sent
}

#[test]
fn a_keyboard_at_the_systems_own_sequencer_is_played_pulled_out_and_found_again_or_the_test_is_skipped() {
    if let Err(why) = File::options().read(true).write(true).open(SEQUENCER) {
        return println!("skipped: {SEQUENCER} does not open on this machine ({why})");
    }
    let Some(mut keys) = plugged() else { return println!("skipped: the sequencer gives this user no port") };
    assert!(midi_instruments().is_ok_and(|names| names.iter().any(|name| name.contains(KEYS))));
    let mut port = MidiPort::open(Some(KEYS), MonotonicClock::begin()).expect("it is there");
    until(&mut port, |event| matches!(event, PortEvent::Opened { .. }));
    println!("a key is told {:.2} ms after it went down", struck(&mut port, &mut keys).ms());
    drop(keys);
    until(&mut port, |event| matches!(event, PortEvent::Closed));
    let mut keys = plugged().expect("it was there a moment ago");
    until(&mut port, |event| matches!(event, PortEvent::Opened { .. }));
    struck(&mut port, &mut keys);
}
