//! Arguments of `patterns`, as typed.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use crate::cli::args::choices::INPUT;
use crate::cli::args::{Player, Third};

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
    #[command(
        after_help = "Examples: earfirst patterns list --family stepwise --level 2\n          earfirst patterns list --rhythm off-beats --chord m7 --fits\n          earfirst patterns list --trains blues\n          earfirst patterns list --like enclosure-of-the-third"
    )]
    List(Listed),
    /// Show one pattern: its parts, degrees, chord tones, and its notes in a key.
    #[command(after_help = "Example: earfirst patterns show diatonic-thirds-up --key Eb --instrument trumpet")]
    Show {
        /// Pattern by name.
        pattern: String,
        /// Its notes in this written key.
        #[arg(long)]
        key: Option<String>,
        /// In this register of your range only.
        #[arg(long, value_enum)]
        register: Option<Third>,
        /// Who plays.
        #[command(flatten)]
        player: Player,
        /// For machines.
        #[arg(long)]
        json: bool,
    },
    /// Check a pattern file and list all its troubles.
    #[command(after_help = "Example: earfirst patterns check mine.toml")]
    Check {
        /// A TOML file of patterns.
        file: PathBuf,
        /// For machines.
        #[arg(long)]
        json: bool,
    },
    /// Play a pattern, or write its sound as WAV.
    #[command(after_help = "Example: earfirst patterns sound diatonic-thirds-up --key C --tempo 120")]
    Sound(Sounded),
    /// Make a pattern of what you play once: into the microphone, or from a recording or a MIDI file.
    #[command(after_help = "Example: earfirst patterns learn take.wav --instrument trumpet --name blue-fall")]
    Learn(Learn),
    /// Make a pattern of a MIDI or MusicXML file: rests, pick-up and swing as they are written.
    #[command(after_help = "Example: earfirst patterns import line.mid --key C --name my-line")]
    Import(Import),
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
        /// Register of your range.
        #[arg(long, value_enum, default_value_t = Third::Middle)]
        register: Third,
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

/// `patterns import`.
#[derive(Debug, Clone, Args)]
pub struct Import {
    /// A .mid, .musicxml, .mxl or .xml file.
    pub file: PathBuf,
    /// Sounding key of the line (with --instrument: the key on the page); without it the root is worked out.
    #[arg(long)]
    pub key: Option<String>,
    /// The notes stand on this instrument's page: --key is the written key, and a score that does not say how it sounds is
    /// read in written pitch. MIDI always sounds.
    #[arg(long)]
    pub instrument: Option<String>,
    /// Name of the new pattern.
    #[arg(long)]
    pub name: String,
    /// Append it to this file of patterns instead of printing it.
    #[arg(long, value_name = "FILE")]
    pub save: Option<PathBuf>,
}

/// What of the library is listed.
#[derive(Debug, Clone, Default, Args)]
pub struct Listed {
    /// Only this family.
    #[arg(long, value_enum)]
    pub family: Option<Motion>,
    /// Only this level, 1 to 5.
    #[arg(long, value_parser = clap::value_parser!(u8).range(1..=5))]
    pub level: Option<u8>,
    /// Only patterns that fit this chord quality, such as m7b5.
    #[arg(long, allow_hyphen_values = true)]
    pub chord: Option<String>,
    /// Only patterns with this in their rhythm.
    #[arg(long, value_enum)]
    pub rhythm: Option<RhythmTyped>,
    /// Only patterns with these words in their name or in what they train, such as "blues" or "two octaves".
    #[arg(long, value_name = "WORDS")]
    pub trains: Option<String>,
    /// Only patterns that lie inside your range in every key.
    #[arg(long)]
    pub fits: bool,
    /// Like this pattern: what has most in common with it comes first.
    #[arg(long, value_name = "PATTERN")]
    pub like: Option<String>,
    /// Only patterns of at least this many notes.
    #[arg(long, value_name = "NOTES")]
    pub shortest: Option<usize>,
    /// Only patterns of at most this many notes.
    #[arg(long, value_name = "NOTES")]
    pub longest: Option<usize>,
    /// Only what comes back today: asked before, but not for two days or more; the most forgotten first.
    #[arg(long)]
    pub today: bool,
    /// Who plays.
    #[command(flatten)]
    pub player: Player,
    /// This page of the list, twenty patterns to a page.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    pub page: u32,
    /// The whole list at once.
    #[arg(long, conflicts_with = "page")]
    pub all: bool,
    /// For machines; always the whole list.
    #[arg(long)]
    pub json: bool,
}

/// What is sounded, and how.
#[derive(Debug, Clone, Args)]
pub struct Sounded {
    /// Pattern by name; `signs` are those of drill --by-ear.
    pub pattern: String,
    /// Written key.
    #[arg(long, default_value = "C")]
    pub key: String,
    /// Register of your range.
    #[arg(long, value_enum, default_value_t = Third::Middle)]
    pub register: Third,
    /// Who plays.
    #[command(flatten)]
    pub player: Player,
    /// Quarter notes a minute.
    #[arg(long, default_value_t = 96.0)]
    pub tempo: f64,
    /// Write it here instead of playing it.
    #[arg(long, value_name = "OUT")]
    pub wav: Option<PathBuf>,
}

/// `patterns learn`.
#[derive(Debug, Clone, Args)]
pub struct Learn {
    /// A recording (WAV, AIFF, CAF, FLAC, MP3, M4A, Ogg Vorbis) or a MIDI file; without it the microphone, or --input, listens, once.
    pub file: Option<PathBuf>,
    /// Written key of the line (with --concert: sounding); without it the root is worked out, or asked for.
    #[arg(long)]
    pub key: Option<String>,
    /// The tempo it is played at, quarter notes a minute; without it the shortest note that keeps coming is taken for an eighth (from
    /// quarter = 70 on; slower, for a quarter), unless the tempo of a file makes the same of the notes. Long and short, near two to
    /// one, are eighths that swing.
    #[arg(long, value_name = "QUARTERS")]
    pub tempo: Option<f64>,
    /// Nothing swings: long and short are written as they sound.
    #[arg(long)]
    pub straight: bool,
    /// Put a note right: 3=b7 (its degree), 3=. (a rest), 3=- (the note before holds on); may be repeated. Degrees count as in
    /// a pattern's notes, from the degree 1 that is shown: 1 to 7 in its own octave, 8 to 15 above it, a comma is an octave
    /// lower (7,).
    #[arg(long, value_name = "NUMBER=DEGREE")]
    pub note: Vec<String>,
    /// Its family, where the one by motion is not meant.
    #[arg(long, value_enum)]
    pub family: Option<Motion>,
    /// Name of the new pattern.
    #[arg(long)]
    pub name: Option<String>,
    /// Add it to this file of patterns instead of your own.
    #[arg(long, value_name = "FILE")]
    pub save: Option<PathBuf>,
    /// Print the text of its file and keep nothing.
    #[arg(long)]
    pub print: bool,
    /// Who plays.
    #[command(flatten)]
    pub player: Player,
    /// Microphone or MIDI instrument.
    #[arg(long, help = INPUT)]
    pub input: Option<String>,
}

/// A family by motion, as it is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Motion {
    /// By the steps of a key.
    Stepwise,
    /// By half steps, one after another.
    #[value(alias = "half steps")]
    HalfSteps,
    /// By skips over chord tones and scale steps.
    Skips,
    /// Several of the others joined.
    Phrase,
}

/// Something that there is to a rhythm, as it is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RhythmTyped {
    /// Notes of one length, no rests.
    Even,
    /// Long and short notes.
    LongAndShort,
    /// Silence before the first note or between two.
    Rests,
    /// Syncopation: notes that begin off the beat and hold over the next, or follow a silent one.
    OffBeats,
    /// A note held over a bar line.
    OverTheBar,
    /// Three notes in the time of two.
    Triplets,
    /// Notes before the first bar line.
    PickUp,
    /// Three quarters to a bar.
    #[value(name = "3/4")]
    ThreeFour,
    /// Six eighths to a bar.
    #[value(name = "6/8")]
    SixEight,
}
