use super::super::analysis_frame::AnalysisFrame;
use super::super::note_event::NoteEvent;
use super::onset::{AttackSearch, attack};
use super::{Segmenter, SignalView};
use crate::units::Decibels;

/// The lowest level of the last moments.
#[derive(Debug, Clone, Copy)]
struct Valley {
    /// Hops since the lowest level.
    hops: usize,
    /// Position of the lowest level, in heard samples.
    end: i64,
    /// How far the level fell to its lowest, or how far it has risen since and stayed, whichever is less, dB.
    depth_db: f64,
}

impl Segmenter {
    /// Hears the same pitch begin again: the level dips, and the onset detector heard a note begin there; true when it did. Tongue, bow,
    /// hammer and pick break a tone each in its own way, which the detector has learnt. The deeper the dip, the less sure it must be.
    pub(super) fn try_repeat(
        &mut self,
        frame: &AnalysisFrame,
        sound: SignalView<'_>,
        on_event: &mut dyn FnMut(&NoteEvent),
    ) -> bool {
        let Some(note) = self.open.as_ref() else { return false };
        let rules = &self.rules;
        let near = |l: &AnalysisFrame| l.voiced && (l.semitone() - note.reference).abs() < 0.01 * rules.repeat_cents;
        let same = self.frames.newest(rules.repeat_frames as usize).all(near);
        if !same || frame.steady_db < note.loudest_db - rules.repeat_back {
            return false;
        }
        let Some(valley) = self.valley(frame, sound) else { return false };
        // While a reed speaks an octave low, its half waves differ in level, which would look like a repeat: so the time counts
        // from the correction of the octave.
        if valley.end - note.onset.max(note.octave_corrected) < self.time.ms(rules.repeat_valley_ms) {
            return false;
        }
        let deep = valley.depth_db >= rules.repeat_deep;
        let least = if deep { rules.onset_least } else { rules.repeat_likelihood };
        if valley.depth_db < rules.repeat_depth || sound.detector.likelihood(valley.end) < least {
            return false;
        }
        let period = frame.best.period;
        let pitch = if self.pitch_moved() { frame.semitone() } else { note.reference };
        let earliest = note.onset + self.time.ms(20.0);
        let limit = (valley.end - self.time.ms(30.0) - period as i64).max(earliest);
        let place = AttackSearch { limit, from: valley.end - period as i64, to: frame.end, period };
        let onset = attack(sound, &self.time, rules, place).onset;
        if onset - note.onset < self.time.ms(rules.repeat_valley_ms) {
            return false;
        }
        self.close(onset, sound, on_event);
        let note = self.begin(onset, frame, pitch);
        note.attacked = true;
        note.dated = false;
        note.limit = limit;
        note.opened = frame.number - valley.hops as i64;
        self.remember(valley.hops);
        true
    }

    /// The lowest level lately, over windows of one period or 4 ms, the longer one; `None` where no note is open.
    fn valley(&self, frame: &AnalysisFrame, sound: SignalView<'_>) -> Option<Valley> {
        let note = self.open.as_ref()?;
        let period = frame.best.period;
        let power = |i: usize| self.power_ago(i, period, sound);
        let hold = self.time.hops(self.rules.repeat_hold_ms);
        let span = self.time.hops_of(self.time.ms(self.rules.repeat_ms) as f64 + period) + hold;
        let (mut hops, mut least) = (0, f64::INFINITY);
        for i in 0..span {
            if power(i) < least {
                (hops, least) = (i, power(i));
            }
        }
        let lowest = self.frames.ago(hops)?;
        let db = |power: f64| Decibels::of_power(power).0;
        let held_db = db((0..hold).map(power).fold(f64::INFINITY, f64::min));
        let before = self.time.hops_of((lowest.end - note.onset).max(0) as f64).min(self.time.hops(100.0));
        let high_db = db((hops..=hops + before).map(power).fold(0.0, f64::max));
        let end = lowest.end - (period as i64).max(self.time.ms(4.0)) / 2;
        Some(Valley { hops, end, depth_db: high_db.min(held_db) - db(least) })
    }

    /// Level `hops` hops ago, over one period or 4 ms, the longer one, dB.
    pub(super) fn level_ago(&self, hops: usize, period: f64, sound: SignalView<'_>) -> f64 {
        Decibels::of_power(self.power_ago(hops, period, sound)).0
    }

    /// Mean square `hops` hops ago, over one period or 4 ms, the longer one.
    fn power_ago(&self, hops: usize, period: f64, sound: SignalView<'_>) -> f64 {
        let span = (period.round() as i64).max(self.time.ms(4.0));
        let end = self.frames.ago(hops).map_or(i64::MIN / 2, |l| l.end);
        sound.bands.all().power(end - span, end)
    }

    /// Whether the newest frames lie off the note's pitch, though too little for a slur: a half step that is tongued and begins
    /// flat, as reeds do.
    fn pitch_moved(&self) -> bool {
        let Some(note) = self.open.as_ref() else { return false };
        let off = |l: &AnalysisFrame| (l.semitone() - note.reference).abs() >= 0.01 * self.rules.repeat_moved;
        self.frames.newest(self.rules.repeat_frames as usize).all(off)
    }
}
