//! The screen waits until what it shows is written down; where the disk is slower than a quarter of a second, it waits no longer.

use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::Duration;

use crossbeam_channel::{Receiver, Sender};

use crate::drill::{Snapshot, ToScreen};

/// Longest wait of the screen for the disk: a player who waits for the beat needs the screen more than the record.
const LATE: Duration = Duration::from_millis(250);

/// How many of the things handed out for the record were written, or refused by the disk.
#[derive(Debug, Clone, Default)]
pub struct WrittenSoFar(Arc<(Mutex<u64>, Condvar)>);

impl WrittenSoFar {
    /// Counts one thing more as written, or as refused by the disk.
    pub fn one(&self) {
        *self.0.0.lock().unwrap_or_else(PoisonError::into_inner) += 1;
        self.0.1.notify_all();
    }

    /// Waits until `wanted` things were written, at most for `limit`; returns how many were.
    fn wait(&self, wanted: u64, limit: Duration) -> u64 {
        let written = self.0.0.lock().unwrap_or_else(PoisonError::into_inner);
        let waited = self.0.1.wait_timeout_while(written, limit, |written| *written < wanted);
        *waited.unwrap_or_else(PoisonError::into_inner).0
    }
}

/// A state for the screen, and how much had been handed out for the record before it.
pub type StateAfter = (Box<Snapshot>, u64);

/// Hands every state on when what came before it is written, or refused, or `LATE` is over. Ends when no more come.
pub fn pass(states: &Receiver<StateAfter>, written: &WrittenSoFar, screen: &Sender<ToScreen>) {
    let mut stuck_at = None;
    for (snapshot, mark) in states {
        // After one wait in vain the screen does not wait again until something was written.
        let limit = if stuck_at.is_some() { Duration::ZERO } else { LATE };
        let there = written.wait(mark, limit);
        stuck_at = (there < mark).then_some(there).filter(|there| stuck_at.is_none_or(|stuck| stuck == *there));
        if screen.send(ToScreen::Snapshot(snapshot)).is_err() {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Instant;

    #[test]
    fn what_is_not_written_yet_is_waited_for_and_a_dead_disk_only_once() {
        let written = WrittenSoFar::default();
        let begun = Instant::now();
        assert_eq!(written.wait(1, Duration::from_millis(30)), 0);
        assert!(begun.elapsed() >= Duration::from_millis(30));
        let writes = written.clone();
        let writer = std::thread::spawn(move || writes.one());
        assert_eq!(written.wait(1, Duration::from_secs(30)), 1);
        writer.join().unwrap();
    }
}
