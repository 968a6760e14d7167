//! Keeps the sound system's own messages off the screen.
//!
//! Sound libraries write to the standard error stream without asking, in the middle of a full screen. While the screen is up
//! or devices open, that stream is pointed at a file (`engine::quiet` gives the null device); afterwards, and before a panic is
//! printed, it is put back. On systems other than Unix nothing is kept off.

#[cfg(unix)]
mod unix {
    use std::fs::File;
    use std::io;
    use std::os::fd::OwnedFd;
    use std::sync::{Mutex, PoisonError};

    /// The true stream, while standard error points elsewhere, and how many redirects are alive.
    static SAVED: Mutex<Option<(OwnedFd, usize)>> = Mutex::new(None);

    /// Points standard error at `log`, if it is not redirected yet.
    pub fn redirect(log: &File) -> io::Result<()> {
        let mut saved = SAVED.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, wanted)) = saved.as_mut() {
            *wanted += 1;
            return Ok(());
        }
        let stream = rustix::io::fcntl_dupfd_cloexec(rustix::stdio::stderr(), 3)?;
        rustix::stdio::dup2_stderr(log)?;
        *saved = Some((stream, 1));
        Ok(())
    }

    /// Ends one redirect; the last one puts standard error back.
    pub fn release() {
        let mut saved = SAVED.lock().unwrap_or_else(PoisonError::into_inner);
        match saved.as_mut() {
            Some((_, wanted)) if *wanted > 1 => *wanted -= 1,
            _ => put_back(saved.take()),
        }
    }

    /// Puts standard error back, however many redirects are alive.
    pub fn restore() {
        put_back(SAVED.lock().unwrap_or_else(PoisonError::into_inner).take());
    }

    fn put_back(saved: Option<(OwnedFd, usize)>) {
        if let Some((stream, _)) = saved {
            // If even this fails, there is nowhere left to report it.
            let _ = rustix::stdio::dup2_stderr(&stream);
        }
    }
}

use std::fs::File;
use std::io;

use super::midi_guard;

/// As long as this lives, what is written to standard error goes to a file.
#[derive(Debug)]
#[must_use = "standard error is put back when this is dropped"]
pub struct StderrRedirect(());

impl StderrRedirect {
    /// Points standard error at `log`; if it is redirected already, it stays where it points until the last of these is dropped.
    /// Nothing happens on systems other than Unix.
    ///
    /// # Errors
    /// Where the system refuses; nothing has changed then.
    pub fn begin(log: &File) -> io::Result<Self> {
        #[cfg(unix)]
        unix::redirect(log)?;
        #[cfg(not(unix))]
        let _ = log;
        Ok(Self(()))
    }
}

impl Drop for StderrRedirect {
    fn drop(&mut self) {
        #[cfg(unix)]
        unix::release();
    }
}

/// Puts standard error back, if it is redirected. For panic hooks: call it before anything is printed.
pub fn put_back() {
    #[cfg(unix)]
    unix::restore();
}

/// Makes every panic, on any thread, put standard error back before its message is printed as it would have been. A panic that is
/// caught inside the MIDI library is not printed here. To be called once, after the screen's own hook.
pub fn put_back_on_panic() {
    let reported = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        if !midi_guard::told_otherwise() {
            put_back();
            reported(panic);
        }
    }));
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn what_a_library_writes_past_us_lands_in_the_log_and_the_stream_comes_back() {
        let path = std::env::temp_dir().join(format!("earfirst-quiet-{}", std::process::id()));
        let log = File::create(&path).unwrap();
        let quiet = StderrRedirect::begin(&log).unwrap();
        rustix::io::write(rustix::stdio::stderr(), b"a library complains\n").unwrap();
        // A redirect within a redirect changes nothing.
        drop(StderrRedirect::begin(&log).unwrap());
        rustix::io::write(rustix::stdio::stderr(), b"and complains again\n").unwrap();
        drop(quiet);
        rustix::io::write(rustix::stdio::stderr(), b"(this line of a test is meant for the terminal)\n").unwrap();
        // Putting it back a second time does nothing.
        put_back();
        let logged = std::fs::read_to_string(&path).unwrap();
        std::fs::remove_file(&path).unwrap();
        assert!(
            logged.contains("a library complains") && logged.contains("again") && !logged.contains("terminal"),
            "{logged}"
        );
    }
}
