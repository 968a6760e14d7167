//! Arguments of `today`, as typed.

use clap::Args;

use crate::cli::args::Player;

/// `today`.
#[derive(Debug, Clone, Default, Args)]
pub struct TodayTyped {
    /// So many minutes, rests included (default: those of your settings, which you are asked once).
    #[arg(long)]
    pub minutes: Option<f64>,
    /// Say the plan, and begin nothing.
    #[arg(long)]
    pub show: bool,
    /// A simulated player answers, in sound; no device is needed.
    #[arg(long)]
    pub simulated: bool,
    /// Do not wait for real time.
    #[arg(long, requires = "simulated")]
    pub fast: bool,
    /// Lines instead of a screen.
    #[arg(long)]
    pub plain: bool,
    /// Seed of the generator (default: another one each time).
    #[arg(long)]
    pub seed: Option<u64>,
    /// Who plays.
    #[command(flatten)]
    pub player: Player,
    /// Your name or a pseudonym, or the beginning of your id (default: the first player of your settings).
    #[arg(long = "player", value_name = "NAME")]
    pub player_name: Option<String>,
}
