use super::super::analysis_frame::{AnalysisFrame, Candidate};
use super::super::note_event::NoteEvent;
use super::onset::{AttackSearch, attack, change};
use super::open_note::OpenNote;
use super::{Segmenter, SignalView};

/// A new pitch that has lasted long enough to be a note of its own.
#[derive(Debug, Clone, Copy)]
struct Arrival {
    /// Mean pitch of the newest frames, half steps above A4 = 440 Hz.
    pitch: f64,
    /// Hops since the middle of the change.
    hops: usize,
    /// Number of the newest frames that agree on the pitch.
    steady: usize,
    /// The frame at the middle of the change.
    middle: AnalysisFrame,
}

impl Segmenter {
    /// Finds a new pitch in the open note and corrects the note, goes back to the one that waits, or begins the next; true when it
    /// did.
    pub(super) fn try_split(
        &mut self,
        frame: &AnalysisFrame,
        sound: SignalView<'_>,
        on_event: &mut dyn FnMut(&NoteEvent),
    ) -> bool {
        let Some(arrival) = self.arrival(frame) else { return false };
        let Some(note) = self.open.as_ref() else { return false };
        let old = self.time.period(note.reference);
        let new = frame.best.period;
        let all = sound.bands.all();
        let earliest = note.onset;
        let (dip, rise) = self.dip_and_rise(arrival.hops, old.max(new), sound);
        let attacked = dip >= 6.0 || rise > 12.0;
        let boundary = if attacked {
            let limit = arrival.middle.begin().max((earliest + arrival.middle.end) / 2);
            let place = AttackSearch { limit, from: limit, to: frame.end, period: new };
            attack(sound, &self.time, &self.rules, place).onset
        } else {
            change(all, old, new, self.change_from(&arrival, earliest), arrival.middle.end)
        };
        if self.belongs_to_the_same_note(&arrival, boundary, dip) {
            self.correct(frame, arrival.pitch, on_event);
            self.remember(arrival.hops);
            return true;
        }
        if !attacked && self.swings_back(frame, arrival.pitch, arrival.hops) {
            return true;
        }
        let limit = boundary - self.time.ms(30.0);
        let settle = self.rules.settle_frames;
        if attacked {
            self.close(boundary, sound, on_event);
        } else {
            self.suspend(boundary, sound, on_event);
        }
        let note = self.begin(boundary, frame, arrival.pitch);
        note.attacked = attacked;
        note.calm(arrival.steady, settle);
        note.dated = !attacked;
        note.limit = limit.max(earliest + 1);
        note.opened = frame.number - arrival.hops as i64 + 1;
        self.remember(arrival.hops);
        true
    }

    /// Where a change may lie at the earliest: `change_back_ms` before the frames that show it, since in a room the old pitch rings on over
    /// the new one.
    fn change_from(&self, arrival: &Arrival, earliest: i64) -> i64 {
        (arrival.middle.begin() - self.time.ms(self.rules.change_back_ms)).max(earliest + 1)
    }

    /// The pitch away from the note's on which the newest frames agree; `None` where they agree on none, or not for long enough.
    fn arrival(&self, frame: &AnalysisFrame) -> Option<Arrival> {
        let note = self.open.as_ref()?;
        let rules = &self.rules;
        let away = frame.semitone() - note.reference;
        let faint = frame.steady_db < note.loudest_db - rules.split_under_peak;
        if !frame.voiced || faint || away.abs() < self.own_reach(note, frame) {
            return None;
        }
        let past_middle =
            |l: &AnalysisFrame| l.voiced && (l.semitone() - note.reference) * away.signum() > 0.5 * away.abs();
        let hops = self.frames.newest(128).take_while(|l| past_middle(l)).count();
        let mut wanted = self.time.hops(rules.split_ms);
        let octaves = [12.0, 19.0, 24.0, 28.0, 31.0, 36.0].iter().any(|o| (away.abs() - o).abs() < 0.6);
        if octaves {
            wanted += self.time.hops(rules.split_octave_ms);
        }
        if away > 17.0 {
            wanted *= 2;
        }
        let steady = wanted;
        if self.looks_like_vibrato(hops) {
            wanted = wanted.max(self.time.hops(rules.vibrato_ms));
        }
        if hops < wanted {
            return None;
        }
        let newest = || self.frames.newest(steady);
        let low = newest().map(AnalysisFrame::semitone).fold(f64::INFINITY, f64::min);
        let high = newest().map(AnalysisFrame::semitone).fold(f64::NEG_INFINITY, f64::max);
        let clarity = newest().map(|l| l.best.clarity).sum::<f64>() / steady as f64;
        if (high - low) * 100.0 > rules.split_range || clarity <= rules.split_clarity {
            return None;
        }
        let pitch = newest().map(AnalysisFrame::semitone).sum::<f64>() / steady as f64;
        Some(Arrival { pitch, hops, steady, middle: *self.frames.ago(hops - 1)? })
    }

    /// How far from the note's pitch a frame may lie and still be part of the note, half steps: further for a young note, which has not
    /// come to rest.
    pub(super) fn own_reach(&self, note: &OpenNote, frame: &AnalysisFrame) -> f64 {
        let young = frame.end - note.onset < self.time.ms(self.rules.split_young_ms);
        0.01 * if young { self.rules.split_young_cents } else { self.rules.split_cents }
    }

    /// Whether the change may be the swing of a vibrato: it came without a quick step and without a loss of clarity.
    fn looks_like_vibrato(&self, hops: usize) -> bool {
        let span = hops + self.time.hops(30.0);
        (0..span).all(|i| {
            let (Some(a), Some(b)) = (self.frames.ago(i), self.frames.ago(i + 2)) else { return false };
            let step = (a.semitone() - b.semitone()).abs() * 100.0;
            a.voiced && step < self.rules.vibrato_step && a.best.clarity >= self.rules.vibrato_clarity
        })
    }

    /// How far the level fell around the change, below the softer of its two sides, and how much louder it is after the change than before,
    /// dB.
    fn dip_and_rise(&self, hops: usize, period: f64, sound: SignalView<'_>) -> (f64, f64) {
        let span = hops + self.time.hops_of(period + self.time.ms(30.0) as f64);
        let level = |i: usize| self.level_ago(i, period, sound);
        let (mut least_db, mut least) = (f64::INFINITY, 0);
        for i in 0..span {
            if level(i) < least_db {
                (least_db, least) = (level(i), i);
            }
        }
        let after = (0..=least).map(level).fold(-200.0, f64::max);
        let before = (least..span + 10).map(level).fold(-200.0, f64::max);
        (before.min(after) - least_db, after - before)
    }

    /// Whether the first pitch was wrong or still on its way, so that the note stays one note.
    fn belongs_to_the_same_note(&self, arrival: &Arrival, boundary: i64, dip: f64) -> bool {
        let Some(note) = self.open.as_ref() else { return false };
        let rules = &self.rules;
        let age = boundary - note.onset;
        let away = arrival.pitch - note.reference;
        let young_enough = age < self.time.ms(rules.already_ms);
        let settled = note.settled || age > self.time.ms(rules.settle_ms);
        !settled
            || age < self.time.ms(rules.correct_ms)
            || (young_enough && (away.abs() - 12.0).abs() < 0.6 && self.octave_is_known(arrival))
            || (young_enough && away > 0.0 && self.was_already_there(arrival))
            || (dip < 6.0 && age < self.time.ms(rules.glide_ms) && self.glides(note, arrival.pitch, arrival.hops))
    }

    /// Whether the odd partials have said since the change which of two octaves the note is.
    fn octave_is_known(&self, arrival: &Arrival) -> bool {
        self.frames.newest(arrival.hops).any(|frame| frame.octave_known)
    }

    /// Whether a new, higher pitch could be heard in enough of the old note's frames (`already_share`): then a partial was taken for the
    /// note, or the note for a partial.
    fn was_already_there(&self, arrival: &Arrival) -> bool {
        self.was_heard(arrival, |candidate, best| candidate.clarity >= self.rules.already_ratio * best.clarity)
    }

    /// Whether enough of the old note's frames had a candidate at the new pitch that was good enough beside the best.
    fn was_heard(&self, arrival: &Arrival, enough: impl Fn(&Candidate, &Candidate) -> bool) -> bool {
        let (Some(note), Some(newest)) = (self.open.as_ref(), self.frames.ago(0)) else { return false };
        let age = (newest.number - note.opened).max(0) as usize;
        let near = |c: &&Candidate| (c.semitone - arrival.pitch).abs() < 0.5;
        let (mut with, mut of) = (0.0, 0.0);
        for frame in (arrival.hops..=age).filter_map(|i| self.frames.ago(i)) {
            of += 1.0;
            if frame.candidates().iter().filter(near).any(|c| enough(c, &frame.best)) {
                with += 1.0;
            }
        }
        of > 0.0 && with >= self.rules.already_share * of
    }

    /// Whether a short note spoke an octave low: a reed or a string may do so before it comes to its note, and a short note is over by
    /// then. The octave above was hardly there at first (`octave_absent`), and enough frames of the note (`octave_share`) have it nearly as
    /// clear as their own pitch (`octave_ratio`).
    pub(super) fn spoke_low(&self, note: &OpenNote, release: i64) -> bool {
        let rules = &self.rules;
        if release - note.onset >= self.time.ms(rules.already_ms) {
            return false;
        }
        let inside = |l: &&AnalysisFrame| l.begin() >= note.onset && l.end <= release;
        let near = |c: &Candidate, pitch: f64| (c.semitone - pitch).abs() < 0.5;
        let above = |l: &AnalysisFrame| {
            let octaves = l.candidates().iter().filter(|c| near(c, note.reference + 12.0));
            octaves.map(|c| c.clarity / l.best.clarity).fold(0.0, f64::max)
        };
        // Once the octave above is known to be the note, it is the best pitch of its frame.
        let own = |l: &&AnalysisFrame| {
            inside(l) && (near(&l.best, note.reference) || l.octave_known && near(&l.best, note.reference + 12.0))
        };
        let frames = || self.frames.newest(usize::MAX).filter(own);
        let of = frames().count();
        let with = frames().filter(|l| above(l) >= rules.octave_ratio).count();
        let at_first = frames().last().map_or(1.0, above);
        at_first < rules.octave_absent && with as f64 >= rules.octave_share * of as f64
    }

    fn correct(&mut self, frame: &AnalysisFrame, pitch: f64, on_event: &mut dyn FnMut(&NoteEvent)) {
        let Some(note) = self.open.as_mut() else { return };
        if (pitch - note.reference).abs() > 11.0 {
            note.octave_corrected = frame.end;
        }
        note.correct(pitch);
        note.loudest_db = note.loudest_db.max(frame.steady_db);
        note.last_voiced = frame.end;
        note.hear(frame);
        if note.announced.is_some() {
            self.report_revision(frame, on_event);
        }
    }
}
