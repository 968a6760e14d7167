//! Arguments of `lesson` and `class`, as typed.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::cli::args::{CueForm, Third};

/// `lesson`.
#[derive(Debug, Clone, Subcommand)]
pub enum LessonCommands {
    /// Write a lesson: patterns, keys, tempi, on how many days and by when. earfirst drill --lesson FILE does just that.
    #[command(
        after_help = "Examples: earfirst lesson new diatonic-thirds-up --keys \"C G D\" --tempo 72 --goal 96 --days 4 --by 2026-12-07 --to week.toml\n          earfirst lesson new major-triad-up --trial --seed 5 --to trial.toml"
    )]
    New(LessonNew),
    /// Tell what a lesson asks, and the SHA-256 by which records name it.
    #[command(after_help = "Example: earfirst lesson show week.toml")]
    Show {
        /// The file of the lesson.
        file: PathBuf,
    },
}

/// `lesson new`.
#[derive(Debug, Clone, Args)]
pub struct LessonNew {
    /// Patterns by name; those of your own travel inside.
    #[arg(required = true)]
    pub patterns: Vec<String>,
    /// Its name.
    #[arg(long)]
    pub name: Option<String>,
    /// Keys such as "C G D" as they stand on each player's page; all twelve without it.
    #[arg(long, value_name = "KEYS")]
    pub keys: Option<String>,
    /// The keys are those that sound.
    #[arg(long)]
    pub concert: bool,
    /// What is sounded before an answer.
    #[arg(long, value_enum)]
    pub cue: Option<CueForm>,
    /// First tempo, quarter notes a minute; in a trial the tempo of everything.
    #[arg(long, value_name = "QUARTERS", value_parser = clap::value_parser!(u32).range(40..=400))]
    pub tempo: Option<u32>,
    /// Tempo to reach, quarter notes a minute.
    #[arg(long, value_name = "QUARTERS", value_parser = clap::value_parser!(u32).range(40..=400))]
    pub goal: Option<u32>,
    /// Only this register of the player's range.
    #[arg(long, value_enum)]
    pub register: Option<Third>,
    /// Length of a sitting.
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..=600))]
    pub minutes: Option<u32>,
    /// On how many days.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=366))]
    pub days: u32,
    /// By when, such as 2026-12-07.
    #[arg(long, value_name = "DATE")]
    pub by: Option<String>,
    /// A chord chart to trade over (earfirst trade --lesson FILE), by name or typed; may be given again.
    #[arg(long = "chart", value_name = "CHART")]
    pub charts: Vec<String>,
    /// Seed of the generator, which fixes the order of a trial.
    #[arg(long, default_value_t = 1)]
    pub seed: u32,
    /// A trial: every pattern once in every key, one try, at one tempo, no help.
    #[arg(long, conflicts_with_all = ["days", "minutes", "goal"])]
    pub trial: bool,
    /// Write it into this file; without it, print it.
    #[arg(long, value_name = "FILE")]
    pub to: Option<PathBuf>,
}

/// `class`.
#[derive(Debug, Clone, Args)]
pub struct ClassTyped {
    /// Session files of many players, or folders of them (those below too).
    #[arg(required = true)]
    pub paths: Vec<PathBuf>,
    /// The day on which it is looked at, such as 2026-11-30 (default: today).
    #[arg(long, value_name = "DATE")]
    pub day: Option<String>,
    /// A lesson that everybody should do: who has not begun it is told too; may be given again.
    #[arg(long = "lesson", value_name = "FILE")]
    pub lessons: Vec<PathBuf>,
    /// Write one page with a part a player into this file; it holds no sound.
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    pub html: Option<PathBuf>,
    /// For machines.
    #[arg(long)]
    pub json: bool,
}
