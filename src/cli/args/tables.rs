use std::path::PathBuf;

use clap::Args;

/// `tables`.
#[derive(Debug, Clone, Args)]
pub struct TablesTyped {
    /// Session files of many players, or folders of them (those below too).
    #[arg(required = true)]
    pub paths: Vec<PathBuf>,
    /// Write the tables below this folder. Each month that these sittings touch is written whole, so name all of the class; other
    /// months stay as they are.
    #[arg(long, value_name = "OUT")]
    pub to: PathBuf,
    /// What the class is called in the tables: small letters, digits and dashes, no person's name.
    #[arg(long, default_value = "school")]
    pub class: String,
    /// The key under which players have pseudonyms; made on first use, for your eyes only (default: school.key beside your sessions).
    /// Who has it can tell whose a pseudonym is, so it stays with the school and never lies among the tables; without it the same
    /// player gets another pseudonym.
    #[arg(long, value_name = "FILE")]
    pub key: Option<PathBuf>,
}
