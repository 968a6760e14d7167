//! Arguments of `analyse`, as typed.

use std::path::PathBuf;

use clap::Args;

use crate::cli::args::Player;

/// `analyse`.
#[derive(Debug, Clone, Args)]
pub struct AnalyseTyped {
    /// A recording of one instrument (WAV, AIFF, CAF, FLAC, MP3, M4A, Ogg Vorbis), a MIDI or MusicXML file, or a sitting with free
    /// choruses (of a folder of sittings the latest one that has some).
    pub file: PathBuf,
    /// Of a sitting only the chorus with this number.
    #[arg(long, value_name = "N")]
    pub chorus: Option<u32>,
    /// Quarter notes a minute, 20 to 400 (default: as the file says, else found from the notes).
    #[arg(long, value_name = "QUARTERS")]
    pub tempo: Option<f64>,
    /// The chart it was played over: by name, typed, or in a text file.
    #[arg(long)]
    pub chart: Option<String>,
    /// Where bar 1 of the chart begins, in seconds of the recording (default: where the chords fit best, within a bar of the first note).
    #[arg(long, value_name = "SECONDS", requires = "chart")]
    pub begins: Option<f64>,
    /// Look for these patterns only, with commas between them, as ones you practise (default: the library and your own).
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    pub patterns: Vec<String>,
    /// Keep the line of your own with this number as a pattern to practise.
    #[arg(long, value_name = "N", conflicts_with = "json")]
    pub learn: Option<usize>,
    /// Its name.
    #[arg(long, requires = "learn")]
    pub name: Option<String>,
    /// The written key of the chart, or of the line that is kept, where it cannot be known (with --concert: sounding).
    #[arg(long)]
    pub key: Option<String>,
    /// Who plays.
    #[command(flatten)]
    pub player: Player,
    /// Write it as MusicXML for the page of your instrument: patterns bracketed over the staff, the three families under it.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["json", "learn"])]
    pub musicxml: Option<PathBuf>,
    /// Write one page: what was played as a picture over its bars, and what was found in it.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["json", "learn"])]
    pub html: Option<PathBuf>,
    /// For machines.
    #[arg(long)]
    pub json: bool,
}

impl AnalyseTyped {
    /// Whether all is told in words: where nothing is written and no line kept.
    pub const fn in_words(&self) -> bool {
        self.html.is_none() && self.musicxml.is_none() && self.learn.is_none()
    }
}
