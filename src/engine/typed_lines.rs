use std::io::{self, BufRead};
use std::thread::Builder;

use crossbeam_channel::{Receiver, bounded};

/// Lines typed on standard input, read on a thread of their own. The thread ends at the end of the input or at a line that cannot be
/// read, else with the program: a read from a terminal cannot be called off.
///
/// # Errors
/// When the system has no thread left.
pub fn typed_lines() -> io::Result<Receiver<String>> {
    let (tell, typed) = bounded(1);
    let read = move || {
        for line in io::stdin().lock().lines().map_while(Result::ok) {
            if tell.send(line).is_err() {
                return;
            }
        }
    };
    Builder::new().name("keyboard".to_owned()).spawn(read)?;
    Ok(typed)
}
