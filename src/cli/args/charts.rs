//! Arguments of `charts`, as typed.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use crate::cli::args::Player;

/// `charts`.
#[derive(Debug, Clone, Args)]
pub struct ChartCommands {
    /// What to do; without it, list the charts.
    #[command(subcommand)]
    pub action: Option<ChartAction>,
}

/// What to do with charts. A chart is named (`blues`), typed in quotes ("| Dm7 | G7 | Cmaj7 | % |") or read from a text file.
#[derive(Debug, Clone, Subcommand)]
pub enum ChartAction {
    /// List the forms: blues, cadences, turnarounds, vamps, long forms, and your own.
    #[command(after_help = "Example: earfirst charts list")]
    List {
        /// For machines.
        #[arg(long)]
        json: bool,
    },
    /// Show a chart: in Roman numerals, or in a key.
    #[command(
        after_help = "Examples: earfirst charts show blues-ii-v --key Eb\n          earfirst charts show \"| Dm7 | G7 | Cmaj7 | % |\" --key F"
    )]
    Show {
        /// A chart by name, typed, or in a text file.
        chart: String,
        /// In this written key (with --concert: sounding).
        #[arg(long)]
        key: Option<String>,
        /// Who plays.
        #[command(flatten)]
        player: Player,
        /// For machines: the chord of each beat, repeats played out.
        #[arg(long)]
        json: bool,
    },
    /// Check a chart in a text file, or a TOML file of charts, and list all that is to be mended.
    #[command(after_help = "Example: earfirst charts check my-tune.txt")]
    Check {
        /// A text file with one chart, or a .toml file of them.
        file: PathBuf,
    },
    /// Keep a chart as your own, from a text file or from the chord symbols of a MusicXML file.
    #[command(after_help = "Example: earfirst charts import lead-sheet.musicxml --name my-tune")]
    Import {
        /// A .musicxml, .mxl or .xml file, or a text file.
        file: PathBuf,
        /// Its name.
        #[arg(long)]
        name: String,
        /// Add it to this TOML file instead of your own.
        #[arg(long, value_name = "FILE")]
        save: Option<PathBuf>,
        /// Print what would be kept, and keep nothing.
        #[arg(long)]
        print: bool,
    },
    /// Write a chart as MusicXML, for the page of your instrument.
    #[command(
        after_help = "Example: earfirst charts export rhythm-changes --key Bb --concert --musicxml changes.musicxml"
    )]
    Export {
        /// A chart by name, typed, or in a text file.
        chart: String,
        /// In this written key (with --concert: sounding).
        #[arg(long)]
        key: Option<String>,
        /// Who plays.
        #[command(flatten)]
        player: Player,
        /// Write it here.
        #[arg(long, value_name = "OUT")]
        musicxml: PathBuf,
    },
}
