use super::super::heard::Told;
use super::super::look::Look;
use super::onset::{Where, attack};
use super::{Segmenter, Sound};

/// The lowest level of the last moments and what lay around it.
#[derive(Debug, Clone, Copy)]
struct Valley {
    hops: usize,
    level_db: f64,
    end: i64,
    fall_db: f64,
    rise_db: f64,
}

impl Segmenter {
    /// Hears the same pitch begin again: by its level, or by a break in the phase; true when it did.
    pub(super) fn try_repeat(&mut self, look: &Look, sound: Sound<'_>, tell: &mut dyn FnMut(&Told)) -> bool {
        let Some(note) = self.open.as_ref() else { return false };
        let rules = &self.rules;
        let same = look.voiced && (look.semitone() - note.reference).abs() < 0.01 * rules.repeat_cents;
        if !same || look.steady_db < note.loudest_db - rules.repeat_back {
            return false;
        }
        let Some(valley) = self.valley(look) else { return false };
        if valley.end - note.onset < self.clock.ms(rules.repeat_valley_ms) {
            return false;
        }
        if !self.level_repeats(&valley) && !self.phase_breaks(look, &valley) {
            return false;
        }
        let period = look.best.period;
        let pitch = note.reference;
        let earliest = note.onset + self.clock.ms(20.0);
        let limit = (valley.end - self.clock.ms(30.0) - period as i64).max(earliest);
        let place = Where { limit, from: valley.end - period as i64, to: look.end, period };
        let onset = attack(sound, &self.clock, rules, place).onset;
        self.close(onset, sound, tell);
        let note = self.begin(onset, look, pitch);
        note.attacked = true;
        note.dated = false;
        note.limit = limit;
        note.opened = look.number - valley.hops as i64;
        true
    }

    fn valley(&self, look: &Look) -> Option<Valley> {
        let note = self.open.as_ref()?;
        let period = look.best.period;
        let hold = self.clock.hops(self.rules.repeat_hold_ms);
        let span = self.clock.hops_of(self.clock.ms(self.rules.repeat_ms) as f64 + period) + hold;
        let hops = (0..span).filter(|i| self.looks.ago(*i).is_some()).min_by(|a, b| {
            let level = |i: usize| self.looks.ago(i).map_or(0.0, |l| l.steady_db);
            level(*a).total_cmp(&level(*b))
        })?;
        let lowest = self.looks.ago(hops)?;
        let held = self.looks.newest(hold).map(|l| l.steady_db).fold(f64::INFINITY, f64::min);
        let before = self.clock.hops_of((lowest.end - note.onset).max(0) as f64).min(self.clock.hops(100.0));
        let high = (hops..=hops + before).filter_map(|i| self.looks.ago(i)).map(|l| l.steady_db).fold(-200.0, f64::max);
        let end = lowest.end - (period as i64).max(self.clock.ms(4.0)) / 2;
        Some(Valley {
            hops,
            level_db: lowest.steady_db,
            end,
            fall_db: high - lowest.steady_db,
            rise_db: held - lowest.steady_db,
        })
    }

    /// The clearest of the looks before the valley less the least clear since: how much the period was lost.
    fn lost_clarity(&self, valley: &Valley) -> (f64, f64) {
        let span = valley.hops + self.clock.hops(60.0);
        let before = (valley.hops..span).filter_map(|i| self.looks.ago(i)).map(|l| l.best.clarity).fold(0.0, f64::max);
        let least = self.looks.newest(valley.hops + 4).map(|l| l.best.clarity).fold(1.0, f64::min);
        (before, before - least)
    }

    fn level_repeats(&self, valley: &Valley) -> bool {
        let Some(note) = self.open.as_ref() else { return false };
        let rules = &self.rules;
        let (_, lost) = self.lost_clarity(valley);
        let age_ms = (valley.end - note.onset) as f64 / self.clock.heard_hz * 1000.0;
        let fresh = rules.repeat_fresh * (1.0 - age_ms / rules.repeat_fresh_ms).max(0.0);
        let dip = if lost >= rules.repeat_dip { 0.0 } else { rules.repeat_no_dip };
        valley.fall_db >= rules.repeat_fall && valley.rise_db >= rules.repeat_rise + dip + fresh
    }

    fn phase_breaks(&self, look: &Look, valley: &Valley) -> bool {
        let rules = &self.rules;
        let (before, lost) = self.lost_clarity(valley);
        before > rules.break_before
            && lost >= rules.break_fall
            && look.best.clarity >= rules.break_after
            && look.steady_db - valley.level_db >= rules.break_rise
    }
}
