//! A sitting in figures, from which weeks, first tries and what was kept are counted, whether the record was read just now or long ago.

use crate::coach::{InUse, Reason, TapCounts, TaskCost};
use crate::cue::Form;
use crate::music::{ConcertKey, Mode};
use crate::pattern::PatternId;
use crate::report::by_second_task::second_task;
use crate::report::by_warning::warning_rows;
use crate::report::judged::{Judged, judged, number};
use crate::report::rounds::rounds;
use crate::session::{Began, Comment, PauseCause, Session};
use crate::units::{Seconds, Tempo};

/// One sitting, without its notes, sentences and sound.
#[derive(Debug, Clone, PartialEq)]
pub struct SittingFigures {
    /// The first line of the record.
    pub began: Began,
    /// Time from the first sample to the last thing that was recorded.
    pub lasted: Seconds,
    /// Length of the player's own sound.
    pub sounding: Seconds,
    /// Number of rests for lips, voice or hands.
    pub rests: u32,
    /// Length of all rests together.
    pub resting: Seconds,
    /// The answers that count, in their order.
    pub answers: Vec<AnswerFigures>,
    /// Answers to keys that were told late, all keys together: beats of warning, number all right and on their beat, number of all.
    pub late: Vec<(u32, u32, u32)>,
    /// For each round without a stop: the number of answers that were all right and on their beat, and of all that were asked.
    pub rounds: Vec<(u32, u32)>,
    /// Answers by ear alone: all right, and all that count.
    pub by_ear: (u32, u32),
    /// What a second task cost in all patterns, and how the numbers came out; `None` where there was none.
    pub second_task: Option<(TaskCost, TapCounts)>,
    /// What passed in the phrases of a trade, and what came out in free choruses.
    pub in_use: InUse,
    /// Comments that were added to the sitting afterwards.
    pub comments: Vec<Comment>,
}

/// One answer that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct AnswerFigures {
    /// The pattern.
    pub pattern: PatternId,
    /// The plain name of the pattern.
    pub title: String,
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// The mode of the pattern, by which the key is spelled.
    pub mode: Mode,
    /// The form of the cue.
    pub form: Form,
    /// Whether the answer was all right: in the key asked, nothing extra, at the first attempt.
    pub whole: bool,
    /// Number of right notes, in this key.
    pub right: u32,
    /// Number of notes expected.
    pub of: u32,
    /// Reflex time of a free answer, where it counts.
    pub reflex: Option<Seconds>,
    /// Pace of an answer in tempo that went up.
    pub pace: Option<Tempo>,
    /// Number of days after which the key came back; `None` where it did not come back with this answer.
    pub away: Option<i32>,
    /// The day until which the key is held out of practice, days since 1970-01-01; `None` where it is not.
    pub held_out: Option<i32>,
}

/// The figures of a sitting.
#[must_use]
pub fn figures(session: &Session) -> SittingFigures {
    let rests: Vec<_> = session.pauses.iter().filter(|pause| pause.cause == PauseCause::Rest).collect();
    let resting = rests.iter().map(|rest| (rest.until.unwrap_or(session.until) - rest.from).0.max(0.0));
    let by_ear: Vec<bool> = judged(0, session).filter(|it| it.trial.cue.by_ear).map(|it| it.verdict.whole()).collect();
    SittingFigures {
        began: session.began.clone(),
        lasted: session.until,
        sounding: session.sounding(),
        rests: number(rests.len()),
        // The sum of no numbers is -0.0, and adding 0.0 makes it 0.0.
        resting: Seconds(resting.sum::<f64>() + 0.0),
        answers: judged(0, session).map(|answer| of(&answer)).collect(),
        late: warning_rows(&[session])
            .pop()
            .map_or_else(Vec::new, |all| all.shares.iter().map(|it| (it.warning, it.right, it.of)).collect()),
        rounds: rounds(session),
        by_ear: (number(by_ear.iter().filter(|whole| **whole).count()), number(by_ear.len())),
        second_task: second_task(&[session]).map(|it| (it.all, it.counts)),
        in_use: in_use(session),
        comments: session.comments.clone(),
    }
}

fn in_use(session: &Session) -> InUse {
    let mut used = InUse::default();
    session.phrases().for_each(|(trial, it)| used.enter(&trial.cue, &it.verdict, session.began.day));
    session.choruses.iter().for_each(|chorus| used.enter_free(&chorus.drilled));
    used
}

/// What passed in the phrases of several sittings, in the order of time.
pub(super) fn all_in_use(sittings: &[SittingFigures]) -> InUse {
    let mut used = InUse::default();
    sittings.iter().for_each(|sitting| used.add(&sitting.in_use));
    used
}

/// The figures of one answer that counts.
pub(super) fn of(answer: &Judged<'_>) -> AnswerFigures {
    let cue = &answer.trial.cue;
    let away = match answer.trial.reason {
        Reason::Opening { days } | Reason::OpeningHere { days } => days.filter(|days| *days > 0),
        _ => None,
    };
    AnswerFigures {
        pattern: cue.pattern.clone(),
        title: cue.title.clone(),
        key: cue.key,
        mode: cue.spelling.mode,
        form: cue.form,
        whole: answer.verdict.whole(),
        right: answer.verdict.right_in_key(),
        of: answer.verdict.of,
        reflex: answer.reflex().map(Seconds),
        pace: answer.pace().map(Tempo),
        away,
        held_out: if let Reason::HeldOut { until, .. } = answer.trial.reason { Some(until) } else { None },
    }
}
