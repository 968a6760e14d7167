use super::super::analysis_frame::AnalysisFrame;
use super::Segmenter;
use super::open_note::OpenNote;

/// What lies between two notes and is softer than they are: a consonant, a tongue, a slide away, the beginning of an attack.
impl Segmenter {
    /// Whether it is time to announce a note: once its pitch is at rest (`calm`) or at the latest moment (`late`). A faint note (one that
    /// joins on to the note before and is softer by `faint_under`) must also have lasted, or have been at rest for longer. A note of long
    /// periods is never faint: too few of them are heard.
    pub(super) fn may_announce(&self, note: &OpenNote, frame: &AnalysisFrame, calm: bool, late: bool) -> bool {
        let rules = &self.rules;
        let period = self.time.period(note.reference);
        let long = period > self.time.ms(rules.faint_period_ms) as f64;
        if long || !self.is_joined(note) || note.loudest_db >= self.loudest_db - rules.faint_under {
            return calm || late;
        }
        let age = frame.end - note.onset;
        let wanted = self.time.ms(if note.attacked { rules.faint_attack_ms } else { rules.faint_ms });
        let lasted = age >= wanted.min((rules.faint_periods * period) as i64);
        (calm && (lasted || self.rests(note))) || (late && age >= self.time.ms(rules.faint_latest_ms))
    }

    /// Whether a slurred note has kept its pitch for longer than any consonant does.
    fn rests(&self, note: &OpenNote) -> bool {
        let range = self.range(note, self.rules.faint_frames as usize);
        !note.attacked && range.is_some_and(|range| range * 100.0 < self.rules.announce_range)
    }

    /// Whether a note that ended before it was announced was none: where it is joined to another and softer than that by
    /// `unannounced_under`.
    pub(super) fn was_no_note(&self, note: &OpenNote, release: i64) -> bool {
        let rules = &self.rules;
        if !self.is_joined(note) {
            return false;
        }
        let levels = || self.levels_in(note, release).map(|l| l.steady_db);
        let level = if note.attacked {
            levels().fold(-200.0, f64::max)
        } else {
            levels().sum::<f64>() / levels().count().max(1) as f64
        };
        level < self.loudest_db - rules.unannounced_under
    }

    /// The position at which a note that began without an attack swells after all: its pitch changed within a consonant, or
    /// before the tongue. `None` where it does not swell.
    pub(super) fn swell(&self, note: &OpenNote) -> Option<i64> {
        let rules = &self.rules;
        if note.attacked {
            return None;
        }
        let levels = || self.levels_in(note, i64::MAX);
        let low = levels().min_by(|a, b| a.steady_db.total_cmp(&b.steady_db))?;
        let since = || levels().take_while(|l| l.end > low.end);
        let rise = since().map(|l| l.steady_db).fold(-200.0, f64::max) - low.steady_db;
        let fell = low.steady_db <= self.loudest_db - rules.swell_fall && rise >= rules.swell_rise;
        let sagged = (low.semitone() - note.reference).abs() >= 0.01 * rules.swell_cents;
        if !fell || !sagged || !low.starts_in(note.onset, rules) {
            return None;
        }
        let halfway = since().filter(|l| l.steady_db >= low.steady_db + 0.5 * rise).last()?;
        let onset = halfway.end - self.level_span(note) / 2;
        let periods = (rules.swell_periods * self.time.period(note.reference)) as i64;
        (onset - note.onset >= self.time.ms(rules.swell_ms).max(periods)).then_some(onset)
    }

    /// Whether the note begins where another one ends.
    fn is_joined(&self, note: &OpenNote) -> bool {
        note.onset - self.let_go_at < self.time.ms(self.rules.faint_joined_ms)
    }

    /// The frames, newest first, whose steady level is all of the note's own sound.
    fn levels_in(&self, note: &OpenNote, release: i64) -> impl Iterator<Item = &AnalysisFrame> {
        let first = note.onset + self.level_span(note);
        self.frames.newest(usize::MAX).skip_while(move |l| l.end > release).take_while(move |l| l.end >= first)
    }

    /// Number of heard samples that a steady level is measured on.
    fn level_span(&self, note: &OpenNote) -> i64 {
        (self.time.period(note.reference) as i64).max(self.time.ms(4.0))
    }
}
