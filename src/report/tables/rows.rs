use crate::coach::{DividedAnswer, Reason};
use crate::cue::Timing;
use crate::music::{self, Reading};
use crate::pattern::Library;
use crate::report::by_key::kept_tempo;
use crate::report::by_second_task::divided_answers;
use crate::report::class::sitting::longest;
use crate::report::figures::{figures, of};
use crate::report::judged::{Judged, counts, number as count};
use crate::report::review_json::form_word;
use crate::report::tables::columns::{SchoolTable, TableValue};
use crate::report::traded::traded;
use crate::report::tuning::asked_notes;
use crate::session::{Began, Session, Trial};
use crate::verdict::NoteLabel;
use crate::words::Page;
use TableValue::{Count, Day, Id, Instant, Real, Truth, Word};

/// Keyed hashes of the school: what they stand for, only who has the key can tell.
pub trait Pseudonyms {
    /// The thing `of` of this `kind` as twelve hexadecimal digits.
    fn word(&self, kind: &str, of: &str) -> String;
    /// The same thing as a number of 63 bits.
    fn number(&self, kind: &str, of: &str) -> i64;
}

/// What stands in every row of a sitting.
struct Head<'a> {
    began: &'a Began,
    player: String,
    sitting: i64,
    started_s: i64,
    lesson: Option<&'a str>,
    page: Option<Page>,
}

impl Head<'_> {
    /// A row of any table: whose it is, then its own columns.
    fn row<'a>(&'a self, own: &[(&'static str, TableValue<'a>)]) -> Vec<(&'static str, TableValue<'a>)> {
        let mut row = vec![
            ("player", Word(Some(&self.player))),
            ("sitting", Id(self.sitting)),
            ("day_number", Count(Some(self.began.day))),
            ("instrument", Word(Some(&self.began.instrument))),
            ("simulated", Truth(Some(self.began.simulated))),
        ];
        row.extend_from_slice(own);
        row
    }
}

/// The month of a day, such as 2026-11; `None` where no calendar holds it.
#[must_use]
pub fn month_of(day: i32) -> Option<String> {
    let epoch = jiff::civil::date(1970, 1, 1);
    let date = epoch.checked_add(jiff::Span::new().try_days(day).ok()?).ok()?;
    Some(date.strftime("%Y-%m").to_string())
}

/// Adds a sitting to the tables `sittings`, `answers` and `notes`.
pub fn add_to_tables(session: &Session, names: &dyn Pseudonyms, [sittings, answers, notes]: &mut [SchoolTable; 3]) {
    let began = &session.began;
    let whose = began.player.as_ref().map(|player| player.id.to_string()).unwrap_or_default();
    let which = format!("{} {whose} {} {} {}", began.started, began.instrument, began.simulated, began.seed);
    let reading = Reading { g_flat: began.reading.g_flat, ..Reading::default() };
    let head = Head {
        began,
        player: names.word("player", &whose),
        sitting: names.number("sitting", &which),
        started_s: began.started.parse::<jiff::Timestamp>().map_or(i64::from(began.day) * 86_400, |at| at.as_second()),
        lesson: began.lesson.as_ref().and_then(|lesson| lesson.sha256.get(..12)),
        page: music::instrument(&began.instrument).ok().map(|instrument| Page::new(instrument.clone(), reading)),
    };
    sitting_row(session, &head, sittings);
    let divided = divided_answers(session);
    let mut asking = 0;
    for (turn, trial) in (1..).zip(&session.trials) {
        if !trial.cue.repeat || asking == 0 {
            asking = turn;
        }
        let id = &trial.cue.pattern;
        let known = Library::builtin().get(id).is_some();
        let pattern = if known { id.0.clone() } else { format!("own-{}", names.word("pattern", &id.0)) };
        let beside = divided.iter().find(|(cue, _)| *cue == trial.cue.number && trial.cue.second_task.is_some());
        answer_row(session, trial, [turn, asking], &pattern, &head, beside.map(|(_, answer)| answer), answers);
        if let Some(judged) = related(session, trial) {
            note_rows(&judged, turn, &pattern, &head, notes);
        }
    }
}

/// A judged attempt, whether or not it counts.
fn related<'a>(session: &'a Session, trial: &'a Trial) -> Option<Judged<'a>> {
    let judgement = trial.judgement.as_ref().filter(|it| it.verdict.related && trial.answered())?;
    Some(Judged { sitting: 0, session, trial, judgement, verdict: &judgement.verdict })
}

fn scored(trial: &Trial) -> bool {
    counts(trial) && !trial.contested
}

fn small(count: u32) -> TableValue<'static> {
    Count(i32::try_from(count).ok())
}

fn sitting_row(session: &Session, head: &Head<'_>, into: &mut SchoolTable) {
    let (began, sums, phrases) = (head.began, figures(session), traded(session));
    let right = session.counted.iter().filter(|it| it.said == Some(it.sounded)).count();
    let local = began.started.get(..19).and_then(|text| text.parse::<jiff::civil::DateTime>().ok());
    let local = local.and_then(|at| Some(jiff::tz::TimeZone::UTC.to_timestamp(at).ok()?.as_millisecond()));
    into.add(&head.row(&[
        ("started_s", Id(head.started_s)),
        ("started_local", Instant(local)),
        ("day", Day(began.day)),
        ("by_midi", Truth(Some(began.by_midi))),
        ("calibrated", Truth(Some(began.delay.is_some()))),
        ("ended", Truth(Some(session.ended.is_some()))),
        ("sound_kept", Truth(Some(began.keeps_sound))),
        ("ear", small(began.ear)),
        ("a4_hz", Real(Some(began.a4.0))),
        ("goal_tempo", Real(Some(began.goals.tempo.0))),
        ("goal_reflex_s", Real(Some(began.goals.reflex.0))),
        ("lasted_s", Real(Some(sums.lasted.0))),
        ("sounding_s", Real(Some(sums.sounding.0))),
        ("rests", small(sums.rests)),
        ("resting_s", Real(Some(sums.resting.0))),
        ("longest_s", Real(Some(longest(session).0))),
        ("dropped_samples", Id(session.ended.as_ref().map_or(0, |ended| ended.dropped.cast_signed()))),
        ("lesson", Word(head.lesson)),
        ("trial", Truth(began.lesson.as_ref().map(|lesson| lesson.trial))),
        ("traded_phrases", Count(phrases.as_ref().and_then(|it| i32::try_from(it.phrases).ok()))),
        ("traded_whole", Count(phrases.as_ref().and_then(|it| i32::try_from(it.whole).ok()))),
        ("blocks_counted", small(count(session.counted.len()))),
        ("blocks_counted_right", small(count(right))),
        ("free_choruses", small(count(session.choruses.len()))),
        ("drilled_sought", small(count(sums.in_use.played_freely().count()))),
        ("drilled_came_out", small(count(sums.in_use.played_freely().filter(|(_, it)| it.came > 0).count()))),
    ]));
}

fn answer_row(
    session: &Session,
    trial: &Trial,
    [turn, asking]: [i32; 2],
    pattern: &str,
    head: &Head<'_>,
    beside: Option<&DividedAnswer>,
    into: &mut SchoolTable,
) {
    let cue = &trial.cue;
    let judged = related(session, trial).filter(|_| scored(trial));
    let found = judged.as_ref().map(of);
    let verdict = judged.as_ref().map(|it| it.verdict);
    let reflex = verdict.and_then(|it| it.reflex);
    let written = head.page.as_ref().map(|page| page.key(cue.key, cue.spelling.mode));
    let place = head.page.as_ref().and_then(|page| i32::try_from(page.place(cue.key)).ok());
    let back = match trial.reason {
        Reason::Opening { days } | Reason::OpeningHere { days } | Reason::HeldOut { days, .. } => days,
        _ => None,
    };
    let number = |of: fn(&crate::verdict::Verdict) -> Option<f64>| Real(verdict.and_then(of));
    into.add(&head.row(&[
        ("started_s", Id(head.started_s)),
        ("lesson", Word(head.lesson)),
        ("turn", Count(Some(turn))),
        ("asking", Count(Some(asking))),
        ("at_s", Real(Some(trial.at.0))),
        ("pattern", Word(Some(pattern))),
        ("concert_key", Word(Some(cue.key.name()))),
        ("written_key", Word(written.as_deref())),
        ("key_place", Count(place)),
        ("register", Word(Some(cue.register.name()))),
        ("form", Word(Some(form_word(cue.form)))),
        ("in_tempo", Truth(Some(cue.timing == Timing::InTempo))),
        ("asked_tempo", Real(Some(cue.tempo.0))),
        ("sounded_again", Truth(Some(cue.repeat))),
        ("warning_beats", Count(cue.warning.and_then(|it| i32::try_from(it).ok()))),
        ("away_days", Count(found.as_ref().and_then(|it| it.away))),
        ("asked_days_ago", Count(back)),
        ("counts", Truth(Some(counts(trial)))),
        ("answered", Truth(trial.answer.as_ref().map(|_| trial.answered()))),
        ("contested", Truth(Some(trial.contested))),
        ("scored", Truth(Some(judged.is_some()))),
        ("whole", Truth(found.as_ref().map(|it| it.whole))),
        ("passed", Truth(judged.as_ref().map(|it| it.judgement.passed()))),
        ("notes_right", Count(found.as_ref().and_then(|it| i32::try_from(it.right).ok()))),
        ("notes_asked", Count(found.as_ref().and_then(|it| i32::try_from(it.of).ok()))),
        ("notes_extra", Count(verdict.and_then(|it| i32::try_from(it.extra).ok()))),
        ("attempts", Count(verdict.and_then(|it| i32::try_from(it.attempts).ok()))),
        ("shift_half_steps", Count(verdict.map(|it| it.shift.0))),
        ("reflex_s", Real(reflex.map(|it| it.time.0))),
        ("reflex_counts", Truth(reflex.map(|it| it.counted))),
        ("jumped", Truth(reflex.map(|it| it.jumped))),
        ("late_s", number(|it| it.late.map(|late| late.0))),
        ("pace", number(|it| it.pace.map(|pace| pace.0))),
        ("held_tempo", Real(judged.as_ref().and_then(kept_tempo).map(|tempo| tempo.0))),
        ("evenness", number(|it| it.evenness)),
        ("swing", number(|it| it.swing)),
        ("stood_s", number(|it| Some(it.stood.iter().map(|stood| stood.by.0).sum::<f64>() + 0.0))),
        ("centre_cents", number(|it| it.centre.map(|cents| cents.0))),
        ("spread_cents", number(|it| it.spread.map(|cents| cents.0))),
        ("by_ear", Truth(Some(cue.by_ear))),
        ("held_out", Truth(Some(matches!(trial.reason, Reason::HeldOut { .. })))),
        ("task_block", Count(cue.second_task.as_ref().and_then(|it| i32::try_from(it.block).ok()))),
        ("counting", Truth(cue.second_task.as_ref().map(|it| it.counted.is_some()))),
        ("beside_whole", Truth(beside.map(|it| it.whole))),
        ("beside_late_s", Real(beside.and_then(|it| it.late).map(|late| late.0))),
        ("beside_uneven_s", Real(beside.and_then(|it| it.uneven).map(|uneven| uneven.0))),
    ]));
}

fn note_rows(judged: &Judged<'_>, turn: i32, pattern: &str, head: &Head<'_>, into: &mut SchoolTable) {
    for (place, note) in (1..).zip(asked_notes(judged)) {
        let (label, off) = match note.verdict.label {
            NoteLabel::Right => ("right", Some(0)),
            NoteLabel::Wrong(by) => ("wrong", Some(by.0)),
            NoteLabel::Octave(by) => ("octave", Some(by.0)),
            NoteLabel::Missed => ("missed", None),
            NoteLabel::Merged => ("merged", Some(0)),
        };
        let came = note.way.map(|way| match way {
            up if up > 0.0 => "up",
            down if down < 0.0 => "down",
            _ => "same",
        });
        let heard = judged.trial.answer.as_ref().zip(note.verdict.heard);
        let heard = heard.and_then(|(answer, at)| answer.heard.get(at));
        into.add(&head.row(&[
            ("turn", Count(Some(turn))),
            ("place", Count(Some(place))),
            ("pattern", Word(Some(pattern))),
            ("concert_key", Word(Some(judged.trial.cue.key.name()))),
            ("scored", Truth(Some(scored(judged.trial)))),
            ("asked_midi", Count(Some(note.sounded.0 - judged.verdict.shift.0))),
            ("sounded_midi", Count(Some(note.sounded.0))),
            ("written_midi", Count(head.page.as_ref().map(|page| page.written(note.sounded).0))),
            ("came", Word(came)),
            ("label", Word(Some(label))),
            ("off_half_steps", Count(off)),
            ("cents", Real(note.verdict.cents.map(|cents| cents.0))),
            ("late_s", Real(note.verdict.off_pulse.map(|late| late.0))),
            ("length_s", Real(heard.map(|heard| heard.length().0))),
        ]));
    }
}
