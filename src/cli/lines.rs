use std::io::{BufRead, ErrorKind, Write};

use crate::cli::failure::Failure;

/// Lines on standard input, each answered at once (or learnt in silence: `None`) on standard output.
pub fn each(mut answer: impl FnMut(&str) -> Result<Option<String>, String>) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    for (n, line) in std::io::stdin().lock().lines().enumerate() {
        let place = format!("standard input:{}", n + 1);
        let line = line.map_err(|error| Failure::input(&place, error, "One JSON object a line, in UTF-8."))?;
        if line.trim().is_empty() {
            continue;
        }
        let said = answer(&line).map_err(|what| Failure::input(&place, what, "One JSON object a line."))?;
        let Some(said) = said else { continue };
        match writeln!(out, "{said}").and_then(|()| out.flush()) {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => return Ok(()),
            Err(error) => return Err(Failure::input("standard output", error, "Write to another place.")),
            Ok(()) => {}
        }
    }
    Ok(())
}
