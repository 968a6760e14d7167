use crate::music::HalfSteps;

/// A hand slipped where so many notes in a row, or more, stand one distance from those asked.
pub(super) const SLIPPED: usize = 3;

/// What wrong notes have in common.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slip {
    /// All stand so many half steps from the notes asked.
    HalfSteps(HalfSteps),
    /// They came in a row, so many steps of the scale from the notes asked: one, or two, which is a third.
    ScaleSteps(i32),
}

/// By how many steps of a scale a note is moved that is so many half steps off; `None` for none and for more than two. A step is one or two
/// half steps, a third is three or four (common practice).
pub(super) fn scale_steps(by: HalfSteps) -> Option<i32> {
    match by.0.abs() {
        1 | 2 => Some(by.0.signum()),
        3 | 4 => Some(2 * by.0.signum()),
        _ => None,
    }
}

/// What these wrong notes have in common, each with its place in the line and its distance from the note asked; `None` where nothing.
#[must_use]
pub fn slip(notes: &[(usize, HalfSteps)]) -> Option<Slip> {
    let (_, first) = *notes.first()?;
    if notes.iter().all(|(_, by)| *by == first) {
        return Some(Slip::HalfSteps(first));
    }
    let in_a_row = notes.len() >= SLIPPED && notes.windows(2).all(|pair| pair[1].0 == pair[0].0 + 1);
    let steps = scale_steps(first).filter(|_| in_a_row)?;
    notes.iter().all(|(_, by)| scale_steps(*by) == Some(steps)).then_some(Slip::ScaleSteps(steps))
}
