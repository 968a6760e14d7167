use crate::coach::{Choice, Reason, Warned, WarningOrder};
use crate::cue::Cue;
use crate::drill::Settings;

/// A drill whose keys are told late: which key comes with which warning, and how the answers came out. Each cue has one try, and the
/// coach learns nothing from its answer.
#[derive(Debug, Clone)]
pub(super) struct LateKeys {
    order: WarningOrder,
    /// The warning of the choice that was drawn last, in beats.
    warning: Option<u32>,
    warned: Warned,
}

impl LateKeys {
    /// The order of a sitting; `None` where no key is told late.
    pub fn of(settings: &Settings) -> Option<Self> {
        let order = || WarningOrder::new(&settings.plan, &settings.warnings, settings.began.seed);
        let some = !settings.warnings.is_empty();
        some.then(|| Self { order: order(), warning: None, warned: Warned::default() })
    }

    /// Draws what comes next, with its warning.
    pub fn next(&mut self) -> Option<Choice> {
        let (choice, warning) = self.order.next()?;
        self.warning = Some(warning);
        Some(choice)
    }

    /// The warning of the choice that was drawn last, in beats.
    pub fn warning(&self) -> Option<u32> {
        self.warning
    }

    /// How the answers came out so far, for each warning.
    pub fn warned(&self) -> &Warned {
        &self.warned
    }

    /// Enters whether a cue was answered right and on its beat; a cue that the player asked to hear again is left out.
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
