//! What a teacher would say about one answer, and about a fault that comes back.

mod faults;
mod recurring;
#[cfg(test)]
mod recurring_tests;
mod sentence;
#[cfg(test)]
mod tests;

pub use recurring::recurring;
pub use sentence::sentence;
