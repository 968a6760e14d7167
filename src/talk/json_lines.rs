use std::io::{BufRead, ErrorKind, Read, Write};

use crate::talk::failure::Failure;

/// Largest number of bytes in one line.
const LONGEST: u64 = 1 << 20;

/// Answers each line of standard input at once on standard output; nothing is said to an empty line, or to one whose answer is `None`.
pub fn each(mut answer: impl FnMut(&str) -> Result<Option<String>, String>) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    for n in 1.. {
        let place = format!("standard input:{n}");
        let line = next(&mut std::io::stdin().lock())
            .map_err(|error| Failure::input(&place, error, "One JSON object a line, in UTF-8."))?;
        let Some(line) = line else { break };
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

/// The next line; an error where it is longer than a line may be.
fn next(from: &mut impl BufRead) -> std::io::Result<Option<String>> {
    let mut bytes = Vec::new();
    from.take(LONGEST + 1).read_until(b'\n', &mut bytes)?;
    if bytes.len() as u64 > LONGEST {
        return Err(std::io::Error::other("the line is longer than 1 MiB"));
    }
    let line = String::from_utf8(bytes).map_err(|_| std::io::Error::other("it is not UTF-8 text"))?;
    Ok((!line.is_empty()).then_some(line))
}
