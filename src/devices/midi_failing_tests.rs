//! What a system can do wrong, on a stand-in that behaves as the library does where ALSA has nothing left: it panics while it lists
//! ports, while it opens one, or on a thread of its own, and again when that thread is waited for.

use std::any::Any;
use std::io;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::{self, JoinHandle};

use super::midi_ports::{PortEvent, PortKeeper};
use super::midi_system::{MidiSystem, PortListener, SystemPort, refused};
use crate::room::MidiError;
use crate::units::Seconds;

/// What goes wrong in the stand-in.
#[derive(Clone, Copy, PartialEq)]
enum Fails {
    Nothing,
    Looking,
    Opening,
    Taken,
    Forbidden,
}

/// What the stand-in's own thread gets: bytes to hear, or `None` to panic.
type ToThread = Option<Vec<u8>>;

struct Failing {
    fails: Fails,
    /// The thread of the open port.
    thread: Option<Sender<ToThread>>,
}

/// What keeps a port open: its thread, which is waited for.
struct Held(Option<JoinHandle<()>>);

impl Drop for Held {
    fn drop(&mut self) {
        if let Some(thread) = self.0.take()
            && thread.join().is_err()
        {
            panic!("the library waited for its thread");
        }
    }
}

impl MidiSystem for Failing {
    fn ports(&mut self) -> Result<Vec<SystemPort>, MidiError> {
        match self.fails {
            Fails::Looking => panic!("no list of ports"),
            Fails::Forbidden => Err(refused(Some(io::ErrorKind::PermissionDenied.into()))),
            _ => Ok(vec![SystemPort { name: "Keys".to_owned(), id: "1".to_owned() }]),
        }
    }

    fn open(&mut self, port: &SystemPort, mut heard: PortListener) -> Result<Box<dyn Any>, MidiError> {
        match self.fails {
            Fails::Opening => panic!("no queue is left"),
            Fails::Taken => Err(MidiError::Taken { name: port.name.clone(), reported: "it is taken".to_owned() }),
            _ => {
                let (tell, events_of) = channel::<ToThread>();
                self.thread = Some(tell);
                let hear = move || {
                    while let Ok(said) = events_of.recv() {
                        heard(1000, &said.expect("no time on an event"));
                    }
                };
                Ok(Box::new(Held(Some(thread::Builder::new().name("midir stand-in".to_owned()).spawn(hear).unwrap()))))
            }
        }
    }

    fn joined(&mut self, _port: &SystemPort) -> bool {
        true
    }
}

type Keeper = PortKeeper<Failing, fn() -> Seconds>;

fn keeper(fails: Fails) -> (Keeper, Receiver<PortEvent>) {
    let (tell, events) = channel();
    (PortKeeper::new(Failing { fails, thread: None }, None, tell, || Seconds(7.0)), events)
}

fn events_of(events: &Receiver<PortEvent>) -> Vec<PortEvent> {
    events.try_iter().collect()
}

fn opened() -> PortEvent {
    PortEvent::Opened { name: "Keys".to_owned(), at: Seconds(7.0) }
}

fn broke(why: &str) -> PortEvent {
    PortEvent::Failed(MidiError::Broke(why.to_owned()))
}

#[test]
fn a_library_that_panics_while_it_opens_is_an_error_and_is_tried_again() {
    for (fails, why) in [(Fails::Looking, "no list of ports"), (Fails::Opening, "no queue is left")] {
        let (mut keeper, events) = keeper(fails);
        keeper.look();
        keeper.look();
        assert_eq!(events_of(&events), [broke(why)], "told once");
        keeper.system().fails = Fails::Nothing;
        keeper.look();
        assert_eq!(events_of(&events), [opened()]);
        keeper.system().thread = None;
    }
}

#[test]
fn a_library_whose_thread_panics_in_the_middle_of_a_line_is_no_silence_and_is_opened_anew() {
    let (mut keeper, events) = keeper(Fails::Nothing);
    keeper.look();
    for _ in 0..20 {
        let say = |keeper: &mut Keeper, what| keeper.system().thread.as_ref().unwrap().send(what).unwrap();
        say(&mut keeper, Some(vec![0x90, 60, 80]));
        say(&mut keeper, None);
        let mut so_far = Vec::new();
        while so_far.last() != Some(&opened()) || so_far.len() < 3 {
            keeper.look();
            so_far.extend(events_of(&events));
            thread::yield_now();
        }
        let heard = so_far.iter().position(|event| matches!(event, PortEvent::Said { .. }));
        so_far.remove(heard.expect("what was played before is not lost"));
        so_far.retain(|event| *event != opened());
        assert_eq!(so_far, [PortEvent::Closed, broke("the library waited for its thread")]);
    }
    keeper.system().thread = None;
}

#[test]
fn a_port_that_breaks_and_is_taken_meanwhile_says_so_once_each() {
    let (mut keeper, events) = keeper(Fails::Nothing);
    keeper.look();
    assert_eq!(events_of(&events), [opened()]);
    keeper.system().fails = Fails::Forbidden;
    keeper.system().thread = None;
    keeper.look();
    keeper.look();
    let forbidden = PortEvent::Failed(MidiError::Forbidden("/dev/snd/seq"));
    let mut said = events_of(&events);
    // The stand-in's thread may have ended before the look or after it.
    said.retain(|event| *event != broke("it stopped listening"));
    assert_eq!(said, [PortEvent::Closed, forbidden]);
    keeper.system().fails = Fails::Taken;
    keeper.look();
    let taken = MidiError::Taken { name: "Keys".to_owned(), reported: "it is taken".to_owned() };
    assert_eq!(events_of(&events), [PortEvent::Failed(taken)]);
}

#[test]
fn what_the_systems_file_says_is_what_is_told() {
    let kind = |kind: io::ErrorKind| refused(Some(kind.into()));
    assert_eq!(kind(io::ErrorKind::PermissionDenied), MidiError::Forbidden("/dev/snd/seq"));
    assert_eq!(kind(io::ErrorKind::NotFound), MidiError::NoSystem("/dev/snd/seq"));
    // ENODEV: Linux, errno.h.
    assert_eq!(refused(Some(io::Error::from_raw_os_error(19))), MidiError::NoSystem("/dev/snd/seq"));
    assert_eq!(refused(None), MidiError::Silent, "it opens, and still there is nothing");
}

#[test]
fn every_error_says_what_where_and_how_to_mend_it() {
    let text = |name: &str| name.to_owned();
    let taken = MidiError::Taken { name: text("Keys"), reported: text("it is taken") };
    let unknown = MidiError::Unknown { name: text("organ"), there: vec![text("Keys")] };
    let said = [
        (MidiError::NoSystem("/dev/snd/seq"), "MIDI is not there", "/dev/snd/seq", "modprobe snd-seq"),
        (MidiError::Forbidden("/dev/snd/seq"), "does not let", "/dev/snd/seq", "sign in again"),
        (MidiError::Silent, "does not answer", "system's MIDI", "restart"),
        (MidiError::Broke(text("no queue is left")), "failed", "no queue is left", "try again"),
        (MidiError::NoPort, "no MIDI instrument is there", "MIDI", "plug one in"),
        (unknown, "there is no", "\"organ\"", "there is \"Keys\""),
        (MidiError::Gone(text("Keys")), "cannot be reached", "\"Keys\"", "plugged in and switched on"),
        (taken, "does not open", "\"Keys\"", "close the program that uses it"),
    ];
    for (error, what, place, mend) in said {
        let error = error.to_string();
        assert!([what, place, mend].iter().all(|part| error.contains(part)), "{error}");
    }
}
