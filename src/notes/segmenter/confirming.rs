use super::super::onset_detector::OnsetDetector;
use super::Segmenter;

/// What the rules take for a note is reported only when the onset detector has heard it begin, or when its pitch rests.
impl Segmenter {
    /// Asks the detector about the open note until it has said yes. Where it never does, the note is reported only if its pitch
    /// comes to rest, because that of a false note seldom does.
    pub(super) fn confirm(&mut self, detector: &OnsetDetector) {
        let rules = &self.rules;
        let Some(note) = self.open.as_ref().filter(|note| !note.confirmed && note.announced.is_none()) else { return };
        let rests = || {
            self.range(note, self.time.hops(rules.onset_rest_ms))
                .is_some_and(|range| range * 100.0 < rules.onset_rest_range)
        };
        let least = if note.attacked { rules.onset_least } else { rules.onset_slurred };
        let confirmed = detector.likelihood(note.onset) >= least || rests();
        if let Some(note) = self.open.as_mut() {
            note.confirmed = confirmed;
        }
    }
}
