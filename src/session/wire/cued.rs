use serde::{Deserialize, Serialize};

use crate::coach::Reason;
use crate::cue::{Cue, JoinedPart, LONGEST_WARNING};
use crate::music::{Concert, Mode, NamedBy, Spelling};
use crate::pattern::{ExpectedNote, Line, Meter, PatternId};
use crate::session::wire::WireError;
use crate::session::wire::beside::WireSecondTask;
use crate::session::wire::bounds::{self, HALF_STEPS, QUARTERS, SECONDS, SHARE, TEMPO};
use crate::session::wire::phrased::{WireNeverUsed, WirePart, WireWeak};
use crate::session::wire::words::{WireForm, WireMode, WireRegister, WireStage, WireTiming};
use crate::units::{Beats, Seconds, Tempo};

/// A cue.
#[derive(Serialize, Deserialize)]
pub(super) struct WireCued {
    at_s: f64,
    cue: u32,
    pattern: String,
    title: String,
    concert_key: String,
    /// The mode; left out where it is major, as in all early records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mode: Option<WireMode>,
    /// Whether the line moves in half steps; left out where it does not, as in all early records.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    chromatic: bool,
    register: WireRegister,
    form: WireForm,
    timing: WireTiming,
    quarter_per_minute: f64,
    /// The meter; left out where it is 4/4, as in all early records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    meter: Option<String>,
    line: Vec<WireExpected>,
    line_length_quarters: f64,
    #[serde(default)]
    chord_midi: Vec<i32>,
    #[serde(default)]
    click: bool,
    #[serde(default)]
    repeat: bool,
    /// Counted beats between the moment the key is told and the answer; left out where the key is not told late, as in all early
    /// records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    warning_beats: Option<u32>,
    /// Number of the round; left out where each cue stands alone, as in all early records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    round: Option<u32>,
    /// Whether only the sound told key and pattern; left out where both were shown, as in all early records.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    by_ear: bool,
    /// The second task beside the answer; left out where there was none, as in all early records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    second_task: Option<WireSecondTask>,
    /// Left out where the line is no phrase, and in records from before the parts of phrases were recorded.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    joined: Vec<WirePart>,
    reason: WireReason,
}

/// One note of the line, in concert pitch.
#[derive(Serialize, Deserialize)]
pub(super) struct WireExpected {
    midi: i32,
    at_quarters: f64,
    length_quarters: f64,
    /// Number of letters from the tonic's letter up to the letter on which the note is written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    letters: Option<i32>,
    /// Root of the chord under the note, in fifths from the tonic; left out where it is 0, as in all early records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    over_fifths: Option<i32>,
}

/// Why the cue was asked.
#[derive(Serialize, Deserialize)]
#[serde(tag = "why", rename_all = "snake_case")]
enum WireReason {
    Meeting {
        left: u32,
    },
    Opening {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        days: Option<i32>,
        /// The key is held out of practice until this day. An older program, which does not know this field, reads the reason
        /// `opening`, and that is true as well.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        held_out_until_day: Option<i32>,
    },
    OpeningHere {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        days: Option<i32>,
    },
    Guard {
        cues: u32,
    },
    Untried {
        cues: u32,
    },
    Need {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reflex_s: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        middle_s: Option<f64>,
        quarter_per_minute: f64,
        goal_quarter_per_minute: f64,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        aim_s: Option<f64>,
        /// Share of answers that passed, 0 to 1: early records hold it in place of `passed` and `tries`.
        #[serde(default, skip_serializing)]
        passes_share: Option<f64>,
        #[serde(default)]
        passed: u32,
        #[serde(default)]
        tries: u32,
    },
    Seldom {
        cues: u32,
    },
    Rested {
        cues: u32,
        passed: u32,
    },
    Joins {
        others: u32,
    },
    Even,
    /// An older program, which does not know these fields, reads the reason `turn`, and that is true as well.
    Turn {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        weak: Option<WireWeak>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        never_used: Option<WireNeverUsed>,
    },
    Again {
        slower: bool,
    },
    Apart {
        stage: WireStage,
    },
    Closing,
}

impl WireCued {
    /// The line of the record for a cue that sounds from `at` on.
    pub(super) fn new(at: Seconds, cue: &Cue, reason: Reason) -> Self {
        Self {
            at_s: SECONDS.put(at.0),
            cue: cue.number,
            pattern: bounds::put_text(&cue.pattern.0),
            title: bounds::put_text(&cue.title),
            concert_key: cue.key.name().to_owned(),
            mode: (cue.spelling.mode != Mode::Major).then(|| cue.spelling.mode.into()),
            chromatic: cue.spelling.chromatic,
            register: cue.register.into(),
            form: cue.form.into(),
            timing: cue.timing.into(),
            quarter_per_minute: TEMPO.put(cue.tempo.0),
            meter: (cue.meter != Meter::default()).then(|| cue.meter.name().to_owned()),
            line: cue.line.notes.iter().take(bounds::NOTES).map(WireExpected::from).collect(),
            line_length_quarters: QUARTERS.put(cue.line.length.0),
            chord_midi: cue.chord.iter().take(128).map(|p| p.0.clamp(-HALF_STEPS, HALF_STEPS)).collect(),
            click: cue.click,
            repeat: cue.repeat,
            warning_beats: cue.warning,
            round: cue.round,
            by_ear: cue.by_ear,
            second_task: cue.second_task.as_ref().map(WireSecondTask::from),
            joined: cue.joined.iter().take(bounds::PARTS).map(WirePart::from).collect(),
            reason: reason.into(),
        }
    }

    /// Checks what was read and gives the instant, the cue and the reason.
    pub(super) fn take(self) -> Result<(Seconds, Cue, Reason), WireError> {
        let notes = bounds::list(self.line, bounds::NOTES)?;
        if notes.is_empty() {
            return Err(WireError("a line of no notes".to_owned()));
        }
        let notes = notes.into_iter().map(ExpectedNote::try_from).collect::<Result<_, _>>()?;
        let chord = bounds::list(self.chord_midi, 128)?;
        let cue = Cue {
            number: self.cue,
            pattern: PatternId(bounds::take_text(self.pattern)?),
            title: bounds::take_text(self.title)?,
            key: bounds::key(&self.concert_key)?,
            spelling: Spelling { mode: self.mode.map_or(Mode::Major, Into::into), chromatic: self.chromatic },
            register: self.register.into(),
            form: self.form.into(),
            timing: self.timing.into(),
            tempo: Tempo(TEMPO.take(self.quarter_per_minute)?),
            meter: match self.meter {
                None => Meter::default(),
                Some(name) => {
                    Meter::parse(&name).ok_or_else(|| WireError("a meter that is not 4/4, 3/4 or 6/8".to_owned()))?
                }
            },
            line: Line { notes, length: Beats(QUARTERS.take(self.line_length_quarters)?) },
            chord: chord
                .into_iter()
                .map(|midi| Ok(Concert(bounds::whole(midi, HALF_STEPS)?)))
                .collect::<Result<_, WireError>>()?,
            click: self.click,
            repeat: self.repeat,
            warning: match self.warning_beats {
                Some(beats) if beats > LONGEST_WARNING => {
                    return Err(WireError(format!("a warning of more than {LONGEST_WARNING} beats")));
                }
                warning => warning,
            },
            round: self.round,
            by_ear: self.by_ear,
            second_task: self.second_task.map(TryInto::try_into).transpose()?,
            joined: bounds::list(self.joined, bounds::PARTS)?
                .into_iter()
                .map(JoinedPart::try_from)
                .collect::<Result<_, _>>()?,
        };
        Ok((Seconds(SECONDS.take(self.at_s)?), cue, self.reason.try_into()?))
    }
}

impl From<&ExpectedNote> for WireExpected {
    fn from(note: &ExpectedNote) -> Self {
        Self {
            midi: note.pitch.0.clamp(-HALF_STEPS, HALF_STEPS),
            at_quarters: QUARTERS.put(note.at.0),
            length_quarters: QUARTERS.put(note.length.0),
            letters: note.named.map(|named| named.letters.clamp(-HALF_STEPS, HALF_STEPS)),
            over_fifths: note.named.map(|named| named.over.clamp(-HALF_STEPS, HALF_STEPS)).filter(|over| *over != 0),
        }
    }
}

impl TryFrom<WireExpected> for ExpectedNote {
    type Error = WireError;
    fn try_from(wire: WireExpected) -> Result<Self, WireError> {
        let letters = wire.letters.map(|letters| bounds::whole(letters, HALF_STEPS)).transpose()?;
        let over = bounds::whole(wire.over_fifths.unwrap_or(0), HALF_STEPS)?;
        Ok(Self {
            pitch: Concert(bounds::whole(wire.midi, HALF_STEPS)?),
            at: Beats(QUARTERS.take(wire.at_quarters)?),
            length: Beats(QUARTERS.take(wire.length_quarters)?),
            named: letters.map(|letters| NamedBy { letters, over }),
        })
    }
}

impl From<Reason> for WireReason {
    fn from(reason: Reason) -> Self {
        let day = |day: i32| day.clamp(-bounds::DAYS, bounds::DAYS);
        match reason {
            Reason::Meeting { left } => Self::Meeting { left },
            Reason::Opening { days } => Self::Opening { days: days.map(day), held_out_until_day: None },
            Reason::HeldOut { days, until } => {
                Self::Opening { days: days.map(day), held_out_until_day: Some(day(until)) }
            }
            Reason::OpeningHere { days } => Self::OpeningHere { days: days.map(day) },
            Reason::Guard { cues } => Self::Guard { cues },
            Reason::Untried { cues } => Self::Untried { cues },
            Reason::Need { reflex, middle, aim, tempo, goal, passed, tries } => Self::Need {
                reflex_s: SECONDS.put_some(reflex.map(|s| s.0)),
                middle_s: SECONDS.put_some(middle.map(|s| s.0)),
                aim_s: SECONDS.put_some(aim.map(|s| s.0)),
                passes_share: None,
                passed,
                tries,
                quarter_per_minute: TEMPO.put(tempo.0),
                goal_quarter_per_minute: TEMPO.put(goal.0),
            },
            Reason::Seldom { cues } => Self::Seldom { cues },
            Reason::Rested { cues, passed } => Self::Rested { cues, passed },
            Reason::Joins { others } => Self::Joins { others },
            Reason::Even => Self::Even,
            Reason::Turn => Self::Turn { weak: None, never_used: None },
            Reason::NeverUsed { held, choruses } => {
                Self::Turn { weak: None, never_used: Some(WireNeverUsed { held_keys: held, choruses }) }
            }
            Reason::WeakJoin { broke, tries, days } => {
                Self::Turn { weak: Some(WireWeak::Join { broke, tries, days: day(days) }), never_used: None }
            }
            Reason::WeakKey { broke, tries, days } => {
                Self::Turn { weak: Some(WireWeak::Key { broke, tries, days: day(days) }), never_used: None }
            }
            Reason::Again { slower } => Self::Again { slower },
            Reason::Apart { stage } => Self::Apart { stage: stage.into() },
            Reason::Closing => Self::Closing,
        }
    }
}

impl TryFrom<WireReason> for Reason {
    type Error = WireError;
    fn try_from(wire: WireReason) -> Result<Self, WireError> {
        let day = |days: Option<i32>| days.map(|days| bounds::whole(days, bounds::DAYS)).transpose();
        Ok(match wire {
            WireReason::Meeting { left } => Self::Meeting { left },
            WireReason::Opening { days, held_out_until_day: None } => Self::Opening { days: day(days)? },
            WireReason::Opening { days, held_out_until_day: Some(until) } => {
                Self::HeldOut { days: day(days)?, until: bounds::whole(until, bounds::DAYS)? }
            }
            WireReason::OpeningHere { days } => Self::OpeningHere { days: day(days)? },
            WireReason::Guard { cues } => Self::Guard { cues },
            WireReason::Untried { cues } => Self::Untried { cues },
            WireReason::Need {
                reflex_s,
                middle_s,
                quarter_per_minute,
                goal_quarter_per_minute,
                aim_s,
                passes_share,
                passed,
                tries,
            } => {
                let in_ten = SHARE.take_some(passes_share)?.map(|share| ((10.0 * share).round() as u32, 10));
                let (passed, tries) = in_ten.unwrap_or((passed, tries));
                Self::Need {
                    reflex: SECONDS.take_some(reflex_s)?.map(Seconds),
                    middle: SECONDS.take_some(middle_s)?.map(Seconds),
                    aim: SECONDS.take_some(aim_s)?.map(Seconds),
                    tempo: Tempo(TEMPO.take(quarter_per_minute)?),
                    goal: Tempo(TEMPO.take(goal_quarter_per_minute)?),
                    passed,
                    tries,
                }
            }
            WireReason::Seldom { cues } => Self::Seldom { cues },
            WireReason::Rested { cues, passed } => Self::Rested { cues, passed },
            WireReason::Joins { others } => Self::Joins { others },
            WireReason::Even => Self::Even,
            WireReason::Turn { weak: None, never_used: None } => Self::Turn,
            WireReason::Turn { weak: None, never_used: Some(it) } => {
                Self::NeverUsed { held: it.held_keys, choruses: it.choruses }
            }
            WireReason::Turn { weak: Some(WireWeak::Join { broke, tries, days }), .. } => {
                Self::WeakJoin { broke, tries, days: bounds::whole(days, bounds::DAYS)? }
            }
            WireReason::Turn { weak: Some(WireWeak::Key { broke, tries, days }), .. } => {
                Self::WeakKey { broke, tries, days: bounds::whole(days, bounds::DAYS)? }
            }
            WireReason::Again { slower } => Self::Again { slower },
            WireReason::Apart { stage } => Self::Apart { stage: stage.into() },
            WireReason::Closing => Self::Closing,
        })
    }
}
