use super::super::analysis_frame::AnalysisFrame;
use super::super::note_event::{HeardNote, NoteEvent};
use super::centre::{PitchCentre, centre};
use super::onset::dated;
use super::open_note::OpenNote;
use super::{Segmenter, SignalView};
use crate::units::{Cents, Decibels};

impl Segmenter {
    /// Announces the open note, where it is confirmed, once its pitch has come to rest, or after the longest time that a player can wait
    /// for it; a faint note may wait longer ([`Segmenter::may_announce`]).
    pub(super) fn try_announce(&mut self, frame: &AnalysisFrame, on_event: &mut dyn FnMut(&NoteEvent)) {
        let rules = &self.rules;
        let Some(note) = self.open.as_ref() else { return };
        if note.announced.is_some() || !note.confirmed {
            return;
        }
        let period = self.time.period(note.reference);
        let since = frame.end - note.opened_end;
        let late = since >= self.time.ms(rules.announce_latest_ms).max((2.0 * period) as i64);
        let frames = (rules.announce_frames as usize).max(self.time.hops_of(period));
        let middle = self.recent_pitch(5.min(frames));
        let long = period > self.time.ms(rules.announce_long_ms) as f64;
        let widest = if long { rules.announce_long_range } else { rules.announce_range };
        let calm = self.range(note, frames).is_some_and(|range| range * 100.0 < widest)
            && (middle - note.reference).abs() * 100.0 < rules.announce_near;
        if !self.may_announce(note, frame, calm, late) {
            return;
        }
        let pitch = if calm { self.recent_pitch(5) } else { note.reference };
        let end = frame.end;
        let onset = self.swell(note).unwrap_or(note.onset);
        if let Some(note) = self.open.as_mut() {
            note.onset = onset;
            note.announced = Some((end, pitch));
        }
        if let Some(note) = self.open.as_ref() {
            on_event(&NoteEvent::On(self.heard_note(note, end, pitch, None)));
        }
    }

    /// The range of pitch of the newest `frames` frames, in half steps; `None` unless all of them have a pitch and belong to the note.
    pub(super) fn range(&self, note: &OpenNote, frames: usize) -> Option<f64> {
        let own = |l: &&AnalysisFrame| l.voiced && l.number >= note.opened;
        let pitches = || self.frames.newest(frames).take_while(own).map(AnalysisFrame::semitone);
        let range = pitches().fold(f64::NEG_INFINITY, f64::max) - pitches().fold(f64::INFINITY, f64::min);
        (pitches().count() == frames).then_some(range)
    }

    /// The median of the pitches of the newest `count` frames, at most nine of them; 0 where none of them has a pitch. Of an even number it
    /// is the upper of the two in the middle.
    fn recent_pitch(&self, count: usize) -> f64 {
        let mut pitches = [0.0; 9];
        let mut filled = 0;
        for (slot, frame) in pitches.iter_mut().zip(self.frames.newest(count.min(9)).filter(|l| l.voiced)) {
            *slot = frame.semitone();
            filled += 1;
        }
        let pitches = &mut pitches[..filled];
        pitches.sort_unstable_by(f64::total_cmp);
        pitches.get(filled / 2).copied().unwrap_or_default()
    }

    /// Reports the open note as it stands, if there is one.
    pub(super) fn report_revision(&mut self, frame: &AnalysisFrame, on_event: &mut dyn FnMut(&NoteEvent)) {
        if let Some(note) = self.open.as_ref() {
            on_event(&NoteEvent::Revised(self.heard_note(note, frame.end, note.reference, None)));
        }
    }

    /// Reports that a note is over, with its final values: the onset dated by all that was heard, the pitch centre of the steady
    /// middle, and a confidence that YIN has checked. A note that was not announced yet is announced first, or dropped where it was
    /// not confirmed or was no note.
    pub(super) fn report_off(
        &mut self,
        note: &mut OpenNote,
        sound: SignalView<'_>,
        on_event: &mut dyn FnMut(&NoteEvent),
    ) {
        let end = self.frames.ago(0).map_or(0, |frame| frame.end);
        let release = note.release.unwrap_or(end);
        if !note.dated {
            let period = self.time.period(note.reference);
            note.onset = dated(note.onset, note.limit, release, period, sound, &self.time, &self.rules);
            note.dated = true;
        }
        let mut centre = centre(note, release, self.time.heard_hz);
        if self.spoke_low(note, release) {
            centre.semitone += 12.0;
        }
        let pitch = centre.semitone;
        if note.announced.is_none() && (!note.confirmed || self.was_no_note(note, release)) {
            // A note that waited while the next one began leaves its number unused: that one has the next already.
            if note.number + 1 == self.numbers {
                self.numbers -= 1;
            }
            return;
        }
        if note.announced.is_none() {
            note.announced = Some((end, pitch));
            on_event(&NoteEvent::On(self.heard_note(note, end, pitch, Some(centre))));
        }
        let mut heard_note = self.heard_note(note, release, pitch, Some(centre));
        let agrees = self.yin_check.agrees(sound.bands, &self.time, (note.onset, release), pitch);
        heard_note.confidence = self.confidence(note, centre.spread, agrees);
        on_event(&NoteEvent::Off(heard_note));
    }

    fn heard_note(&self, note: &OpenNote, until: i64, pitch: f64, centre: Option<PitchCentre>) -> HeardNote {
        let (announced, announced_pitch) = note.announced.unwrap_or((until, pitch));
        let onset = self.time.at(note.onset);
        let release = self.time.at(until).max(onset);
        let long = release.0 - onset.0 >= 0.08;
        HeardNote {
            number: note.number,
            onset,
            release,
            pitch: self.midi(pitch),
            spread: centre.filter(|_| long).map(|c| Cents(c.spread * 100.0)),
            loudness: Decibels(note.loudest_db),
            confidence: self.confidence(note, centre.map_or(0.0, |c| c.spread), true),
            announced: self.time.known(announced),
            announced_pitch: self.midi(announced_pitch),
        }
    }
}
