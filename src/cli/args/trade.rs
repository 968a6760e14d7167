//! Arguments of `trade`, as typed.

use std::path::PathBuf;

use clap::{Args, Parser};

use crate::cli::args::charts::{BandParts, KeyMoves};
use crate::cli::args::choices::{INPUT, Keep};
use crate::cli::args::{Demo, Player};
use crate::trade::TradeWay;

/// The arguments of `trade` alone, from which a demo takes what it leaves open.
#[derive(Parser)]
struct TypedOver {
    #[command(flatten)]
    trade: TradeTyped,
}

/// `trade`.
#[derive(Debug, Clone, Args)]
pub struct TradeTyped {
    /// A chart by name, typed, or in a text file; with --lesson one of its charts (default: the next).
    #[arg(required_unless_present_any = ["lesson", "chart_named"])]
    pub chart: Option<String>,
    /// The chart, as demo and analyse take it.
    #[arg(long = "chart", id = "chart_named", value_name = "CHART", conflicts_with = "chart")]
    pub chart_named: Option<String>,
    /// Trade over a chart that a teacher's lesson sets, with its seed; the record names the lesson.
    #[arg(long, value_name = "FILE")]
    pub lesson: Option<PathBuf>,
    /// Bars of a phrase: first the program plays so many, then you do.
    #[arg(long, default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=8))]
    pub bars: u32,
    /// Free choruses: the band plays, you play what you like, and at the end it is told what came out, never graded. The notes are kept:
    /// earfirst analyse takes them apart again.
    #[arg(long, conflicts_with_all = ["bars", "on_every", "show", "finish", "vary"])]
    pub free: bool,
    /// Join these patterns, with commas between them, instead of those that hold; with --free: look for them in what you play.
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    pub patterns: Vec<String>,
    /// Join the library's patterns up to this level, 1 to 5, instead of those that hold.
    #[arg(long, value_name = "LEVEL", conflicts_with = "patterns", value_parser = clap::value_parser!(u8).range(1..=5))]
    pub up_to: Option<u8>,
    /// Finish it: only the first half of a phrase sounds, its patterns are named, and you play the second half in its place.
    #[arg(long, conflicts_with_all = ["on_every", "vary"])]
    pub finish: bool,
    /// Vary it: keep the phrase's rhythm with other notes of the chords, or its shape from another degree.
    #[arg(long, conflicts_with = "on_every")]
    pub vary: bool,
    /// Instead of joined phrases one pattern, as it is written, on every chord of this kind: a Roman numeral such as V, II or IIm7.
    #[arg(long, value_name = "CHORD")]
    pub on_every: Option<String>,
    /// The first written key (with --concert: sounding).
    #[arg(long)]
    pub key: Option<String>,
    /// Quarter notes a minute, 40 to 300 (default: the form's usual tempo).
    #[arg(long, value_name = "QUARTERS")]
    pub tempo: Option<f64>,
    /// How often you play through the form; lips and voices rest through a chorus between two, which has a number but is not counted here.
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(u32).range(1..=60))]
    pub choruses: u32,
    /// Where the form moves at the end of each chorus (default: round the keys where the chart does, else nowhere).
    #[arg(long, value_enum)]
    pub moves: Option<KeyMoves>,
    /// How the band plays.
    #[command(flatten)]
    pub parts: BandParts,
    /// Seed of the generator; the same seed makes the same phrases again (default: another one each time).
    #[arg(long)]
    pub seed: Option<u64>,
    /// Print the phrases, and sound nothing.
    #[arg(long, conflicts_with_all = ["wav", "simulated"])]
    pub show: bool,
    /// Write band and phrases here instead of playing them.
    #[arg(long, value_name = "OUT", conflicts_with = "simulated")]
    pub wav: Option<PathBuf>,
    /// At the end, write the trade here as MusicXML: the phrases and what you played on one staff, the band's chords on another.
    #[arg(long, value_name = "OUT", conflicts_with_all = ["free", "show", "wav"])]
    pub musicxml: Option<PathBuf>,
    /// A simulated player answers, in sound; no device is needed.
    #[arg(long)]
    pub simulated: bool,
    /// Do not wait for real time.
    #[arg(long, requires = "simulated")]
    pub fast: bool,
    /// Which sound to keep on this machine (default: as your drills do); what is kept can be judged again: earfirst review --again.
    #[arg(long, value_enum, conflicts_with = "free")]
    pub keep_sound: Option<Keep>,
    /// Lines instead of a screen.
    #[arg(long)]
    pub plain: bool,
    /// Who plays.
    #[command(flatten)]
    pub player: Player,
    /// Your name or a pseudonym, or the beginning of your id (default: the first player of your settings).
    #[arg(long = "player", value_name = "NAME")]
    pub player_name: Option<String>,
    /// Microphone or MIDI instrument.
    #[arg(long, help = INPUT)]
    pub input: Option<String>,
    /// Output device.
    #[arg(long)]
    pub output: Option<String>,
}

impl TradeTyped {
    /// What a demo over a chart stands for: the simulated player answers; `None` where no chart was typed.
    pub fn of_demo(demo: &Demo) -> Option<Self> {
        let (practice, chart) = (&demo.practice, demo.chart.clone()?);
        let typed = TypedOver::try_parse_from(["trade", "--simulated", "--", &chart]).ok()?.trade;
        Some(Self {
            lesson: practice.lesson.clone(),
            tempo: practice.scope.tempo,
            seed: practice.seed,
            fast: demo.fast,
            plain: practice.plain,
            keep_sound: practice.keep_sound,
            player: practice.scope.player.clone(),
            player_name: practice.scope.player_name.clone(),
            ..typed
        })
    }

    /// What the player does with the phrases.
    pub const fn way(&self) -> TradeWay {
        match (self.finish, self.vary) {
            (true, _) => TradeWay::Finish,
            (_, true) => TradeWay::Vary,
            _ => TradeWay::Answer,
        }
    }
}
