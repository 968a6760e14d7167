use super::super::heard::{HeardNote, Told};
use super::super::look::Look;
use super::centre::{Centre, centre};
use super::onset::dated;
use super::open::OpenNote;
use super::{Segmenter, Sound};
use crate::units::{Cents, Decibels};

impl Segmenter {
    /// Tells the open note once its pitch has come to rest, or when it has sounded long enough to be told anyway.
    pub(super) fn try_tell(&mut self, look: &Look, tell: &mut dyn FnMut(&Told)) {
        let rules = &self.rules;
        let Some(note) = self.open.as_ref() else { return };
        if note.told.is_some() {
            return;
        }
        let period = self.clock.period(note.reference);
        let since = look.end - note.opened_end;
        let late = since >= self.clock.ms(rules.tell_latest_ms).max((2.0 * period) as i64);
        let frames = (rules.tell_frames as usize).max(self.clock.hops_of(period));
        let middle = self.recent_pitch(5.min(frames));
        let long = period > self.clock.ms(rules.tell_long_ms) as f64;
        let widest = if long { rules.tell_long_range } else { rules.tell_range };
        let calm = self.range(note, frames).is_some_and(|range| range * 100.0 < widest)
            && (middle - note.reference).abs() * 100.0 < rules.tell_near;
        if !self.may_tell(note, look, calm, late) {
            return;
        }
        let pitch = if calm { self.recent_pitch(5) } else { note.reference };
        let end = look.end;
        let onset = self.swell(note).unwrap_or(note.onset);
        if let Some(note) = self.open.as_mut() {
            note.onset = onset;
            note.told = Some((end, pitch));
            note.told_onset = note.onset;
        }
        if let Some(note) = self.open.as_ref() {
            tell(&Told::Began(self.words(note, end, pitch, None)));
        }
    }

    /// The range of the newest pitches, half steps, where so many of them are the note's own.
    pub(super) fn range(&self, note: &OpenNote, looks: usize) -> Option<f64> {
        let own = |l: &&Look| l.voiced && l.number >= note.opened;
        let pitches = || self.looks.newest(looks).take_while(own).map(Look::semitone);
        let range = pitches().fold(f64::NEG_INFINITY, f64::max) - pitches().fold(f64::INFINITY, f64::min);
        (pitches().count() == looks).then_some(range)
    }

    /// The median of the newest pitches, at most nine.
    fn recent_pitch(&self, count: usize) -> f64 {
        let mut pitches = [0.0; 9];
        let mut filled = 0;
        for (slot, look) in pitches.iter_mut().zip(self.looks.newest(count.min(9)).filter(|l| l.voiced)) {
            *slot = look.semitone();
            filled += 1;
        }
        let pitches = &mut pitches[..filled];
        pitches.sort_unstable_by(f64::total_cmp);
        pitches.get(filled / 2).copied().unwrap_or_default()
    }

    pub(super) fn say_mended(&mut self, look: &Look, _sound: Sound<'_>, tell: &mut dyn FnMut(&Told)) {
        if let Some(note) = self.open.as_ref() {
            tell(&Told::Mended(self.words(note, look.end, note.reference, None)));
        }
    }

    /// Final values: the onset dated by all that was heard, the centre of the steady middle, a second opinion.
    pub(super) fn say_ended(&mut self, note: &mut OpenNote, sound: Sound<'_>, tell: &mut dyn FnMut(&Told)) {
        let end = self.looks.ago(0).map_or(0, |look| look.end);
        let release = note.release.unwrap_or(end);
        if !note.dated {
            let period = self.clock.period(note.reference);
            note.onset = dated(note.onset, note.limit, release, period, sound, &self.clock, &self.rules);
            note.dated = true;
        }
        let mut centre = centre(note, release);
        if self.spoke_low(note, release) {
            centre.semitone += 12.0;
        }
        let pitch = centre.semitone;
        if note.told.is_none() && self.was_no_note(note, release) {
            self.numbers -= 1;
            return;
        }
        if note.told.is_none() {
            note.told = Some((end, pitch));
            tell(&Told::Began(self.words(note, end, pitch, Some(centre))));
        }
        let mut words = self.words(note, release, pitch, Some(centre));
        words.confidence *= self.opinion.agreement(sound.bands, &self.clock, (note.onset, release), pitch);
        tell(&Told::Ended(words));
    }

    fn words(&self, note: &OpenNote, until: i64, pitch: f64, centre: Option<Centre>) -> HeardNote {
        let (announced, announced_pitch) = note.told.unwrap_or((until, pitch));
        let onset = self.clock.at(note.onset);
        let release = self.clock.at(until).max(onset);
        let long = release.0 - onset.0 >= 0.08;
        let clear = ((note.clarity() - 0.7) / 0.25).clamp(0.0, 1.0);
        let periods = (until - note.onset) as f64 / self.clock.period(note.reference);
        HeardNote {
            number: note.number,
            onset,
            release,
            pitch: self.midi(pitch),
            spread: centre.filter(|_| long).map(|c| Cents(c.spread * 100.0)),
            loudness: Decibels(note.loudest_db),
            confidence: clear * (periods / 4.0).clamp(0.25, 1.0),
            announced: self.clock.known(announced),
            announced_pitch: self.midi(announced_pitch),
        }
    }
}
