//! Arguments of `patterns`, as typed.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use crate::cli::args::Player;

/// `patterns`.
#[derive(Debug, Clone, Args)]
pub struct Patterns {
    /// What to do with the library; without it, list it.
    #[command(subcommand)]
    pub action: Option<PatternAction>,
}

/// What to do with the library.
#[derive(Debug, Clone, Subcommand)]
pub enum PatternAction {
    /// List patterns.
    #[command(after_help = "Example: earfirst patterns list --family scale --level 2")]
    List {
        /// Only this family.
        #[arg(long, value_enum)]
        family: Option<Motion>,
        /// Only this level, 1 to 5.
        #[arg(long)]
        level: Option<u8>,
        /// Only patterns that fit this chord quality, such as m7b5.
        #[arg(long)]
        chord: Option<String>,
        /// Only patterns of at most this many notes.
        #[arg(long)]
        longest: Option<usize>,
        /// For machines.
        #[arg(long)]
        json: bool,
    },
    /// Show one pattern: degrees, chords, and its notes in a key.
    #[command(after_help = "Example: earfirst patterns show diatonic-thirds-up --key Eb --instrument trumpet")]
    Show {
        /// Pattern by name.
        pattern: String,
        /// Its notes in this written key.
        #[arg(long)]
        key: Option<String>,
        /// Who plays.
        #[command(flatten)]
        player: Player,
    },
    /// Check a pattern file and list all its troubles.
    #[command(after_help = "Example: earfirst patterns check mine.toml")]
    Check {
        /// A TOML file of patterns.
        file: PathBuf,
    },
    /// Write a pattern's sound as WAV.
    #[command(after_help = "Example: earfirst patterns sound diatonic-thirds-up --key C --wav thirds.wav")]
    Sound {
        /// Pattern by name.
        pattern: String,
        /// Written key.
        #[arg(long, default_value = "C")]
        key: String,
        /// Who plays.
        #[command(flatten)]
        player: Player,
        /// Quarter notes a minute.
        #[arg(long, default_value_t = 96.0)]
        tempo: f64,
        /// Where to write.
        #[arg(long, value_name = "OUT")]
        wav: PathBuf,
    },
    /// Make a pattern of a MIDI or MusicXML file.
    #[command(after_help = "Example: earfirst patterns import line.mid --key C --name my-line")]
    Import {
        /// A .mid, .musicxml or .xml file.
        file: PathBuf,
        /// Sounding key of the line.
        #[arg(long)]
        key: Option<String>,
        /// Name of the new pattern.
        #[arg(long)]
        name: String,
        /// Append it to this file of patterns instead of printing it.
        #[arg(long, value_name = "FILE")]
        save: Option<PathBuf>,
    },
    /// Write a pattern in all twelve keys as MIDI or MusicXML.
    #[command(
        after_help = "Example: earfirst patterns export diatonic-thirds-up --instrument trumpet --musicxml thirds.musicxml"
    )]
    Export {
        /// Pattern by name.
        pattern: String,
        /// Who plays.
        #[command(flatten)]
        player: Player,
        /// Write a MIDI file.
        #[arg(long, value_name = "OUT")]
        midi: Option<PathBuf>,
        /// Write a MusicXML file.
        #[arg(long, value_name = "OUT")]
        musicxml: Option<PathBuf>,
        /// Accidentals instead of key signatures.
        #[arg(long)]
        accidentals: bool,
    },
}

/// A family by motion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Motion {
    /// Stepwise within a key.
    Scale,
    /// By half steps.
    Chromatic,
    /// By skips.
    Arpeggio,
    /// Joined.
    Phrase,
}
