//! MIDI ports that come and go. A stand-in takes the place of the system, because few machines that run tests have MIDI.

use std::any::Any;
use std::cell::RefCell;
use std::rc::Rc;
use std::sync::mpsc::{Receiver, channel};

use super::midi_ports::{PortEvent, PortKeeper};
use super::midi_system::{MidiSystem, PortListener, SystemPort, parted};
use crate::midi::{ChannelMessage, KeyMessage};
use crate::room::MidiError;
use crate::units::Seconds;

const PIANO: &str = "Stage Piano:Stage Piano MIDI 1";

/// What the stand-in pretends: the ports that are there, what is wrong with them, and who listens.
#[derive(Default)]
struct Desk {
    ports: Vec<SystemPort>,
    /// Whether another program holds every port, so that none opens.
    taken: bool,
    /// Nothing reaches whoever listens.
    deaf: bool,
    /// The system says that nobody is joined to the port any more.
    parted: bool,
    /// Who listens to the open port; `None` where no port is open.
    heard: Option<PortListener>,
}

#[derive(Clone, Default)]
struct StandIn(Rc<RefCell<Desk>>);

/// Keeps a port open; when it is dropped, nobody listens any more.
struct Held(Rc<RefCell<Desk>>);

impl Drop for Held {
    fn drop(&mut self) {
        self.0.borrow_mut().heard = None;
    }
}

impl MidiSystem for StandIn {
    fn ports(&mut self) -> Result<Vec<SystemPort>, MidiError> {
        Ok(self.0.borrow().ports.clone())
    }

    fn open(&mut self, port: &SystemPort, heard: PortListener) -> Result<Box<dyn Any>, MidiError> {
        let mut desk = self.0.borrow_mut();
        if desk.taken {
            return Err(MidiError::Taken { name: port.name.clone(), reported: "busy".to_owned() });
        }
        (desk.heard, desk.deaf, desk.parted) = (Some(heard), false, false);
        Ok(Box::new(Held(Rc::clone(&self.0))))
    }

    fn joined(&mut self, _port: &SystemPort) -> bool {
        !self.0.borrow().parted
    }
}

impl StandIn {
    /// From now on the ports of these names are there, and no other; the id of each is its name.
    fn plug(&self, ports: &[&str]) {
        let known = |name: &&str| SystemPort { name: (*name).to_owned(), id: (*name).to_owned() };
        self.0.borrow_mut().ports = ports.iter().map(known).collect();
    }

    /// Pulls the first instrument out and plugs it in again: its port is there, but the one who listens hears nothing any more. With an
    /// `id` the port has that new id; without one it has its old id, and the system says that it is no longer joined.
    fn pull_out_and_back(&self, id: Option<&str>) {
        let mut desk = self.0.borrow_mut();
        desk.deaf = true;
        match id {
            Some(id) => desk.ports[0].id = id.to_owned(),
            None => desk.parted = true,
        }
    }

    fn play(&self, bytes: &[u8]) {
        let mut desk = self.0.borrow_mut();
        let deaf = desk.deaf;
        if let Some(heard) = desk.heard.as_mut().filter(|_| !deaf) {
            heard(1000, bytes);
        }
    }
}

type Keeper = PortKeeper<StandIn, fn() -> Seconds>;

fn desk(wanted: Option<&str>) -> (StandIn, Keeper, Receiver<PortEvent>) {
    let (tell, events) = channel();
    let stand_in = StandIn::default();
    (stand_in.clone(), PortKeeper::new(stand_in, wanted.map(str::to_owned), tell, || Seconds(7.0)), events)
}

fn opened(name: &str) -> PortEvent {
    PortEvent::Opened { name: name.to_owned(), at: Seconds(7.0) }
}

fn events_of(events: &Receiver<PortEvent>) -> Vec<PortEvent> {
    events.try_iter().collect()
}

#[test]
fn a_piano_that_is_pulled_out_twenty_times_is_found_again_by_its_name() {
    let (desk, mut keeper, events) = desk(Some("stage"));
    for round in 0..20 {
        // ALSA gives the piano another number each time. From the second round on another port whose name has "stage" in it is
        // listed before the piano.
        let piano = format!("{PIANO} {}:0", 20 + round);
        let all = ["Midi Through:Midi Through Port-0 14:0", "Stage Lights:Lights 1 16:0", &piano];
        if round == 0 {
            desk.plug(&[all[0], all[2]])
        } else {
            desk.plug(&all)
        }
        keeper.look();
        keeper.look();
        desk.play(&[0x90, 60, 80]);
        let message = ChannelMessage { channel: 1, what: KeyMessage::Down { key: 60, velocity: 80 } };
        let said = PortEvent::Said { message, stamp_us: 1000, arrived: Seconds(7.0) };
        assert_eq!(events_of(&events), [opened(PIANO), said], "round {round}");
        desk.plug(&all[..2]);
        keeper.look();
        desk.play(&[0x80, 60, 0]);
        let gone = events_of(&events);
        assert!(matches!(gone[..], [PortEvent::Closed, PortEvent::Failed(MidiError::Unknown { .. })]), "{gone:?}");
    }
}

#[test]
fn a_piano_that_is_gone_and_back_between_two_looks_under_the_same_name_is_not_deaf() {
    let (desk, mut keeper, events) = desk(Some("stage"));
    desk.plug(&[PIANO]);
    keeper.look();
    assert_eq!(events_of(&events), [opened(PIANO)]);
    // The port comes back under another id, or, as with ALSA, under the same id but no longer joined to this program.
    for id in [Some("the second"), None, Some("the third"), None] {
        desk.pull_out_and_back(id);
        keeper.look();
        keeper.look();
        desk.play(&[0x90, 60, 80]);
        let said = events_of(&events);
        assert_eq!(said.len(), 3, "{said:?}");
        assert!(said[..2] == [PortEvent::Closed, opened(PIANO)], "{said:?}");
        assert!(matches!(said[2..], [PortEvent::Said { .. }]), "{said:?}");
    }
}

// The form of the list in which Linux says which ports are joined (sound/core/seq/seq_clientmgr.c) is from memory.
#[test]
fn the_list_of_the_system_says_whether_a_port_is_still_joined() {
    let list = |from: &str| {
        format!(
            "Client info\n  cur  clients : 4\n\nClient   0 : \"System\" [Kernel]\n  Port   1 : \"Announce\" (R-e-)\n    Connecting To: 128:0\n\
             Client  20 : \"Stage Piano\" [Kernel]\n  Port   0 : \"Stage Piano MIDI 1\" (RWeX)\n    Connecting To: 129:0[r:0]\n\
             Client 128 : \"earfirst\" [User]\nClient 129 : \"earfirst\" [User]\n  Port   0 : \"earfirst\" (-We-)\n{from}\
             Client 130 : \"another\" [User]\n  Port   0 : \"in\" (-We-)\n    Connected From: 20:0\n"
        )
    };
    assert!(!parted(&list("    Connected From: 20:0[r:0]\n"), "20:0"));
    assert!(!parted(&list("    Connected From: 0:1, 20:0[r:0]\n"), "20:0"));
    assert!(parted(&list(""), "20:0") && parted(&list("    Connected From: 120:0\n"), "20:0"));
    assert!(!parted("", "20:0") && !parted("Client 130 : \"another\" [User]\n", "20:0"), "it does not say");
}

#[test]
fn without_a_name_the_first_that_somebody_can_play_is_meant() {
    let (desk, mut keeper, events) = desk(None);
    desk.plug(&["Midi Through:Midi Through Port-0 14:0"]);
    keeper.look();
    keeper.look();
    assert_eq!(events_of(&events), [PortEvent::Failed(MidiError::NoPort)], "told once");
    desk.plug(&["Midi Through:Midi Through Port-0 14:0", &format!("{PIANO} 20:0")]);
    keeper.look();
    assert_eq!(events_of(&events), [opened(PIANO)]);
}

#[test]
fn the_whole_name_goes_before_a_part_of_it() {
    let (desk, mut keeper, events) = desk(Some("keys"));
    desk.plug(&["Keys Two", "Keys"]);
    keeper.look();
    assert_eq!(events_of(&events), [opened("Keys")]);
}

#[test]
fn a_port_that_another_program_holds_is_opened_as_soon_as_that_lets_go() {
    let (desk, mut keeper, events) = desk(None);
    desk.plug(&["Keys"]);
    desk.0.borrow_mut().taken = true;
    keeper.look();
    let failed = events_of(&events);
    let [PortEvent::Failed(MidiError::Taken { name, .. })] = &failed[..] else { panic!("{failed:?}") };
    assert_eq!(name, "Keys");
    desk.0.borrow_mut().taken = false;
    keeper.look();
    assert_eq!(events_of(&events), [opened("Keys")]);
}

#[test]
fn a_name_that_is_not_there_is_told_with_those_that_are() {
    let (desk, mut keeper, events) = desk(Some("organ"));
    desk.plug(&["Midi Through:Midi Through Port-0 14:0", &format!("{PIANO} 20:0")]);
    keeper.look();
    let failed = events_of(&events);
    let [PortEvent::Failed(error)] = &failed[..] else { panic!("{failed:?}") };
    let said = error.to_string();
    assert_eq!(said, format!("there is no MIDI instrument called \"organ\"; there is \"{PIANO}\""));
}
