//! The judge, tested by cases worked by hand, by properties of any answer, by changes that must not change a verdict, and by planted
//! faults.

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
