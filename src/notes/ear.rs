use super::analysis_frame::AnalysisFrame;
use super::note_event::{EarSettings, Frame, HeardNote, NoteEvent};
use super::onset_detector::{INPUTS, OnsetDetector};
use super::rules::Rules;
use super::segmenter::{Segmenter, SignalView};
use super::tracker::Tracker;
use crate::sound::Clip;
use crate::units::{Decibels, Seconds};

/// Which ear this is: a record names the one that heard it. It rises by one whenever the ear may hear the same sound otherwise.
/// 1: rules alone; 2: a learned detector confirms where a note began.
/// 3: soft odd partials tell the octave; a swing of a vibrato that the detector does not confirm belongs to the note before.
/// 4: a larger detector, learnt from wide vibrato too; the pitch of a note that swings is the middle of its swings.
/// 5: the confidence in a note is the share of such notes that are right; rules that changed nothing are gone.
/// 6: the detector alone tells a repeated note where the level dips.
pub const EAR_VERSION: u32 = 6;

/// The ear: samples in, frames and notes out, as soon as they are known.
///
/// Blocks may have any length; what the ear reports does not depend on how the stream was cut into blocks. After construction nothing is
/// allocated.
#[derive(Debug)]
pub struct Ear {
    /// From samples to frames.
    tracker: Tracker,
    /// From frames to notes.
    segmenter: Segmenter,
    /// Whether a note truly began.
    detector: OnsetDetector,
    /// The numbers to decide by.
    rules: Rules,
    /// Number of samples of the stream so far.
    taken: u64,
    /// Samples of the stream a second.
    per_second: f64,
    /// Level of the newest hop.
    loudness: Decibels,
}

impl Ear {
    /// An ear for one stream.
    #[must_use]
    pub fn new(settings: &EarSettings) -> Self {
        Self::with_rules(settings, &Rules::default())
    }

    /// An ear with other rules than the measured ones, to compare them.
    #[must_use]
    pub fn with_rules(settings: &EarSettings, rules: &Rules) -> Self {
        let tracker = Tracker::new(settings, rules);
        let segmenter = Segmenter::new(tracker.time, rules, settings.a4);
        let hop = tracker.time.hop;
        let (per_second, loudness) = (settings.rate.per_second(), Decibels(-200.0));
        Self { tracker, segmenter, detector: OnsetDetector::new(hop), rules: *rules, taken: 0, per_second, loudness }
    }

    /// Hears the next block, mono, full scale at 1; what is not a number is taken as silence. `on_frame` is called every few
    /// milliseconds, `on_note` whenever something about a note becomes known.
    pub fn hear(&mut self, samples: &[f32], on_frame: &mut dyn FnMut(&Frame), on_note: &mut dyn FnMut(&NoteEvent)) {
        let mut rest = samples;
        while !rest.is_empty() {
            let (count, hop) = self.tracker.bands.take(rest);
            self.taken += count as u64;
            rest = &rest[count..];
            if hop {
                self.hop(on_frame, on_note);
            }
        }
    }

    fn hop(&mut self, on_frame: &mut dyn FnMut(&Frame), on_note: &mut dyn FnMut(&NoteEvent)) {
        let (sounding, young) = (self.segmenter.sounding(), self.segmenter.is_young());
        let frame = self.tracker.analyse(sounding, young);
        self.loudness = Decibels(frame.level_db);
        on_frame(&self.frame(&frame));
        self.detector.hear(&frame, &self.tracker, &self.rules);
        let sound =
            SignalView { bands: &self.tracker.bands, background: &self.tracker.background, detector: &self.detector };
        self.segmenter.step(frame, sound, on_note);
    }

    fn frame(&self, frame: &AnalysisFrame) -> Frame {
        let time = &self.tracker.time;
        let audible = frame.voiced && frame.steady_db > self.tracker.background.floor_db() + 3.0;
        let reach = frame.end - frame.begin();
        Frame {
            at: time.at(frame.end - if audible { reach / 2 } else { time.hop as i64 / 2 }),
            pitch: audible.then(|| super::time_base::TimeBase::hertz(frame.semitone())),
            clarity: frame.best.clarity.clamp(0.0, 1.0),
            loudness: Decibels(frame.level_db),
            known: time.known(frame.end),
        }
    }

    /// Ends the stream, and with it the note that sounds.
    pub fn finish(&mut self, _on_frame: &mut dyn FnMut(&Frame), on_note: &mut dyn FnMut(&NoteEvent)) {
        let sound =
            SignalView { bands: &self.tracker.bands, background: &self.tracker.background, detector: &self.detector };
        self.segmenter.finish(sound, on_note);
    }

    /// What the onset detector was given of the newest frame: what its weights are learnt from.
    #[must_use]
    pub const fn detector_inputs(&self) -> &[f32; INPUTS] {
        self.detector.inputs()
    }

    /// How much of the stream was heard.
    #[must_use]
    pub fn now(&self) -> Seconds {
        Seconds(self.taken as f64 / self.per_second)
    }

    /// The time from one frame to the next. The first frame comes when this much of the stream was heard.
    #[must_use]
    pub fn stride(&self) -> Seconds {
        let time = &self.tracker.time;
        time.known(time.hop as i64)
    }

    /// The learnt level of the room when nobody plays.
    #[must_use]
    pub fn floor(&self) -> Decibels {
        Decibels(self.tracker.background.floor_db())
    }

    /// The level of the newest few milliseconds.
    #[must_use]
    pub const fn loudness(&self) -> Decibels {
        self.loudness
    }
}

/// Every note of a clip, in the order of their onsets. The settings' rate is replaced by the clip's own.
#[must_use]
pub fn hear_clip(settings: &EarSettings, clip: &Clip) -> Vec<HeardNote> {
    let mut ear = Ear::new(&EarSettings { rate: clip.rate, ..*settings });
    let mut notes = Vec::new();
    let mut keep = |announced: &NoteEvent| {
        if let NoteEvent::Off(note) = announced {
            notes.push(*note);
        }
    };
    ear.hear(&clip.samples, &mut |_| (), &mut keep);
    ear.finish(&mut |_| (), &mut keep);
    notes
}
