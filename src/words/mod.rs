//! Numbers into words, with keys and notes as the player reads them (written or sounding pitch): the verdict's sentence, a fault that
//! recurs, the coach's reason, what does not fit, names.
//!
//! Every sentence is a pure function of the figures it tells, so a sentence made again from a record equals the one that was shown. No
//! points, no praise beyond the fact; a number that is no count and no tempo has its unit.
//!
//! # To change it
//! A sentence of a verdict: `verdict/faults.rs` (notes), `verdict/sentence.rs` (time and tuning), `verdict/headline.rs` (short); a
//! coach's reason: `reason.rs`; a device's fault: `sound_fault.rs`, `device_error.rs`; names and units: `page.rs`. The records of
//! `tests/data/sessions` hold sentences as they were shown. `cargo test words::`, `cargo test three_steps`.

pub mod day;
mod device_error;
pub mod divided;
pub mod fingering;
pub mod fit;
pub mod free;
pub mod in_use;
pub mod learnt;
pub mod numbers;
mod page;
pub mod pattern_rows;
pub mod patterns;
pub mod reader;
pub mod reason;
pub mod sound_check;
mod sound_fault;
pub mod spared;
pub mod traded;
pub mod tuned;
pub mod unknown;
pub mod verdict;
pub mod warned;
pub mod wrap;

pub use crate::room::SoundFault;
pub use page::Page;
