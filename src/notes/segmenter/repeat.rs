use super::super::analysis_frame::AnalysisFrame;
use super::super::note_event::NoteEvent;
use super::onset::{AttackSearch, attack};
use super::{Segmenter, SignalView};
use crate::units::Decibels;

/// The lowest level of the last moments and what lay around it.
#[derive(Debug, Clone, Copy)]
struct Valley {
    /// Hops since the lowest level.
    hops: usize,
    /// The lowest level, dB.
    level_db: f64,
    /// Position of the lowest level, in heard samples.
    end: i64,
    /// How far the level fell to the lowest level, dB.
    fall_db: f64,
    /// How far the level has risen since and stayed, dB.
    rise_db: f64,
}

impl Segmenter {
    /// Hears the same pitch begin again: by its level, by a break in the phase, by a stroke on a string, or by a gap between two tongued
    /// notes; true when it did.
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
        let moved = self.pitch_moved();
        let again = self.level_repeats(&valley, moved)
            || self.phase_breaks(frame, &valley)
            || self.struck(frame, &valley)
            || self.is_a_gap(frame, &valley, sound);
        if !again {
            return false;
        }
        let period = frame.best.period;
        let pitch = if moved { frame.semitone() } else { note.reference };
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
        let level_db = db(least);
        Some(Valley { hops, level_db, end, fall_db: high_db - level_db, rise_db: held_db - level_db })
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

    /// The clearest of the note's frames before the valley, and how much clarity was lost since. Only frames that lie in the
    /// note count: those across its onset are never clear.
    fn lost_clarity(&self, valley: &Valley) -> (f64, f64) {
        let onset = self.open.as_ref().map_or(0, |note| note.onset);
        let inside = |l: &&AnalysisFrame| l.starts_in(onset, &self.rules);
        let span = valley.hops + self.time.hops(60.0);
        let frames = || (valley.hops..span).filter_map(|i| self.frames.ago(i)).filter(inside);
        let before = frames().map(|l| l.best.clarity).fold(0.0, f64::max);
        let least = self.frames.newest(valley.hops + 4).filter(inside).map(|l| l.best.clarity).fold(1.0, f64::min);
        (before, before - least)
    }

    /// Whether the newest frames lie off the note's pitch, though too little for a slur: a half step that is tongued and begins
    /// flat, as reeds do.
    fn pitch_moved(&self) -> bool {
        let Some(note) = self.open.as_ref() else { return false };
        let off = |l: &AnalysisFrame| (l.semitone() - note.reference).abs() >= 0.01 * self.rules.repeat_moved;
        self.frames.newest(self.rules.repeat_frames as usize).all(off)
    }

    fn level_repeats(&self, valley: &Valley, moved: bool) -> bool {
        let rules = &self.rules;
        let (_, lost) = self.lost_clarity(valley);
        let fresh = rules.repeat_fresh * self.freshness(valley);
        let dip = if moved || lost >= rules.repeat_dip { 0.0 } else { rules.repeat_no_dip };
        valley.fall_db >= rules.repeat_fall && valley.rise_db >= rules.repeat_rise + dip + fresh
    }

    /// 1 for a note just begun, falling to 0 at `repeat_fresh_ms`.
    fn freshness(&self, valley: &Valley) -> f64 {
        let onset = self.open.as_ref().map_or(valley.end, |note| note.onset);
        (1.0 - (valley.end - onset) as f64 / self.time.ms(self.rules.repeat_fresh_ms) as f64).clamp(0.0, 1.0)
    }

    /// Whether the wave breaks and begins anew. A note past its attack that was clear and is damped before the break is
    /// repeated though it is still fresh.
    fn phase_breaks(&self, frame: &AnalysisFrame, valley: &Valley) -> bool {
        let rules = &self.rules;
        let (before, lost) = self.lost_clarity(valley);
        let calm = self.is_calm(valley) && before >= rules.calm_clarity && valley.fall_db >= rules.repeat_fall;
        let (fresh, back) = if calm { (0.0, rules.calm_back) } else { (rules.break_fresh, rules.break_back) };
        before > rules.break_before
            && lost >= rules.break_fall
            && frame.best.clarity >= rules.break_after
            && frame.best.clarity >= before - lost * (1.0 - rules.break_recovered)
            && frame.steady_db >= valley.level_db + valley.fall_db - back
            && frame.steady_db - valley.level_db >= rules.break_rise + self.freshness(valley) * fresh
    }

    /// Whether a tongue lies between two notes of one level: a gap too narrow for a swell, with or without a break in the phase.
    fn is_a_gap(&self, frame: &AnalysisFrame, valley: &Valley, sound: SignalView<'_>) -> bool {
        let rules = &self.rules;
        if !self.is_calm(valley) || valley.fall_db < rules.gap_depth {
            return false;
        }
        let reach = self.time.hops(rules.gap_ms);
        let level = |hops: usize| self.level_ago(hops, frame.best.period, sound);
        let before = (valley.hops..=valley.hops + reach).map(level).fold(-200.0, f64::max);
        let after = (valley.hops.saturating_sub(reach)..=valley.hops).map(level).fold(-200.0, f64::max);
        before.min(after) - valley.level_db >= rules.gap_depth && (before - after).abs() < rules.break_back
    }

    /// Whether the attack of the note is over.
    fn is_calm(&self, valley: &Valley) -> bool {
        let onset = self.open.as_ref().map_or(valley.end, |note| note.onset);
        valley.end - onset >= self.time.ms(self.rules.calm_ms)
    }

    /// Whether a string was plucked or struck again: damped, then sharp for a moment.
    fn struck(&self, frame: &AnalysisFrame, valley: &Valley) -> bool {
        let rules = &self.rules;
        let rise_db = frame.steady_db - valley.level_db;
        if !self.is_calm(valley)
            || valley.fall_db < rules.strike_fall
            || rise_db < rules.strike_rise.max(valley.fall_db - rules.strike_back)
        {
            return false;
        }
        self.sharpens(frame, valley)
    }

    /// Whether something sounded near the lowest level that was sharper than all that came shortly before.
    fn sharpens(&self, frame: &AnalysisFrame, valley: &Valley) -> bool {
        let rules = &self.rules;
        let near = |l: &AnalysisFrame| (l.end - valley.end).abs() < self.time.ms(rules.strike_near_ms);
        let before = self.time.hops_of(self.time.ms(rules.strike_before_ms) as f64 + frame.best.period);
        let sharp = |hops: usize| self.frames.ago(hops).map_or(-200.0, |l| l.sharp_db);
        let rises = |hops: usize| {
            let was = (hops + 3..hops + 3 + before).map(sharp).fold(-200.0, f64::max);
            sharp(hops) - was >= rules.strike_burst
        };
        let span = valley.hops + self.time.hops(2.0 * rules.strike_near_ms);
        (0..span).any(|hops| self.frames.ago(hops).is_some_and(near) && rises(hops))
    }
}
