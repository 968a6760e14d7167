use crate::coach::{InUse, Misfit, Reason, SparedTurn};
use crate::music::{self, ConcertKey, Mode, Reading};
use crate::pattern::PatternId;
use crate::report::by_key::{KeySummary, key_rows};
use crate::report::by_pattern::{PatternSummary, pattern_rows};
use crate::report::by_second_task::{SecondTaskReview, second_task};
use crate::report::by_warning::{WarningRow, warning_rows};
use crate::report::comments::{CommentRow, comment_rows};
use crate::report::figures::{SittingFigures, all_in_use, figures};
use crate::report::judged::{Judged, counts, judged, number};
use crate::report::kept::{HeldOutKeySummary, KeptAfter, held_out, kept};
use crate::report::rounds::rounds;
use crate::report::steadiness::{Steadiness, steadiness};
use crate::report::takes::{RetentionCheck, Take, back, best, worst};
use crate::report::traded::{PhraseReview, TradedPhrases, phrases, traded};
use crate::report::trend::Drift;
use crate::report::tuning::{PitchRow, pitch_rows, tuning};
use crate::report::weeks::{WeekRow, two_until};
use crate::report::whose::together;
use crate::session::{LessonMark, NamedPlayer, Session, Trial};
use crate::units::{Cents, Seconds};
use crate::verdict::{FaultTally, TempoStep, Verdict};
use crate::words::reader::Reader;
use crate::words::{self, Page};

/// What a teacher asks first, of one sitting or many.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Review {
    /// One part for each player and instrument, and one more where the simulated player played it, in the order of their first
    /// sitting.
    pub parts: Vec<InstrumentReview>,
}

/// All sittings of one player on one instrument, or the simulated player's. Pitches and keys are as they sound; the words
/// make them written.
#[derive(Debug, Clone, PartialEq)]
pub struct InstrumentReview {
    /// Who played, under the latest name; `None` in records from before players had ids.
    pub player: Option<NamedPlayer>,
    /// Id of the instrument.
    pub instrument: String,
    /// Whether the simulated player answered.
    pub simulated: bool,
    /// How the player reads (as in the latest sitting).
    pub reading: Reading,
    /// The mode that all patterns have in common, by which the keys of the table are spelled; major where they have none.
    pub mode: Mode,
    /// One row for each sitting, in the order of time.
    pub sittings: Vec<SittingRow>,
    /// The seven days that end with the last sitting (on the page of a class with its day), and the seven before, where both have a
    /// sitting.
    pub weeks: Option<[WeekRow; 2]>,
    /// One row for each key that was asked, round the circle of fifths from a sounding C.
    pub keys: Vec<KeySummary>,
    /// How little time was enough: one row for each key that was told late, and one for all keys.
    pub warnings: Vec<WarningRow>,
    /// What a second task cost, where there was one.
    pub second_task: Option<SecondTaskReview>,
    /// What passed in phrases over a form.
    pub in_use: InUse,
    /// Which phrases over a form went wrong.
    pub phrases: PhraseReview,
    /// One row for each pattern that was answered, in the order of their first answers.
    pub patterns: Vec<PatternSummary>,
    /// At most three best answers, best first; whole ones only.
    pub best: Vec<Take>,
    /// At most three answers that most need hearing, worst first; never a whole one.
    pub worst: Vec<Take>,
    /// Faults that came back: the title of a pattern, and the sentence.
    pub recurring: Vec<(String, String)>,
    /// Keys that came back after a day or more, longest away first.
    pub back: Vec<RetentionCheck>,
    /// First answers after a week and after a month away.
    pub kept: [KeptAfter; 2],
    /// Keys that were held out of practice.
    pub held_out: Vec<HeldOutKeySummary>,
    /// How steady the reflex times are.
    pub steadiness: Option<Steadiness>,
    /// One row for each sounding pitch whose intonation was scored, from the lowest.
    pub pitches: Vec<PitchRow>,
    /// Comments that were added to the sittings afterwards, in their order.
    pub comments: Vec<CommentRow>,
}

/// One sitting.
#[derive(Debug, Clone, PartialEq)]
pub struct SittingRow {
    /// When it began, RFC 3339.
    pub started: String,
    /// Calendar day of the sitting: days since 1970-01-01 in local time.
    pub day: i32,
    /// Time from the first sample to the last thing that was recorded.
    pub lasted: Seconds,
    /// Length of the player's own sound.
    pub sounding: Seconds,
    /// Number of rests for lips, voice or hands.
    pub rests: u32,
    /// Length of all rests together.
    pub resting: Seconds,
    /// Number of cues that count, those sounded again left out.
    pub cues: u32,
    /// Number of cues that were answered.
    pub answered: u32,
    /// Number of answers to cues that the player asked to hear again; `answered` does not count them.
    pub again: u32,
    /// Number of answers to the parts of lines that were taken apart; `answered` does not count them.
    pub apart: u32,
    /// Rounds without a stop: of each, the answers that were all right and in time, and all that were asked.
    pub rounds: Vec<(u32, u32)>,
    /// Answers to cues by ear alone: number all right, and number that count.
    pub by_ear: (u32, u32),
    /// Number of turns away from the instrument that were not broken off: sung, and fingered.
    pub spared: (u32, u32),
    /// Number of cues whose key was told late; `answered` does not count them.
    pub told_late: u32,
    /// Number of cues beside a second task; `answered` does not count them.
    pub second_task: u32,
    /// Number of answers that the player says were misheard. `answered` counts them too, no other figure of answers does.
    pub contested: u32,
    /// Answers that went up, that stayed at their tempo, and that went down; all 0 in records of the first format.
    pub steps: [u32; 3],
    /// Whether the record says what its answers did to the tempo, as all formats but the first do.
    pub steps_known: bool,
    /// Number of answers that were another line than the pattern; `answered` counts them, but they are not scored.
    pub something_else: u32,
    /// Number of cues that stayed without an answer to the end of their time. A cue that was broken off counts neither as answered nor
    /// here.
    pub silent: u32,
    /// Number of cues that have neither a verdict nor a silence: those that were broken off, such as the last one.
    pub unjudged: u32,
    /// Number of answers that were whole: all right, nothing extra, at the first attempt.
    pub whole: u32,
    /// Whether the delay of the devices was measured; otherwise reflex times contain it.
    pub calibrated: bool,
    /// Whether the simulated player answered.
    pub simulated: bool,
    /// Whether the sitting was ended; false where the program was killed.
    pub ended: bool,
    /// Number of samples of the microphone that were lost on the way in; known only where the sitting was ended.
    pub dropped: u64,
    /// General offset: the median of the answers' own; above 0 is sharp.
    pub offset: Option<Cents>,
    /// Patterns and keys that were not asked, because they do not fit the player's range.
    pub out_of_range: Vec<Misfit>,
    /// How far the general offset moved from the first answer to the last; above 0 is upward.
    pub drift: Option<Drift>,
    /// The lesson that was practised, if any.
    pub lesson: Option<LessonMark>,
    /// What was traded; `None` where the sitting was a drill.
    pub traded: Option<TradedPhrases>,
}

/// Reviews sittings. The sittings of one player on one instrument are taken together, those of the simulated player apart.
#[must_use]
pub fn review(sessions: &[Session]) -> Review {
    review_on(sessions, None)
}

/// The review, with the weeks that end `today` instead of with the last sitting.
pub(super) fn review_on(sessions: &[Session], today: Option<i32>) -> Review {
    let of = |group: Vec<usize>| part(&group.into_iter().map(|index| &sessions[index]).collect::<Vec<_>>(), today);
    Review { parts: together(sessions).into_iter().map(of).collect() }
}

fn part(sessions: &[&Session], today: Option<i32>) -> InstrumentReview {
    let judged: Vec<Judged<'_>> = sessions.iter().enumerate().flat_map(|(n, session)| judged(n, session)).collect();
    let sums: Vec<SittingFigures> = sessions.iter().map(|session| figures(session)).collect();
    InstrumentReview {
        player: sessions.last().and_then(|session| session.began.player.clone()),
        instrument: sessions.first().map_or_else(String::new, |session| session.began.instrument.clone()),
        simulated: sessions.first().is_some_and(|session| session.began.simulated),
        reading: sessions.last().map(|session| session.began.reading).unwrap_or_default(),
        mode: common_mode(sessions),
        sittings: (sessions.iter().zip(&sums).enumerate())
            .map(|(n, (session, sums))| sitting_row(n, session, sums, &judged))
            .collect(),
        weeks: today.or(sums.last().map(|it| it.began.day)).and_then(|until| two_until(until, &sums)),
        keys: key_rows(sessions, &judged),
        warnings: warning_rows(sessions),
        second_task: second_task(sessions),
        in_use: all_in_use(&sums),
        phrases: phrases(sessions),
        patterns: pattern_rows(&judged),
        best: best(&judged),
        worst: worst(&judged),
        recurring: recurring(sessions, &judged),
        back: back(&sums),
        kept: kept(&back(&sums)),
        held_out: held_out(&sums),
        steadiness: steadiness(&sums),
        pitches: pitch_rows(&judged),
        comments: comment_rows(sessions.iter().copied()),
    }
}

/// The mode of every cue; major where they differ.
fn common_mode(sessions: &[&Session]) -> Mode {
    let mut modes = sessions.iter().flat_map(|session| &session.trials).map(|trial| trial.cue.spelling.mode);
    let first = modes.next().unwrap_or(Mode::Major);
    if modes.all(|mode| mode == first) { first } else { Mode::Major }
}

/// Faults that came back in one pattern over several keys, over all sittings, at most one for each pattern.
fn recurring(sessions: &[&Session], judged: &[Judged<'_>]) -> Vec<(String, String)> {
    let Some(latest) = sessions.last() else { return Vec::new() };
    let Ok(instrument) = music::instrument(&latest.began.instrument) else { return Vec::new() };
    let page = Page::new(instrument.at(latest.began.level), latest.began.reading);
    let mut patterns: Vec<&PatternId> = Vec::new();
    for answer in judged {
        if !patterns.contains(&&answer.trial.cue.pattern) {
            patterns.push(&answer.trial.cue.pattern);
        }
    }
    let named = |pattern: &&PatternId| {
        let mine: Vec<&Judged<'_>> = judged.iter().filter(|answer| answer.trial.cue.pattern == **pattern).collect();
        let answers: Vec<(ConcertKey, &Verdict)> =
            mine.iter().map(|answer| (answer.trial.cue.key, answer.verdict)).collect();
        let cue = &mine.first()?.trial.cue;
        let reader = Reader::of(&page, cue, latest.began.delay.is_some());
        let fault = words::verdict::recurring(&FaultTally::of(&answers, reader.instrument().intonation), &reader)
            .into_iter()
            .next()?;
        Some((cue.title.clone(), fault.sentence))
    };
    patterns.iter().filter_map(named).collect()
}

/// Whether the answer was another line than the one asked.
pub(super) fn something_else(trial: &Trial) -> bool {
    trial.judgement.as_ref().is_some_and(|judgement| !judgement.verdict.related)
}

/// The turns of a sitting that were sung, and that were fingered in silence.
fn spared(session: &Session) -> (u32, u32) {
    let of = |turn| number(session.spared.iter().filter(|it| it.turn == turn && !it.left).count());
    (of(SparedTurn::Sing), of(SparedTurn::Finger))
}

fn sitting_row(sitting: usize, session: &Session, sums: &SittingFigures, judged: &[Judged<'_>]) -> SittingRow {
    let mine: Vec<Judged<'_>> = judged.iter().filter(|answer| answer.sitting == sitting).copied().collect();
    let asked = |trial: &&Trial| counts(trial) && !trial.cue.repeat;
    let (offset, drift) = tuning(&mine);
    let (answered, silent, unjudged) = answered(session);
    let traded = traded(session);
    let answered_where = |is: &dyn Fn(&Trial) -> bool| {
        number(session.trials.iter().filter(|trial| trial.answered() && is(trial)).count())
    };
    SittingRow {
        started: session.began.started.clone(),
        day: session.began.day,
        lasted: sums.lasted,
        sounding: sums.sounding,
        rests: sums.rests,
        resting: sums.resting,
        cues: number(session.trials.iter().filter(asked).count()),
        answered: number(answered),
        again: answered_where(&|trial| matches!(trial.reason, Reason::Again { .. })),
        apart: answered_where(&|trial| matches!(trial.reason, Reason::Apart { .. })),
        rounds: rounds(session),
        by_ear: sums.by_ear,
        spared: spared(session),
        told_late: number(
            session
                .trials
                .iter()
                .filter(|it| it.cue.warning.is_some() && !it.reason.uncounted() && !it.cue.repeat)
                .count(),
        ),
        second_task: number(
            session.trials.iter().filter(|it| it.cue.second_task.is_some() && !it.reason.uncounted()).count(),
        ),
        contested: answered_where(&|trial| counts(trial) && trial.contested),
        steps_known: mine.iter().all(|answer| answer.judgement.step.is_some()),
        steps: [TempoStep::Up, TempoStep::Stay, TempoStep::Down]
            .map(|step| number(mine.iter().filter(|answer| answer.judgement.step == Some(step)).count())),
        something_else: answered_where(&|trial| counts(trial) && something_else(trial) && !trial.contested),
        silent: number(silent),
        unjudged: number(unjudged) + traded.as_ref().map_or(0, |it| it.broken_off),
        whole: number(mine.iter().filter(|answer| answer.verdict.whole()).count()),
        calibrated: session.began.delay.is_some(),
        simulated: session.began.simulated,
        ended: session.ended.is_some(),
        dropped: session.ended.as_ref().map_or(0, |ended| ended.dropped),
        offset,
        drift,
        lesson: session.began.lesson.clone(),
        traded,
        out_of_range: session
            .began
            .out_of_range
            .misfits(session.began.patterns.iter().map(|id| (id, title(session, id)))),
    }
}

/// A pattern's name, as its cues name it; its id where it was never asked.
fn title<'a>(session: &'a Session, id: &'a PatternId) -> &'a str {
    session.trials.iter().find(|trial| trial.cue.pattern == *id).map_or(&id.0, |trial| &trial.cue.title)
}

/// The cues that were answered, at once or when they came once more; those that were left silent; and those with neither a
/// verdict nor a silence.
fn answered(session: &Session) -> (usize, usize, usize) {
    let mut cues: Vec<(bool, bool, bool)> = Vec::new();
    for trial in session.trials.iter().filter(|trial| counts(trial)) {
        if !trial.cue.repeat || cues.is_empty() {
            cues.push((false, false, false));
        }
        let Some((answered, silent, judged)) = cues.last_mut() else { continue };
        *judged |= trial.judgement.is_some();
        if trial.answer.is_some() {
            *answered |= trial.answered();
            *silent = !*answered;
        }
    }
    let many = |which: fn(&(bool, bool, bool)) -> bool| cues.iter().filter(|cue| which(cue)).count();
    (many(|cue| cue.0), many(|cue| cue.1), many(|(_, silent, judged)| !silent && !judged))
}
