//! Arguments of `charts`, as typed.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

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
    /// A soft band plays a chart, or writes its sound as WAV: bass, short chords, a brush, two bars of lead-in.
    #[command(
        after_help = "Examples: earfirst charts sound blues-ii-v --key Eb --tempo 132\n          earfirst charts sound ii-v-i --moves fourths --choruses 12 --bass none\n          earfirst charts sound \"| Dm7 | G7 | Cmaj7 | % |\" --wav changes.wav"
    )]
    Sound(ChartSound),
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

/// `charts sound`.
#[derive(Debug, Clone, Args)]
pub struct ChartSound {
    /// A chart by name, typed, or in a text file.
    pub chart: String,
    /// The first written key (with --concert: sounding).
    #[arg(long)]
    pub key: Option<String>,
    /// Quarter notes a minute, 40 to 300 (default: the form's usual tempo).
    #[arg(long, value_name = "QUARTERS")]
    pub tempo: Option<f64>,
    /// How often the form is played.
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(u32).range(1..=200))]
    pub choruses: u32,
    /// Where the form moves at the end of each chorus.
    #[arg(long, value_enum, default_value_t = KeyMoves::Stay)]
    pub moves: KeyMoves,
    /// How the band plays.
    #[command(flatten)]
    pub parts: BandParts,
    /// Seed of the generator; the same seed gives the same sound.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Write it here instead of playing it.
    #[arg(long, value_name = "OUT")]
    pub wav: Option<PathBuf>,
    /// Who plays.
    #[command(flatten)]
    pub player: Player,
}

/// How a band plays.
#[derive(Debug, Clone, Args)]
pub struct BandParts {
    /// The bass.
    #[arg(long, value_enum, default_value_t = BassChoice::Walking)]
    pub bass: BassChoice,
    /// No chords.
    #[arg(long)]
    pub no_chords: bool,
    /// What marks the time.
    #[arg(long, value_enum, default_value_t = PulseChoice::Brush)]
    pub pulse: PulseChoice,
    /// Even eighths.
    #[arg(long)]
    pub even: bool,
    /// The band's highest peak, in decibels of full scale, -60 to -12.
    #[arg(long, value_name = "DB", allow_negative_numbers = true)]
    pub level: Option<f64>,
}

/// Where a form moves at the end of a chorus.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum KeyMoves {
    /// Nowhere.
    Stay,
    /// Up a fourth: C F Bb ...
    Fourths,
    /// Up a half step.
    HalfSteps,
    /// Down a whole step, the other six keys after.
    WholeSteps,
    /// Up a minor third.
    MinorThirds,
}

/// A bass, or none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum BassChoice {
    /// A note on every beat.
    Walking,
    /// Two notes for a chord of four beats or more, one for a shorter chord.
    RootAndFifth,
    /// None.
    None,
}

/// What marks the time, or nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PulseChoice {
    /// A brush on 2 and 4, in other meters on weak beats.
    Brush,
    /// A click on 2 and 4, in other meters on weak beats.
    Click,
    /// Nothing but the lead-in.
    None,
}
