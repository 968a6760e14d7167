use super::super::analysis_frame::AnalysisFrame;
use super::onset::{AttackSearch, attack};
use super::{Segmenter, SignalView};

impl Segmenter {
    /// Whether a rough sound (a bow, a reed) has kept its pitch for long enough to open a note.
    fn patient(&self, frame: &AnalysisFrame) -> bool {
        let rules = &self.rules;
        let periods = self.time.hops_of(rules.open_patient_periods * frame.best.period);
        let wanted = self.time.hops(rules.open_patient_ms).max(periods);
        if self.run.length < wanted {
            return false;
        }
        let newest = || self.frames.newest(wanted);
        let low = newest().map(AnalysisFrame::semitone).fold(f64::INFINITY, f64::min);
        let high = newest().map(AnalysisFrame::semitone).fold(f64::NEG_INFINITY, f64::max);
        let clarity = newest().map(|l| l.best.clarity).sum::<f64>() / wanted as f64;
        (high - low) * 100.0 < rules.open_patient_range && clarity >= rules.open_patient_clarity
    }

    /// Opens a note when a clear pitch has lasted, or a rough one for longer (`patient`), loud enough and not fading like a click.
    pub(super) fn try_open(&mut self, frame: &AnalysisFrame, sound: SignalView<'_>) {
        let rules = self.rules;
        let wanted = self.time.hops(rules.open_ms).max(self.time.hops_of(rules.open_periods * frame.best.period));
        let clear = self.run.length >= wanted && self.run.clarity() >= rules.open_clarity;
        if !clear && !self.patient(frame) {
            return;
        }
        let since = frame.end - self.let_go_at.max(frame.end - self.time.ms(100.0));
        let span = self.time.hops_of(since as f64).max(self.run.length);
        let peak = self.frames.newest(span).map(|l| l.level_db).fold(-200.0, f64::max);
        let before = self.frames.ago(3).map_or(-200.0, |l| l.steady_db);
        let loud = frame.steady_db >= sound.background.floor_db() + rules.open_over_floor;
        let near_peak = frame.level_db.max(frame.steady_db) >= peak - rules.open_under_peak;
        let falling = before - frame.steady_db >= rules.open_fall;
        let same = (frame.semitone() - self.let_go_pitch).abs() < 0.01 * rules.repeat_cents;
        let under = if same { rules.split_under_peak } else { rules.release_fall };
        let echo =
            frame.end - self.let_go_at < self.time.ms(rules.open_echo_ms) && frame.steady_db < self.loudest_db - under;
        let rise = if echo { rules.open_echo_rise } else { rules.open_rise };
        let risen = frame.steady_db >= self.lowest_db + rise;
        if frame.coherence < rules.open_coherence || !loud || !near_peak || falling || !risen {
            return;
        }
        let first = self.frames.ago(self.run.length - 1).map_or(frame.end, |l| l.begin());
        let place = AttackSearch {
            limit: self.let_go_at,
            from: first - self.time.ms(20.0),
            to: frame.end,
            period: frame.best.period,
        };
        let found = attack(sound, &self.time, &rules, place);
        let since_onset = self.time.hops_of((frame.end - found.onset) as f64);
        let loudest = self.frames.newest(since_onset).map(|l| l.steady_db).fold(-200.0, f64::max);
        if frame.steady_db < loudest - rules.open_under_onset {
            return;
        }
        let pitch = frame.semitone();
        let limit = self.let_go_at;
        let run = self.run.length;
        let note = self.begin(found.onset, frame, pitch);
        note.attacked = true;
        note.calm(run.saturating_sub(1), rules.settle_frames);
        note.dated = false;
        note.limit = limit;
        note.opened = frame.number - run as i64 + 1;
        self.remember(run);
    }
}
