//! A review as JSON; units stand in the names. Keys and pitches are as they sound; beside most of them stands how they are written for
//! the instrument.

use serde_json::{Value, json};

use crate::coach::{CostBetween, Misfit, TapCounts, TaskCost};
use crate::cue::Form;
use crate::music::{ConcertKey, Mode, Reading, instrument};
use crate::pattern::PatternId;
use crate::report::in_use::used_json;
use crate::report::{
    CommentRow, HeldOutKeySummary, InstrumentReview, KeptAfter, KeySummary, PatternSummary, PitchRow, ReflexRow,
    RetentionCheck, Review, SecondTaskReview, SittingRow, Steadiness, StepsCompared, Take, TrySummary, WarningRow,
    WeekRow,
};
use crate::session::NamedPlayer;
use crate::words::{self, Page};

/// A page in written pitch, with English names whatever the player reads, because machines read them; of the player's own reading only
/// Gb or F# is kept. `None` where the instrument is not known.
fn page(part: &InstrumentReview) -> Option<Page> {
    let reading = Reading { g_flat: part.reading.g_flat, ..Reading::default() };
    Some(Page::new(instrument(&part.instrument).ok()?.clone(), reading))
}

/// The name of a key in written pitch; `None` where there is no page, because the instrument is not known.
fn written(key: ConcertKey, mode: Mode, page: Option<&Page>) -> Option<String> {
    page.map(|page| page.key(key, mode))
}

/// The whole review as JSON. `unreadable` tells of the records that could not be read, `later` of those dated after today.
#[must_use]
pub fn review_json(review: &Review, unreadable: &[String], later: &[String]) -> Value {
    let parts: Vec<Value> = review.parts.iter().map(part).collect();
    json!({ "unreadable": unreadable, "dated_after_today": later, "parts": parts })
}

fn part(part: &InstrumentReview) -> Value {
    let page = page(part);
    let page = page.as_ref();
    let takes = |takes: &[Take]| takes.iter().map(|it| take(it, page)).collect::<Vec<_>>();
    let mut days: Vec<i32> = part.sittings.iter().map(|sitting| sitting.day).collect();
    days.dedup();
    json!({
        "player": part.player.as_ref().map(player),
        "instrument": part.instrument, "simulated": part.simulated, "days": days,
        "sittings": part.sittings.iter().map(sitting).collect::<Vec<_>>(),
        "weeks": part.weeks.as_ref().map(|weeks| weeks.iter().map(week).collect::<Vec<_>>()),
        "keys": part.keys.iter().map(|row| key(row, part.mode, page)).collect::<Vec<_>>(),
        "warnings": part.warnings.iter().map(|row| warning(row, part.mode, page)).collect::<Vec<_>>(),
        "second_task": part.second_task.as_ref().map(second_task),
        "in_use": used_json(&part.in_use),
        "phrases_at_fault": part.phrases.faults.iter().map(|it| json!({ "sitting_index": it.sitting, "chorus": it.chorus, "sentence": it.sentence })).collect::<Vec<_>>(),
        "patterns": part.patterns.iter().map(pattern).collect::<Vec<_>>(),
        "best": takes(&part.best),
        "recurring": part.recurring.iter().map(|(title, sentence)| json!({ "pattern": title, "fault": sentence })).collect::<Vec<_>>(),
        "worst": takes(&part.worst),
        "back": part.back.iter().map(|it| back(it, page)).collect::<Vec<_>>(),
        "kept": part.kept.iter().map(kept).collect::<Vec<_>>(),
        "held_out": part.held_out.iter().map(held_out).collect::<Vec<_>>(),
        "steadiness": part.steadiness.as_ref().map(steadiness),
        "pitches": part.pitches.iter().map(|row| pitch(row, page)).collect::<Vec<_>>(),
        "comments": part.comments.iter().map(|row| comment(row, page)).collect::<Vec<_>>(),
    })
}

fn comment(row: &CommentRow, page: Option<&Page>) -> Value {
    let about = row.about.as_ref().map(|(cue, title, key, mode)| {
        json!({ "cue": cue, "title": title, "concert_key": key.name(), "written_key": written(*key, *mode, page) })
    });
    json!({ "day": row.day, "written": row.written, "about": about, "text": row.text })
}

/// A player as JSON.
pub(super) fn player(player: &NamedPlayer) -> Value {
    json!({ "id": player.id.to_string(), "name": player.name })
}

/// The figures of seven days as JSON.
pub(super) fn week(row: &WeekRow) -> Value {
    json!({
        "until_day": row.until, "days": row.days, "sittings": row.sittings, "sounding_s": row.sounding.0, "rests": row.rests,
        "resting_s": row.resting.0, "answers": row.answers, "whole": row.whole,
        "first_whole": row.first_tries.0, "first_tries": row.first_tries.1, "reflex_s": row.reflex.map(|time| time.0),
        "pace_quarter_per_minute": row.pace.map(|pace| pace.0),
    })
}

fn sitting(row: &SittingRow) -> Value {
    // A record of the first format knows no steps.
    let steps = row.steps.map(|count| row.steps_known.then_some(count));
    json!({
        "started": row.started, "day": row.day, "lasted_s": row.lasted.0, "sounding_s": row.sounding.0, "rests": row.rests,
        "resting_s": row.resting.0, "cues": row.cues, "answered": row.answered, "left_silent": row.silent,
        "not_judged": row.unjudged, "something_else": row.something_else, "asked_again": row.again, "told_late": row.told_late, "beside_second_task": row.second_task,
        "rounds": rounds(&row.rounds), "by_ear": { "whole": row.by_ear.0, "of": row.by_ear.1 }, "whole": row.whole,
        "sung": row.spared.0, "fingered": row.spared.1,
        "up": steps[0], "same_tempo": steps[1], "slower": steps[2], "contested": row.contested,
        "calibrated": row.calibrated, "simulated": row.simulated, "ended": row.ended, "dropped_samples": row.dropped,
        "offset_cents": row.offset.map(|cents| cents.0), "drift_cents": row.drift.map(|drift| drift.by.0),
        "unfit": row.out_of_range.iter().map(out_of_range).collect::<Vec<_>>(),
        "lesson": row.lesson.as_ref().map(|it| json!({ "name": it.name, "sha256": it.sha256, "trial": it.trial })),
        "trade": row.traded.as_ref().map(|it| json!({
            "chart": it.mark.chart, "quarter_per_minute": it.mark.tempo.0, "phrases": it.phrases, "answered": it.answered,
            "whole": it.whole, "whole_but_out_of_time_or_tune": it.faulty, "free_choruses": it.free.0, "free_notes": it.free.1,
        })),
    })
}

fn out_of_range(misfit: &Misfit) -> Value {
    let keys: Vec<&str> = misfit.keys.iter().map(|key| key.name()).collect();
    json!({ "concert_keys": keys, "patterns": misfit.patterns })
}

fn key(row: &KeySummary, mode: Mode, page: Option<&Page>) -> Value {
    json!({
        "concert_key": row.key.name(), "written_key": written(row.key, mode, page), "cues": row.cues, "answers": row.answers,
        "whole": row.whole, "right": row.right, "of": row.of,
        "first_tries": row.first_tries, "first_whole": row.first_whole,
        "pace_quarter_per_minute": row.pace.map(|pace| pace.0),
        "tempo_held_quarter_per_minute": row.reached.map(|tempo| tempo.0),
        "late_s": row.late.map(|late| late.0), "reflex": row.reflexes.iter().map(reflex).collect::<Vec<_>>(),
    })
}

/// Rounds without a stop as JSON, from (answers right in time, all answers) of each round.
pub(super) fn rounds(rounds: &[(u32, u32)]) -> Vec<Value> {
    rounds.iter().map(|(right, of)| json!({ "right_in_time": right, "of": of })).collect()
}

/// What is known of the answers after late warnings in one key, as JSON. The name of the key is `null` in the row of all keys together.
pub(super) fn warning(row: &WarningRow, mode: Mode, page: Option<&Page>) -> Value {
    let shares = row.shares.iter().map(|share| {
        json!({
            "warning_beats": share.warning, "right_in_time": share.right, "of": share.of,
            "share_from": share.between.0, "share_to": share.between.1,
        })
    });
    json!({
        "concert_key": row.key.map(ConcertKey::name), "written_key": row.key.and_then(|key| written(key, mode, page)),
        "shares": shares.collect::<Vec<_>>(), "enough_from_beats": row.shortest.no_shorter_than,
        "enough_to_beats": row.shortest.no_longer_than,
    })
}

fn second_task(it: &SecondTaskReview) -> Value {
    let mut all = divided(&it.all, &it.counts);
    let of = |(pattern, title, cost): &(PatternId, String, TaskCost)| json!({ "pattern": pattern.0, "title": title, "cost": costs(cost) });
    all["patterns"] = it.patterns.iter().map(of).collect();
    all
}

/// What a second task cost over all patterns, and how many numbers were right, as JSON. The cost means something only where
/// `truly_counted` is true: whoever does not count pays nothing.
pub(super) fn divided(cost: &TaskCost, counts: &TapCounts) -> Value {
    json!({
        "numbers": counts.blocks, "numbers_right": counts.right, "numbers_off_by": counts.off, "numbers_not_given": counts.unsaid,
        "truly_counted": counts.counted(), "cost": costs(cost), "practice": words::divided::PRACTICE,
    })
}

fn costs(cost: &TaskCost) -> Value {
    let of = |cost: &CostBetween| {
        json!({
            "pairs": cost.pairs, "mean": cost.between.map(|_| cost.mean), "from": cost.between.map(|it| it.0),
            "to": cost.between.map(|it| it.1),
        })
    };
    json!({ "share_all_right": of(&cost.of_right()), "late_s": of(&cost.of_late()), "uneven_s": of(&cost.of_uneven()) })
}

fn pattern(row: &PatternSummary) -> Value {
    json!({
        "pattern": row.pattern.0, "title": row.title, "keys": row.keys, "answers": row.answers, "whole": row.whole,
        "right": row.right, "of": row.of, "first_tries": row.first_tries, "first_whole": row.first_whole,
        "pace_quarter_per_minute": row.pace.map(|pace| pace.0), "reflex_s": row.reflex.map(|time| time.0),
    })
}

/// The word of JSON for a form of a cue.
pub(super) const fn form_word(form: Form) -> &'static str {
    match form {
        Form::Pattern => "pattern",
        Form::FirstNote => "first_note",
        Form::Chord => "chord",
        Form::NameOnly => "name_only",
    }
}

fn reflex(row: &ReflexRow) -> Value {
    json!({ "cue": form_word(row.form), "times": row.count, "median_s": row.median.0, "spread_s": row.spread.0 })
}

fn take(take: &Take, page: Option<&Page>) -> Value {
    json!({
        "sitting_index": take.sitting, "cue": take.cue, "at_s": take.at.0, "pattern": take.title, "concert_key": take.key.name(),
        "written_key": written(take.key, take.mode, page), "right": take.right, "of": take.of, "sentence": take.sentence,
        "step": take.step.map(words::reason::moved_in_short), "sound_at_s": take.sound_at.map(|at| at.0),
        "sound_from_sample": take.sound.map(|(first, _)| first), "sound_samples": take.sound.map(|(_, count)| count),
        "by_midi": take.by_midi,
    })
}

/// How many tries after a time away were whole, as JSON.
pub(super) fn kept(it: &KeptAfter) -> Value {
    json!({ "away_days": it.days, "whole": it.whole, "tries": it.tries })
}

/// A key held out of practice, as JSON: its answers, and beside them the first tries in the other keys.
pub(super) fn held_out(it: &HeldOutKeySummary) -> Value {
    let of =
        |it: &TrySummary| json!({ "whole": it.whole, "tries": it.tries, "reflex_s": it.reflex.map(|time| time.0) });
    json!({
        "concert_key": it.key.name(), "until_day": it.until, "answers": of(&it.tries), "others_first_tries": of(&it.others),
    })
}

/// How steady the reflex times are, over all keys and in each key, as JSON; the spreads are shares of the middle time.
pub(super) fn steadiness(it: &Steadiness) -> Value {
    let of = |it: &StepsCompared| {
        json!({
            "times": it.steps, "spread_first": it.spread.map(|both| both[0]), "spread_last": it.spread.map(|both| both[1]),
            "fell_beyond_speed": it.fell,
        })
    };
    let key = |(key, compared): &(ConcertKey, StepsCompared)| {
        let mut row = of(compared);
        row["concert_key"] = key.name().into();
        row
    };
    json!({ "calibrated": it.calibrated, "all": of(&it.all), "keys": it.keys.iter().map(key).collect::<Vec<_>>() })
}

fn back(back: &RetentionCheck, page: Option<&Page>) -> Value {
    json!({
        "pattern": back.title, "concert_key": back.key.name(), "written_key": written(back.key, back.mode, page), "days": back.days,
        "whole": back.whole, "right": back.right, "of": back.of,
    })
}

fn pitch(row: &PitchRow, page: Option<&Page>) -> Value {
    json!({
        "midi": row.pitch.0, "written_midi": page.map(|page| page.written(row.pitch).0), "times": row.times, "up_cents": row.up.map(|cents| cents.0),
        "down_cents": row.down.map(|cents| cents.0), "all_cents": row.all.0, "spread_cents": row.spread.0,
    })
}
