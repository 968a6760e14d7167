use crate::coach::{Choice, Reason, Warned, WarningOrder};
use crate::cue::Cue;
use crate::drill::Settings;

/// A drill whose keys are told late: which key comes with which warning, and how the answers came out. Each has one try, and
/// nothing is learnt from it.
#[derive(Debug, Clone)]
pub(super) struct LateKeys {
    order: WarningOrder,
    /// The warning of what was drawn last.
    warning: Option<u32>,
    warned: Warned,
}

impl LateKeys {
    /// The order of a sitting; `None` where its keys are given as always.
    pub fn of(settings: &Settings) -> Option<Self> {
        let order = || WarningOrder::new(&settings.plan, &settings.warnings, settings.began.seed);
        let some = !settings.warnings.is_empty();
        some.then(|| Self { order: order(), warning: None, warned: Warned::default() })
    }

    /// What comes next.
    pub fn next(&mut self) -> Option<Choice> {
        let (choice, warning) = self.order.next()?;
        self.warning = Some(warning);
        Some(choice)
    }

    /// The warning of what comes next.
    pub fn warning(&self) -> Option<u32> {
        self.warning
    }

    /// What was answered so far.
    pub fn warned(&self) -> &Warned {
        &self.warned
    }

    /// Enters an answer, or that none came; what the player asked to hear again is no news.
    pub fn enter(&mut self, cue: &Cue, reason: &Reason, right: bool) {
        if let Some(warning) = cue.warning.filter(|_| !reason.uncounted()) {
            self.warned.enter(warning, right);
        }
    }

    /// Takes the latest answer out again; `before` is what stood before it.
    pub fn take_out(&mut self, before: &Self) {
        self.warned = before.warned.clone();
    }
}
