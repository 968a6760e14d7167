use std::path::PathBuf;

use clap::Args;

/// `review`.
#[derive(Debug, Clone, Args)]
pub struct ReviewTyped {
    /// Files of sittings, or folders of them (those below too); each player and each instrument is told apart.
    #[arg(required = true)]
    pub paths: Vec<PathBuf>,
    /// Judge the stored sound again, and say how much was judged and where the verdict differs.
    #[arg(long)]
    pub again: bool,
    /// Play the answer that stands under this number in the review.
    #[arg(long, value_name = "N", conflicts_with_all = ["again", "html", "json"])]
    pub play: Option<usize>,
    /// Write the sound of the answer that stands under this number in the review to a WAV file.
    #[arg(long, num_args = 2, value_names = ["N", "OUT"], conflicts_with_all = ["again", "html", "json", "play"])]
    pub wav: Option<Vec<String>>,
    /// Write one page for a lesson into this file: the keys, the intonation, answers to see and to hear.
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
    /// Write the latest trade among these sittings as MusicXML: the phrases and what was played on one staff, the band's chords on another.
    #[arg(long, value_name = "OUT", conflicts_with_all = ["again", "json", "play", "wav"])]
    pub musicxml: Option<PathBuf>,
    /// Add a word to one sitting's file, about the answer that stands under this number in its review (0: the whole sitting); its player
    /// reads it in a review and before the next drill.
    #[arg(long, num_args = 2, value_names = ["N", "WORDS"], conflicts_with_all = ["again", "html", "json", "play", "wav"])]
    pub comment: Option<Vec<String>>,
    /// For machines.
    #[arg(long)]
    pub json: bool,
}

/// `log`.
#[derive(Debug, Clone, Args)]
pub struct LogTyped {
    /// Whose, by name or by the beginning of the id (default: the first player of your settings).
    #[arg(long, value_name = "NAME")]
    pub player: Option<String>,
    /// For machines.
    #[arg(long)]
    pub json: bool,
}

/// `forget`.
#[derive(Debug, Clone, Args)]
pub struct ForgetTyped {
    /// A sitting's file, or a player by name or by the beginning of the id.
    #[arg(value_name = "SITTING|PLAYER")]
    pub what: String,
    /// Do it; without this, what would go is only listed.
    #[arg(long)]
    pub yes: bool,
}
