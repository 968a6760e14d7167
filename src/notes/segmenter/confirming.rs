use super::super::onset_detector::{OnsetDetector, log_odds, squashed};
use super::Segmenter;
use super::open_note::OpenNote;

/// Largest spread of the pitch that counts against a note, half steps: more is no worse.
const WIDEST: f64 = 0.5;
/// Mean clarity from which a note is no clearer, and how far below it one is not clear at all.
const CLEAR: (f64, f64) = (0.95, 0.25);

/// What the rules take for a note is reported only when the onset detector has heard it begin, or when its pitch rests. What the
/// detector said is also the greater part of how sure the ear is of the note.
impl Segmenter {
    /// Asks the detector about the open note while it is young. Where it never says yes, the note is reported only if its pitch comes
    /// to rest, because that of a false note seldom does.
    pub(super) fn confirm(&mut self, detector: &OnsetDetector) {
        let rules = &self.rules;
        let Some(note) = self.open.as_ref() else { return };
        let age = self.frames.ago(0).map_or(0, |frame| frame.end - note.onset);
        let waits = !note.confirmed && note.announced.is_none();
        if age > self.time.ms(rules.sure_until_ms) && !waits {
            return;
        }
        let likelihood = note.likelihood.max(detector.likelihood(note.onset));
        let rests = || {
            self.range(note, self.time.hops(rules.onset_rest_ms))
                .is_some_and(|range| range * 100.0 < rules.onset_rest_range)
        };
        let least = if note.attacked { rules.onset_least } else { rules.onset_slurred };
        let confirmed = note.confirmed || (waits && (likelihood >= least || rests()));
        if let Some(note) = self.open.as_mut() {
            (note.likelihood, note.confirmed) = (likelihood, confirmed);
        }
    }

    /// How sure the ear is of a note: of notes told with a confidence of .8, eight in ten are right. `spread` is that of the pitch in
    /// half steps, and `agrees` says whether YIN found the same pitch. The sum is a logistic regression (`benches/FIGURES.md`).
    pub(super) fn confidence(&self, note: &OpenNote, spread: f64, agrees: bool) -> f64 {
        let rules = &self.rules;
        let clear = (1.0 - (CLEAR.0 - note.clarity()) / CLEAR.1).clamp(0.0, 1.0);
        let odds = rules.sure_base + rules.sure_onset * log_odds(note.likelihood) + rules.sure_clear * clear
            - 100.0 * rules.sure_spread * spread.min(WIDEST)
            - if agrees { 0.0 } else { rules.sure_yin };
        f64::from(squashed(odds as f32))
    }
}
