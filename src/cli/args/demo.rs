use clap::Args;

use crate::cli::args::Practice;

/// `demo`.
#[derive(Debug, Clone, Default, Args)]
pub struct Demo {
    /// What and how.
    #[command(flatten)]
    pub practice: Practice,
    /// Do not wait for real time.
    #[arg(long)]
    pub fast: bool,
    /// Stop after this many answers.
    #[arg(long)]
    pub answers: Option<u32>,
    /// Trade phrases over this chart instead of drilling a pattern: a chart by name, typed, or in a text file.
    #[arg(long, conflicts_with_all = ["days", "answers", "patterns", "round", "by_ear", "second_task", "warning_beats", "cue", "goal", "register", "minutes", "known", "hold_out", "click"])]
    pub chart: Option<String>,
    /// So many invented days, one sitting each, and what became of every key (never waits, keeps nothing).
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u16).range(2..=48))]
    pub days: Option<u16>,
}
