/// So many cues in a row with an xrun are no accident.
const IN_A_ROW: u32 = 2;
/// Largest number of cues in a row with an xrun after which the devices are opened anew.
const MOST: u32 = 32;

/// Counts the cues in a row in which a stream had an xrun. Some streams have xruns from the moment they are opened, and newly opened
/// streams have none; on a machine that is simply too slow newly opened streams have them too. So the devices are opened anew each time
/// only after twice as many such cues as before, 32 at most.
#[derive(Debug, Clone, Copy)]
pub(super) struct XrunsInARow {
    row: u32,
    needed: u32,
    due: bool,
}

impl Default for XrunsInARow {
    fn default() -> Self {
        Self { row: 0, needed: IN_A_ROW, due: false }
    }
}

impl XrunsInARow {
    /// Enters a cue and its answer, or a whole round as one cue.
    pub fn enter(&mut self, xrun: bool) {
        self.row = if xrun { self.row + 1 } else { 0 };
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
    fn one_xrun_is_an_accident_and_a_second_in_a_row_is_not() {
        let mut xruns = XrunsInARow::default();
        let renewed = [true, false, true, true].map(|xrun| {
            xruns.enter(xrun);
            xruns.due()
        });
        assert_eq!(renewed, [false, false, false, true]);
    }

    #[test]
    fn on_a_machine_that_is_too_slow_the_devices_are_opened_anew_ever_more_seldom() {
        let mut xruns = XrunsInARow::default();
        let mut again = || {
            xruns.enter(true);
            xruns.due()
        };
        let anew: Vec<usize> = (1..=100).filter(|_| again()).collect();
        assert_eq!(anew, [2, 6, 14, 30, 62, 94]);
    }
}
