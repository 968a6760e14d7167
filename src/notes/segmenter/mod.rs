//! From frames to notes: where a note begins, changes its pitch, is repeated and ends, and when it is announced.
//!
//! At most one note is open; the note before it may still wait (`swing.rs`). Every hop either continues the open note, corrects it
//! (its first pitch was wrong), splits it (a slur), starts it again (the same pitch, attacked anew) or closes it. Onsets are dated
//! back to where the sound itself began.

mod announcing;
mod centre;
mod confirming;
mod faint;
mod glide;
mod onset;
mod open_note;
mod opening;
mod pitch_run;
mod repeat;
mod split;
mod swing;
mod vibrato;

use super::analysis_frame::{AnalysisFrame, FrameHistory};
use super::background::Background;
use super::bands::Bands;
use super::note_event::NoteEvent;
use super::onset_detector::OnsetDetector;
use super::rules::Rules;
use super::time_base::TimeBase;
use super::yin_check::YinCheck;
use crate::units::{Hertz, Midi};
use open_note::OpenNote;
use pitch_run::PitchRun;

/// What the segmenter may ask of the sound itself.
#[derive(Clone, Copy)]
pub(super) struct SignalView<'a> {
    /// The sound so far.
    pub(super) bands: &'a Bands,
    /// What was learnt of the room.
    pub(super) background: &'a Background,
    /// Where notes truly began.
    pub(super) detector: &'a OnsetDetector,
}

/// The open note and what is needed to decide about it.
#[derive(Debug)]
pub(super) struct Segmenter {
    /// Rates and lengths that follow from the rate of the stream.
    time: TimeBase,
    /// The numbers by which notes are decided.
    rules: Rules,
    /// The reference that pitches are reported against.
    a4: Hertz,
    /// The newest frames.
    frames: FrameHistory,
    /// The note that sounds; `None` between notes.
    open: Option<OpenNote>,
    /// The note before the open one, which waits until it is known whether the open one is a swing of its vibrato.
    suspended: Option<OpenNote>,
    /// Memory for the next notes.
    spare: Vec<OpenNote>,
    /// The second estimate of a pitch.
    yin_check: YinCheck,
    /// The run of frames that may open a note.
    run: PitchRun,
    /// Number of the next note.
    numbers: u32,
    /// Position at which the last note was released, in heard samples. A note that opens afterwards is not dated back before that position;
    /// a note that split the last one off by an attack, or repeated it, may be, as far as its own `limit`.
    let_go_at: i64,
    /// Pitch of the last note, half steps above A4 = 440 Hz.
    let_go_pitch: f64,
    /// Lowest level since the last note was released, dB.
    lowest_db: f64,
    /// Loudest level of the last note, dB.
    loudest_db: f64,
}

impl Segmenter {
    /// No note is open; `a4` is the reference pitch.
    pub(super) fn new(time: TimeBase, rules: &Rules, a4: Hertz) -> Self {
        Self {
            time,
            rules: *rules,
            a4,
            frames: FrameHistory::new(),
            open: None,
            suspended: None,
            spare: vec![OpenNote::new(), OpenNote::new()],
            yin_check: YinCheck::new(),
            run: PitchRun::default(),
            numbers: 0,
            let_go_at: i64::MIN / 2,
            let_go_pitch: f64::INFINITY,
            lowest_db: -200.0,
            loudest_db: -200.0,
        }
    }

    /// The pitch of the open note, half steps above A4 = 440 Hz.
    pub(super) fn sounding(&self) -> Option<f64> {
        self.open.as_ref().map(|note| note.reference)
    }

    /// Whether the octave of the open note may still be corrected; true where no note is open.
    pub(super) fn is_young(&self) -> bool {
        let (Some(note), Some(newest)) = (self.open.as_ref(), self.frames.ago(0)) else { return true };
        newest.end - note.onset < self.time.ms(self.rules.already_ms)
    }

    /// Takes in the newest frame: opens, continues, corrects, splits, repeats or closes the note, and reports what changed.
    pub(super) fn step(&mut self, frame: AnalysisFrame, sound: SignalView<'_>, on_event: &mut dyn FnMut(&NoteEvent)) {
        self.run.add(&frame, self.frames.ago(0), &self.rules);
        self.frames.push(frame);
        if self.open.is_none() {
            self.lowest_db = self.lowest_db.min(frame.steady_db);
            self.try_open(&frame, sound);
        } else if !self.try_split(&frame, sound, on_event) && !self.try_repeat(&frame, sound, on_event) {
            self.go_on(&frame);
        }
        self.redate_onset(&frame, sound, on_event);
        self.confirm(sound.detector);
        if self.open.as_ref().is_some_and(|note| note.confirmed) {
            self.let_go(sound, on_event);
        }
        self.try_announce(&frame, on_event);
        self.try_close(&frame, sound, on_event);
    }

    /// Ends the stream, and with it the note that sounds.
    pub(super) fn finish(&mut self, sound: SignalView<'_>, on_event: &mut dyn FnMut(&NoteEvent)) {
        self.close(sound.bands.all().end(), sound, on_event);
    }

    fn go_on(&mut self, frame: &AnalysisFrame) {
        let reach = self.open.as_ref().map_or(0.0, |note| self.own_reach(note, frame));
        let Some(note) = self.open.as_mut() else { return };
        note.loudest_db = note.loudest_db.max(frame.steady_db);
        if !frame.voiced {
            return;
        }
        let away = frame.semitone() - note.reference;
        if away.abs() < reach {
            note.last_voiced = frame.end;
            let share = if note.settled { self.rules.follow_settled } else { self.rules.follow_fresh };
            note.reference += share * away;
            note.hear(frame);
            let calm = away.abs() < 0.01 * self.rules.settle_cents && frame.best.clarity > self.rules.settle_clarity;
            note.near = if calm { note.near + 1 } else { 0 };
            note.settled |= note.near as f64 >= self.rules.settle_frames;
        }
    }

    fn try_close(&mut self, frame: &AnalysisFrame, sound: SignalView<'_>, on_event: &mut dyn FnMut(&NoteEvent)) {
        let Some(note) = self.open.as_ref() else { return };
        let period = self.time.period(note.reference);
        let span = (period.round() as i64).max(self.time.ms(4.0));
        let fallen = frame.steady_db < note.loudest_db - self.rules.release_fall;
        let patience = self.time.ms(self.rules.release_unvoiced_ms) + (2.0 * period) as i64;
        let silent = frame.end - note.last_voiced > patience;
        if fallen {
            self.close(frame.end - span / 2, sound, on_event);
        } else if silent {
            let release = note.last_voiced;
            self.close(release, sound, on_event);
        }
    }

    /// Ends the open note at `release`. Where a note waits, the open one was a swing of it, and both end as one note.
    fn close(&mut self, release: i64, sound: SignalView<'_>, on_event: &mut dyn FnMut(&NoteEvent)) {
        if self.suspended.is_some() {
            self.absorb(release);
            self.open = self.suspended.take();
        }
        let Some(mut note) = self.open.take() else { return };
        note.release = Some(release.max(note.onset + 1));
        self.report_off(&mut note, sound, on_event);
        self.look_back(&note);
        self.spare.push(note);
    }

    /// Keeps of a note that is over what the next one is compared with.
    fn look_back(&mut self, note: &OpenNote) {
        self.let_go_at = note.release.unwrap_or(self.let_go_at);
        self.lowest_db = self.frames.ago(0).map_or(-200.0, |frame| frame.steady_db);
        self.let_go_pitch = note.reference;
        self.loudest_db = note.loudest_db;
        self.run = PitchRun::default();
    }

    /// Opens a note in spare memory, so that nothing is allocated.
    fn begin(&mut self, onset: i64, frame: &AnalysisFrame, pitch: f64) -> &mut OpenNote {
        let mut note = self.spare.pop().or_else(|| self.open.take()).unwrap_or_else(OpenNote::new);
        note.restart(self.numbers, onset, frame, pitch);
        self.numbers += 1;
        self.open.insert(note)
    }

    /// Gives the open note those of the newest `count` frames that lie near its pitch: the note sounded before it was known.
    /// Frames away from its pitch stay out, because a note may begin with the noise of a hammer or a tongue.
    fn remember(&mut self, count: usize) {
        let reach = 0.01 * self.rules.remember_cents;
        let Some(note) = self.open.as_mut() else { return };
        let pitch = note.reference;
        let own = |frame: &&AnalysisFrame| frame.voiced && (frame.semitone() - pitch).abs() < reach;
        for frame in (0..count).rev().filter_map(|hops| self.frames.ago(hops)).filter(own) {
            note.keep(frame);
        }
    }

    fn midi(&self, semitone: f64) -> Midi {
        TimeBase::hertz(semitone).midi(self.a4)
    }
}
