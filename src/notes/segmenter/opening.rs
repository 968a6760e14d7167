use super::super::look::Look;
use super::super::rules::Rules;
use super::onset::{Where, attack};
use super::{Segmenter, Sound};

/// Consecutive looks whose pitch moves by small steps only.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Run {
    pub(super) length: usize,
    clarity_sum: f64,
}

impl Run {
    /// Takes the newest look; `before` is the one before it.
    pub(super) fn add(&mut self, look: &Look, before: Option<&Look>, rules: &Rules) {
        if !look.voiced {
            *self = Self::default();
            return;
        }
        let step = before.map_or(f64::INFINITY, |b| (look.semitone() - b.semitone()).abs() * 100.0);
        if self.length == 0 || step > rules.run_step {
            *self = Self::default();
        }
        self.length += 1;
        self.clarity_sum += look.best.clarity;
    }

    fn clarity(&self) -> f64 {
        self.clarity_sum / self.length.max(1) as f64
    }
}

impl Segmenter {
    /// A rough sound (a bow, a reed) that has kept its pitch for long.
    fn patient(&self, look: &Look) -> bool {
        let rules = &self.rules;
        let periods = self.clock.hops_of(rules.open_patient_periods * look.best.period);
        let wanted = self.clock.hops(rules.open_patient_ms).max(periods);
        if self.run.length < wanted {
            return false;
        }
        let newest = || self.looks.newest(wanted);
        let low = newest().map(Look::semitone).fold(f64::INFINITY, f64::min);
        let high = newest().map(Look::semitone).fold(f64::NEG_INFINITY, f64::max);
        let clarity = newest().map(|l| l.best.clarity).sum::<f64>() / wanted as f64;
        (high - low) * 100.0 < rules.open_patient_range && clarity >= rules.open_patient_clarity
    }

    /// Opens a note when a clear pitch has lasted, loud enough and not fading like a click.
    pub(super) fn try_open(&mut self, look: &Look, sound: Sound<'_>) {
        let rules = self.rules;
        let wanted = self.clock.hops(rules.open_ms).max(self.clock.hops_of(rules.open_periods * look.best.period));
        let clear = self.run.length >= wanted && self.run.clarity() >= rules.open_clarity;
        if !clear && !self.patient(look) {
            return;
        }
        let since = look.end - self.let_go.max(look.end - self.clock.ms(100.0));
        let span = self.clock.hops_of(since as f64).max(self.run.length);
        let peak = self.looks.newest(span).map(|l| l.level_db).fold(-200.0, f64::max);
        let before = self.looks.ago(3).map_or(-200.0, |l| l.steady_db);
        let loud = look.steady_db >= sound.background.floor_db() + rules.open_over_floor;
        let near_peak = look.level_db.max(look.steady_db) >= peak - rules.open_under_peak;
        let falling = before - look.steady_db >= rules.open_fall;
        let same = (look.semitone() - self.let_go_pitch).abs() < 0.01 * rules.repeat_cents;
        let under = if same { rules.split_under_peak } else { rules.release_fall };
        let echo =
            look.end - self.let_go < self.clock.ms(rules.open_echo_ms) && look.steady_db < self.loudest_db - under;
        let rise = if echo { rules.open_echo_rise } else { rules.open_rise };
        let risen = look.steady_db >= self.lowest_db + rise;
        if look.coherence < rules.open_coherence || !loud || !near_peak || falling || !risen {
            return;
        }
        let first = self.looks.ago(self.run.length - 1).map_or(look.end, |l| l.begin());
        let place =
            Where { limit: self.let_go, from: first - self.clock.ms(20.0), to: look.end, period: look.best.period };
        let found = attack(sound, &self.clock, &rules, place);
        let since_onset = self.clock.hops_of((look.end - found.onset) as f64);
        let loudest = self.looks.newest(since_onset).map(|l| l.steady_db).fold(-200.0, f64::max);
        if look.steady_db < loudest - rules.open_under_onset {
            return;
        }
        let pitch = look.semitone();
        let limit = self.let_go;
        let run = self.run.length;
        let note = self.begin(found.onset, look, pitch);
        note.attacked = true;
        note.calm(run.saturating_sub(1), rules.settle_frames);
        note.dated = false;
        note.limit = limit;
        note.opened = look.number - run as i64 + 1;
        self.remember(run);
    }
}
