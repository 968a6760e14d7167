use serde::{Deserialize, Serialize};

use crate::music::HalfSteps;
use crate::session::Judgement;
use crate::session::wire::WireError;
use crate::session::wire::bounds::{self, CENTS, HALF_STEPS, QUARTERS, RATIO, SECONDS, TEMPO};
use crate::session::wire::words::{WirePlayed, WireStep, WireUntimed, WireVaried};
use crate::units::{Beats, Cents, Seconds, Tempo};
use crate::verdict::{Astray, Hesitation, NoteLabel, NoteVerdict, PlayedLabel, Reflex, RhythmNote, TempoStep, Verdict};

/// A verdict and its sentence.
#[derive(Serialize, Deserialize)]
pub(super) struct WireJudged {
    at_s: f64,
    cue: u32,
    verdict: WireVerdict,
    sentence: String,
    /// What the answer does to the tempo; written since the second format, and left out where the answer was no attempt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    step: Option<WireStep>,
    /// Left out where no variation was asked, and in records from before there were any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    varied: Option<WireVaried>,
}

/// What is true of one answer.
#[derive(Serialize, Deserialize)]
struct WireVerdict {
    related: bool,
    shift_half_steps: i32,
    attempts: u32,
    expected: Vec<WireNote>,
    played: Vec<WirePlayed>,
    right: u32,
    of: u32,
    extra: u32,
    passed: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    reflex: Option<WireReflex>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    late_s: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    untimed: Option<WireUntimed>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    begun_s: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pace_quarter_per_minute: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    evenness_beat_hundredths: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    swing_ratio: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    scatter_s: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    astray: Option<WireAstray>,
    /// Where the matched notes were played, if in another rhythm than asked; left out otherwise, and by early versions of the
    /// program.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    rhythm: Vec<WireRhythm>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    stood: Vec<WireStood>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    struck_twice: Vec<u32>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    centre_cents: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    spread_cents: Option<f64>,
}

#[derive(Serialize, Deserialize)]
struct WireReflex {
    time_s: f64,
    jumped: bool,
    counted: bool,
}

/// Where one note of another rhythm than the asked one was played.
#[derive(Serialize, Deserialize)]
struct WireRhythm {
    note: u32,
    at_beats: f64,
}

#[derive(Serialize, Deserialize)]
struct WireStood {
    before: u32,
    by_s: f64,
}

#[derive(Serialize, Deserialize)]
struct WireAstray {
    note: u32,
    by_s: f64,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum WireLabel {
    Right,
    Wrong,
    Octave,
    Missed,
    Merged,
}

/// One expected note.
#[derive(Serialize, Deserialize)]
struct WireNote {
    label: WireLabel,
    /// Distance from the asked pitch in half steps; only for the labels `wrong` and `octave`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    half_steps: Option<i32>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    heard: Option<u32>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    cents: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    late_s: Option<f64>,
}

impl From<&Judgement> for WireJudged {
    fn from(judgement: &Judgement) -> Self {
        Self {
            at_s: SECONDS.put(judgement.at.0),
            cue: judgement.cue,
            verdict: WireVerdict::from(&judgement.verdict),
            sentence: bounds::put_text(&judgement.sentence),
            step: judgement.step.map(WireStep::from),
            varied: judgement.varied.map(WireVaried::from),
        }
    }
}

impl TryFrom<WireJudged> for Judgement {
    type Error = WireError;
    fn try_from(wire: WireJudged) -> Result<Self, WireError> {
        Ok(Self {
            at: Seconds(SECONDS.take(wire.at_s)?),
            cue: wire.cue,
            verdict: wire.verdict.try_into()?,
            sentence: bounds::take_text(wire.sentence)?,
            step: wire.step.map(TempoStep::from),
            varied: wire.varied.map(Into::into),
        })
    }
}

impl From<&Verdict> for WireVerdict {
    fn from(verdict: &Verdict) -> Self {
        Self {
            related: verdict.related,
            shift_half_steps: verdict.shift.0.clamp(-HALF_STEPS, HALF_STEPS),
            attempts: verdict.attempts,
            expected: verdict.expected.iter().take(bounds::NOTES).map(WireNote::from).collect(),
            played: verdict.played.iter().take(bounds::NOTES).map(|label| WirePlayed::from(*label)).collect(),
            right: verdict.right.min(verdict.of),
            of: verdict.of,
            extra: verdict.extra,
            passed: verdict.enough_in_format_1,
            reflex: verdict.reflex.map(|r| WireReflex {
                time_s: SECONDS.put(r.time.0),
                jumped: r.jumped,
                counted: r.counted,
            }),
            late_s: SECONDS.put_some(verdict.late.map(|s| s.0)),
            untimed: verdict.untimed.map(WireUntimed::from),
            begun_s: SECONDS.put_some(verdict.begun.map(|s| s.0)),
            pace_quarter_per_minute: TEMPO.put_some(verdict.pace.map(|t| t.0)),
            evenness_beat_hundredths: RATIO.put_some(verdict.evenness),
            swing_ratio: RATIO.put_some(verdict.swing),
            scatter_s: SECONDS.put_some(verdict.scatter.map(|s| s.0)),
            astray: verdict.astray.as_ref().and_then(WireAstray::of),
            rhythm: verdict.rhythm.iter().take(bounds::NOTES).filter_map(WireRhythm::of).collect(),
            stood: verdict.stood.iter().take(bounds::NOTES).filter_map(WireStood::of).collect(),
            struck_twice: verdict
                .twice
                .iter()
                .take(bounds::NOTES)
                .filter_map(|note| u32::try_from(*note).ok())
                .collect(),
            centre_cents: CENTS.put_some(verdict.centre.map(|c| c.0)),
            spread_cents: CENTS.put_some(verdict.spread.map(|c| c.0)),
        }
    }
}

impl TryFrom<WireVerdict> for Verdict {
    type Error = WireError;
    fn try_from(wire: WireVerdict) -> Result<Self, WireError> {
        let expected = bounds::list(wire.expected, bounds::NOTES)?;
        let played: Vec<PlayedLabel> =
            bounds::list(wire.played, bounds::NOTES)?.into_iter().map(PlayedLabel::from).collect();
        let expected = expected.into_iter().map(NoteVerdict::try_from).collect::<Result<Vec<_>, _>>()?;
        if expected.iter().filter_map(|note| note.heard).any(|heard| heard >= played.len()) {
            return Err(WireError("a verdict that points at a note which was not heard".to_owned()));
        }
        if wire.right > wire.of {
            return Err(WireError(format!("{} notes right of {}", wire.right, wire.of)));
        }
        let stood = bounds::list(wire.stood, bounds::NOTES)?;
        let stood = stood.into_iter().map(Hesitation::try_from).collect::<Result<Vec<_>, _>>()?;
        let rhythm = bounds::list(wire.rhythm, bounds::NOTES)?;
        let rhythm = rhythm.into_iter().map(RhythmNote::try_from).collect::<Result<Vec<_>, _>>()?;
        let twice: Vec<usize> =
            bounds::list(wire.struck_twice, bounds::NOTES)?.into_iter().map(|note| note as usize).collect();
        let astray = wire.astray.map(Astray::try_from).transpose()?;
        let places = stood.iter().map(|stood| stood.before).chain(twice.iter().copied());
        let places = places.chain(rhythm.iter().map(|it| it.note));
        if places.chain(astray.map(|it| it.note)).any(|place| place >= expected.len()) {
            return Err(WireError("a verdict that points at a note which was not asked".to_owned()));
        }
        Ok(Self {
            related: wire.related,
            shift: HalfSteps(bounds::whole(wire.shift_half_steps, HALF_STEPS)?),
            attempts: wire.attempts,
            expected,
            played,
            right: wire.right,
            of: wire.of,
            extra: wire.extra,
            enough_in_format_1: wire.passed,
            reflex: match wire.reflex {
                None => None,
                Some(r) => {
                    Some(Reflex { time: Seconds(SECONDS.take(r.time_s)?), jumped: r.jumped, counted: r.counted })
                }
            },
            late: SECONDS.take_some(wire.late_s)?.map(Seconds),
            untimed: wire.untimed.map(Into::into),
            begun: SECONDS.take_some(wire.begun_s)?.map(Seconds),
            pace: TEMPO.take_some(wire.pace_quarter_per_minute)?.map(Tempo),
            evenness: RATIO.take_some(wire.evenness_beat_hundredths)?,
            swing: RATIO.take_some(wire.swing_ratio)?,
            scatter: SECONDS.take_some(wire.scatter_s)?.map(Seconds),
            astray,
            rhythm,
            stood,
            twice,
            centre: CENTS.take_some(wire.centre_cents)?.map(Cents),
            spread: CENTS.take_some(wire.spread_cents)?.map(Cents),
        })
    }
}

impl WireRhythm {
    fn of(played: &RhythmNote) -> Option<Self> {
        Some(Self { note: u32::try_from(played.note).ok()?, at_beats: QUARTERS.put(played.at.0) })
    }
}

impl TryFrom<WireRhythm> for RhythmNote {
    type Error = WireError;
    fn try_from(wire: WireRhythm) -> Result<Self, WireError> {
        Ok(Self { note: wire.note as usize, at: Beats(QUARTERS.take(wire.at_beats)?) })
    }
}

impl WireStood {
    fn of(stood: &Hesitation) -> Option<Self> {
        Some(Self { before: u32::try_from(stood.before).ok()?, by_s: SECONDS.put(stood.by.0) })
    }
}

impl TryFrom<WireStood> for Hesitation {
    type Error = WireError;
    fn try_from(wire: WireStood) -> Result<Self, WireError> {
        Ok(Self { before: wire.before as usize, by: Seconds(SECONDS.take(wire.by_s)?) })
    }
}

impl WireAstray {
    fn of(astray: &Astray) -> Option<Self> {
        Some(Self { note: u32::try_from(astray.note).ok()?, by_s: SECONDS.put(astray.by.0) })
    }
}

impl TryFrom<WireAstray> for Astray {
    type Error = WireError;
    fn try_from(wire: WireAstray) -> Result<Self, WireError> {
        Ok(Self { note: wire.note as usize, by: Seconds(SECONDS.take(wire.by_s)?) })
    }
}

impl From<&NoteVerdict> for WireNote {
    fn from(note: &NoteVerdict) -> Self {
        let (label, half_steps) = match note.label {
            NoteLabel::Right => (WireLabel::Right, None),
            NoteLabel::Wrong(by) => (WireLabel::Wrong, Some(by.0)),
            NoteLabel::Octave(by) => (WireLabel::Octave, Some(by.0)),
            NoteLabel::Missed => (WireLabel::Missed, None),
            NoteLabel::Merged => (WireLabel::Merged, None),
        };
        Self {
            label,
            half_steps: half_steps.map(|by| by.clamp(-HALF_STEPS, HALF_STEPS)),
            heard: note.heard.and_then(|index| u32::try_from(index).ok()),
            cents: CENTS.put_some(note.cents.map(|c| c.0)),
            late_s: SECONDS.put_some(note.off_pulse.map(|s| s.0)),
        }
    }
}

impl TryFrom<WireNote> for NoteVerdict {
    type Error = WireError;
    fn try_from(wire: WireNote) -> Result<Self, WireError> {
        let by = HalfSteps(bounds::whole(wire.half_steps.unwrap_or_default(), HALF_STEPS)?);
        if matches!(wire.label, WireLabel::Wrong | WireLabel::Octave) && wire.half_steps.is_none() {
            return Err(WireError("a wrong note that does not say by how much".to_owned()));
        }
        Ok(Self {
            label: match wire.label {
                WireLabel::Right => NoteLabel::Right,
                WireLabel::Wrong => NoteLabel::Wrong(by),
                WireLabel::Octave => NoteLabel::Octave(by),
                WireLabel::Missed => NoteLabel::Missed,
                WireLabel::Merged => NoteLabel::Merged,
            },
            heard: wire.heard.map(|index| index as usize),
            cents: CENTS.take_some(wire.cents)?.map(Cents),
            off_pulse: SECONDS.take_some(wire.late_s)?.map(Seconds),
        })
    }
}
