use super::super::analysis_frame::AnalysisFrame;
use super::Segmenter;
use super::open_note::OpenNote;

impl Segmenter {
    /// Whether a note has been on its way to a new `pitch` since it began, without a step and without ever coming to rest:
    /// singers, reeds and slides reach a note so. The newest `arrived` frames are at the new pitch.
    pub(super) fn glides(&self, note: &OpenNote, pitch: f64, arrived: usize) -> bool {
        let rules = &self.rules;
        let Some(newest) = self.frames.ago(0) else { return false };
        let age = (newest.number - note.opened).max(0) as usize;
        let way = (pitch - note.reference).signum();
        let steps = |from: usize| (from..age).map_while(|hops| self.small_step(hops));
        if steps(0).count() < arrived {
            return false;
        }
        let smooth = arrived + steps(arrived).count();
        let moved: f64 = steps(arrived).sum();
        let span = self.time.hops(rules.glide_span_ms);
        let at = |hops: usize| self.frames.ago(hops).map_or(pitch, AnalysisFrame::semitone);
        let moves = |hops: usize| (at(hops) - at(hops + span)) * way >= 0.01 * rules.glide_cents;
        moved * way >= 0.01 * rules.glide_least
            && age - smooth.min(age) <= rules.glide_rough as usize
            && (arrived..(smooth + 1).saturating_sub(span)).all(moves)
    }

    /// How far the pitch moved to the frame `hops` hops ago from the frame before it, in half steps. `None` where one of the two
    /// has no pitch, or the pitch leapt; a leap is measured over two steps, because a single step jitters.
    fn small_step(&self, hops: usize) -> Option<f64> {
        let (later, before, first) = (self.frames.ago(hops)?, self.frames.ago(hops + 1)?, self.frames.ago(hops + 2)?);
        let step = later.semitone() - before.semitone();
        let leap = 0.5 * (later.semitone() - first.semitone()).abs();
        (later.voiced && before.voiced && leap < 0.01 * self.rules.glide_step).then_some(step)
    }
}
