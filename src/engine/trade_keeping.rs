//! What writes the record of a trade, on a thread of its own: with sound the disk may be waited for.

use std::thread::{self, JoinHandle};
use std::time::Duration;

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};

use crate::files::{KeepSound, SessionFolder};
use crate::session::{Event, RecordedSound};
use crate::sound::InputStretch;
use crate::units::Seconds;
use crate::verdict::TimeOrigin;

/// What was judged is shown once it is written; a disk that takes longer is not waited for.
const LATE: Duration = Duration::from_millis(250);
/// The sound of an answer begins so long before its bars, and ends so long after them.
const AROUND: Seconds = Seconds(0.5);

/// One thing for the record.
enum ToKeep {
    /// What the microphone heard since the stretch before.
    Sound(InputStretch),
    /// Events that belong together, whether all in them was right, and whom to tell when they are written.
    Events(Vec<Event>, bool, Sender<()>),
    /// The band begins anew, so what is heard from now on is another run.
    Run,
}

/// The thread that writes the record of a trade.
pub struct TradeKeeping {
    orders: Sender<ToKeep>,
    thread: JoinHandle<SessionFolder>,
}

impl TradeKeeping {
    /// Begins to write into this folder.
    pub fn begin(folder: SessionFolder) -> Self {
        let (orders, come) = unbounded();
        Self { orders, thread: thread::spawn(move || Keeper::new(folder).keep(&come)) }
    }

    /// Keeps what the microphone heard.
    pub fn hear(&self, stretch: InputStretch) {
        // Where the thread is gone, the end says so.
        let _ = self.orders.send(ToKeep::Sound(stretch));
    }

    /// The band begins anew.
    pub fn run(&self) {
        let _ = self.orders.send(ToKeep::Run);
    }

    /// Records events that belong together. `whole` says whether all answers among them were all right.
    pub fn record(&self, events: Vec<Event>, whole: bool) {
        let (told, written) = bounded(1);
        let _ = self.orders.send(ToKeep::Events(events, whole, told));
        let _ = written.recv_timeout(LATE);
    }

    /// Ends the thread once all is written, and gives the folder back; `None` where the thread failed.
    pub fn end(self) -> Option<SessionFolder> {
        drop(self.orders);
        self.thread.join().ok()
    }
}

struct Keeper {
    folder: SessionFolder,
    /// Sound of this run that is not stored yet: only some sound is kept, and all was right so far.
    held: Vec<InputStretch>,
    /// Stored stretches since the events of the chorus before.
    stored: Vec<RecordedSound>,
    /// Whether no sound of this run is missing so far.
    whole: bool,
}

impl Keeper {
    const fn new(folder: SessionFolder) -> Self {
        Self { folder, held: Vec::new(), stored: Vec::new(), whole: true }
    }

    fn keep(mut self, come: &Receiver<ToKeep>) -> SessionFolder {
        for one in come {
            match one {
                ToKeep::Sound(stretch) => self.sound(stretch),
                ToKeep::Run => {
                    self.held.clear();
                    self.stored.clear();
                    self.whole = true;
                }
                ToKeep::Events(events, whole, told) => {
                    self.events(events, whole);
                    // Nobody may wait any more.
                    let _ = told.send(());
                    self.folder.settle();
                }
            }
        }
        self.folder
    }

    /// Stores a stretch, or holds it until something goes wrong. After a hole nothing more is kept of a run: the band could not be
    /// followed over it.
    fn sound(&mut self, stretch: InputStretch) {
        self.whole &= stretch.whole;
        match self.folder.keeps() {
            KeepSound::None => {}
            _ if !self.whole => self.held.clear(),
            KeepSound::All => self.store(&stretch),
            KeepSound::Some => self.held.push(stretch),
        }
    }

    fn store(&mut self, stretch: &InputStretch) {
        if stretch.clip.samples.is_empty() {
            return;
        }
        match self.folder.sound(&stretch.clip.samples) {
            Some((first, count)) => {
                self.stored.push(RecordedSound { first, count, from: stretch.from, until: stretch.until });
            }
            None => self.whole = false,
        }
    }

    /// Records events, with the places of the sound that was stored since the last ones.
    fn events(&mut self, mut events: Vec<Event>, whole: bool) {
        if !whole {
            for stretch in std::mem::take(&mut self.held) {
                self.store(&stretch);
            }
        }
        if let (Some(first), Some(last), true) = (self.stored.first(), self.stored.last(), self.whole) {
            let count = last.first + last.count - first.first;
            let all = RecordedSound { first: first.first, count, from: first.from, until: last.until };
            events.iter_mut().for_each(|event| place(event, all));
            if events.iter().any(|event| matches!(event, Event::Band(_))) {
                self.stored.clear();
            }
        }
        self.folder.record_all(&events);
    }
}

/// Writes into an event where its sound lies.
fn place(event: &mut Event, all: RecordedSound) {
    match event {
        Event::Band(band) => band.sound = Some(all),
        Event::Answered(answer) if !answer.heard.is_empty() => {
            let TimeOrigin::InTempo { beat_zero, .. } = answer.clock else { return };
            let rate = all.count as f64 / (all.until - all.from).0;
            let sample = |at: Seconds| ((at - all.from).0 * rate).clamp(0.0, all.count as f64) as u64;
            let [from, until] = [sample(beat_zero - AROUND), sample(answer.at + AROUND)];
            answer.sound = (until > from).then_some((all.first + from, until - from));
        }
        _ => {}
    }
}
