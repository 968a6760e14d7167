//! The judge: cases worked by hand, properties of any answer, changes that must not change a verdict, and planted faults.

mod bars;
mod early;
mod generator;
pub mod made;
mod note_by_note;
pub mod planted;
mod planting;
mod properties;
mod rhythm;
mod stood;
mod swing;
mod unchanged;
mod worked;
