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
    due: bool,
}

impl Default for Faltering {
    fn default() -> Self {
        Self { row: 0, needed: IN_A_ROW, due: false }
    }
}

impl Faltering {
    /// Enters a cue and its answer.
    pub fn enter(&mut self, faltered: bool) {
        self.row = if faltered { self.row + 1 } else { 0 };
        if self.row >= self.needed {
            *self = Self { row: 0, needed: (2 * self.needed).min(MOST), due: true };
        }
    }

    /// Whether the devices should be opened anew now; true once.
    pub fn due(&mut self) -> bool {
        std::mem::take(&mut self.due)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_faltering_is_an_accident_and_a_second_in_a_row_is_not() {
        let mut faltering = Faltering::default();
        let renewed = [true, false, true, true].map(|faltered| {
            faltering.enter(faltered);
            faltering.due()
        });
        assert_eq!(renewed, [false, false, false, true]);
    }

    #[test]
    fn on_a_machine_that_is_too_slow_the_devices_are_opened_anew_ever_more_seldom() {
        let mut faltering = Faltering::default();
        let mut again = || {
            faltering.enter(true);
            faltering.due()
        };
        let anew: Vec<usize> = (1..=100).filter(|_| again()).collect();
        assert_eq!(anew, [2, 6, 14, 30, 62, 94]);
    }
}
