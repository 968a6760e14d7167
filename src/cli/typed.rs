use clap::Parser;
use clap::error::ErrorKind;

use crate::cli::args::Arguments;
use crate::talk::output::{ask, in_plain_words};

/// The arguments as they were typed. Where one cannot be read, says so and ends the program with code 2.
pub fn typed() -> Arguments {
    Arguments::try_parse().unwrap_or_else(|slip| {
        if !matches!(slip.kind(), ErrorKind::ValueValidation | ErrorKind::UnknownArgument) {
            slip.exit();
        }
        ask(in_plain_words(&slip.to_string()));
        std::process::exit(2)
    })
}
