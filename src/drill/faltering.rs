/// So many cues in a row whose sound faltered are no accident.
const IN_A_ROW: u32 = 2;
/// The count is not doubled beyond this.
const MOST: u32 = 32;

/// Counts the cues in a row whose sound faltered. Some streams falter from the moment they are opened, and new ones are calm;
/// on a machine that is simply too slow new ones falter too, so each opening anew takes twice as many cues as the one before.
#[derive(Debug, Clone, Copy)]
pub(super) struct Faltering {
    row: u32,
    needed: u32,
}

impl Default for Faltering {
    fn default() -> Self {
        Self { row: 0, needed: IN_A_ROW }
    }
}

impl Faltering {
    /// After a cue and its answer: whether the devices should be opened anew.
    pub fn after(&mut self, faltered: bool) -> bool {
        self.row = if faltered { self.row + 1 } else { 0 };
        let due = self.row >= self.needed;
        if due {
            *self = Self { row: 0, needed: (2 * self.needed).min(MOST) };
        }
        due
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_faltering_is_an_accident_and_a_second_in_a_row_is_not() {
        let mut faltering = Faltering::default();
        let told = [true, false, true, true].map(|faltered| faltering.after(faltered));
        assert_eq!(told, [false, false, false, true]);
    }

    #[test]
    fn on_a_machine_that_is_too_slow_the_devices_are_opened_anew_ever_more_seldom() {
        let mut faltering = Faltering::default();
        let anew: Vec<usize> = (1..=100).filter(|_| faltering.after(true)).collect();
        assert_eq!(anew, [2, 6, 14, 30, 62, 94]);
    }
}
