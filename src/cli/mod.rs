//! The command line: arguments as typed, what they mean, one file for each command, exit codes, and errors that say what, where and how
//! to mend it.
//!
//! Nothing else stands here: what a command lists, tells or asks is `talk`, what it computes lies lower. A new command: a variant
//! in `args/`, a file in its group (`practice`, `listening`, `patterns`, `charts`, `review`), an arm below, an example in the
//! README.

use std::process::ExitCode;

use clap::CommandFactory;

mod args;
mod charts;
pub mod listening;
mod patterns;
mod practice;
mod resolve;
mod review;
mod typed;

use args::{Arguments, TypedCommand};
use listening::{analyse, calibrate, devices, grade, hear, notes};
use practice::{coach, demo, drill, lesson, today, trade};

use crate::talk::output::{self, warn};

/// Runs the command that was typed and says how it ended.
#[must_use]
pub fn run() -> ExitCode {
    crate::tui::give_back_on_panic();
    crate::devices::put_back_on_panic();
    let arguments = typed::typed();
    let done = match arguments.command {
        None => today::room(),
        Some(TypedCommand::Drill(typed)) => drill::run(&typed),
        Some(TypedCommand::Today(typed)) => today::run(&typed),
        Some(TypedCommand::Demo(typed)) => demo::run(&typed),
        Some(TypedCommand::Trade(typed)) => trade::run(&typed),
        Some(TypedCommand::Hear(typed)) => hear::run(&typed),
        Some(TypedCommand::Calibrate(typed)) => calibrate::run(&typed),
        Some(TypedCommand::Devices(typed)) => devices::run(&typed),
        Some(TypedCommand::Notes(typed)) => notes::run(&typed),
        Some(TypedCommand::Grade(typed)) => grade::run(&typed),
        Some(TypedCommand::Analyse(typed)) => analyse::run(&typed),
        Some(TypedCommand::Charts(typed)) => charts::run(&typed),
        Some(TypedCommand::Patterns(typed)) => patterns::run(&typed),
        Some(TypedCommand::Review(typed)) => review::run(&typed),
        Some(TypedCommand::Lesson(typed)) => lesson::run(&typed),
        Some(TypedCommand::Class(typed)) => review::class::run(&typed),
        #[cfg(feature = "school")]
        Some(TypedCommand::Tables(typed)) => review::tables::run(&typed),
        Some(TypedCommand::Log(typed)) => review::log::run(&typed),
        Some(TypedCommand::Forget(typed)) => review::forget::run(&typed),
        Some(TypedCommand::Coach(typed)) => coach::run(&typed),
        Some(TypedCommand::Completions { shell }) => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Arguments::command(), "earfirst", &mut script);
            output::bytes(&script)
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            warn(&failure);
            failure.code()
        }
    }
}
