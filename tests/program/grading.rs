//! The judge from outside: tables of worked cases, properties, what must not change a verdict, and cases with planted faults.

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
