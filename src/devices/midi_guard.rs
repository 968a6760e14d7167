//! Panics inside the MIDI library, made into errors. The library takes for granted that ALSA has a queue, a port and a buffer left,
//! and panics where it has none.

use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use crate::room::MidiError;

/// How the names of the library's own threads begin; a panic on them cannot be caught from outside.
const ITS_THREADS: &str = "midir ";

thread_local! {
    static CAUGHT_HERE: Cell<bool> = const { Cell::new(false) };
}

/// Calls the library; a panic inside it is an error like any other. After a panic, what `call` owned is dropped.
///
/// # Errors
/// The error that the library gives, or that it broke.
pub fn guarded<T>(call: impl FnOnce() -> Result<T, MidiError>) -> Result<T, MidiError> {
    let around = CAUGHT_HERE.replace(true);
    let done = catch_unwind(AssertUnwindSafe(call));
    CAUGHT_HERE.set(around);
    done.unwrap_or_else(|why| {
        let why = why.downcast_ref::<&str>().map(|text| (*text).to_owned()).or_else(|| why.downcast_ref().cloned());
        Err(MidiError::Broke(why.unwrap_or_else(|| "it said nothing".to_owned())))
    })
}

/// Whether a panic on this thread, now, does not end the program: it is caught, or reported by a [`Listens`], and its message does
/// not belong on the screen.
pub fn told_otherwise() -> bool {
    CAUGHT_HERE.get() || thread::current().name().is_some_and(|name| name.starts_with(ITS_THREADS))
}

/// Lives as long as a port is listened to. Dropping it, as a panic on a thread of the library does too, tells the other end.
#[derive(Debug)]
pub struct Listens(Arc<AtomicBool>);

impl Listens {
    /// Begins listening; the other end is `true` until this is dropped.
    pub fn begin() -> (Self, Arc<AtomicBool>) {
        let listens = Arc::new(AtomicBool::new(true));
        (Self(Arc::clone(&listens)), listens)
    }
}

impl Drop for Listens {
    fn drop(&mut self) {
        self.0.store(false, Ordering::Release);
    }
}
