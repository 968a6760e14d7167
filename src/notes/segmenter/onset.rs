use super::super::analysis_frame::AnalysisFrame;
use super::super::note_event::NoteEvent;
use super::super::rules::Rules;
use super::super::sample_history::SampleHistory;
use super::super::time_base::TimeBase;
use super::{Segmenter, SignalView};

/// How far back an onset may lie, ms.
const BACK_MS: f64 = 400.0;
/// Length of the sound over which the level that defines an onset is measured, ms.
const WIDTH_MS: f64 = 3.0;

/// Where an attack began.
#[derive(Debug, Clone, Copy)]
pub(super) struct Attack {
    /// Position of the first rise, in heard samples.
    pub(super) onset: i64,
    /// Whether the sound before was too loud for the first rise to be seen; the onset then is the softest place between.
    pub(super) hidden: bool,
}

/// Where to look for an attack, in heard samples.
#[derive(Debug, Clone, Copy)]
pub(super) struct AttackSearch {
    /// The attack does not begin before this position.
    pub(super) limit: i64,
    /// First position at which the loudest moment may lie.
    pub(super) from: i64,
    /// Last position at which the loudest moment may lie.
    pub(super) to: i64,
    /// Period of the note, in heard samples: gaps in the level up to one period long do not end the search.
    pub(super) period: f64,
}

/// Dates an attack back: from the loudest moment to the first moment at which the sound was within 20 dB (`onset_under_peak`) of the
/// loudest and over the room, across gaps of up to one period (or 3 ms), as one who sees the waveform would mark the onset.
pub(super) fn attack(sound: SignalView<'_>, time: &TimeBase, rules: &Rules, place: AttackSearch) -> Attack {
    let all = sound.bands.all();
    let half = time.ms(WIDTH_MS) / 2;
    let step = time.ms(0.36).max(1);
    let level = |at: i64| all.power(at - half, at + half);
    let limit = place.limit.max(place.to - time.ms(BACK_MS));
    let last = place.to - half;
    let (mut top, mut top_at) = (0.0, last);
    let mut at = place.from.max(limit);
    while at <= last {
        if level(at) > top {
            (top, top_at) = (level(at), at);
        }
        at += step;
    }
    let under = top * 10f64.powf(-0.1 * rules.onset_under_peak);
    let threshold = under.max((1.2 * sound.background.largest_power()).min(0.15 * top));
    let gap = (place.period as i64).max(2 * half);
    let mut onset = top_at;
    let mut at = top_at;
    while at > limit && onset - at <= gap {
        at -= step;
        if level(at) >= threshold {
            onset = at;
        }
    }
    if onset - at <= gap && limit > i64::MIN / 4 {
        return Attack { onset: valley(all, limit, top_at, (place.period as i64).max(2 * half), step), hidden: true };
    }
    Attack { onset: onset.max(limit), hidden: false }
}

/// The softest place between two positions.
fn valley(all: &SampleHistory, from: i64, to: i64, width: i64, step: i64) -> i64 {
    let (mut least, mut least_at) = (f64::INFINITY, from);
    let mut at = from;
    while at <= to {
        let power = all.power(at - width / 2, at + width / 2);
        if power <= least {
            (least, least_at) = (power, at);
        }
        at += step;
    }
    least_at
}

/// Where a slur changes from one period to another: the place before which the sound is best predicted by the old period from its
/// past, and after which by the new period from its future. The place lies between `from` and `to`, and at least a new period
/// before the end of the sound.
pub(super) fn change(all: &SampleHistory, old: f64, new: f64, from: i64, to: i64) -> i64 {
    let to = to.min(all.end() - new.ceil() as i64 - 2);
    if to <= from {
        return to.max(from - 1).min(all.end());
    }
    let (mut sum, mut least, mut least_at) = (0.0, 0.0, from);
    for at in from..to {
        sum += surprise(all, at, -1, old) - surprise(all, at, 1, new);
        if sum < least {
            (least, least_at) = (sum, at + 1);
        }
    }
    least_at
}

/// The squared difference of a sample from the sample one period before it (`side` -1) or after it (1), interpolated in a straight
/// line (the difference of de Cheveigne and Kawahara, "YIN", 2002, sample by sample).
fn surprise(all: &SampleHistory, at: i64, side: i64, period: f64) -> f64 {
    let whole = period.floor() as i64;
    let part = period - period.floor();
    let near = f64::from(sample(all, at + side * whole));
    let far = f64::from(sample(all, at + side * (whole + 1)));
    (f64::from(sample(all, at)) - near - part * (far - near)).powi(2)
}

fn sample(all: &SampleHistory, at: i64) -> f32 {
    all.window(at, at + 1).first().copied().unwrap_or(0.0)
}

impl Segmenter {
    /// Dates an attack again once its first 300 ms are known: the loudest moment of the attack may have come after the note was opened.
    pub(super) fn redate_onset(
        &mut self,
        frame: &AnalysisFrame,
        sound: SignalView<'_>,
        on_event: &mut dyn FnMut(&NoteEvent),
    ) {
        let span = self.time.ms(self.rules.onset_span_ms);
        let Some(note) = self.open.as_mut() else { return };
        if note.dated || frame.end - note.onset < span {
            return;
        }
        note.dated = true;
        let before = note.onset;
        note.onset =
            dated(note.onset, note.limit, frame.end, self.time.period(note.reference), sound, &self.time, &self.rules);
        if (note.onset - before).abs() > self.time.ms(10.0) && note.announced.is_some() {
            self.report_revision(frame, on_event);
        }
    }
}

/// A better date for an attack whose sound is known up to `to`; the old one where less than 20 ms are known, where the first rise
/// is hidden, and where the date would move by more than 60 ms.
pub(super) fn dated(
    onset: i64,
    limit: i64,
    to: i64,
    period: f64,
    sound: SignalView<'_>,
    time: &TimeBase,
    rules: &Rules,
) -> i64 {
    let to = to.min(onset + time.ms(rules.onset_span_ms));
    if to - onset < time.ms(20.0) {
        return onset;
    }
    let found = attack(sound, time, rules, AttackSearch { limit, from: onset, to, period });
    if found.hidden || (found.onset - onset).abs() > time.ms(60.0) { onset } else { found.onset }
}
