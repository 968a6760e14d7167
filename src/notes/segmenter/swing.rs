use super::super::analysis_frame::AnalysisFrame;
use super::super::note_event::NoteEvent;
use super::open_note::OpenNote;
use super::{Segmenter, SignalView};

/// A change of pitch without an attack may be the swing of a vibrato. The note before is not over until the next one is confirmed
/// (`confirming.rs`): the onset detector has heard it begin, or its pitch has come to rest. Where it never is, both are one note.
impl Segmenter {
    /// Lets the open note wait until the next one, which begins at `boundary`, is confirmed. Where a note waits already, the open one was a
    /// swing of it. A note that was neither confirmed nor announced does not wait, but is closed.
    pub(super) fn suspend(&mut self, boundary: i64, sound: SignalView<'_>, on_event: &mut dyn FnMut(&NoteEvent)) {
        if self.suspended.is_some() {
            self.absorb(boundary);
            return;
        }
        if !self.open.as_ref().is_some_and(|note| note.confirmed || note.announced.is_some()) {
            self.close(boundary, sound, on_event);
            return;
        }
        let Some(mut note) = self.open.take() else { return };
        note.release = Some(boundary.max(note.onset + 1));
        self.look_back(&note);
        self.suspended = Some(note);
    }

    /// Ends the note that waits, because another one has truly begun.
    pub(super) fn let_go(&mut self, sound: SignalView<'_>, on_event: &mut dyn FnMut(&NoteEvent)) {
        let Some(mut note) = self.suspended.take() else { return };
        self.report_off(&mut note, sound, on_event);
        self.spare.push(note);
    }

    /// Joins the open note, which was a swing, to the one that waits; that one goes on until `release`.
    pub(super) fn absorb(&mut self, release: i64) {
        let (Some(note), Some(swing)) = (self.suspended.as_mut(), self.open.take()) else { return };
        note.absorb(&swing);
        note.release = Some(release);
        self.numbers -= 1;
        self.spare.push(swing);
    }

    /// Whether the pitch has come back to the note that waits, which is then open again.
    pub(super) fn swings_back(&mut self, frame: &AnalysisFrame, pitch: f64, hops: usize) -> bool {
        let back = |note: &OpenNote| (pitch - note.reference).abs() < 0.01 * self.rules.split_young_cents;
        if !self.suspended.as_ref().is_some_and(back) {
            return false;
        }
        self.absorb(frame.end);
        let Some(mut note) = self.suspended.take() else { return false };
        note.release = None;
        note.last_voiced = frame.end;
        self.open = Some(note);
        self.remember(hops);
        true
    }
}
