use std::cmp::Reverse;
use std::collections::BTreeSet;

use crate::music::{Clef, Concert, ConcertKey, Instrument, Intonation, PitchClass, Spelled};
use crate::report::date::date;
use crate::report::judged::Judged;
use crate::report::takes::waited;
use crate::report::takes_text::clock;
use crate::units::{Cents, Seconds, rank};
use crate::verdict::{NoteLabel, PlayedLabel, TempoStep};
use crate::words::Page;

/// How many answers of a kind the page shows: a lesson has time for no more.
const CHOSEN: usize = 3;

/// One answer that a teacher should hear.
#[derive(Debug, Clone, PartialEq)]
pub struct ChosenTake {
    /// Index of its sitting among those that were given.
    pub session: usize,
    /// Number of its cue in that sitting.
    pub cue: u32,
    /// Where the answer lies in the stored sound of its sitting: first sample, and number of samples.
    pub sound: Option<(u64, u64)>,
    /// The sound as FLAC, where it is kept; it is put in by a caller that has the files.
    pub flac: Option<Vec<u8>>,
    /// Whether the sound is made from the notes that a MIDI instrument said.
    pub rendered: bool,
    /// The key, as the player reads it.
    pub key: String,
    /// Plain name of the pattern.
    pub title: String,
    /// The sentence that was shown.
    pub sentence: String,
    /// Where the answer is found without this page: day, sitting and minute; then the tempo asked.
    pub place: String,
    /// The clef the player reads.
    pub clef: Clef,
    /// What was asked and played, in the order of time.
    pub columns: Vec<StaffColumn>,
}

/// One moment of an answer on the staff.
#[derive(Debug, Clone, PartialEq)]
pub struct StaffColumn {
    /// What was asked; `None` for a note too many.
    pub asked: Option<WrittenNote>,
    /// What was played; `None` for a note that is missing.
    pub played: Option<WrittenNote>,
}

/// One note on the staff.
#[derive(Debug, Clone, PartialEq)]
pub struct WrittenNote {
    /// How the note is written.
    pub spelled: Spelled,
    /// Name of the note in the player's language, without its octave.
    pub name: String,
}

/// At most three answers, each in a key of its own, that most need hearing, worst first: of those that were not all right the ones
/// with the smallest share of right notes, later ones before earlier ones.
pub(super) fn to_hear_again<'a>(judged: &[Judged<'a>]) -> Vec<Judged<'a>> {
    let mut short: Vec<&Judged<'_>> = judged.iter().filter(|answer| !answer.verdict.whole()).collect();
    let share = |answer: &Judged<'_>| {
        u64::from(answer.verdict.right_in_key()) * 1_000_000 / u64::from(answer.verdict.of.max(1))
    };
    short.sort_by_key(|a| (share(a), Reverse((a.sitting, a.trial.cue.number))));
    one_a_key(short.into_iter())
}

/// At most three answers, each in a key of its own, at their best: quickest tempo asked first, then shortest reflex time. They were
/// all right, went up (passed, in records that know no step), did not stand still or begin too soon, were in tune, and reached the
/// goal in tempo or in reflex time.
pub(super) fn at_best<'a>(judged: &[Judged<'a>], instrument: &Instrument) -> Vec<Judged<'a>> {
    let mut whole: Vec<&Judged<'_>> = judged.iter().filter(|answer| is_best(answer, instrument)).collect();
    let reflex = |answer: &Judged<'_>| answer.reflex().unwrap_or(f64::INFINITY);
    whole.sort_by_cached_key(|a| (rank(-a.trial.cue.tempo.0), rank(reflex(a))));
    one_a_key(whole.into_iter())
}

fn is_best(answer: &Judged<'_>, instrument: &Instrument) -> bool {
    let verdict = answer.verdict;
    let went_up = answer.judgement.step.map_or(answer.judgement.passed(), |step| step == TempoStep::Up);
    let goals = answer.session.began.goals;
    let quick = match verdict.reflex {
        Some(reflex) => reflex.counted && reflex.time <= goals.reflex,
        None => goals.tempo_reached(answer.trial.answer.as_ref().and_then(|heard| {
            crate::verdict::kept_tempo(&answer.trial.cue.line, answer.trial.cue.tempo, verdict, &heard.heard)
        })),
    };
    let within = |cents: Option<Cents>, most: Cents| cents.is_none_or(|cents| cents.abs() <= most);
    let in_tune = match instrument.at(answer.session.began.level).intonation {
        Intonation::Scored { acceptable, .. } => {
            within(verdict.centre, acceptable) && verdict.expected.iter().all(|note| within(note.cents, acceptable))
        }
        Intonation::Unscored => true,
    };
    verdict.whole() && waited(answer) && went_up && verdict.stood.is_empty() && quick && in_tune
}

fn one_a_key<'a, 'b: 'a>(answers: impl Iterator<Item = &'a Judged<'b>>) -> Vec<Judged<'b>> {
    let mut keys = BTreeSet::new();
    answers.filter(|answer| keys.insert(answer.trial.cue.key)).take(CHOSEN).copied().collect()
}

/// An answer as the page shows it; `session` is the index of its sitting among those that were given.
pub(super) fn chosen(answer: &Judged<'_>, page: &Page, session: usize) -> ChosenTake {
    let cue = &answer.trial.cue;
    let sound = answer.trial.answer.as_ref().and_then(|heard| heard.sound);
    let seconds = sound.map_or(answer.trial.at.0, |(first, _)| first as f64 / answer.session.began.rate.per_second());
    let where_to = if sound.is_some() { "in its sound" } else { "from its beginning" };
    ChosenTake {
        session,
        cue: cue.number,
        sound,
        flac: None,
        rendered: answer.session.began.by_midi,
        key: page.key(cue.key, cue.spelling.mode),
        title: cue.title.clone(),
        sentence: answer.judgement.sentence.clone(),
        place: format!(
            "{}, sitting {}, {} {where_to}; asked at quarter\u{a0}=\u{a0}{:.0}",
            date(answer.session.began.day),
            answer.sitting + 1,
            clock(Seconds(seconds)),
            cue.tempo.0
        ),
        clef: page.instrument.clef,
        columns: columns(answer, page),
    }
}

/// What was asked and played, side by side. What was played in another key is spelt in that key.
fn columns(answer: &Judged<'_>, page: &Page) -> Vec<StaffColumn> {
    let (cue, verdict) = (&answer.trial.cue, answer.verdict);
    let heard = answer.trial.answer.as_ref().map_or(&[][..], |answer| &answer.heard);
    let played_key = ConcertKey(PitchClass::new(cue.key.0.get() + verdict.shift.0));
    let note = |spelled: Spelled| WrittenNote { spelled, name: page.name(spelled.name()) };
    let sounding = |pitch: Concert| note(page.spelled(pitch, played_key, cue.spelling));
    let sounded = |index: usize| heard.get(index).map(|note| Concert(note.pitch.0.round() as i32));
    let mut columns = Vec::new();
    let mut next = 0;
    for (expected, verdict_on) in cue.line.notes.iter().zip(&verdict.expected) {
        let asked = note(page.expected(expected, cue.key, cue.spelling));
        let until = verdict_on.heard.unwrap_or(next);
        columns.extend(
            too_many(answer, next, until)
                .filter_map(sounded)
                .map(|pitch| StaffColumn { asked: None, played: Some(sounding(pitch)) }),
        );
        next = next.max(verdict_on.heard.map_or(until, |heard| heard + 1));
        let played = match verdict_on.label {
            NoteLabel::Right | NoteLabel::Merged if verdict.shift.0 == 0 => Some(asked.clone()),
            NoteLabel::Right | NoteLabel::Merged => Some(sounding(expected.pitch + verdict.shift)),
            NoteLabel::Missed => None,
            NoteLabel::Wrong(by) | NoteLabel::Octave(by) => Some(sounding(expected.pitch + verdict.shift + by)),
        };
        columns.push(StaffColumn { asked: Some(asked), played });
    }
    columns.extend(
        too_many(answer, next, heard.len())
            .filter_map(sounded)
            .map(|pitch| StaffColumn { asked: None, played: Some(sounding(pitch)) }),
    );
    columns
}

/// Indexes of the notes too many among the heard notes from `from` to before `until`.
fn too_many(answer: &Judged<'_>, from: usize, until: usize) -> impl Iterator<Item = usize> {
    let labels = &answer.verdict.played;
    (from..until).filter(move |index| labels.get(*index) == Some(&PlayedLabel::Extra))
}
