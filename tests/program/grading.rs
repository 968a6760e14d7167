//! The judge from outside: tables of worked cases, properties, what must not change a verdict, and cases with planted faults.

mod early;
mod made;
mod planted;
mod properties;
mod swing;
mod worked;
