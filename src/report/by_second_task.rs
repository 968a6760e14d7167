//! What a second task cost: answers of blocks in which taps were counted beside those of blocks in which they were let pass.

use crate::coach::{Divided, DividedAnswer, TapCounts, TaskCost};
use crate::pattern::PatternId;
use crate::report::lines::{line, wrapped};
use crate::session::{Session, Trial};
use crate::verdict::{Untimed, Verdict};
use crate::words::{self, wrap};

/// What counting cost, by pattern and in all.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SecondTaskReview {
    /// One entry a pattern: its id, its plain name, its cost.
    pub patterns: Vec<(PatternId, String, TaskCost)>,
    /// All patterns together.
    pub all: TaskCost,
    /// How the numbers that the player gave for the taps came out.
    pub counts: TapCounts,
}

/// What counting cost over these sittings; `None` where no cue stood beside a second task. Answers make pairs within a sitting.
pub(super) fn second_task(sessions: &[&Session]) -> Option<SecondTaskReview> {
    let mut found = SecondTaskReview::default();
    let mut any = false;
    for session in sessions {
        let Divided { costs, counts, .. } = divided(session);
        any |= beside(session).next().is_some();
        found.counts = found.counts.and(&counts);
        for (pattern, cost) in costs {
            found.all = found.all.and(&cost);
            match found.patterns.iter_mut().find(|it| it.0 == pattern) {
                Some(known) => known.2 = known.2.and(&cost),
                None => {
                    let title = beside(session).find(|trial| trial.cue.pattern == pattern);
                    let title = title.map_or_else(String::new, |trial| trial.cue.title.clone());
                    found.patterns.push((pattern, title, cost));
                }
            }
        }
    }
    any.then_some(found)
}

fn beside(session: &Session) -> impl Iterator<Item = &Trial> {
    session.trials.iter().filter(|trial| trial.cue.second_task.is_some() && !trial.reason.uncounted())
}

/// The numbers and answers of a sitting, as the drill entered them.
fn divided(session: &Session) -> Divided {
    let mut divided = Divided::default();
    session.counted.iter().for_each(|it| divided.counts.enter(it.sounded, it.said));
    divided_answers(session).into_iter().for_each(|(_, answer)| divided.enter(answer));
    divided
}

/// The answers of a sitting beside a second task that show what counting costs, each with the number of its cue.
pub(super) fn divided_answers(session: &Session) -> Vec<(u32, DividedAnswer)> {
    let mut answers = Vec::new();
    let mut heard = false;
    for trial in beside(session) {
        let Some(task) = trial.cue.second_task.as_ref().filter(|_| trial.answer.is_some()) else { continue };
        let verdict = trial.judgement.as_ref().map(|it| &it.verdict);
        // Silence before the first answer may be that of somebody who has not come yet.
        let silent = heard && !trial.answered();
        if trial.contested || (verdict.is_none() && !silent) {
            continue;
        }
        heard |= verdict.is_some_and(|it| it.related);
        let timed = |it: &&Verdict| it.related && it.untimed != Some(Untimed::Xrun);
        let answer = DividedAnswer {
            pattern: trial.cue.pattern.clone(),
            key: trial.cue.key,
            counting: task.counted.is_some(),
            whole: verdict.is_some_and(Verdict::whole),
            late: verdict.filter(timed).and_then(|it| it.late),
            uneven: verdict.filter(timed).and_then(|it| it.scatter),
        };
        answers.push((trial.cue.number, answer));
    }
    answers
}

/// Adds the table and its sentences, where there are any.
pub(super) fn second_task_table(out: &mut String, found: Option<&SecondTaskReview>) {
    let Some(found) = found else { return };
    line(out, "");
    line(out, "While taps were counted, beside the same taps let pass");
    line(out, &row("Pattern", ["Fewer right", "Later, ms", "More uneven, ms"].map(str::to_owned)));
    let all = (found.patterns.len() > 1).then_some(("all", &found.all));
    for (title, cost) in found.patterns.iter().map(|(_, title, cost)| (title.as_str(), cost)).chain(all) {
        let (right, late, uneven) = (cost.of_right(), cost.of_late(), cost.of_uneven());
        let cells = [(right, 100.0), (late, 1000.0), (uneven, 1000.0)];
        line(out, &row(title, cells.map(|(cost, times)| words::divided::brief(&cost, times))));
    }
    words::divided::sentences(&found.all, &found.counts).iter().for_each(|it| wrapped(out, "", it));
    line(out, "In brackets: between which figures the true one lies (95 of 100), of pairs of");
    line(out, "answers to one pattern in one key. Fewer right: of 100 answers. A cost of a");
    line(out, "third of the answers, 30 ms or 8 ms takes 72 answers and six numbers to be");
    line(out, "found nine times of ten. These answers count in no other table.");
}

fn row(name: &str, [right, late, uneven]: [String; 3]) -> String {
    format!("{:<25} {right:>17} {late:>17} {uneven:>17}", wrap::cut(name, 25))
}
