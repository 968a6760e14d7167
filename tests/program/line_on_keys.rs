//! What `patterns learn --input midi` and the first questions hear: a line, and the two ends of a range, played on a MIDI keyboard outside
//! a drill. A stand-in takes the place of the MIDI port, behind the same trait.
//!
//! Messages: MIDI 1.0 Detailed Specification, from memory.

use std::cell::Cell;
use std::collections::VecDeque;

use earfirst::outside::devices::PortEvent;
use earfirst::outside::engine::{Hearing, KeySource, ListeningHooks, MidiEar};
use earfirst::outside::learn::{LineDraft, Pulse, played};
use earfirst::outside::midi::{LineChoice, MessageReader, SteeringKey};
use earfirst::outside::music::Concert;
use earfirst::outside::pattern::Library;
use earfirst::outside::room::SoundFault;
use earfirst::outside::units::{Seconds, Tempo};

/// How far the clock goes on each time it is read.
const LOOK: Seconds = Seconds(0.02);

/// A keyboard whose messages are all decided beforehand.
struct Keyboard {
    now: Cell<Seconds>,
    coming: VecDeque<(Seconds, PortEvent)>,
}

impl Keyboard {
    /// A keyboard on which these keys are played, each with the seconds at which it goes down and comes up.
    fn played(keys: &[(u8, f64, f64)]) -> Self {
        let down = keys.iter().map(|(key, down, _)| (*down, [0x90, *key, 80]));
        let up = keys.iter().map(|(key, _, up)| (*up, [0x80, *key, 64]));
        Self::saying(down.chain(up).collect())
    }

    /// A keyboard that sends these messages, each with the second at which it is sent.
    fn saying(mut bytes: Vec<(f64, [u8; 3])>) -> Self {
        bytes.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut coming = VecDeque::new();
        for (at, bytes) in bytes {
            let (stamp_us, arrived) = ((at * 1e6) as u64, Seconds(at + 0.002));
            let mut tell = |message| coming.push_back((arrived, PortEvent::Said { message, stamp_us, arrived }));
            MessageReader::default().read(&bytes, &mut tell);
        }
        Self { now: Cell::new(Seconds(0.0)), coming }
    }

    fn pulled_out(mut self, at: f64) -> Self {
        self.coming.retain(|(arrives, _)| arrives.0 < at);
        self.coming.push_back((Seconds(at), PortEvent::Closed));
        self
    }
}

impl KeySource for Keyboard {
    fn next_event(&mut self) -> Option<PortEvent> {
        let now = self.now.get();
        self.coming.pop_front_if(|(arrives, _)| *arrives <= now).map(|(_, event)| event)
    }

    fn now(&self) -> Seconds {
        self.now.set(self.now.get() + LOOK);
        self.now.get()
    }

    fn wait(&mut self) {}
}

fn ear(keyboard: Keyboard) -> MidiEar<Keyboard> {
    MidiEar::new(keyboard, LineChoice::default())
}

/// The notes C D E G E D C, which are played as eighths at quarter = 120, each sounding a little into the next.
const LINE: [u8; 7] = [60, 62, 64, 67, 64, 62, 60];

fn eighths(transposed: i8) -> Vec<(u8, f64, f64)> {
    let key = |(n, key): (usize, &u8)| {
        let at = 1.0 + 0.25 * n as f64;
        (key.saturating_add_signed(transposed), at, at + 0.26)
    };
    LINE.iter().enumerate().map(key).collect()
}

#[test]
fn a_pattern_is_learned_from_a_line_played_on_the_keys() {
    let mut silent = |_| ();
    let mut beside = ListeningHooks { stopped: &|| false, trouble: &mut silent };
    let heard = ear(Keyboard::played(&eighths(3))).hear_line(&mut beside, &mut |_| ());
    assert_eq!((heard.notes.len(), heard.trouble), (7, None));
    let draft = LineDraft {
        played: played(&heard.notes),
        pulse: Some(Pulse::given(Tempo(120.0))),
        straight: false,
        key: None,
        tonic: None,
        signature: None,
        family: None,
        name: "up and down".to_owned(),
    };
    let learnt = draft.learn(Library::builtin()).unwrap();
    let in_another_key =
        LineDraft { played: played(&line_of(&eighths(-4))), ..draft }.learn(Library::builtin()).unwrap();
    assert_eq!(learnt.pattern, in_another_key.pattern, "the key in which it is played does not matter");
    let written = earfirst::outside::pattern::print_file([&learnt.pattern]);
    assert!(written.contains("1 2 3 5 3 2 1"), "{written}");
}

fn line_of(keys: &[(u8, f64, f64)]) -> Vec<earfirst::outside::notes::HeardNote> {
    let mut silent = |_| ();
    let mut beside = ListeningHooks { stopped: &|| false, trouble: &mut silent };
    ear(Keyboard::played(keys)).hear_line(&mut beside, &mut |_| ()).notes
}

#[test]
fn the_range_of_a_keyboard_is_the_two_keys_held_at_its_ends() {
    // A key that is only touched is no answer, nor the lowest once more.
    let keys = [(40, 0.5, 0.7), (36, 1.0, 2.5), (36, 3.0, 4.5), (96, 5.0, 6.4)];
    let mut ear = ear(Keyboard::played(&keys));
    let mut silent = |_| ();
    let mut beside = ListeningHooks { stopped: &|| false, trouble: &mut silent };
    let (low, _) = ear.hear_held_note(&mut beside, None);
    let (high, trouble) = ear.hear_held_note(&mut beside, low);
    assert_eq!((low, high, trouble), (Some(Concert(36)), Some(Concert(96)), None));
}

#[test]
fn a_pedal_or_a_key_pressed_once_is_what_is_to_steer_and_the_sustain_pedal_is_not() {
    let sustain = [(0.5, [0xB0, 64, 127]), (0.8, [0xB0, 64, 0])];
    let soft_pedal = [(1.5, [0xB0, 67, 127]), (1.7, [0xB0, 67, 0])];
    let key = [(2.5, [0x90, 21, 60]), (2.7, [0x80, 21, 0])];
    let mut ear = ear(Keyboard::saying([sustain, soft_pedal, key].concat()));
    let mut pressed = Vec::new();
    while ear.reached() < Seconds(3.5) {
        ear.gather(&mut Vec::new());
        pressed.extend(ear.pressed());
    }
    assert_eq!(pressed, [SteeringKey::Pedal(67), SteeringKey::Key(21)]);
}

#[test]
fn a_cable_pulled_out_within_the_line_keeps_what_was_played_and_is_said() {
    let mut silent = |_| ();
    let mut beside = ListeningHooks { stopped: &|| false, trouble: &mut silent };
    let heard = ear(Keyboard::played(&eighths(0)).pulled_out(1.9)).hear_line(&mut beside, &mut |_| ());
    assert_eq!((heard.notes.len(), heard.trouble), (4, Some(SoundFault::Unplugged)));
}
